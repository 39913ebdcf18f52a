"""Erasing one athlete wholly: every record, the free pages of the file, and word of what lies elsewhere."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from sqlalchemy import Connection, Select, delete, insert, select

from homecare.storage import place, sqlite
from homecare.storage.athletes import find_athlete, name_words
from homecare.storage.database import Database
from homecare.storage.tables import (
    amendments,
    athlete_words,
    athletes,
    check_ins,
    drafts,
    erasures,
    sheet_texts,
    sheets,
    visits,
)


@dataclass(frozen=True)
class Erased:
    """What an erasing leaves to be told.

    `wiped` is False while a reader that began before still holds the file's log; with its end the last trace goes.
    `drafts` are those of no chosen athlete whose text has every word of the name, `copies` the files kept beside the
    database: both may hold the athlete still, and a person must judge.
    """

    wiped: bool
    drafts: tuple[str, ...]
    copies: tuple[Path, ...]


def erase_athlete(database: Database, id: str, at: datetime) -> Erased:
    """Erase an athlete with all that was kept of them, for ever. Raises KeyError when there is none of this id.

    Only the random id is kept, so that restoring an older backup erases them again. Texts of the library stay.
    """
    with database.write() as connection:
        athlete = find_athlete(connection, id)
        if athlete is None:
            raise KeyError(id)
        erase_rows(connection, id, at)
        words = set(name_words(athlete.name))
        others = connection.execute(select(drafts.c.id, drafts.c.text).where(drafts.c.athlete.is_(None)))
        naming = tuple(draft for draft, text in others if words <= set(name_words(text)))
    return Erased(sqlite.wipe(database.path), naming, place.copies(database.path.parent))


def erase_rows(connection: Connection, id: str, at: datetime) -> None:
    """Delete every row of an athlete. The record of the erasure comes first: it is what lets issued rows go."""
    connection.execute(insert(erasures).values(athlete=id, at=at))
    own_visits: Select[tuple[str]] = select(visits.c.id).where(visits.c.athlete == id)
    own_sheets: Select[tuple[str]] = select(sheets.c.id).where(sheets.c.visit.in_(own_visits))
    for condition in (
        amendments.c.sheet.in_(own_sheets),
        sheet_texts.c.sheet.in_(own_sheets),
        sheets.c.visit.in_(own_visits),
        check_ins.c.visit.in_(own_visits),
        visits.c.athlete == id,
        drafts.c.athlete == id,
        athlete_words.c.athlete == id,
        athletes.c.id == id,
    ):
        connection.execute(delete(condition.left.table).where(condition))
