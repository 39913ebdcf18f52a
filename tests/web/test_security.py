"""Every address of the desk, as the app lists them: who may ask, what each answer carries, what is never told."""

from __future__ import annotations

import hashlib
import io
import logging
import re
import sqlite3
from collections import Counter
from collections.abc import Iterator
from contextlib import closing
from dataclasses import dataclass
from html.parser import HTMLParser
from pathlib import Path

import pytest
from werkzeug.routing import Rule

from homecare.desk import house as house_page
from homecare.desk.door import OPEN
from homecare.library.load import Library
from homecare.storage.database import open_database
from tests.web.filed import NAME, Filed, file_rower
from tests.web.visitor import HERE, OTHER, PASSPHRASE, Visitor

pytestmark = pytest.mark.usefixtures("quick_hashes")

NAME_PARTS = [part for part in re.findall(r"\w+", NAME) if len(part) > 2]
"""What of the athlete's name may stand in no address and no log."""
FRAMED = {"records.phone", "records.slip_phone"}
"""Pages that carry styles or scripts of their own and are shown apart, held by a stricter policy of theirs."""


@dataclass(frozen=True)
class Desk:
    """A desk with one athlete's records, and what its addresses are filled in with."""

    visitor: Visitor
    filed: Filed
    folder: Path

    def addresses(self, method: str) -> Iterator[tuple[Rule, str]]:
        """Every address that takes a method, its parts filled in with what is there, or else with a made-up id."""
        parts = {"athlete": self.filed.athlete, "sheet": self.filed.sheets[0], "slip": self.filed.slip, "number": 1,
                 "filename": "desk.css", "address": "marks/glide.svg", "view": "front", "side": "left"}  # fmt: skip
        adapter = self.visitor.client.application.url_map.bind(HERE)
        for rule in self.visitor.client.application.url_map.iter_rules():
            if method in (rule.methods or ()):
                drill = "soleus_wall_stretch" if "drill" in rule.arguments else "x"
                yield rule, adapter.build(rule.endpoint, {one: parts.get(one, drill) for one in rule.arguments})

    def content(self) -> str:
        """A hash of every record and every file of the clinic."""
        with closing(sqlite3.connect(self.folder / "homecare.sqlite")) as connection:
            found = hashlib.sha256("\n".join(connection.iterdump()).encode())
        for path in sorted((self.folder / "library").rglob("*")):
            found.update(str(path).encode() + (path.read_bytes() if path.is_file() else b""))
        return found.hexdigest()


def made(folder: Path, lib: Library) -> Desk:
    filed = file_rower(open_database(folder), lib)
    return Desk(Visitor(folder), filed, folder)


@pytest.fixture(scope="module")
def desk(tmp_path_factory: pytest.TempPathFactory, lib: Library) -> Desk:
    """A desk where nobody signs in."""
    return made(tmp_path_factory.mktemp("desk"), lib)


@pytest.fixture(scope="module")
def house(tmp_path_factory: pytest.TempPathFactory, lib: Library) -> Desk:
    """A desk where one signs in: an owner, by whose browser it is given back, and a member."""
    found = made(tmp_path_factory.mktemp("house"), lib)
    found.visitor.set_up()
    second = {"name": "Bo Achterberg", "role": "member", "passphrase": OTHER, "again": OTHER, "present": PASSPHRASE}
    assert found.visitor.post("/clinic/people", second).status_code == 303
    return found


