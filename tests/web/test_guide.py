"""The pages of help: every button that they name is on the desk, and the guide to the library is two pages on paper."""

from __future__ import annotations

import re
from pathlib import Path

import pypdfium2
import pytest

from homecare.desk import create_app
from homecare.resources import resource_dir
from tests.web.browser import browser, served

HERE = {"Host": "127.0.0.1"}
HELP = ("/help", "/help/library")


def desk_words() -> str:
    """All that the desk's templates and scripts show, but for the pages of help themselves."""
    top = resource_dir("templates") / "desk"
    pages = [path for path in top.rglob("*.html") if path.name not in ("help.html", "library_guide.html")]
    texts = [path.read_text(encoding="utf-8") for path in (*pages, *top.rglob("*.js"))]
    return " ".join([*texts, (Path(__file__).parents[2] / "homecare/desk/__init__.py").read_text(encoding="utf-8")])


def named(page: str) -> list[str]:
    """The words that a page of help sets in bold within its sentences: names of what is pressed."""
    main = page.partition("<main")[2]
    return [word for word in re.findall(r"<b>([^<]+?)\.?</b>", main) if word not in ("Who", "Found", "Fits", "Sheet")]


@pytest.mark.parametrize("address", HELP)
def test_what_help_names_is_on_the_desk(address: str) -> None:
    answer = create_app().test_client().get(address, headers=HERE)
    assert answer.status_code == 200
    there = desk_words()
    names = named(answer.text)
    assert len(names) >= 4
    assert [name for name in names if name not in there] == []


@pytest.mark.slow
def test_the_guide_to_the_library_is_two_pages(tmp_path: Path) -> None:
    with served(create_app(data=tmp_path)) as address, browser() as chromium:
        page = chromium.new_page()
        page.goto(f"{address}/help/library")
        printed = pypdfium2.PdfDocument(page.pdf(prefer_css_page_size=True))
        assert len(printed) == 2
        assert len(printed[1].get_textpage().get_text_bounded().split()) > 150
