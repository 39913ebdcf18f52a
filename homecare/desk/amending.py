"""One change to an issued sheet: what it does to the days left, its slip as it will be printed, and the slip filed."""

from __future__ import annotations

import base64
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, timedelta

from flask import Blueprint, Response, abort, make_response, redirect, render_template, request, url_for
from werkzeug.wrappers import Response as AnyResponse

from homecare import workflow
from homecare.core.drill import Rung
from homecare.core.last import LastDrill
from homecare.core.problems import InputFault
from homecare.core.slip import Amendment
from homecare.core.words import drill_text
from homecare.desk.amend_form import DOSE_FIELDS, dose_fields, field_faults, first_day, read_amendment
from homecare.desk.bench import Bench
from homecare.desk.form import Form, read_form
from homecare.library.load import Library
from homecare.render.dose_words import day_words, dose_words
from homecare.render.pdf_pages import count_pages, page_png
from homecare.storage.athletes import Athlete, find_athlete
from homecare.storage.sheets import SheetBytes, find_sheet, read_sheet
from homecare.storage.visits import Visit, find_visit
from homecare.workflow import SlipFiles
from homecare.workflow.check_ins import LastTime, last_time
from homecare.workflow.records import stored_slips
from homecare.workflow.sheets import Named
from homecare.workflow.slips import refuse_unfit

Faults = Mapping[str, Sequence[str]]
GONE = "This sheet is not in this clinic's records: the address is wrong, or its athlete was erased."
ANOTHER = "Another slip was made for this sheet since this page was opened. Load the page again to go on from it."
NEWER = "A newer sheet was handed over since. A change belongs on that one."
OVER = "The days of this sheet are over."
NOTHING = "This sheet has no drills, so there is nothing on it to change."
CHANGED = "The library or the clinic's settings changed since this sheet was made, so a slip would not fit the leaf."


@dataclass(frozen=True)
class _Leaf:
    """An issued sheet with all that a change to it needs; `why_not` says in words why none can be made ('': it can)."""

    athlete: Athlete
    visit: Visit
    files: SheetBytes
    last: LastTime
    slips: tuple[Named, ...]
    why_not: str


@dataclass(frozen=True)
class Row:
    """One drill that holds, and its dose as it is `now`."""

    id: str
    kind: str
    name: str
    part: str
    now: Rung

    @property
    def dose(self) -> str:
        """Its dose in words."""
        return dose_words(self.now)


def blueprint(bench: Bench) -> Blueprint:
    """The page's routes over one bench."""
    topic = Blueprint("amending", __name__)

    @topic.get("/sheet/<sheet>/amend")
    def page(sheet: str) -> Response:
        leaf = _fitting(bench, _leaf(bench, sheet))
        form: dict[str, tuple[str, ...]] = {"day": (_first(leaf).isoformat(),)}
        for row in _rows(leaf, bench.library):
            form |= dose_fields(row.id, row.now)
        return _page(bench, sheet, leaf, Form(form), {})

    @topic.post("/sheet/<sheet>/amend")
    def sent(sheet: str) -> AnyResponse:
        leaf = _leaf(bench, sheet)
        form = read_form((name, values) for name, values in request.form.lists() if name not in ("token", "do"))
        if form.one("slips") != str(len(leaf.slips)):
            abort(409, ANOTHER)
        if leaf.why_not:
            return _page(bench, sheet, leaf, form, {"": (leaf.why_not,)})
        asked, faults = read_amendment(form, {row.id: row.now for row in _rows(leaf, bench.library)}, bench.library)
        if asked is None:
            return _page(bench, sheet, leaf, form, faults)
        return _slip(bench, sheet, leaf, form, asked, print_it=request.form.get("do") == "print")

    return topic


def today() -> date:
    """The day at the clinic."""
    return datetime.now().astimezone().date()


def _leaf(bench: Bench, sheet: str) -> _Leaf:
    with bench.database.read() as connection:
        stored = find_sheet(connection, sheet)
        visit = find_visit(connection, stored.visit) if stored else None
        athlete = find_athlete(connection, visit.athlete) if visit else None
        files = read_sheet(connection, sheet)
        last = last_time(connection, athlete.id) if athlete else None
        if visit is None or athlete is None or files is None or last is None:
            abort(404, GONE)
        slips = stored_slips(connection, sheet)
    why_not = ""
    if last.sheet.id != sheet:
        why_not = NEWER
    elif not last.plan.drills or not last.plan.days:
        why_not = NOTHING
    elif last.plan.days[-1].date < max(today(), last.plan.start + timedelta(days=1)):
        why_not = OVER
    return _Leaf(athlete, visit, files, last, slips, why_not)


