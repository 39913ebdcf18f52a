"""An issued sheet: what is handed over with it, to the byte as it was stored, and its slips."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from flask import Blueprint, Response, abort, render_template

from homecare import workflow
from homecare.core.history import PastSheet
from homecare.desk import roster
from homecare.desk.bench import Bench
from homecare.desk.files import PHONE_POLICY, SIZE, TEXT
from homecare.desk.history_view import sheet_view
from homecare.render.codes import SHEET_MM, code_svg
from homecare.render.course_letter import course_letter_pdf
from homecare.render.past_read import calendar_of_phone, read_past_plan
from homecare.render.pdf_pages import WIDTH, page_heights, page_png
from homecare.storage import athletes, sheets, visits
from homecare.storage.faults import StorageFault
from homecare.storage.sheets import AmendmentBytes, SheetBytes
from homecare.workflow.histories import past_sheet, past_visits, visit_files, zipped

GONE = "This sheet is not in this clinic's records: the address is wrong, or its athlete was erased."
NO_SLIP = "This slip is not in this clinic's records."
PDF, PNG, ZIP = "application/pdf", "image/png", "application/zip"


@dataclass(frozen=True)
class _Found:
    """A sheet as it is stored, and whose it is. One that is not `filed` waits in a file of its own."""

    past: PastSheet
    athlete: str
    name: str
    visit: str
    text: str
    prepared_by: str
    files: SheetBytes
    filed: bool


def blueprint(bench: Bench) -> Blueprint:
    """The routes of issued sheets over one bench."""
    topic = Blueprint("records", __name__)

    @topic.get("/sheet/<sheet>")
    def page(sheet: str) -> str:
        found = _found(bench, sheet)
        return render_template(
            "record.html",
            sheet=sheet_view(found.past, roster.today()),
            found=found,
            note=found.files.note.decode(),
            leaf=list(enumerate(page_heights(found.files.pdf), 1)),
            width=WIDTH,
            has_calendar=bool(calendar_of_phone(found.files.phone)),
        )

    for name, serve in _FILES.items():
        _add(topic, bench, name, serve)
    _add_made(topic, bench)
    _add_slips(topic, bench)
    return topic


Serve = Callable[[SheetBytes], Response]


def _add(topic: Blueprint, bench: Bench, name: str, serve: Serve) -> None:
    """One stored file of a sheet under its address; the endpoint is the name without its ending."""

    def view(sheet: str) -> Response:
        return serve(_found(bench, sheet).files)

    topic.add_url_rule(f"/sheet/<sheet>/{name}", _ENDPOINTS.get(name, name.partition(".")[0]), view)


def _add_made(topic: Blueprint, bench: Bench) -> None:
    """What is made from the stored bytes for a purpose: pictures of the pages, the visit as a folder, the letter."""

    @topic.get("/sheet/<sheet>/page-<int:number>.png")
    def picture(sheet: str, number: int) -> Response:
        shown = page_png(_found(bench, sheet).files.pdf, number)
        return Response(shown, mimetype=PNG) if shown else abort(404, "The sheet has no such page.")

    @topic.get("/sheet/<sheet>/visit.zip")
    def visit(sheet: str) -> Response:
        found = _found(bench, sheet)
        with bench.database.read() as connection:
            files = visit_files(connection, found.athlete, found.text)
        return download(zipped(files), ZIP, "visit.zip")

    @topic.get("/sheet/<sheet>/letter.pdf")
    def letter(sheet: str) -> Response:
        found = _found(bench, sheet)
        with bench.database.read() as connection:
            past = past_visits(connection, found.athlete)
        until = next((number for number, one in enumerate(past, 1) if one.id == found.visit), 0)
        content = course_letter_pdf(past[:until], bench.clinic)
        return Response(content, mimetype=PDF) if content else abort(404, "Nothing is referred on this sheet.")


def _add_slips(topic: Blueprint, bench: Bench) -> None:
    @topic.get("/sheet/<sheet>/slip/<slip>.pdf")
    def slip_pdf(sheet: str, slip: str) -> Response:
        return Response(_slip(bench, sheet, slip).pdf, mimetype=PDF)

    @topic.get("/sheet/<sheet>/slip/<slip>.html")
    def slip_phone(sheet: str, slip: str) -> Response:
        return _phone_page(_slip(bench, sheet, slip).phone)


def _found(bench: Bench, sheet: str) -> _Found:
    """A sheet with its files, filed or still waiting to be; 404 where there is none (any more)."""
    try:
        found = _filed(bench, sheet)
    except StorageFault:
        found = _unfiled(bench, sheet)
        if found is None:
            raise
    return found or _unfiled(bench, sheet) or abort(404, GONE)


def _filed(bench: Bench, sheet: str) -> _Found | None:
    with bench.database.read() as connection:
        stored = sheets.find_sheet(connection, sheet)
        visit = visits.find_visit(connection, stored.visit) if stored else None
        athlete = athletes.find_athlete(connection, visit.athlete) if visit else None
        files = sheets.read_sheet(connection, sheet)
        if stored is None or visit is None or athlete is None or files is None:
            return None
        past = past_sheet(connection, stored)
    return _Found(past, athlete.id, athlete.name, visit.id, visit.text, visit.prepared_by, files, True)


def _unfiled(bench: Bench, sheet: str) -> _Found | None:
    one = workflow.unfiled_sheet(bench.database, sheet)
    if one is None:
        return None
    past = PastSheet(one.id, one.at, read_past_plan(one.files.plan))
    return _Found(past, one.athlete, one.athlete_name, one.visit, one.text, one.prepared_by, one.files, False)


def _slip(bench: Bench, sheet: str, slip: str) -> AmendmentBytes:
    with bench.database.read() as connection:
        own = any(one.id == slip for one in sheets.list_amendments(connection, sheet))
        files = sheets.read_amendment(connection, slip) if own else None
    return files or abort(404, NO_SLIP)


def _phone_page(content: bytes) -> Response:
    page = Response(content, content_type="text/html; charset=utf-8")
    page.headers["Content-Security-Policy"] = PHONE_POLICY
    return page


def download(content: bytes, kind: str, name: str) -> Response:
    """A file to be kept; its name never says whose it is."""
    return Response(content, content_type=kind, headers={"Content-Disposition": f"attachment; filename={name}"})


def _code(files: SheetBytes) -> Response:
    link = read_past_plan(files.plan).link
    if not link:
        abort(404, "This sheet has no code: it has no drills, or no web address was set.")
    return Response(
        SIZE.sub(' width="100%" height="100%"', code_svg(link, SHEET_MM), count=1), mimetype="image/svg+xml"
    )


def _calendar(files: SheetBytes) -> Response:
    content = calendar_of_phone(files.phone)
    if not content:
        abort(404, "This sheet has no plan, so there is nothing for a calendar.")
    return download(content, "text/calendar; charset=utf-8", "care.ics")


_FILES: dict[str, Serve] = {
    "sheet.pdf": lambda files: Response(files.pdf, mimetype=PDF),
    "phone.html": lambda files: _phone_page(files.phone),
    "note.txt": lambda files: Response(files.note, content_type=TEXT),
    "plan.json": lambda files: download(files.plan, "application/json", "plan.json"),
    "code.svg": _code,
    "care.ics": _calendar,
}
"""Each is what was stored when the sheet was issued, or is read out of it."""

_ENDPOINTS = {"sheet.pdf": "pdf", "care.ics": "calendar"}