class Marks(HTMLParser):
    """What of a page runs or loads by itself, and where it leads."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.inline: list[str] = []
        self.leads: list[str] = []
        self.unguarded: list[str] = []
        self._form = ""
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = {key: value or "" for key, value in attrs}
        self.inline += [f"{tag} {key}" for key in given if key == "style" or key.startswith("on")]
        if tag == "style" or (tag == "script" and "src" not in given):
            self.inline.append(tag)
        self.leads += [given[key] for key in ("href", "src", "action", "formaction", "data") if key in given]
        if tag == "form":
            self._form = given.get("action", "this page") if given.get("method", "get").lower() == "post" else ""
        if tag == "input" and given.get("name") == "token":
            self._form = ""

    def handle_endtag(self, tag: str) -> None:
        if tag == "form" and self._form:
            self.unguarded.append(self._form)
            self._form = ""


def test_every_answer_carries_the_headers_and_nothing_runs_inline(desk: Desk) -> None:
    """ASVS 5.0, 3.4.3 to 3.4.6 and 3.2.1."""
    for rule, address in desk.addresses("GET"):
        answer = desk.visitor.get(address)
        assert answer.status_code in (200, 204, 302, 303, 404, 409, 422), (rule.endpoint, answer.status_code)
        policy = answer.headers["Content-Security-Policy"]
        assert "default-src 'none'" in policy, rule.endpoint
        assert "base-uri 'none'" in policy, rule.endpoint
        assert re.search(r"frame-ancestors '(none|self)'", policy), rule.endpoint
        assert answer.headers["X-Content-Type-Options"] == "nosniff", rule.endpoint
        assert answer.headers["Referrer-Policy"] == "same-origin", rule.endpoint
        assert "Access-Control-Allow-Origin" not in answer.headers, rule.endpoint
        if rule.endpoint in FRAMED and answer.status_code == 200:
            assert "script-src" not in policy or policy.startswith("sandbox"), rule.endpoint
            continue
        assert "unsafe" not in policy, rule.endpoint
        if answer.mimetype == "text/html":
            marks = Marks(answer.text)
            assert marks.inline == [], rule.endpoint
            assert marks.unguarded == [], (rule.endpoint, "a form without its token")
            elsewhere = [
                one for one in marks.leads if re.match(r"[a-z]+:|//", one) and not one.startswith("data:image/")
            ]
            assert elsewhere == [], rule.endpoint


def test_only_what_never_changes_may_be_kept_by_a_browser(desk: Desk) -> None:
    """ASVS 5.0, 14.3.2 (from memory)."""
    for rule, address in desk.addresses("GET"):
        kept = desk.visitor.get(address).headers["Cache-Control"]
        assert kept == "no-store" or rule.endpoint in (
            "files.asset",
            "static",
            "body.picture",
            "body.map",
            "body.figure",
        ), rule.endpoint


@pytest.mark.parametrize("method", ["POST", "PUT", "PATCH", "DELETE"])
def test_whatever_changes_something_is_refused_from_another_origin(desk: Desk, method: str) -> None:
    """ASVS 5.0, 3.5.1; OWASP Cross-Site Request Forgery Prevention Cheat Sheet (from memory)."""
    before = desk.content()
    desk.visitor.get("/clinic")
    elsewhere = [
        {"Origin": "https://evil.example", "Sec-Fetch-Site": "cross-site"},
        {"Origin": "https://evil.example"},
        {"Origin": "null"},
        {"Sec-Fetch-Site": "same-site", "Origin": f"http://{HERE}"},
        {},
    ]
    asked = list(desk.addresses(method))
    assert len(asked) > 20 or method != "POST"
    for rule, address in asked:
        for headers in elsewhere:
            answer = desk.visitor.client.open(
                address,
                method=method,
                data={"token": desk.visitor.token},
                base_url=f"http://{HERE}",
                headers=headers,
                buffered=True,
            )
            assert answer.status_code == 403, (rule.endpoint, headers)
    assert desk.content() == before


@pytest.mark.parametrize("token", ["", "ümlaut", "IjAwMCI.aaaaaa.bbbbbbbbbbbbbbbbbbbbbbbbbbb"])
def test_whatever_changes_something_is_refused_without_the_pages_token(desk: Desk, token: str) -> None:
    before = desk.content()
    for rule, address in desk.addresses("POST"):
        answer = desk.visitor.post(address, {"token": token, "athlete": "Anouk Brandt", "name": "Anouk Brandt"})
        assert answer.status_code == 403, (rule.endpoint, answer.status_code)
    assert desk.content() == before


def test_a_token_of_another_session_is_none(desk: Desk) -> None:
    other = desk.visitor.beside()
    other.get("/clinic")
    desk.visitor.get("/clinic")
    assert desk.visitor.post("/clinic", {"name": "X", "token": other.token}).status_code == 403


@pytest.mark.parametrize("host", ["evil.example", "evil.example:8020", "127.0.0.1.evil.example", "192.0.2.7:8020", ""])
def test_no_address_answers_to_another_name(desk: Desk, host: str) -> None:
    """A page elsewhere that has its name point here reads nothing (DNS rebinding, from memory)."""
    for rule, address in desk.addresses("GET"):
        answer = desk.visitor.client.get(address, headers={"Host": host}, buffered=True)
        assert answer.status_code == 400, rule.endpoint
        assert not told(answer.text), rule.endpoint


def told(text: str) -> list[str]:
    """The parts of the athlete's name that stand in a text."""
    return [part for part in NAME_PARTS if part.casefold() in text.casefold()]


def test_who_has_not_signed_in_reads_and_changes_nothing(house: Desk) -> None:
    before = house.content()
    stranger = house.visitor.beside()
    for rule, address in house.addresses("GET"):
        answer = stranger.get(address)
        assert answer.status_code == 401 or rule.endpoint in OPEN, rule.endpoint
        assert not told(answer.text), rule.endpoint
        assert not re.search("Sandoval|Achterberg", answer.text), rule.endpoint
    for rule, address in house.addresses("POST"):
        answer = stranger.post(address, {"typed": "into a form"})
        assert answer.status_code == 401 or rule.endpoint in OPEN, rule.endpoint
    assert stranger.get("/no/such/page").status_code == 401
    assert house.content() == before


