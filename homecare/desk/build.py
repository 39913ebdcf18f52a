"""The page that builds a sheet, top to bottom: who, found, fits, sheet. Every change of it is saved as a draft."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import UTC, datetime

from flask import Blueprint, abort, current_app, g, jsonify, make_response, redirect, render_template, request, url_for
from sqlalchemy import Connection
from werkzeug.wrappers import Response

from homecare.core.plain import listed
from homecare.core.problems import InputFault
from homecare.desk import drafts
from homecare.desk.bench import Bench
from homecare.desk.building import Building, Faults, build, with_athlete
from homecare.desk.change_words import change_words
from homecare.desk.drafts import Open
from homecare.desk.form import Form, blank_form, read_form
from homecare.desk.issuing import issue
from homecare.desk.pressing import press
from homecare.desk.ready import ready
from homecare.desk.starting import next_form
from homecare.desk.usual import usual_applied, usual_kept
from homecare.desk.visit_text import WEEKDAYS, visit_text
from homecare.desk.vocabulary import Option
from homecare.render.dose_words import day_words
from homecare.storage.athletes import find_athlete, search_athletes
from homecare.storage.drafts import StaleDraft, drop_draft
from homecare.storage.sheets import latest_sheet
from homecare.storage.usuals import list_usuals
from homecare.storage.visits import last_prepared_by

PARTS = ("top", "said", "who", "screen", "body", "rows", "made", "look", "undo", "print", "foot")
"""The parts of the page that a change may alter, each a template of its own: what the script puts in place."""
SOON, WHOLE = "soon", "whole"
"""What the script's header X-Quick says at each change, and when nothing more is pressed: then it has the time."""
NO_REASON = "A reason is needed first"
MENDED = "Something is to be mended before the sheet follows."
KEPT = "The set is kept: a new visit can start from it."
GONE = "This draft is gone: its sheet was printed, or it was thrown away."
_LOOKING = ("find", "at")
"""Buttons that change nothing of the visit: they only show something."""


def blueprint(bench: Bench) -> Blueprint:
    """The page's routes over one bench."""
    topic = Blueprint("build", __name__)

    @topic.get("/")
    def blank() -> Response:
        return _page(bench, None, _blank(bench))

    @topic.get("/draft/<draft>")
    def draft(draft: str) -> Response:
        found = drafts.load(bench.database, draft)
        if found is None:
            abort(404, GONE)
        return _page(bench, found, found.form)

    @topic.post("/draft")
    def begun() -> Response:
        return _pressed(bench, None)

    @topic.post("/draft/<draft>")
    def pressed(draft: str) -> Response:
        return _pressed(bench, draft)

    @topic.post("/draft/<draft>/issue")
    def issued(draft: str) -> Response:
        return _pressed(bench, draft, "issue")

    @topic.post("/draft/<draft>/drop")
    def dropped(draft: str) -> Response:
        found = drafts.load(bench.database, draft)
        if found is not None:
            with bench.database.write() as connection:
                drop_draft(connection, found.id, found.revision)
        return redirect(url_for("build.blank"), 303)

    @topic.post("/athlete/<athlete>/start")
    def start(athlete: str) -> Response:
        with bench.database.read() as connection:
            found = find_athlete(connection, athlete)
            if found is None:
                abort(404, "This athlete is not in the records (any more).")
            form = _prepared(connection, next_form(connection, found, datetime.now().astimezone().date()))
        return redirect(url_for("build.draft", draft=drafts.begin(bench.database, form, datetime.now(UTC)).id), 303)

    _look_ups(topic, bench)

    return topic


def _look_ups(topic: Blueprint, bench: Bench) -> None:
    """What the script asks while something is typed. By POST: what is typed stands in no address and in no log."""

    @topic.post("/find")
    def find() -> str:
        return render_template("build/offers.html", offers=bench.shelf.offers.find(request.form.get("find", "")))

    @topic.post("/who")
    def who() -> str:
        found = []
        with bench.database.read() as connection:
            for athlete in search_athletes(connection, request.form.get("athlete", ""))[:6]:
                sheet = latest_sheet(connection, athlete.id)
                found.append((athlete, day_words(sheet.first_day) if sheet else ""))
        return render_template("build/athletes.html", found=found)


