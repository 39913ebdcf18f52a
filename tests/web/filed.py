"""An invented rower with three filed visits, a slip and what came back, for the tests of the records."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime

from homecare import workflow
from homecare.core.sheet import Clinic
from homecare.library.load import Library
from homecare.storage.athletes import add_athlete
from homecare.storage.database import Database
from homecare.workflow import Amendment

CLINIC = Clinic(name="Brook Lane", web="https://brook-lane.example")
NAME = "Oddveig T."
FIRST = """athlete: "Oddveig T."
start: 2026-03-02
days: 14
prepared_by: "D. Achterberg"
kit: [ball, roller, strap]
screen: clear
findings:
  - {tissue: soleus, side: left, found: tight}
  - symptom: tingling
    zones: [digit_1, digit_2]
    side: right
    worse_with: [grip]
    now: 5
markers:
  - {test: knee_to_wall, side: left, before: 7.0, after: 9.0}
"""
LATER = """athlete: "Oddveig T."
start: {start}
days: 14
prepared_by: "D. Achterberg"
kit: [ball, roller, strap]
screen: {screen}
findings:
  - {{tissue: soleus, side: left, found: tight}}
  - symptom: tingling
    zones: [digit_1, digit_2]
    side: right
    worse_with: [grip]
    now: {now}
markers:
  - {{test: knee_to_wall, side: left, before: {before}, after: {after}}}
last:
  plan: "{last}"
  done: {{{done}}}
  response: {{{response}}}
  ratings: [{ratings}]
"""


@dataclass(frozen=True)
class Filed:
    """The ids of what was filed: the athlete, the sheets in order, the slip of the first."""

    athlete: str
    sheets: tuple[str, ...]
    slip: str


def file_rower(database: Database, library: Library, refer: bool = False) -> Filed:
    """Three visits, two weeks apart; with `refer` the third raises a sign that is referred soon."""
    with database.write() as connection:
        athlete = add_athlete(connection, NAME, datetime(2026, 3, 2, 9, tzinfo=UTC)).id
    sheets: list[str] = []
    drills: list[str] = []
    slip = ""
    screen = "{flags: [night_pain], decision: refer}" if refer else "clear"
    tellings = (
        ("2026-03-16", 3, 8.0, 9.5, "[2026-03-04, 5], [2026-03-10, 4], [2026-03-14, 3]", "clear"),
        ("2026-03-30", 1, 9.0, 10.0, "[2026-03-20, 4], [2026-03-28, 1]", screen),
    )
    for number in range(3):
        text = FIRST
        if number:
            start, now, before, after, ratings, asked = tellings[number - 1]
            text = LATER.format(
                start=start,
                now=now,
                before=before,
                after=after,
                last=sheets[-1],
                done=", ".join(f"{drill}: 5" for drill in drills),
                response=", ".join(f"{drill}: settled" for drill in drills),
                ratings=ratings,
                screen=asked,
            )
        plans = workflow.stored_plans(database)
        files = workflow.visit_sheet(text, "visit", library, CLINIC, plans)
        at = datetime.combine(files.sheet.start, datetime.min.time(), UTC).replace(hour=10)
        sheets.append(workflow.issue(database, athlete, text, files, at).sheet)
        drills = [one.id for one in files.sheet.drills]
        if number == 0:
            change = Amendment(date(2026, 3, 8), off=(drills[-1],))
            made = workflow.visit_slip(text, "visit", library, CLINIC, plans, change, ("plan.json", files.plan))
            slip = workflow.issue_slip(database, sheets[0], made, datetime(2026, 3, 8, 9, tzinfo=UTC)).id
    return Filed(athlete, tuple(sheets), slip)