def test_a_member_does_nothing_that_is_the_owners(house: Desk) -> None:
    member = house.visitor.beside()
    assert member.sign_in("Bo Achterberg", OTHER).status_code == 303
    assert member.get("/").status_code == 200
    before = house.content()
    with sqlite3.connect(house.folder / "homecare.sqlite") as connection:
        ((owner,),) = connection.execute("SELECT id FROM people WHERE role = 'owner'").fetchall()
    new = {"passphrase": "ferry thimble oboe quince", "again": "ferry thimble oboe quince", "present": OTHER}
    for address, form in (
        ("/clinic", {"name": "Mine now"}),
        ("/clinic/backup", {}),
        ("/clinic/people", {"name": "Third", "role": "owner", **new}),
        (f"/clinic/people/{owner}/passphrase", new),
        (f"/clinic/people/{owner}/role", {"role": "member"}),
        (f"/clinic/people/{owner}/end", {}),
        ("/clinic/people/sign-out", {}),
    ):
        member.get("/clinic/people")
        answer = member.post(address, form)
        assert answer.status_code == 403, address
        assert "Only an owner" in answer.text, address
    assert house.content() == before


def test_no_address_and_no_log_tells_who_the_athlete_is(desk: Desk, caplog: pytest.LogCaptureFixture) -> None:
    """ASVS 5.0, 14.2.1 (from memory): nothing sensitive in an address, where histories and logs keep it."""
    caplog.set_level(logging.DEBUG)
    found, waiting = set[str](), ["/", "/athletes", f"/athlete/{desk.filed.athlete}", f"/sheet/{desk.filed.sheets[0]}"]
    named, seen, adapter = 0, Counter[str](), desk.visitor.client.application.url_map.bind(HERE)
    while waiting:
        address = waiting.pop(0)
        path = address.partition("?")[0]
        endpoint = adapter.match(path)[0] if adapter.test(path) else ""  # else a form leads there
        if (
            not endpoint or address in found or seen[endpoint] > 1
        ):  # two of a kind are enough: the library has a hundred drills
            continue
        found.add(address)
        seen[endpoint] += 1
        answer = desk.visitor.get(address)
        named += bool(told(answer.text)) if answer.mimetype == "text/html" else 0
        leads = Marks(answer.text).leads if answer.mimetype == "text/html" else []
        leads += [answer.headers["Location"]] if "Location" in answer.headers else []
        assert not [lead for lead in leads if told(lead)], address
        waiting += [lead.partition("#")[0] for lead in leads if lead.startswith("/") and "/static/" not in lead]
    assert named > 2  # the pages do show the name, or this test would see nothing
    assert len(seen) > 15
    for address, form in (
        ("/athletes", {"typed": NAME, "name": NAME, "find": NAME}),
        ("/who", {"typed": NAME, "athlete": NAME}),
        ("/athletes/new", {"name": NAME}),
        ("/", {"athlete": NAME}),
        ("/draft", {"athlete": NAME, "start": "never"}),
    ):
        answer = desk.visitor.post(address, form)
        assert answer.status_code != 500, address
        assert not told(answer.headers.get("Location", "")), address
    assert not told(caplog.text)


def test_a_fault_of_ours_shows_no_traceback_and_logs_nothing_that_was_typed(
    desk: Desk, caplog: pytest.LogCaptureFixture, monkeypatch: pytest.MonkeyPatch
) -> None:
    """ASVS 5.0, 16.5.1 (from memory)."""

    def broken(*_: object, **__: object) -> None:
        raise RuntimeError(f"a message with {NAME} in it") from KeyError(NAME)

    monkeypatch.setattr(house_page, "_page", broken)
    answer = desk.visitor.get("/clinic")
    assert answer.status_code == 500
    assert not re.search(r"Traceback|RuntimeError|File |\.py", answer.text)
    assert "not your fault" in answer.text
    assert not told(answer.text)
    assert not told(caplog.text)
    # Enough stays to find it: the place and the kind of both faults.
    assert re.search(r"GET house\.page.*RuntimeError.*test_security\.py, line \d+.*KeyError", caplog.text, re.S)


def test_an_upload_that_is_no_picture_is_refused_beside_its_field_and_a_huge_one_at_once(desk: Desk) -> None:
    before = desk.content()
    for content in (
        b"<svg xmlns='http://www.w3.org/2000/svg'><script>1</script></svg>",
        b"%PDF-1.7",
        b"\x89PNG\r\n\x1a\n",
    ):
        desk.visitor.get("/clinic")
        answer = desk.visitor.post("/clinic", {"name": "Saltmarsh", "logo": (io.BytesIO(content), "logo.png")})
        assert answer.status_code == 422
        assert 'id="fault-logo"' in answer.text
        assert 'value="Saltmarsh"' in answer.text
    huge = desk.visitor.client.post(
        "/clinic",
        data=b"x" * 21_000_000,
        content_type="multipart/form-data; boundary=b",
        base_url=f"http://{HERE}",
        headers={"Origin": f"http://{HERE}"},
    )
    assert huge.status_code == 413
    assert desk.content() == before
