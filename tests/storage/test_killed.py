"""A program ended by force at any moment loses nothing that it had confirmed, and leaves a whole database.

What the power does to a disk is not tried here: that rests on synchronous=FULL, whose setting is looked at.
"""

from __future__ import annotations

import multiprocessing
import random
import time
from contextlib import closing, suppress
from pathlib import Path
from pickle import UnpicklingError

import pytest
from sqlalchemy import inspect, select

from homecare.storage import backups, drafts, sheets, sqlite, tables, usuals, visits
from homecare.storage.athletes import find_athlete
from homecare.storage.database import Database, open_database
from tests.storage.made import raw
from tests.storage.writer import Line, say, steps_of

PROCESSES = multiprocessing.get_context("forkserver")  # a new process without its imports made anew
PROCESSES.set_forkserver_preload(["tests.storage.writer"])
VISITS = tables.visits.c
KILLS = 100
MOST_WORDS, MOST_S = 6, 0.01
"""So many writes a writer confirms at most before its end is near, and so long that takes then: about one write."""


def confirmed(folder: Path, seed: int, chance: random.Random) -> list[Line]:
    """What a writer had confirmed when it was ended, at a moment by chance."""
    pipe, its_end = PROCESSES.Pipe(duplex=False)
    child = PROCESSES.Process(target=say, args=(its_end, folder, seed))
    child.start()
    its_end.close()
    lines = [pipe.recv() for _ in range(chance.randint(1, MOST_WORDS))]
    time.sleep(chance.uniform(0, MOST_S))
    child.kill()
    with suppress(EOFError, OSError, UnpicklingError):  # its last word may be cut short
        while True:
            lines.append(pipe.recv())
    child.join()
    return lines


def is_there(database: Database, line: Line) -> bool:
    """Whether one confirmed write is there, as it was told or as it became since."""
    kind, id, *told = line
    if kind == "backup":
        return backups.check_backup(Path(id)).backed_up.sheets == int(told[0])
    with database.read() as connection:
        match kind:
            case "athlete":
                athlete = find_athlete(connection, id)
                return athlete is not None and athlete.name == told[0]
            case "draft":
                draft = drafts.load_draft(connection, id)
                if draft is None:  # it went, but only with its sheet
                    return connection.scalar(select(VISITS.id).where(VISITS.prepared_by == id)) is not None
                return draft.revision > int(told[1]) or [draft.text, str(draft.revision)] == told
            case "sheet":
                files, visit = sheets.read_sheet(connection, id), visits.find_visit(connection, told[0])
                its_draft = drafts.load_draft(connection, visit.prepared_by) if visit else None
                return bool(files and files.pdf.startswith(told[1].encode()) and visit and not its_draft)
            case "slip":
                return sheets.read_amendment(connection, id) is not None
            case "usual":
                usual = usuals.find_usual(connection, id)
                return usual is not None and usual.name == told[0]
            case "migration":
                names = connection.exec_driver_sql("SELECT name FROM migrations").scalars().all()
                return id in names and inspect(connection).has_table(told[0])
    raise ValueError(kind)


def halves(database: Database, folder: Path) -> None:
    """Raise where a backup has its name but is not whole, or a migration made its table without its record."""
    for path in folder.glob("backup-*"):
        backups.check_backup(path)
    with database.read() as connection:
        names = connection.exec_driver_sql("SELECT name FROM migrations WHERE name LIKE 'grow%'").scalars().all()
        made = [name for name in inspect(connection).get_table_names() if name.startswith("grown")]
    assert sorted(made) == sorted(name.replace("grow", "grown") for name in names)


@pytest.mark.slow
def test_nothing_that_was_confirmed_is_lost(tmp_path: Path) -> None:
    chance = random.Random(20260302)
    folder = tmp_path / "data"
    kinds = set()
    for seed in range(KILLS):
        lines = confirmed(folder, seed, chance)
        database = open_database(folder, steps_of(folder))
        with sqlite.opened(database.path) as connection:
            sqlite.check_whole(connection, database.path)
        halves(database, tmp_path)
        assert [line for line in lines if not is_there(database, line)] == [], f"after end number {seed}"
        kinds |= {line[0] for line in lines}
        for path in tmp_path.glob("backup-*"):
            path.unlink()
    assert kinds == {"athlete", "draft", "sheet", "slip", "usual", "backup", "migration"}


def test_a_commit_waits_for_the_disk(database: Database) -> None:
    with database.write() as connection:
        assert connection.exec_driver_sql("PRAGMA synchronous").scalar() == 2  # FULL
        assert connection.exec_driver_sql("PRAGMA journal_mode").scalar() == "wal"
        assert connection.exec_driver_sql("PRAGMA foreign_keys").scalar() == 1
    with closing(raw(database)) as other:
        assert other.execute("PRAGMA journal_mode").fetchone() == ("wal",)
