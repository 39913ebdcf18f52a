"""What can be wrong with the database or a file meant to be one, told in words that a person can act on."""

from __future__ import annotations

import errno
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from sqlalchemy.exc import DBAPIError

from homecare.core.problems import InputFault, Problem, Source

RESTORE = "bring a backup back with: homecare restore FILE"


class StorageFault(InputFault):
    """A file cannot be used or written as it is; `code` is stable, the message names the file."""

    def __init__(self, path: Path, code: str, message: str, hint: str = "") -> None:
        super().__init__([Problem(Source(str(path)), code, message, hint)])
        self.path, self.code = path, code


@contextmanager
def told(path: Path) -> Iterator[None]:
    """Turn what SQLite says of the file at `path` into a StorageFault; a fault of our own statements stays as it is."""
    try:
        yield
    except (DBAPIError, sqlite3.Error) as error:
        fault = _in_words(path, error.orig if isinstance(error, DBAPIError) else error)
        if fault is None:
            raise
        raise fault from error


def busy(path: Path) -> StorageFault:
    """Another program held the database for as long as we wait."""
    return StorageFault(path, *_BUSY)


def of_the_system(path: Path, what: str, error: OSError) -> StorageFault:
    """What the system says of a file or folder, in words: `what` cannot be done and why."""
    if error.errno in (errno.ENOSPC, errno.EDQUOT):
        return StorageFault(path, "full", f"{what}: the disk is full", "make room and try again")
    return StorageFault(path, "unwritable", f"{what}: {error.strerror or type(error).__name__}")


_BUSY = ("busy", "another program holds the database", "try again in a moment")
_SAID = {
    sqlite3.SQLITE_CORRUPT: ("damaged", "the database is damaged", RESTORE),
    sqlite3.SQLITE_NOTADB: ("damaged", "this is no database, or its beginning is damaged", RESTORE),
    sqlite3.SQLITE_BUSY: _BUSY,
    sqlite3.SQLITE_LOCKED: _BUSY,
    sqlite3.SQLITE_FULL: ("full", "the disk is full; nothing of this was kept", "make room and try again"),
    sqlite3.SQLITE_READONLY: ("unwritable", "the file or its folder may not be written", "look at who owns it"),
    sqlite3.SQLITE_PERM: ("unwritable", "the file may not be opened", "look at who owns it"),
    sqlite3.SQLITE_CANTOPEN: ("unwritable", "the file cannot be opened", "look at who owns it and its folder"),
    sqlite3.SQLITE_IOERR: ("unwritable", "the disk does not read or write this file", "look at the disk"),
}
"""The primary result codes that are no fault of ours (https://sqlite.org/rescode.html, from memory)."""


def _in_words(path: Path, error: object) -> StorageFault | None:
    number = getattr(error, "sqlite_errorcode", None)
    said = _SAID.get(number & 0xFF) if isinstance(number, int) else None
    # Python's own module gives this one without a code.
    if said is None and isinstance(error, sqlite3.DatabaseError) and "not a database" in str(error):
        said = _SAID[sqlite3.SQLITE_NOTADB]
    return StorageFault(path, *said) if said else None
