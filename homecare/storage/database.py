"""The database: one file of the user's data folder, opened, brought up to date, and used one transaction at a time."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

from sqlalchemy import Connection

from homecare.storage import place, sqlite
from homecare.storage.faults import StorageFault, told
from homecare.storage.migrations import MIGRATIONS, Migration, migrate


class Database:
    """An opened database; may be shared by threads, since each transaction has a connection of its own."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self.engine = sqlite.make_engine(path)
        self._writing = sqlite.writing(self.engine)

    @contextmanager
    def read(self) -> Iterator[Connection]:
        """One view of everything as it was at the first question. Raises StorageFault for what is no fault of ours."""
        with told(self.path), self.engine.connect() as connection:
            yield connection

    @contextmanager
    def write(self) -> Iterator[Connection]:
        """One change: when the block ends it is on the disk, and when anything is raised none of it happened.

        Raises StorageFault for what is no fault of ours, such as a full disk.
        """
        with told(self.path), self._writing.begin() as connection:
            yield connection


def open_database(
    folder: Path | None = None, steps: Sequence[Migration] = MIGRATIONS, *, copies: bool = True
) -> Database:
    """The database of a data folder (not said: the user's), made when there is none yet, and brought up to date.

    With `copies` one of the file is kept before each migration.

    Raises StorageFault when it is damaged, foreign, made by a newer program, or when there is no place for it.
    """
    path = (folder or place.data_folder()) / place.FILE
    try:
        place.make_private(path)
    except OSError as error:
        raise StorageFault(path, "unwritable", f"the database cannot be kept there: {error.strerror}") from error
    sqlite.check_ours(path)
    sqlite.use_wal(path)
    database = Database(path)
    migrate(database.engine, path, steps, copies=copies)
    return database
