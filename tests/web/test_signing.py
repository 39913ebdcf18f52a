"""Signing in at the desk: who gets in, how a session ends, and that nothing typed is lost by it."""

from __future__ import annotations

import html
import re
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest

from homecare.desk.door import FREE_BY_NAME, WRONG, Rooms
from homecare.desk.sessions import IDLE, WHOLE
from tests.web.visitor import OTHER, PASSPHRASE, Visitor

pytestmark = pytest.mark.usefixtures("quick_hashes")

ROOMS = Rooms(frozenset({"front-desk.local"}), "AB:CD", own=False)
MINUTE = timedelta(minutes=1)


@pytest.fixture(scope="module")
def house(tmp_path_factory: pytest.TempPathFactory) -> Visitor:
    """A desk with one owner, signed in with the browser that is given back."""
    visitor = Visitor(tmp_path_factory.mktemp("house"))
    assert visitor.set_up().status_code == 303
    return visitor


def inside(visitor: Visitor) -> bool:
    answer = visitor.get("/clinic/people")
    assert answer.status_code in (200, 401)
    return answer.status_code == 200


def test_where_nobody_is_set_up_nobody_signs_in_until_somebody_is(tmp_path: Path) -> None:
    first = Visitor(tmp_path)
    other = first.beside()
    assert inside(other)
    first.set_up()
    assert inside(first)
    assert not inside(other)
    assert other.get("/").status_code == 401
    assert other.sign_in().status_code == 303
    assert inside(other)


def test_a_desk_open_to_rooms_lets_nobody_in_even_without_people(tmp_path: Path) -> None:
    visitor = Visitor(tmp_path, ROOMS)
    assert visitor.get("/").status_code == 401
    assert (
        visitor.post("/clinic/people", {"name": "X", "passphrase": PASSPHRASE, "again": PASSPHRASE}).status_code == 401
    )


def test_the_cookie_is_the_browsers_alone_and_under_tls_for_this_host_alone(tmp_path: Path) -> None:
    """ASVS 5.0, 3.3.1 to 3.3.4."""
    plain = Visitor(tmp_path / "a").get("/sign-in").headers["Set-Cookie"]
    assert re.fullmatch(r"desk=\S+; HttpOnly; Path=/; SameSite=Strict", plain)
    under_tls = Visitor(tmp_path / "b", ROOMS).get("/sign-in").headers["Set-Cookie"]
    assert re.fullmatch(r"__Host-desk=\S+; Secure; HttpOnly; Path=/; SameSite=Strict", under_tls)


@pytest.mark.parametrize("own", [False, True])
def test_rooms_show_the_fingerprint_and_only_ones_own_certificate_binds_the_browser(tmp_path: Path, own: bool) -> None:
    """ASVS 5.0, 3.4.1, but for a certificate that was made on the spot: with it nobody could accept that one."""
    Visitor(tmp_path).set_up()
    visitor = Visitor(tmp_path, replace(ROOMS, own=own))
    assert visitor.sign_in().status_code == 303
    page = visitor.get("/clinic/people", Host="front-desk.local:8020")
    assert page.status_code == 401  # another host name is another cookie
    page = visitor.get("/clinic/people")
    assert ("AB:CD" in page.text) is not own
    assert page.headers.get("Strict-Transport-Security") == ("max-age=31536000" if own else None)
    assert visitor.get("/", Host="elsewhere.local:8020").status_code == 400


def test_a_wrong_name_and_a_wrong_passphrase_are_told_alike(house: Visitor) -> None:
    """ASVS 5.0, 6.3.8."""
    answers = []
    for name in ("Imke Sandoval", "Nobody"):
        visitor = house.beside()
        answer = visitor.sign_in(name, OTHER)
        assert answer.status_code == 422
        assert WRONG in html.unescape(answer.text)
        assert OTHER not in answer.text
        answers.append(re.sub(r'content="[^"]+"|value="[^"]*"', "", answer.text))
        assert not inside(visitor)
    assert answers[0] == answers[1]


def test_a_name_is_the_same_in_other_capitals_and_the_passphrase_is_not(house: Visitor) -> None:
    assert house.beside().sign_in("  imke   SANDOVAL ").status_code == 303
    assert house.beside().sign_in(passphrase=PASSPHRASE.upper()).status_code == 422


