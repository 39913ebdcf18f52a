"""A backup put in the place of the records, with a copy kept of what it replaces."""

from __future__ import annotations

import os
import shutil
import tempfile
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from sqlalchemy import select

from homecare.storage import place, sqlite
from homecare.storage.backups import (
    LIBRARY,
    BackedUp,
    Contents,
    hash_of,
    library_files,
    read_contents,
    record_backup,
    unpack,
)
from homecare.storage.database import Database, open_database
from homecare.storage.erasing import erase_rows
from homecare.storage.faults import StorageFault, of_the_system
from homecare.storage.tables import athletes, erasures


@dataclass(frozen=True)
class Restored:
    """A backup that was put in place: what it holds, how many erased athletes it had brought back and were erased
    again, and where what it replaced is kept."""

    backup: BackedUp
    erased_again: int
    kept: tuple[Path, ...]


def restore_backup(source: Path, data: Path, library: Path) -> Restored:
    """Put a backup in the place of the records of a data folder, which may be in use, and of the clinic's own library.

    All of it is checked first. Who was erased since is erased again; the people who sign in are those of the backup.
    Should it be ended by force between the records and the library, do it again. Raises StorageFault in words, and then
    the records are as they were.
    """
    contents = read_contents(source)
    try:
        data.mkdir(parents=True, exist_ok=True, mode=0o700)
        _refuse_small_disk(source, data, contents)
        with tempfile.TemporaryDirectory(dir=data, prefix=place.LEFT_START) as folder:
            unpack(source, contents, Path(folder))
            new = _brought_up_to_date(Path(folder) / place.FILE, source)
            present, kept = _present(data)
            erased_again = _erase_again(new, present)
            with new.write() as connection:
                record_backup(connection, contents.backed_up)
            kept += _put_records(new, present)
            kept += _put_library(Path(folder) / LIBRARY, contents.library, library)
    except OSError as error:
        raise of_the_system(data, "the backup cannot be put in place", error) from error
    return Restored(contents.backed_up, erased_again, kept)


def _refuse_small_disk(source: Path, data: Path, contents: Contents) -> None:
    """What is unpacked, its way through the log, and the copy of what is there: three times the size is wanted."""
    wanted, free = 3 * sum(one.size for one in contents.files), shutil.disk_usage(data).free
    if wanted > free:
        message = f"restoring needs {wanted // 10**6 + 1:,} MB of room, and there are {free // 10**6:,}"
        raise StorageFault(source, "full", message, "make room and try again")


def _brought_up_to_date(path: Path, source: Path) -> Database:
    """The unpacked database of a backup, in today's form and whole."""
    try:
        new = open_database(path.parent, copies=False)
        with sqlite.opened(path) as connection:
            sqlite.check_whole(connection, path)
        # One whose tables or triggers somebody has changed would no longer keep what was issued.
        with tempfile.TemporaryDirectory(dir=path.parent) as folder:
            if sqlite.schema(path) != sqlite.schema(open_database(Path(folder)).path):
                raise StorageFault(path, "no-backup", "the tables are not those of this program")
    except StorageFault as fault:
        hint = "use the newer version" if fault.code == "newer" else "use another one"
        raise StorageFault(source, fault.code, f"in this backup {fault.problems[0].message}", hint) from fault
    return new


@dataclass(frozen=True)
class _Present:
    """The records that are there: whether they hold anybody, who was erased from them and when."""

    database: Database
    is_empty: bool
    erased: Mapping[str, datetime]


def _present(data: Path) -> tuple[_Present, tuple[Path, ...]]:
    """The records that are there, made when there are none; what cannot be used is set aside under another name."""
    try:
        return _read(open_database(data)), ()
    except StorageFault as fault:
        if fault.code not in ("damaged", "foreign", "newer"):
            raise
    path = data / place.FILE
    name = place.copy_name(path, "set-aside")
    for end in ("-wal", "-shm", ""):
        if Path(f"{path}{end}").exists():
            Path(f"{path}{end}").replace(f"{name}{end}")
    return _read(open_database(data)), (name,)


def _read(database: Database) -> _Present:
    with database.read() as connection:
        gone = {row.athlete: row.at for row in connection.execute(select(erasures.c.athlete, erasures.c.at))}
        return _Present(database, connection.scalar(select(athletes.c.id).limit(1)) is None, gone)


def _erase_again(new: Database, present: _Present) -> int:
    """Carry the erasures of the present records into the new ones; returns how many athletes those had still."""
    with new.write() as connection:
        known = set(connection.scalars(select(erasures.c.athlete)))
        there = set(connection.scalars(select(athletes.c.id)))
        for athlete, erased_at in present.erased.items():
            if athlete not in known:
                erase_rows(connection, athlete, erased_at)
    again = present.erased.keys() & there
    if again:
        sqlite.wipe(new.path)
    return len(again)


def _put_records(new: Database, present: _Present) -> tuple[Path, ...]:
    path = present.database.path
    copy = place.copy_name(path, "before-restore")
    try:
        # Under the lock, so that the copy has all that was confirmed until the very last moment.
        sqlite.put_over(new.path, path, lambda: sqlite.copy_whole(path, copy))
    except BaseException:
        copy.unlink(missing_ok=True)
        raise
    if present.is_empty:
        copy.unlink()
    return () if present.is_empty else (copy,)


def _put_library(new: Path, wanted: Mapping[str, str], library: Path) -> tuple[Path, ...]:
    """Put the library's files in place of the folder that is there, which takes another name; the same one stays."""
    there = {name: hash_of(path) for name, path in library_files(library).items()}
    if there == wanted:
        return ()
    kept: tuple[Path, ...] = ()
    if there:
        aside = place.copy_name(library, "before-restore")
        library.replace(aside)
        kept = (aside,)
    elif library.exists():
        library.rmdir()
    if wanted:
        library.parent.mkdir(parents=True, exist_ok=True)
        shutil.move(new, library)
        os.sync()
    return kept
