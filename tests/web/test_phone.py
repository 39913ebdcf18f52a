"""The phone pages: every drill under its code and its address, the same for everyone, with nothing kept."""

from __future__ import annotations

import re

import pytest
from flask.testing import FlaskClient

from homecare.library.load import Library, load_library
from homecare.phone import create_app


@pytest.fixture(scope="module")
def library() -> Library:
    return load_library()


@pytest.fixture(scope="module")
def phone(library: Library) -> FlaskClient:
    return create_app(library).test_client()


def test_every_drill_has_its_page_under_code_and_address(phone: FlaskClient, library: Library) -> None:
    for drill in library.drills.values():
        page = phone.get(f"/{drill.code}")
        assert page.status_code == 200, drill.id
        assert page.text == phone.get(f"/{drill.address}").text
        assert "<h1>" in page.text
        assert drill.name.replace("'", "&#39;").replace("&", "&amp;").replace("&amp;#39;", "&#39;") in page.text
        assert "{" not in page.text.replace("{#", ""), drill.id
        assert not re.search(r"your (left|right)\b", page.text), drill.id


def test_typed_in_other_letters_it_is_found(phone: FlaskClient, library: Library) -> None:
    drill = next(iter(library.drills.values()))
    answer = phone.get(f"/{drill.code.lower()}")
    assert (answer.status_code, answer.headers["Location"]) == (302, f"/{drill.code}")
    assert phone.get(f"/{drill.address.upper()}").headers["Location"] == f"/{drill.code}"


def test_the_list_names_every_drill_once(phone: FlaskClient, library: Library) -> None:
    links = re.findall(r'<li data-code="([A-Z]+)"><a href="/([a-z0-9-]+)"', phone.get("/").text)
    assert sorted(links) == sorted((drill.code, drill.address) for drill in library.drills.values())


PATHS = ["/", "/S", "/nothing-here", "/assets/dose.js", "/assets/days.js", "/assets/phone.css"]


@pytest.mark.parametrize("path", PATHS)
def test_policy_and_no_cookie(phone: FlaskClient, path: str) -> None:
    answer = phone.get(path, buffered=True)
    assert answer.status_code == (404 if path == "/nothing-here" else 200)
    assert answer.headers["Content-Security-Policy"] == (
        "default-src 'none'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'; "
        "script-src 'self'; style-src 'self'; img-src 'self' data:"
    )
    assert "Set-Cookie" not in answer.headers
    assert "style=" not in answer.text
    assert not re.search(r"<script(?! src)", answer.text)


@pytest.mark.parametrize(
    "path", ["/assets/sheet.js", "/assets/..%2f..%2fpyproject.toml", "/static/x", "/made/x/sheet.pdf"]
)
def test_what_is_not_there_is_404(phone: FlaskClient, path: str) -> None:
    assert phone.get(path).status_code == 404


def test_nothing_can_be_sent(phone: FlaskClient) -> None:
    assert phone.post("/", data={"a": "b"}).status_code == 405
