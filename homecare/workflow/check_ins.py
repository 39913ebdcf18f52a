"""An athlete's last sheet as a check-in asks about it, and the answers kept."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy import Connection

from homecare.core.findings import LastSheet
from homecare.core.last import LastPlan
from homecare.core.slip import Amendment
from homecare.render.plan_read import read_plan, read_slip
from homecare.storage import visits
from homecare.storage.database import Database
from homecare.storage.sheets import StoredSheet, latest_sheet, read_sheet
from homecare.workflow.phone_codes import PhonePage
from homecare.workflow.records import came_back_json, stored_slips
from homecare.workflow.sheets import amended_plan


@dataclass(frozen=True)
class LastTime:
    """An athlete's last sheet: its plan as its slips left it, what they changed, and every phone page of it."""

    sheet: StoredSheet
    plan: LastPlan
    slips: tuple[Amendment, ...]
    pages: tuple[PhonePage, ...]


def last_time(connection: Connection, athlete: str) -> LastTime | None:
    """The last sheet of an athlete, None when there is none. Raises StorageFault where the disk has altered it."""
    stored = latest_sheet(connection, athlete)
    files = read_sheet(connection, stored.id) if stored else None
    if stored is None or files is None:
        return None
    named = stored_slips(connection, stored.id)
    issued = read_plan(files.plan)
    slips = [read_slip(content, name) for name, content in named]
    return LastTime(
        sheet=stored,
        plan=amended_plan((("the last sheet", files.plan), *named)),
        slips=tuple(one.asked for one in slips),
        pages=(PhonePage(issued.start, issued.drills), *(PhonePage(one.asked.day, one.drills) for one in slips)),
    )


def asked_since(connection: Connection, sheet: str) -> tuple[Amendment, ...]:
    """What each slip of a sheet changed, in the order in which they were handed over."""
    return tuple(read_slip(content, name).asked for name, content in stored_slips(connection, sheet))


def keep_check_in(database: Database, told: LastSheet, day: date, at: datetime) -> None:
    """Keep what came back of a sheet (`told.plan` is its id) without a visit. Raises StorageFault."""
    with database.write() as connection:
        visits.add_check_in(connection, told.plan, day, came_back_json(told), at)
