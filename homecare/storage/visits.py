"""The visits of an athlete, in order, and what came back of each sheet."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy import Connection, insert, select

from homecare.storage.athletes import new_id
from homecare.storage.tables import check_ins, visits


@dataclass(frozen=True)
class Visit:
    """One visit as it was entered; `text` is its visit file."""

    id: str
    athlete: str
    day: date
    text: str
    prepared_by: str
    entered: datetime


@dataclass(frozen=True)
class CheckIn:
    """What came back of a sheet on a day, as JSON; `visit` is the one it was told at, None where it was kept alone."""

    id: str
    sheet: str
    visit: str | None
    day: date
    json: str
    entered: datetime


def add_visit(
    connection: Connection,
    athlete: str,
    day: date,
    text: str,
    at: datetime,
    prepared_by: str = "",
    *,
    id: str | None = None,
) -> Visit:
    """Add a visit. The database refuses one of an athlete who is not there (sqlalchemy.exc.IntegrityError)."""
    visit = Visit(id or new_id(), athlete, day, text, prepared_by, at)
    connection.execute(insert(visits).values(vars(visit)))
    return visit


def find_visit(connection: Connection, id: str) -> Visit | None:
    """The visit of an id, None when there is none (any more)."""
    row = connection.execute(select(visits).where(visits.c.id == id)).one_or_none()
    return Visit(**row._mapping) if row else None


def list_visits(connection: Connection, athlete: str) -> tuple[Visit, ...]:
    """An athlete's visits by day; two of one day in the order in which they were entered."""
    question = select(visits).where(visits.c.athlete == athlete)
    question = question.order_by(visits.c.day, visits.c.entered, visits.c.id)
    return tuple(Visit(**row._mapping) for row in connection.execute(question))


def last_prepared_by(connection: Connection) -> str:
    """Who prepared the visit that was entered last, of any athlete; '' where there is none or nobody was named."""
    question = select(visits.c.prepared_by).order_by(visits.c.entered.desc(), visits.c.id.desc()).limit(1)
    return connection.scalar(question) or ""


def add_check_in(
    connection: Connection, sheet: str, day: date, json: str, at: datetime, visit: str | None = None
) -> CheckIn:
    """Keep what came back of a sheet. The database refuses a second one of a visit (sqlalchemy.exc.IntegrityError)."""
    check_in = CheckIn(new_id(), sheet, visit, day, json, at)
    connection.execute(insert(check_ins).values(vars(check_in)))
    return check_in


def list_check_ins(connection: Connection, sheet: str) -> tuple[CheckIn, ...]:
    """What came back of a sheet, by day; two of one day in the order in which they were entered."""
    question = select(check_ins).where(check_ins.c.sheet == sheet)
    question = question.order_by(check_ins.c.day, check_ins.c.entered, check_ins.c.id)
    return tuple(CheckIn(**row._mapping) for row in connection.execute(question))
