"""One athlete's whole record: given away as a zip, or erased for ever after one question."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime

from flask import Blueprint, Response, abort, render_template

from homecare.desk import roster
from homecare.desk.athletes import GONE
from homecare.desk.bench import Bench
from homecare.desk.history_view import chart_views, moment_words, visit_views
from homecare.desk.records import ZIP, download
from homecare.storage.athletes import Athlete, find_athlete
from homecare.storage.drafts import drafts_of_athlete
from homecare.storage.erasing import erase_athlete
from homecare.storage.sheets import list_amendments, sheets_of_athlete
from homecare.storage.visits import list_visits
from homecare.workflow.giving import INDEX, athlete_files
from homecare.workflow.histories import past_visits, zipped


@dataclass(frozen=True)
class Goes:
    """What an erasing takes, as numbers."""

    visits: int
    sheets: int
    slips: int
    drafts: int


def blueprint(bench: Bench) -> Blueprint:
    """The routes of giving away and erasing over one bench."""
    topic = Blueprint("exporting", __name__)

    @topic.get("/athlete/<athlete>/record.zip")
    def everything(athlete: str) -> Response:
        with bench.database.read() as connection:
            found = find_athlete(connection, athlete) or abort(404, GONE)
            files = dict(athlete_files(connection, athlete))
            past = past_visits(connection, athlete)
        visits = list(zip(range(len(past), 0, -1), visit_views(past, roster.today()), strict=True))
        index = render_template(
            "export.html",
            athlete=found,
            visits=visits,
            days={number: past[number - 1].day for number, _ in visits},
            charts=chart_views(past),
            clinic=bench.clinic,
            made=moment_words(datetime.now(UTC)),
        )
        return download(zipped({INDEX: index.encode(), **files}), ZIP, "record.zip")

    @topic.get("/athlete/<athlete>/erase")
    def ask(athlete: str) -> str:
        found, goes = _goes(bench, athlete)
        return render_template("erase.html", athlete=found, goes=goes)

    @topic.post("/athlete/<athlete>/erase")
    def erase(athlete: str) -> str:
        try:
            erased = erase_athlete(bench.database, athlete, datetime.now(UTC))
        except KeyError:
            abort(404, GONE)
        return render_template("erased.html", erased=erased)

    return topic


def _goes(bench: Bench, athlete: str) -> tuple[Athlete, Goes]:
    with bench.database.read() as connection:
        found = find_athlete(connection, athlete) or abort(404, GONE)
        sheets = sheets_of_athlete(connection, athlete)
        slips = sum(len(list_amendments(connection, one.id)) for one in sheets)
        visits, drafts = list_visits(connection, athlete), drafts_of_athlete(connection, athlete)
    return found, Goes(len(visits), len(sheets), slips, len(drafts))
