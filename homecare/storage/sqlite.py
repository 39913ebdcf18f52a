"""All that is SQLite's own: how it is opened, copied while in use, and wiped. Another database would replace this."""

from __future__ import annotations

import os
import sqlite3
import tempfile
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager, suppress
from pathlib import Path
from typing import Any

from sqlalchemy import URL, Connection, Engine, create_engine, event
from sqlalchemy.pool import NullPool

from homecare.storage import place
from homecare.storage.faults import RESTORE, StorageFault, busy, told

APPLICATION = 0x484D4352
"""`application_id` in the file's header: by it a file is known as ours."""
BUSY_S = 15.0
"""So long a writer waits for another; a backup or an export never blocks one."""
_WRITES = "writes"


def make_engine(path: Path) -> Engine:
    """An engine on the file at `path`; values never stand in its error messages, since logs must hold no names.

    No connection outlives its transaction, so that the file may be replaced by a restore while the desk runs.
    """
    where = URL.create("sqlite", database=str(path))  # a path may hold signs that mean something in an address
    engine = create_engine(where, poolclass=NullPool, connect_args={"timeout": BUSY_S}, hide_parameters=True)
    event.listen(engine, "connect", _opened)
    event.listen(engine, "begin", _begun)
    return engine


def writing(engine: Engine) -> Engine:
    """The same engine, whose transactions take the write lock when they begin."""
    return engine.execution_options(**{_WRITES: True})


def _opened(raw: Any, _record: object) -> None:
    raw.isolation_level = None  # the driver begins no transaction by itself; `_begun` does
    for pragma in (
        "foreign_keys = ON",
        "synchronous = FULL",  # what was confirmed outlives a power cut, also in WAL mode
        "secure_delete = ON",
        "recursive_triggers = ON",  # INSERT OR REPLACE fires the triggers that forbid a DELETE
        "trusted_schema = OFF",
    ):
        raw.execute(f"PRAGMA {pragma}")


def _begun(connection: Connection) -> None:
    writes = connection.get_execution_options().get(_WRITES, False)
    connection.exec_driver_sql(f"PRAGMA query_only = {'OFF' if writes else 'ON'}")
    connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")


@contextmanager
def opened(path: Path, *, write: bool = False) -> Iterator[sqlite3.Connection]:
    """A bare connection without a transaction to a file that must be there; told in words where it cannot be used."""
    with told(path):
        uri = f"{path.absolute().as_uri()}?mode={'rw' if write else 'ro'}"
        with closing(sqlite3.connect(uri, uri=True, timeout=BUSY_S, isolation_level=None)) as connection:
            connection.execute("PRAGMA trusted_schema = OFF")
            yield connection


def check_ours(path: Path) -> None:
    """Raise StorageFault where a file is neither empty nor a database of this program."""
    with opened(path) as connection:
        (ours,) = connection.execute("PRAGMA application_id").fetchone()
        (objects,) = connection.execute("SELECT count(*) FROM sqlite_master").fetchone()
    if ours != APPLICATION and (ours or objects):
        raise StorageFault(path, "foreign", "this is a database, but not one of this program")


def use_wal(path: Path) -> None:
    """Readers and one writer go on beside each other from now on; it is a lasting property of the file."""
    with opened(path, write=True) as connection:
        (mode,) = connection.execute("PRAGMA journal_mode").fetchone()
        if mode != "wal":
            connection.execute("PRAGMA journal_mode = WAL")


Finish = Callable[[sqlite3.Connection], None]


def copy_whole(source: Path, target: Path, finish: Finish | None = None) -> None:
    """Copy a database that may be in use into one file of its own, for this user alone.

    `finish` may write into the copy and check it. The copy takes its name last: it is there whole or not at all, and
    what stood under the name before stays until then. Raises StorageFault, or OSError where the folder is no place.
    """
    descriptor, name = tempfile.mkstemp(dir=target.parent, prefix=place.LEFT_START, suffix=".part")
    os.close(descriptor)
    part = Path(name)
    try:
        with opened(source) as old, opened(part, write=True) as new:
            with told(source):
                old.backup(new)
            new.execute("PRAGMA journal_mode = DELETE")  # one file, with no log beside it
            if finish is not None:
                finish(new)
        put_in_place(part, target)
    finally:
        for left in (part, *(Path(f"{part}{end}") for end in ("-wal", "-shm", "-journal"))):
            left.unlink(missing_ok=True)


def check_whole(connection: sqlite3.Connection, path: Path) -> None:
    """Raise StorageFault where the database behind a connection, told as the one at `path`, is damaged anywhere."""
    with told(path):
        (said,) = connection.execute("PRAGMA integrity_check(1)").fetchone()
        if said != "ok" or connection.execute("PRAGMA foreign_key_check").fetchone():
            raise StorageFault(path, "damaged", "the database is damaged", RESTORE)


def schema(path: Path) -> set[tuple[str, str, str]]:
    """The kind, the name and the statement of everything that a database is made of."""
    with opened(path) as connection:
        return set(connection.execute("SELECT type, name, coalesce(sql, '') FROM sqlite_master"))


def put_over(source: Path, target: Path, before: Callable[[], None]) -> None:
    """Put the content of one database in the place of another's, which may be in use: readers see the old or the new.

    `before` is called once nobody can write into `target` any more and before anything of it is gone; where it raises,
    nothing changes.
    """
    with opened(source) as new, opened(target, write=True) as old, told(target):
        (pages,) = new.execute("PRAGMA page_count").fetchone()
        called = False

        def between(status: int, _left: int, _all: int) -> None:
            nonlocal called
            if status == sqlite3.SQLITE_BUSY:  # waited for already; Python itself would try for ever
                raise busy(target)
            if not called:  # the lock on the target is held from the first page on
                called = True
                before()

        # Not all at once: there must be a first page and a rest. (A database of ours has dozens of pages.)
        new.backup(old, pages=max(1, pages // 100), progress=between)
        old.execute("PRAGMA wal_checkpoint(TRUNCATE)")


def put_in_place(part: Path, target: Path) -> None:
    """Give a finished file its name, also for the time after a power cut."""
    with part.open("rb+") as stream:
        os.fsync(stream.fileno())
    part.replace(target)
    with suppress(OSError):  # some systems and disks know no such thing for a folder
        folder = os.open(target.parent, os.O_RDONLY)
        try:
            os.fsync(folder)
        finally:
            os.close(folder)


def wipe(path: Path) -> bool:
    """Build the file anew without what was deleted, and empty its log; False while a reader still needs the log.

    Overwriting what is deleted (secure_delete) is not enough: pages that were rearranged before keep a copy now and
    then (one of 370 erasings that were tried so left a name).
    """
    with opened(path, write=True) as connection:
        connection.execute("PRAGMA secure_delete = ON")
        connection.execute("VACUUM")
        (busy, _, _) = connection.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchone()
    return not busy
