"""The desk's list of athletes: where each stands today, in groups and pages."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Literal, cast

from sqlalchemy import ColumnElement, Connection, Row, Subquery, case, func, select

from homecare.storage.athletes import ATHLETE, Athlete, called
from homecare.storage.sheets import STORED, StoredSheet
from homecare.storage.tables import athletes, latest_sheets, planned_days, sheets

Group = Literal["due", "new", "on", "earlier"]
GROUPS: tuple[Group, ...] = ("due", "new", "on", "earlier")
"""In the order of the list: at the clinic today or with a sheet that ran out lately; without a sheet yet; on a sheet
today; and all others."""

LATELY = timedelta(days=14)
"""So long after its last day a sheet that ran out still asks for what came back (common practice)."""


@dataclass(frozen=True)
class Listed:
    """One athlete with the latest sheet (None: none yet), and its next visit and event, today's included."""

    athlete: Athlete
    group: Group
    sheet: StoredSheet | None
    next_visit: date | None
    event: date | None


@dataclass(frozen=True)
class Page:
    """Some rows of the list by group and name, and how many athletes each group has in all."""

    rows: tuple[Listed, ...]
    counts: Mapping[Group, int]


def list_athletes(
    connection: Connection,
    today: date,
    *,
    typed: str = "",
    group: Group | None = None,
    start: int = 0,
    count: int = 50,
) -> Page:
    """The athletes of whose names each typed word begins a word (nothing typed: all), `count` of them from `start` on.

    With a `group`, rows of that one alone; the counts are of all.
    """
    place = _place(today)
    found = select(place, func.count()).select_from(_EVERYBODY).where(called(typed)).group_by(place)
    counts = {GROUPS[number]: many for number, many in connection.execute(found)}
    order = (place, athletes.c.sorting, athletes.c.id)
    shown = select(athletes.c.id, place.label("place")).select_from(_EVERYBODY).where(called(typed)).order_by(*order)
    if group is not None:
        shown = shown.where(place == GROUPS.index(group))
    rows = _listed(connection, shown.limit(count).offset(start).subquery(), today)
    return Page(rows, {one: counts.get(one, 0) for one in GROUPS})


def stands_today(connection: Connection, id: str, today: date) -> Listed | None:
    """Where one athlete stands, None when there is none of this id."""
    question = select(athletes.c.id, _place(today).label("place")).select_from(_EVERYBODY)
    return next(iter(_listed(connection, question.where(athletes.c.id == id).subquery(), today)), None)


_EVERYBODY = athletes.outerjoin(latest_sheets, latest_sheets.c.athlete == athletes.c.id)


def _place(today: date) -> ColumnElement[int]:
    """The number of an athlete's group."""
    here = select(planned_days.c.sheet).where(planned_days.c.what == "visit", planned_days.c.day == today)
    return case(
        (latest_sheets.c.sheet.is_(None), GROUPS.index("new")),
        (latest_sheets.c.sheet.in_(here), GROUPS.index("due")),
        (latest_sheets.c.last_day >= today, GROUPS.index("on")),
        (latest_sheets.c.last_day >= today - LATELY, GROUPS.index("due")),
        else_=GROUPS.index("earlier"),
    )


def _listed(connection: Connection, shown: Subquery, today: date) -> tuple[Listed, ...]:
    """The rows of those shown, with all that is told of them, by group and name."""
    columns = (shown.c.place, _next("visit", today), _next("event", today), *ATHLETE, *_sheet_columns())
    question = select(*columns).join(athletes, athletes.c.id == shown.c.id)
    question = question.outerjoin(latest_sheets, latest_sheets.c.athlete == shown.c.id)
    question = question.outerjoin(sheets, sheets.c.id == latest_sheets.c.sheet)
    question = question.order_by(shown.c.place, athletes.c.sorting, athletes.c.id)
    return tuple(_row(row) for row in connection.execute(question))


def _next(what: str, today: date) -> ColumnElement[date]:
    question = select(func.min(planned_days.c.day)).where(planned_days.c.what == what, planned_days.c.day >= today)
    return question.where(planned_days.c.sheet == sheets.c.id).scalar_subquery().label(f"next_{what}")


def _sheet_columns() -> tuple[ColumnElement[object], ...]:
    return tuple(column.label(f"sheet_{column.name}") for column in STORED)


def _row(row: Row[tuple[object, ...]]) -> Listed:
    found = row._mapping
    sheet = {column.name: found[f"sheet_{column.name}"] for column in STORED}
    return Listed(
        Athlete(**{column.name: found[column.name] for column in ATHLETE}),
        GROUPS[cast(int, found["place"])],
        StoredSheet(**sheet) if sheet["id"] else None,
        found["next_visit"],
        found["next_event"],
    )
