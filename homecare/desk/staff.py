"""The page of the people who may sign in, and of what must be done before other rooms reach the desk."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import timedelta
from typing import cast, get_args

from flask import Blueprint, Response, abort, g, make_response, redirect, render_template, request, url_for

from homecare import passphrases
from homecare.desk.bench import Bench
from homecare.desk.door import MOST_NAME, WRONG, owners_only, the_door
from homecare.desk.form import Form, read_form
from homecare.desk.sessions import IDLE
from homecare.guard import LOOPBACK_NAMES
from homecare.storage import people
from homecare.storage.people import LastOwner, NameTaken, Person, Role

Faults = Mapping[str, tuple[str, ...]]
NO_NAME = "Type the name that this person signs in with"
LONG_NAME = f"A name may have {MOST_NAME} letters"
TAKEN = "Somebody has this name already: add a letter or a second name"
NOT_YOURS = "This is not your own passphrase, as it is now"
LAST_OWNER = "This is the only owner: make somebody else one first, or nobody could let people in."
GONE = "This person does not sign in here any more."


def blueprint(bench: Bench) -> Blueprint:
    """The routes of the people's page over one bench."""
    topic = Blueprint("staff", __name__)

    @topic.get("/clinic/people")
    def page() -> Response:
        return _page(bench, Form({}), {})

    @topic.post("/clinic/people")
    def add() -> Response:
        owners_only()
        form = _typed()
        name, role = form.one("name"), form.one("role") if g.person else "owner"
        faults = _passphrase_faults(bench, (name,))
        if not people.name_key(name):
            faults["name"] = (NO_NAME,)
        if len(name) > MOST_NAME:
            faults["name"] = (LONG_NAME,)
        if role not in get_args(Role):
            faults["role"] = ("Choose one",)
        faults |= _own_passphrase()
        if not faults:
            try:
                _added(bench, name, cast(Role, role))
            except NameTaken:
                faults["name"] = (TAKEN,)
        return _page(bench, form, faults) if faults else _done()

    @topic.post("/clinic/people/<person>/passphrase")
    def renew(person: str) -> Response:
        found = _found(bench, person)
        if g.person is None or g.person.id != found.id:
            owners_only()
        faults = _passphrase_faults(bench, (found.name,)) | _own_passphrase()
        if faults:
            return _page(bench, Form({}), {f"{name}-{found.id}": said for name, said in faults.items()})
        hash = passphrases.kept(request.form["passphrase"])
        with bench.database.write() as connection:
            people.change_passphrase(connection, found.id, hash, the_door().now())
        if g.person is not None and g.person.id == found.id:
            the_door().enter(found)  # every other session of theirs has ended
        return _done()

    @topic.post("/clinic/people/<person>/role")
    def change_role(person: str) -> Response:
        owners_only()
        with bench.database.write() as connection:
            try:
                people.change_role(connection, person, "owner" if request.form.get("role") == "owner" else "member")
            except LastOwner:
                abort(403, LAST_OWNER)
            except KeyError:
                abort(404, GONE)
        return _done()

    @topic.post("/clinic/people/<person>/end")
    def end(person: str) -> Response:
        owners_only()
        with bench.database.write() as connection:
            try:
                people.end_person(connection, person, the_door().now())
            except LastOwner:
                abort(403, LAST_OWNER)
            except KeyError:
                abort(404, GONE)
        return _done()

    @topic.post("/clinic/people/sign-out")
    def everyone_out() -> Response:
        owners_only()
        with bench.database.write() as connection:
            people.sign_out(connection, the_door().now())
        the_door().leave()
        return make_response(redirect(url_for("signing.page"), 303))

    return topic


def _typed() -> Form:
    form = read_form((name, values) for name, values in request.form.lists())
    return Form({name: form.values.get(name, ("",)) for name in ("name", "role")})  # no passphrase is shown again


def _passphrase_faults(bench: Bench, names: tuple[str, ...]) -> dict[str, tuple[str, ...]]:
    typed, again = request.form.get("passphrase", ""), request.form.get("again", "")
    said = passphrases.faults(typed, again, (bench.clinic.name, *names))
    return {"passphrase": said} if said else {}


def _own_passphrase() -> dict[str, tuple[str, ...]]:
    """Nobody lets people in, or changes a passphrase, at a desk that somebody else left open (ASVS 5.0, 7.5.1)."""
    if g.person is None:
        return {}
    found = the_door().try_passphrase(g.person.name, request.form.get("present", ""))
    if isinstance(found, Person):
        return {}
    return {"present": (NOT_YOURS if found == WRONG else found,)}


def _added(bench: Bench, name: str, role: Role) -> None:
    hash = passphrases.kept(request.form["passphrase"])
    with bench.database.write() as connection:
        person = people.add_person(connection, name, hash, role, the_door().now())
    if g.person is None:
        the_door().enter(person)  # the first one: from now on one signs in here


def _found(bench: Bench, id: str) -> Person:
    with bench.database.read() as connection:
        person = people.person_of(connection, id)
    if person is None:
        abort(404, GONE)
    return person


def _done() -> Response:
    return make_response(redirect(url_for("staff.page"), 303))


def _page(bench: Bench, form: Form, faults: Faults) -> Response:
    with bench.database.read() as connection:
        everyone = people.list_people(connection)
    owner, rooms = g.person is None or g.person.role == "owner", the_door().rooms
    html = render_template(
        "staff.html",
        form=form,
        faults=faults,
        everyone=everyone,
        owner=owner,
        rooms=rooms,
        names=sorted(rooms.names - LOOPBACK_NAMES) if rooms else [],
        idle_minutes=IDLE // timedelta(minutes=1),
    )
    return make_response(html, 422 if faults else 200)