def _fitting(bench: Bench, leaf: _Leaf) -> _Leaf:
    """The leaf, with what is said where its visit does not give it any more."""
    if leaf.why_not:
        return leaf
    issued = ("the sheet", leaf.files.plan)
    try:
        refuse_unfit(leaf.visit.text, "visit", bench.library, bench.clinic, bench.plan_of, issued, leaf.slips)
    except InputFault:
        return replace(leaf, why_not=CHANGED)
    return leaf


def _first(leaf: _Leaf) -> date:
    plan = leaf.last.plan
    end = plan.days[-1].date if plan.days else plan.start
    return first_day(today(), plan.start, end, (one.day for one in leaf.last.slips))


def _rows(leaf: _Leaf, library: Library) -> tuple[Row, ...]:
    return tuple(_row(drill, leaf, library) for drill in leaf.last.plan.drills if drill.off is None and drill.rungs)


def _row(drill: LastDrill, leaf: _Leaf, library: Library) -> Row:
    known = library.drills.get(drill.id)
    stood = [
        item.rung
        for day in leaf.last.plan.days
        if day.date <= today()
        for item in day.items
        if item.drill == drill.id and item.rung is not None
    ]
    rung = min(stood[-1] if stood else drill.start_rung, len(drill.rungs) - 1)
    return Row(
        id=drill.id,
        kind=drill.kind,
        name=known.name if known else drill.id.replace("_", " ").capitalize(),
        part=drill_text(known, drill.side).part if known else drill.side,
        now=drill.rungs[rung],
    )


def _slip(bench: Bench, sheet: str, leaf: _Leaf, form: Form, asked: Amendment, *, print_it: bool) -> AnyResponse:
    """The slip of what is asked for: filed and shown to be printed, or only looked at."""
    try:
        files = bench.slip(leaf.visit.text, asked, ("the sheet", leaf.files.plan), leaf.slips, bool(form.one("large")))
    except InputFault as fault:
        if any(one.code == "other-plan" for one in fault.problems):
            return _page(bench, sheet, replace(leaf, why_not=CHANGED), form, {"": (CHANGED,)})
        return _page(bench, sheet, leaf, form, field_faults(fault.problems, asked, bench.library))
    if not print_it:
        return _page(bench, sheet, leaf, form, {}, files)
    seen = len(leaf.slips)
    try:
        stored = workflow.issue_slip(bench.database, sheet, bench.hand_over(files), datetime.now(UTC), slips=seen)
    except workflow.Overtaken:
        abort(409, ANOTHER)
    return redirect(url_for("records.slip_pdf", sheet=sheet, slip=stored.id), 303)


def _page(
    bench: Bench, sheet: str, leaf: _Leaf, form: Form, faults: Faults, files: SlipFiles | None = None
) -> Response:
    here = {row.id for row in _rows(leaf, bench.library)}
    html = render_template(
        "amend.html",
        athlete=leaf.athlete,
        sheet=sheet,
        newest=leaf.last.sheet.id,
        why_not=leaf.why_not,
        form=form,
        faults=faults,
        rows=_rows(leaf, bench.library),
        dose_fields=DOSE_FIELDS,
        drills=sorted(
            (one.name, one.clinical) for key, one in bench.library.drills.items() if key not in here and not one.retired
        ),
        slips=len(leaf.slips),
        issued=day_words(leaf.last.plan.start, year=True),
        pictures=_pictures(files.pdf) if files else (),
        nothing=bool(files and not files.slip.lines),
    )
    return make_response(html, 422 if faults else 200)


def _pictures(pdf: bytes) -> tuple[str, ...]:
    """The pages of a slip as addresses that stand in an <img>."""
    pages = (page_png(pdf, number) for number in range(1, count_pages(pdf) + 1))
    return tuple(f"data:image/png;base64,{base64.b64encode(page).decode()}" for page in pages if page)