def test_a_session_gets_a_new_key_at_each_signing_in(house: Visitor) -> None:
    """ASVS 5.0, 7.2.4: what somebody planted in a browser before is worth nothing after."""
    visitor = house.beside()
    visitor.get("/sign-in")
    before = visitor.client.get_cookie("desk", "127.0.0.1")
    visitor.sign_in()
    first = visitor.client.get_cookie("desk", "127.0.0.1")
    visitor.sign_in()
    second = visitor.client.get_cookie("desk", "127.0.0.1")
    assert before
    assert first
    assert second
    thief = house.beside()
    for cookie, lets_in in ((before, False), (first, False), (second, True)):
        thief.client.set_cookie("desk", cookie.value, domain="127.0.0.1")
        assert inside(thief) is lets_in


def test_signing_out_ends_the_session_and_not_only_the_cookie(house: Visitor) -> None:
    """ASVS 5.0, 7.4.1."""
    visitor = house.beside()
    visitor.sign_in()
    copied = visitor.client.get_cookie("desk", "127.0.0.1")
    assert copied
    assert visitor.post("/sign-out").status_code == 303
    assert not inside(visitor)
    visitor.client.set_cookie("desk", copied.value, domain="127.0.0.1")
    assert not inside(visitor)


def test_a_desk_that_lies_untouched_locks_and_a_used_one_ends_with_the_day(tmp_path: Path) -> None:
    """ASVS 5.0, 7.3.1 and 7.3.2."""
    visitor = Visitor(tmp_path)
    visitor.set_up()
    visitor.later(IDLE - MINUTE)
    assert inside(visitor)
    visitor.later(IDLE)
    assert not inside(visitor)
    visitor.sign_in()
    whole = timedelta(0)
    while whole < WHOLE - IDLE:
        assert inside(visitor)
        visitor.later(IDLE - MINUTE)
        whole += IDLE - MINUTE
    visitor.later(IDLE - MINUTE)
    assert not inside(visitor)


def test_asking_how_long_is_left_does_not_keep_a_session(tmp_path: Path) -> None:
    visitor = Visitor(tmp_path)
    visitor.set_up()
    for _ in range(3):
        visitor.later(IDLE / 4)
        left = visitor.get("/sign-in/left").get_json()["seconds"]
        assert 0 < left < IDLE.total_seconds()
    visitor.later(IDLE / 4)
    assert visitor.get("/sign-in/left").get_json() == {"seconds": 0}
    assert not inside(visitor)


def test_being_here_keeps_a_session(tmp_path: Path) -> None:
    visitor = Visitor(tmp_path)
    visitor.set_up()
    for _ in range(4):
        visitor.later(IDLE / 2)
        assert visitor.post("/sign-in/here").status_code == 204
    assert inside(visitor)


def test_after_some_wrong_ones_one_waits_and_is_told_how_long(tmp_path: Path) -> None:
    """ASVS 5.0, 6.3.1."""
    own = Visitor(tmp_path)
    own.set_up()
    own.later(timedelta(0))
    stranger = own.beside()
    for _ in range(FREE_BY_NAME + 1):
        assert WRONG in html.unescape(stranger.sign_in(passphrase=OTHER).text)
    told = stranger.sign_in()
    assert told.status_code == 422
    assert "Wait 5 seconds" in told.text
    # The browser that had signed in before is not shut out by a stranger (ASVS 5.0, 6.1.1).
    own.later(IDLE)
    assert own.sign_in().status_code == 303
    stranger.later(timedelta(hours=2))
    assert stranger.sign_in().status_code == 303


def test_one_goes_on_to_the_page_that_was_asked_for_and_nowhere_else(house: Visitor) -> None:
    """ASVS 5.0, 3.7.2."""
    visitor = house.beside()
    asked = visitor.get("/clinic")
    assert '<input type="hidden" name="after" value="/clinic">' in asked.text
    assert house.beside().sign_in(after="/clinic").headers["Location"] == "/clinic"
    for elsewhere in ("https://evil.example/", "//evil.example", "/\\evil.example", "/nothing/here", "clinic", ""):
        assert house.beside().sign_in(after=elsewhere).headers["Location"] == "/", elsewhere


