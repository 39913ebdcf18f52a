"""Invented athletes and small sheets, and a database of them, for the tests of the storage."""

from __future__ import annotations

import sqlite3
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

from homecare.storage import filing
from homecare.storage.athletes import Athlete, add_athlete, new_id
from homecare.storage.database import Database, open_database
from homecare.storage.filing import SheetRecord
from homecare.storage.sheets import AmendmentBytes, LibraryText, SheetBytes, SheetFacts

AT = datetime(2026, 3, 2, 9, 30, tzinfo=UTC)
FIRST = date(2026, 3, 2)
TEXTS = (
    LibraryText("drills", "calf_roller", '{"name":"Calf roller"}'),
    LibraryText("ladders", "roller_release", '{"name":"Roller"}'),
)
SLIP = AmendmentBytes(b"%PDF-slip", b'{"slip": 1}', b"<p>slip")


def sheet_record(
    athlete: Athlete, first: date = FIRST, days: int = 14, *, size: int = 0, **more: object
) -> SheetRecord:
    """A sheet to file, its four files told apart; `size` more bytes in each."""
    mark = new_id()
    files = SheetBytes(*(f"{name} {mark} ".encode() + b"x" * size for name in ("%PDF", "plan", "phone", "note")))
    facts = SheetFacts(first, first + timedelta(days=days - 1), 4, first + timedelta(days=10))
    record = SheetRecord(
        id=new_id(),
        visit=new_id(),
        athlete=athlete.id,
        athlete_name=athlete.name,
        text=f"athlete: {athlete.name}\nstart: {first}\n",
        prepared_by="D. Achterberg",
        facts=facts,
        files=files,
        used=TEXTS,
        at=AT + (first - FIRST),
    )
    return replace(record, **more)  # type: ignore[arg-type]


def file(database: Database, record: SheetRecord) -> SheetRecord:
    """File it, and give it back."""
    with database.write() as connection:
        filing.file_sheet(connection, record)
    return record


def athlete_in(database: Database, name: str = "Ylva Brandt") -> Athlete:
    """An athlete who is there."""
    with database.write() as connection:
        return add_athlete(connection, name, AT)


def database_in(folder: Path) -> Database:
    """A new database in a folder."""
    return open_database(folder)


def raw(database: Database) -> sqlite3.Connection:
    """The file as any other program opens it: no foreign keys, no recursive triggers, each statement for itself."""
    return sqlite3.connect(database.path, isolation_level=None)