def _pressed(bench: Bench, id: str | None, button: str = "") -> Response:
    """Save what was sent, do what the button says, and show what it comes to."""
    button = button or request.form.get("do", "make")
    form = read_form((name, values) for name, values in request.form.lists() if name not in ("token", "do"))
    before = drafts.load(bench.database, id) if id else None
    if id and button != "copy" and (before is None or form.one("revision") != str(before.revision)):
        return _stale(bench, before, form)
    verb, _, what = button.partition(":")
    if verb in _LOOKING:
        return _page(bench, before, form, at=what, button=button)
    if request.headers.get("X-Quick") == WHOLE:  # saves nothing: a press that comes first would meet its revision
        return _page(bench, before, form, at=form.one("at"), button=button)
    try:
        after = _after(bench, before, form, verb, what, button)
    except InputFault as fault:
        return _page(bench, before, form, {"": tuple(problem.message for problem in fault.problems)}, button=button)
    if verb in ("pick", "swap") and (lacking := _lacks_reason(bench, after, button)):
        return _page(bench, before, form, lacking, button=button)
    try:
        now = _saved(bench, before if button != "copy" else None, after, undone=verb == "undo")
    except StaleDraft as stale:
        return _stale(bench, drafts.load(bench.database, stale.now.id) if stale.now else None, form)
    if verb == "issue":
        return _issued(bench, now)
    if "X-Quick" in request.headers:
        return _page(bench, now, now.form, at=form.one("at"), button=button)
    return redirect(url_for("build.draft", draft=now.id, _anchor="now"), 303)


def _after(bench: Bench, before: Open | None, form: Form, verb: str, what: str, button: str) -> Form:
    """The form after a button."""
    if verb == "undo" and before is not None:
        if visit_text(form).text != visit_text(before.form).text:  # typed a moment ago, not saved yet: that goes first
            return before.form
        return bench.past.take(before.id) or form
    if verb in ("who", "last"):
        with bench.database.read() as connection:
            athlete = find_athlete(connection, what if verb == "who" else form.one("athlete_id"))
            if athlete is None:
                return form.without("athlete_id", "last", "amendments")
            if verb == "who":
                return with_athlete(athlete, form)
            return _prepared(connection, next_form(connection, athlete, datetime.now().astimezone().date()))
    if verb == "usual":
        return usual_applied(bench.database, form, what)
    if verb == "keep_usual":
        usual_kept(bench.database, form, datetime.now(UTC))
        return form
    return press(form, button)


def _saved(bench: Bench, before: Open | None, after: Form, undone: bool) -> Open:
    now = datetime.now(UTC)
    was = before.form if before else _blank(bench)
    if before is None:
        saved = drafts.begin(bench.database, after, now)
    elif drafts.kept(after) == before.form:
        return before
    else:
        saved = drafts.save(bench.database, before.id, before.revision, after, now)
    words = change_words(was, saved.form, bench.library)
    if words and not undone:
        bench.past.note(saved.id, was, words)
    return saved


def _lacks_reason(bench: Bench, form: Form, button: str) -> Faults:
    """A fault beside the reason's field where a drill put on by hand needs one."""
    visit = visit_text(ready(form)[0])
    try:
        bench.sheet(visit.text, bool(form.one("large")), shortage=False)
    except InputFault as fault:
        said = visit.faults(fault.problems)
        if said and all(name.startswith("pick-") for name in said):
            drill, side = button.split(":")[-2:] if button.startswith("pick:") else button.split(":")[2:]
            return {f"why-{drill}-{side}": (NO_REASON,)}
    return {}