def test_a_form_sent_after_the_session_ended_waits_for_its_person(tmp_path: Path) -> None:
    visitor = Visitor(tmp_path)
    visitor.set_up()
    visitor.post("/clinic", {"name": "Saltmarsh"})
    visitor.get("/clinic")
    visitor.later(IDLE)
    asked = visitor.post("/clinic", {"name": "Saltmarsh & Fen <b>", "hours": "two\r\nlines"})
    assert asked.status_code == 401
    assert "Saltmarsh &amp; Fen" not in asked.text  # a locked page shows nothing of what was typed
    held = re.search(r'name="held" value="([^"]+)"', asked.text)
    assert held
    again = visitor.post("/sign-in", {"name": "Imke Sandoval", "passphrase": PASSPHRASE, "held": held[1]})
    assert again.status_code == 200
    fields = dict(re.findall(r'<input type="hidden" name="([^"]+)" value="([^"]*)">', again.text))
    assert html.unescape(fields["name"]) == "Saltmarsh & Fen <b>"
    assert "passphrase" not in fields
    assert visitor.post("/clinic", {name: html.unescape(value) for name, value in fields.items()}).status_code == 303
    assert "Saltmarsh &amp; Fen &lt;b&gt;" in visitor.get("/clinic").text


def test_what_a_script_sent_or_is_too_long_to_read_for_a_stranger_is_not_kept(tmp_path: Path) -> None:
    visitor = Visitor(tmp_path)
    visitor.set_up()
    visitor.later(IDLE)
    for form, headers in (({"name": "a"}, {"Sec-Fetch-Mode": "cors"}), ({"name": "a" * 1_100_000}, {})):
        answer = visitor.post("/clinic", form, **headers)
        assert answer.status_code == 401
        assert 'name="held" value=""' in answer.text


def test_a_form_that_waits_is_given_to_nobody_else(tmp_path: Path) -> None:
    owner = Visitor(tmp_path)
    owner.set_up()
    owner.get("/clinic/people")
    second = {"name": "Bo Achterberg", "role": "member", "passphrase": OTHER, "again": OTHER, "present": PASSPHRASE}
    assert owner.post("/clinic/people", second).status_code == 303
    owner.later(IDLE)
    asked = owner.post("/clinic", {"name": "of the owner"})
    held = re.search(r'name="held" value="([^"]+)"', asked.text)
    assert held
    other = owner.beside()
    other.get("/sign-in")
    answer = other.post("/sign-in", {"name": "Bo Achterberg", "passphrase": OTHER, "held": held[1]})
    assert answer.status_code == 303
    assert "of the owner" not in answer.text


def test_a_page_whose_token_is_old_changes_nothing_and_loses_nothing(tmp_path: Path) -> None:
    visitor = Visitor(tmp_path)
    visitor.get("/clinic")
    visitor.token = "old"
    answer = visitor.post("/clinic", {"name": "Typed for long"})
    assert answer.status_code == 403
    assert 'name="name" value="Typed for long"' in answer.text
    assert "Typed for long" not in visitor.get("/clinic").text


def test_unlocking_in_place_is_for_the_same_person(tmp_path: Path) -> None:
    owner = Visitor(tmp_path)
    owner.set_up()
    second = {"name": "Bo Achterberg", "role": "member", "passphrase": OTHER, "again": OTHER, "present": PASSPHRASE}
    assert owner.post("/clinic/people", second).status_code == 303
    page_token = owner.token
    owner.later(IDLE)
    json = {"Accept": "application/json"}
    wrong = owner.post("/sign-in", {"name": "Imke Sandoval", "passphrase": OTHER}, **json)
    assert (wrong.status_code, wrong.get_json()) == (422, {"fault": WRONG})
    answer = owner.post("/sign-in", {"name": "Imke Sandoval", "passphrase": PASSPHRASE}, **json)
    assert answer.get_json()["same"] is True
    owner.token = page_token  # another page that was open all the time goes on as well
    assert owner.post("/sign-in/here").status_code == 204
    owner.later(IDLE)
    answer = owner.post("/sign-in", {"name": "Bo Achterberg", "passphrase": OTHER}, **json)
    assert answer.get_json()["same"] is False
    owner.token = page_token
    assert owner.post("/sign-in/here").status_code == 403  # the page of somebody else
