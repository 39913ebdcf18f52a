"""The athletes: the list and its search, one athlete's visits in order with their course, a new one, another name."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import UTC, date, datetime

from flask import Blueprint, abort, make_response, redirect, render_template, request, url_for
from sqlalchemy import Connection
from werkzeug.wrappers import Response

from homecare import workflow
from homecare.desk import roster
from homecare.desk.bench import Bench
from homecare.desk.form import Form, read_form, whole
from homecare.desk.history_view import chart_views, lately, visit_views
from homecare.desk.roster import Row, Section
from homecare.storage import filing
from homecare.storage.athletes import Athlete, add_athlete, find_athlete, rename_athlete
from homecare.storage.drafts import Draft, drafts_of_athlete, list_drafts
from homecare.storage.listing import list_athletes, stands_today
from homecare.storage.sheets import find_sheet
from homecare.typeface import LETTERS_HINT, strangers
from homecare.workflow.histories import past_visits

A_PAGE = 50
VISITS_A_PAGE, CHARTS_A_PAGE = 6, 12
DRAFTS_SHOWN = 8
GONE = "This athlete is not in this clinic's records: the address is wrong, or the athlete was erased."
NO_NAME = "A name is needed, with at least one letter"
LONG_NAME = "A name may have 80 letters"
NO_AGE = "An age is a whole number from 0 to 120"
NAME_LETTERS, OLDEST = 80, 120
Faults = Mapping[str, tuple[str, ...]]


def blueprint(bench: Bench) -> Blueprint:
    """The routes of the athletes over one bench."""
    topic = Blueprint("athletes", __name__)

    @topic.get("/athletes")
    def listed() -> str:
        choose = request.args.get("choose") == "1"
        return render_template("athletes.html", **_list(bench, "", _number(request.args.get("page")), choose, ()))

    @topic.post("/athletes")
    def searched() -> str:
        """The same by name, and with sheets chosen: what was typed never stands in an address."""
        form = read_form(request.form.lists())
        choose, number = form.one("choose") == "1", _number(form.one("page") or form.one("all"))
        shown = _list(bench, form.one("typed"), number, choose, form.many("sheet"), bool(form.one("all")))
        return render_template("roster.html" if form.one("part") else "athletes.html", **shown)

    @topic.post("/athletes/file")
    def file_now() -> Response:
        workflow.file_the_unfiled(bench.database)
        return redirect(url_for("athletes.listed"), 303)

    _add_new(topic, bench)
    _add_one(topic, bench)
    return topic


def _add_new(topic: Blueprint, bench: Bench) -> None:
    @topic.get("/athletes/new")
    def new() -> str:
        return render_template("athlete_new.html", form=Form({}), faults={})

    @topic.post("/athletes/new")
    def added() -> Response:
        form = read_form(request.form.lists())
        faults = {**_name_faults(form.one("name")), **_age_faults(form.one("age"))}
        if faults:
            return make_response(render_template("athlete_new.html", form=form, faults=faults), 422)
        age = whole(form.one("age"))
        with bench.database.write() as connection:
            athlete = add_athlete(connection, form.one("name"), datetime.now(UTC), age=age)
        return redirect(url_for("athletes.one", athlete=athlete.id), 303)


def _add_one(topic: Blueprint, bench: Bench) -> None:
    @topic.get("/athlete/<athlete>")
    def one(athlete: str) -> str:
        return _page(bench, athlete, Form({}), {})

    @topic.get("/athlete/<athlete>/course")
    def course(athlete: str) -> str:
        with bench.database.read() as connection:
            found = find_athlete(connection, athlete) or abort(404, GONE)
            drawn = chart_views(past_visits(connection, athlete))
        number = _number(request.args.get("page"))
        at = (number - 1) * CHARTS_A_PAGE
        shown, last = drawn[at : at + CHARTS_A_PAGE], -(-len(drawn) // CHARTS_A_PAGE)
        return render_template("course.html", athlete=found, charts=shown, page=number, last_page=last)

    @topic.post("/athlete/<athlete>/name")
    def named(athlete: str) -> Response:
        form = read_form(request.form.lists())
        faults = _name_faults(form.one("name"))
        if faults:
            return make_response(_page(bench, athlete, form, faults), 422)
        try:
            with bench.database.write() as connection:
                rename_athlete(connection, athlete, form.one("name"))
        except KeyError:
            abort(404, GONE)
        return redirect(url_for("athletes.one", athlete=athlete), 303)


def _list(
    bench: Bench, typed: str, number: int, choose: bool, chosen: Sequence[str], every: bool = False
) -> dict[str, object]:
    """What the list shows: a page of the groups, the chosen rows first; open drafts when nothing is searched.

    With `every`, each sheet of the page is chosen too.
    """
    today = roster.today()
    with bench.database.read() as connection:
        found = list_athletes(connection, today, typed=typed, start=(number - 1) * A_PAGE, count=A_PAGE)
        here = [one.sheet.id for one in found.rows if one.sheet] if every else []
        taken = _chosen(connection, dict.fromkeys((*chosen, *here)), today)
        drafts = list_drafts(connection) if not typed and number == 1 and not choose else ()
        names = {one.id: one.name for one in _owners(connection, drafts[:DRAFTS_SHOWN])}
    total = sum(found.counts.values())
    shown = {one.sheet for one in taken}
    rest = tuple(
        Section(one.title, one.count, tuple(row for row in one.rows if not row.sheet or row.sheet not in shown))
        for one in roster.sections(found, today)
    )
    return {
        "sections": tuple(one for one in rest if one.rows),
        "chosen": taken,
        "typed": typed,
        "choose": choose,
        "total": total,
        "page": number,
        "last_page": -(-total // A_PAGE),
        "drafts": roster.draft_rows(drafts[:DRAFTS_SHOWN], names),
        "more_drafts": max(len(drafts) - DRAFTS_SHOWN, 0),
        "unfiled": sum(1 for _ in filing.aside(bench.data)),
    }


def _chosen(connection: Connection, chosen: Iterable[str], today: date) -> tuple[Row, ...]:
    """The rows of sheets that were ticked before, whatever is searched now; one that is gone is left off."""
    rows = []
    for id in chosen:
        sheet = find_sheet(connection, id)
        found = stands_today(connection, sheet.athlete, today) if sheet else None
        if found is not None and found.sheet is not None and found.sheet.id == id:
            rows.append(roster.row(found, today))
    return tuple(rows)


def _owners(connection: Connection, drafts: Sequence[Draft]) -> list[Athlete]:
    found = [find_athlete(connection, one.athlete) for one in drafts if one.athlete]
    return [one for one in found if one is not None]


def _page(bench: Bench, id: str, form: Form, faults: Faults) -> str:
    """One athlete: what holds today, the course, the visits (the latest first, some a page), and the record itself."""
    today, number = roster.today(), _number(request.args.get("page"))
    with bench.database.read() as connection:
        stands = stands_today(connection, id, today)
        if stands is None:
            abort(404, GONE)
        past = past_visits(connection, id)
        drafts = drafts_of_athlete(connection, id)
    visits = visit_views(past, today)
    at = (number - 1) * VISITS_A_PAGE
    latest = next((one for one in visits if one.sheet), None)
    return render_template(
        "athlete.html",
        athlete=stands.athlete,
        row=roster.row(stands, today),
        latest=latest,
        charts=lately(past) if number == 1 else (),
        visits=visits[at : at + VISITS_A_PAGE],
        total=len(visits),
        page=number,
        last_page=-(-len(visits) // VISITS_A_PAGE),
        drafts=roster.draft_rows(drafts, {id: stands.athlete.name}),
        form=form if form.values else Form({"name": (stands.athlete.name,)}),
        faults=faults,
    )


def _number(typed: str | None) -> int:
    """The number of a page, 1 for what is none."""
    return max(1, whole(typed or "") or 1)


def _name_faults(name: str) -> Faults:
    if not any(letter.isalnum() for letter in name):
        return {"name": (NO_NAME,)}
    said = [f"{LONG_NAME}; this one has {len(name)}"] if len(name) > NAME_LETTERS else []
    found = strangers(name)
    if found:
        said.append(f"The printed sheet has no letters for {' '.join(found[:8])}: {LETTERS_HINT}")
    return {"name": tuple(said)} if said else {}


def _age_faults(age: str) -> Faults:
    years = whole(age)
    return {"age": (NO_AGE,)} if age and (years is None or years > OLDEST) else {}
