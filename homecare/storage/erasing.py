"""Erasing one athlete wholly: every record, the free pages of the file, and word of what lies elsewhere."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from sqlalchemy import Connection, Select, delete, insert, select, update

from homecare.storage import filing, place, sqlite
from homecare.storage.athletes import find_athlete, name_words
from homecare.storage.database import Database
from homecare.storage.faults import StorageFault
from homecare.storage.tables import (
    amendments,
    athlete_words,
    athletes,
    check_ins,
    drafts,
    erasures,
    latest_sheets,
    planned_days,
    sheet_texts,
    sheets,
    visits,
)


@dataclass(frozen=True)
class Erased:
    """What an erasing leaves to be told.

    `wiped` is False while a reader that began before still holds the file's log, or where the disk has no room to
    build the file anew: the next start tries again. `drafts` are those of no chosen athlete whose text has every word
    of the name, `copies` the files kept beside the database: both may hold the athlete still, and a person must judge.
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
    left = _erase_aside(database.path.parent, id)
    return Erased(wipe_erased(database), naming, (*place.copies(database.path.parent), *left))


def wipe_erased(database: Database) -> bool:
    """Build the file anew where the traces of an erasing may still be in it; False where that must wait."""
    waiting = select(erasures.c.athlete).where(erasures.c.wiped.is_(False))
    with database.read() as connection:
        athletes_erased = connection.scalars(waiting).all()
    if not athletes_erased:
        return True
    try:
        if not sqlite.wipe(database.path):
            return False
        done = update(erasures).where(erasures.c.athlete.in_(athletes_erased)).values(wiped=True)
        with database.write() as connection:
            connection.execute(done)
    except StorageFault:
        return False
    return True


def erase_rows(connection: Connection, id: str, at: datetime) -> None:
    """Delete every row of an athlete. The record of the erasure comes first: it is what lets issued rows go."""
    connection.execute(insert(erasures).values(athlete=id, at=at, wiped=False))
    own: Select[tuple[str]] = select(sheets.c.id).where(sheets.c.athlete == id)
    for condition in (
        amendments.c.sheet.in_(own),
        sheet_texts.c.sheet.in_(own),
        planned_days.c.sheet.in_(own),
        check_ins.c.sheet.in_(own),
        latest_sheets.c.athlete == id,
        sheets.c.athlete == id,
        visits.c.athlete == id,
        drafts.c.athlete == id,
        athlete_words.c.athlete == id,
        athletes.c.id == id,
    ):
        connection.execute(delete(condition.left.table).where(condition))


def _erase_aside(folder: Path, id: str) -> tuple[Path, ...]:
    """Remove the sheets of an athlete that wait to be filed; returns those that could not be looked through."""
    left = []
    for path in filing.aside(folder):
        try:
            if filing.read_aside(path).athlete == id:
                path.unlink()
        except (StorageFault, OSError):
            left.append(path)
    return tuple(left)
