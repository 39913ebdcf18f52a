"""An invented fencer with one filed sheet of 14 days from 2 March, for the tests of the check-in and of slips."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime
from functools import lru_cache

from homecare import workflow
from homecare.core.findings import Pick
from homecare.core.problems import Source
from homecare.core.sheet import Clinic
from homecare.library.load import Library, load_library
from homecare.storage.athletes import add_athlete
from homecare.storage.database import Database
from homecare.workflow import Amendment, SheetFiles
from homecare.workflow.check_ins import LastTime, last_time
from homecare.workflow.records import stored_slips

NAME = "Lorcan M."
START = date(2026, 3, 2)
VISIT = """athlete: "Lorcan M."
start: 2026-03-02
days: 14
prepared_by: "D. Achterberg"
kit: [ball, roller, strap, band]
screen: clear
minutes: {weekday: 14, weekend: 20}
findings:
  - {tissue: soleus, side: left, found: tight}
  - {tissue: gluteus_medius, side: left, found: weak}
  - symptom: tingling
    zones: [digit_1, digit_2]
    side: right
    worse_with: [grip]
    now: 5
markers:
  - {test: knee_to_wall, side: left, before: 7.0, after: 9.0}
clinic_visits: [2026-03-16]
"""


@dataclass(frozen=True)
class Fencer:
    """The ids of what was filed, where it lies, and the drills of the sheet by priority."""

    database: Database
    athlete: str
    sheet: str
    drills: tuple[str, ...]

    def last(self) -> LastTime:
        """The last sheet as it stands now."""
        with self.database.read() as connection:
            found = last_time(connection, self.athlete)
        assert found
        return found


@lru_cache(maxsize=1)
def files_of() -> SheetFiles:
    """The files of the one sheet, made once."""
    return workflow.visit_sheet(VISIT, "visit", load_library(), Clinic(), lambda last: ())


def file_fencer(database: Database) -> Fencer:
    """One more fencer of that name with that one sheet in a database."""
    with database.write() as connection:
        athlete = add_athlete(connection, NAME, datetime(2026, 3, 2, 9, tzinfo=UTC)).id
    files = files_of()
    issued = workflow.issue(database, athlete, VISIT, files, datetime(2026, 3, 2, 10, tzinfo=UTC))
    order = sorted(files.sheet.drills, key=lambda one: one.priority)
    return Fencer(database, athlete, issued.sheet, tuple(one.id for one in order))


def file_slip(fencer: Fencer, library: Library, day: date, off: str) -> None:
    """A slip from a day on: one drill off, the open book on."""
    pick = Pick("open_book", None, "stiff again", Source("slip"))
    change = Amendment(day, off=(off,), on=(pick,))
    with fencer.database.read() as connection:
        slips = stored_slips(connection, fencer.sheet)
    plans = workflow.stored_plans(fencer.database)
    plan = files_of().plan
    made = workflow.visit_slip(VISIT, "visit", library, Clinic(), plans, change, ("the sheet", plan), slips)
    workflow.issue_slip(fencer.database, fencer.sheet, made, datetime(day.year, day.month, day.day, 9, tzinfo=UTC))
