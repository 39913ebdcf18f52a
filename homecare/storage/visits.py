"""The visits of an athlete, in order, and what came back at each."""

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


def add_visit(connection: Connection, athlete: str, day: date, text: str, at: datetime, prepared_by: str = "") -> Visit:
    """Add a visit. The database refuses one of an athlete who is not there (sqlalchemy.exc.IntegrityError)."""
    visit = Visit(new_id(), athlete, day, text, prepared_by, at)
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


def add_check_in(connection: Connection, visit: str, json: str) -> None:
    """Keep what came back at a visit from the sheet before it, once a visit (else sqlalchemy.exc.IntegrityError)."""
    connection.execute(insert(check_ins).values(visit=visit, json=json))


def find_check_in(connection: Connection, visit: str) -> str | None:
    """What came back at a visit, as JSON; None when nothing was recorded."""
    return connection.scalar(select(check_ins.c.json).where(check_ins.c.visit == visit))
