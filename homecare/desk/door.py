"""The desk's door: whether anybody must sign in, who is there, and who comes in with which passphrase."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

from flask import Flask, Response, abort, current_app, g, make_response, render_template, request, session

from homecare import passphrases
from homecare.desk.bench import Bench
from homecare.desk.held import HeldForms
from homecare.desk.sessions import Session, Sessions
from homecare.desk.waits import Key, Waits, in_words
from homecare.storage import people
from homecare.storage.people import Person

OPEN = frozenset(
    {"static", "files.asset", "files.icon", "signing.page", "signing.enter", "signing.left", "signing.out"}
)
"""Endpoints that answer whoever asks: they hold no athlete. Every other one, also one that is not there, does not."""

FREE_BY_NAME, FREE_BY_BROWSER, FREE_BY_ADDRESS = 4, 8, 20
"""Wrong passphrases without a wait (common practice): under one name from anywhere, under one name from a browser that
had signed in with it before, and from one address under all names, since a clinic may share one."""

MOST_NAME = 80
"""Letters of a name: of a longer one that is tried no more are kept."""

WRONG = "The name and the passphrase do not go together. Look at both, and at the capitals key."
WAIT = "Too many were wrong. Wait {}, then try again. Nothing that you typed on another page is lost."
OWNERS_ONLY = "Only an owner of this desk may do this. Who that is stands on the page of the clinic's people."


@dataclass(frozen=True)
class Rooms:
    """The desk opened to the clinic's network under TLS.

    `names` are the host names and addresses that it is asked for by; `fingerprint` is its certificate's, and `own`
    says that this is the clinic's own and was not made here.
    """

    names: frozenset[str]
    fingerprint: str
    own: bool


class Door:
    """One desk's sessions, waits and forms that wait for their person; all in memory."""

    def __init__(self, bench: Bench, rooms: Rooms | None) -> None:
        self.bench, self.rooms = bench, rooms
        self.sessions, self.waits, self.held = Sessions(), Waits(), HeldForms()

    def now(self) -> datetime:
        """The time, in UTC."""
        return datetime.now(UTC)

    def is_open(self, everyone: Sequence[Person]) -> bool:
        """Whether nobody has to sign in: nobody is set up, and only this machine reaches the desk."""
        return self.rooms is None and not everyone

    def everyone(self) -> tuple[Person, ...]:
        """Those who may sign in."""
        with self.bench.database.read() as connection:
            return people.list_people(connection)

    def left(self) -> timedelta:
        """The time until the session of this request ends untouched, without touching it."""
        found = self.sessions.find(session.get("key", ""), self.now())
        return found.left(self.now()) if found and _person_of(found, self.everyone()) else timedelta(0)

    def present(self, everyone: Sequence[Person]) -> Person | None:
        """Who of them is signed in with this request; from now on counted as being there."""
        key = session.get("key", "")
        found = self.sessions.find(key, self.now())
        person = _person_of(found, everyone) if found else None
        if person:
            self.sessions.touch(key, self.now())
        elif found:
            self.sessions.end(key)  # for good: a backup from before its end does not bring it back
        return person

    def try_passphrase(self, name: str, passphrase: str) -> Person | str:
        """The person of a name and a passphrase, or why not, in words that do not tell which of the two is wrong."""
        with self.bench.database.read() as connection:
            person = people.find_person(connection, name)
        known = person is not None and session.get("who") == person.id
        # A browser of their own is counted apart: nobody shuts a colleague out from elsewhere (ASVS 5.0, 6.1.1).
        by_name = Key(f"name {people.name_key(name)[:MOST_NAME]} {known}", FREE_BY_BROWSER if known else FREE_BY_NAME)
        wait = self.waits.ask([by_name, Key(f"address {request.remote_addr}", FREE_BY_ADDRESS)], self.now())
        if wait:
            return WAIT.format(in_words(wait))
        if not passphrases.matches(passphrase, person.passphrase_hash if person else None) or person is None:
            return WRONG
        self.waits.passed(by_name)
        return person

    def enter(self, person: Person) -> None:
        """Sign a person in with this browser, under a new key (ASVS 5.0, 7.2.4)."""
        self.sessions.end(session.get("key", ""))
        if session.get("who") != person.id:
            session.clear()  # the pages of somebody else carry a token that holds no more
        session["key"], session["who"] = self.sessions.begin(person.id, self.now()), person.id
        g.person, g.inside = person, True

    def leave(self) -> None:
        """Sign out with this browser."""
        self.sessions.end(session.get("key", ""))
        session.clear()
        g.person, g.inside = None, False


def _person_of(found: Session, everyone: Sequence[Person]) -> Person | None:
    """The person of a session, None when they sign in no more or were signed out since it began."""
    return next((one for one in everyone if one.id == found.person and found.begun >= one.signed_out), None)


def the_door() -> Door:
    """The door of the desk that answers this request."""
    door = current_app.extensions["door"]
    assert isinstance(door, Door)
    return door


def owners_only() -> None:
    """Refuse whoever is signed in and no owner; where nobody signs in, this machine's user is one."""
    if g.person is not None and g.person.role != "owner":
        abort(403, OWNERS_ONLY)


def keep_door(app: Flask, door: Door) -> None:
    """Let nobody in who has to sign in and has not.

    `g.person` is who is there, None where nobody signs in; `g.inside` says that a page may show what is in the desk.
    """
    app.extensions["door"] = door

    @app.before_request
    def _signed_in() -> Response | None:
        g.person, g.inside = None, False
        if request.endpoint in OPEN:
            return None
        everyone = door.everyone()
        g.person = door.present(everyone)
        g.inside = g.person is not None or door.is_open(everyone)
        if g.inside:
            return None
        changes = request.method not in ("GET", "HEAD", "OPTIONS")
        held = door.held.keep(request, session.get("who", "")) if changes and _is_typed_form() else ""
        return sign_in_page(after="/" if changes else request.path, held=held, code=401)


def _is_typed_form() -> bool:
    """Whether a request is a form that a person sent, no script, and short enough to be read for a stranger."""
    by_person = request.headers.get("Sec-Fetch-Mode", "navigate") == "navigate"
    return by_person and (request.content_length or 0) <= int(current_app.config["MAX_CONTENT_LENGTH"])


def sign_in_page(*, after: str, held: str, code: int, name: str = "", fault: str = "") -> Response:
    """The page that asks who is there. `after` is the address to go on to, `held` the key of a form that waits."""
    html = render_template(
        "signing.html", after=after, held=held, name=name, fault=fault, again=bool(session.get("who"))
    )
    page = make_response(html, code)
    if code == 401:
        page.headers["WWW-Authenticate"] = 'Passphrase realm="desk"'  # RFC 9110 15.5.2 wants one; no browser knows it
    return page
