"""A process that writes, and says what it wrote once that is confirmed; it is ended by force in tests."""

from __future__ import annotations

import itertools
import random
from collections.abc import Iterator
from datetime import timedelta
from multiprocessing.connection import Connection as Pipe
from pathlib import Path

from sqlalchemy import Connection

from homecare.storage import backups, clinic, drafts, sheets, usuals
from homecare.storage.athletes import Athlete, add_athlete, new_id
from homecare.storage.database import Database, open_database
from homecare.storage.filing import SheetRecord
from homecare.storage.migrations import MIGRATIONS, Migration
from tests.storage.made import AT, FIRST, SLIP, TEXTS, file, sheet_record

Line = tuple[str, ...]
"""The kind, the id, and what is to be found there."""


def grown(number: int) -> Migration:
    """A migration that makes one table more, and fills it, so that it takes a while."""

    def grow(connection: Connection) -> None:
        connection.exec_driver_sql(f"CREATE TABLE grown_{number} (id INTEGER PRIMARY KEY, content BLOB)")
        connection.exec_driver_sql(f"INSERT INTO grown_{number} SELECT NULL, randomblob(1000) FROM athletes")

    grow.__name__ = f"grow_{number}"
    return grow


def write(folder: Path, seed: int) -> Iterator[Line]:
    """Every kind of write, in an order by chance, for ever; each is given once it is confirmed."""
    chance = random.Random(seed)
    database = open_database(folder, steps_of(folder))
    athlete = None
    for number in itertools.count():
        if athlete is None or chance.random() < 0.2:
            with database.write() as connection:
                athlete = add_athlete(connection, f"Rower {new_id()}", AT)
            yield "athlete", athlete.id, athlete.name
            continue
        yield from chance.choice((_draft, _sheet, _house, _backup, _migration))(database, athlete, seed, number)


def _draft(database: Database, athlete: Athlete, seed: int, number: int) -> Iterator[Line]:
    with database.write() as connection:
        draft = drafts.add_draft(connection, f"typed {number}", AT, athlete.id)
    yield "draft", draft.id, draft.text, str(draft.revision)
    with database.write() as connection:
        draft = drafts.save_draft(connection, draft.id, f"typed {number} more", draft.revision, AT, athlete.id)
    yield "draft", draft.id, draft.text, str(draft.revision)
    of_draft = sheet_record(athlete, size=6_000, draft=(draft.id, draft.revision), prepared_by=draft.id)
    yield _filed(database, of_draft)


def _filed(database: Database, record: SheetRecord) -> Line:
    file(database, record)
    return "sheet", record.id, record.visit, record.files.pdf[:40].decode()


def _sheet(database: Database, athlete: Athlete, seed: int, number: int) -> Iterator[Line]:
    record = sheet_record(athlete, FIRST + timedelta(days=number), size=2_000)
    yield _filed(database, record)
    with database.write() as connection:
        slip = sheets.amend_sheet(connection, record.id, record.facts.first_day, SLIP, TEXTS, AT)
    yield "slip", slip.id


def _house(database: Database, athlete: Athlete, seed: int, number: int) -> Iterator[Line]:
    with database.write() as connection:
        usual = usuals.save_usual(connection, f"set {new_id()}", "{}", AT)
        clinic.save_settings(connection, f"name: House {number}\n", AT)
    yield "usual", usual.id, usual.name


def _backup(database: Database, athlete: Athlete, seed: int, number: int) -> Iterator[Line]:
    folder = database.path.parent
    target = folder.parent / f"backup-{new_id()}"
    yield "backup", str(target), str(backups.write_backup(database.path, folder / "library", target, AT).sheets)


def _migration(database: Database, athlete: Athlete, seed: int, number: int) -> Iterator[Line]:
    if number % 3 == 0:
        one = 1000 * seed + number
        open_database(database.path.parent, (*steps_of(database.path.parent), grown(one)))
        yield "migration", f"grow_{one}", f"grown_{one}"


def steps_of(folder: Path) -> tuple[Migration, ...]:
    """The program's migrations, and those that a writer has made since."""
    if not (folder / "homecare.sqlite").exists():
        return tuple(MIGRATIONS)
    with Database(folder / "homecare.sqlite").read() as connection:
        known = connection.exec_driver_sql("SELECT count(*) FROM sqlite_master WHERE name = 'migrations'").scalar()
        names = connection.exec_driver_sql("SELECT name FROM migrations ORDER BY number").scalars() if known else ()
        return (*MIGRATIONS, *(grown(int(name.removeprefix("grow_"))) for name in names if name.startswith("grow_")))


def say(pipe: Pipe, folder: Path, seed: int) -> None:
    """Write until ended, and tell each confirmed write."""
    for line in write(folder, seed):
        pipe.send(line)


def say_athletes(pipe: Pipe, folder: Path) -> None:
    """Add athletes until ended, and tell each."""
    database = open_database(folder)
    for number in itertools.count():
        with database.write() as connection:
            athlete = add_athlete(connection, f"Skater {number}", AT)
        pipe.send(athlete.id)