def _issued(bench: Bench, now: Open) -> Response:
    """Print: the record of the sheet, or the page again with what is wrong."""
    try:
        done = issue(bench, now)
    except StaleDraft:
        return _stale(bench, drafts.load(bench.database, now.id), now.form)
    if isinstance(done, str):
        address = url_for("records.page", sheet=done)
        return jsonify(to=address) if "X-Quick" in request.headers else redirect(address, 303)
    return _page(bench, now, now.form, done, tried=True)


def _stale(bench: Bench, there: Open | None, form: Form) -> Response:
    """What was sent stays on the page; what stands there now is one press away."""
    return _page(bench, there, form, {}, stale=True)


def _blank(bench: Bench) -> Form:
    with bench.database.read() as connection:
        return _prepared(connection, blank_form(f"{datetime.now().astimezone():%Y-%m-%d}"))


def _prepared(connection: Connection, form: Form) -> Form:
    """A visit begins with the name of whoever signed in; where nobody does, with the form's, else the last visit's."""
    person = g.get("person")
    if person is None and form.one("prepared_by"):
        return form
    name = person.name if person else last_prepared_by(connection)
    return form.with_values(prepared_by=(name,)) if name else form


def _page(
    bench: Bench,
    draft: Open | None,
    form: Form,
    faults: Faults | None = None,
    *,
    at: str = "",
    button: str = "",
    stale: bool = False,
    tried: bool = False,
) -> Response:
    """The whole page, or for the script its parts; 409 where somebody else saved meanwhile, 422 for a fault."""
    page = build(bench, form, at, faults, shortage=request.headers.get("X-Quick") != SOON)
    status = 409 if stale else 422 if faults else 200
    context = {**_context(bench, page, draft), "at": at, "stale": stale, "tried": tried}
    if "X-Quick" in request.headers:
        return make_response(jsonify(_parts(page, draft, context, button)), status)
    with bench.database.read() as connection:
        usuals = list_usuals(connection)
    context |= {
        "open_drafts": [] if draft else drafts.listed(bench.database),
        "usuals": usuals,
        "offers": bench.shelf.offers.find(form.one("find")) if form.one("find") else (),
    }
    return make_response(render_template("build.html", **context), status)


def _parts(page: Building, draft: Open | None, context: Mapping[str, object], button: str) -> dict[str, object]:
    """The parts of the page as the script takes them. While something is at fault, what was made stays in view."""
    left = () if page.made or not page.faults else ("made", "look", "foot")
    parts = {name: render_template(f"build/{name}.html", **context) for name in PARTS if name not in left}
    return {
        "draft": draft.id if draft else "",
        "revision": draft.revision if draft else 0,
        "parts": parts,
        "more": page.made is not None and request.headers["X-Quick"] == SOON,
        "told": MENDED if page.faults else KEPT if button == "keep_usual" else "",
        "pressed": button,
    }


def _context(bench: Bench, page: Building, draft: Open | None) -> dict[str, object]:
    zones = bench.library.atlas.zones
    return {
        "page": page,
        "form": page.form,
        "faults": page.faults,
        "made": page.made,
        "found": page.found,
        "draft": draft,
        "undo": bench.past.last(draft.id) if draft else "",
        "words": bench.shelf.vocabulary,
        "weekdays": WEEKDAYS,
        "drills": bench.library.drills,
        "places": bench.shelf.body.places,
        "house_paper": bench.clinic.paper,
        "web": bench.clinic.web,
        "web_in_clinic": bench.clinic.web_in_clinic,
        "given_days": [day for day in WEEKDAYS if page.form.one(f"minutes_{day}")],
        "zone_words": lambda keys: listed([zones[key].plain if key in zones else key for key in keys]),
        "words_of": _words_of,
        "chosen_words": lambda options, keys: ", ".join(one.words for one in options if one.value in keys),
        "has": lambda endpoint: endpoint in current_app.view_functions,
    }


def _words_of(options: Iterable[Option], key: str) -> str:
    """The words of the one option with this value; the value itself where there is none."""
    return next((one.words for one in options if one.value == key), key)
