"""The clinic's records kept safe: a backup of all of it in one file, that file put back, and what waits at a start."""

from __future__ import annotations

import time
from contextlib import suppress
from datetime import UTC, datetime
from pathlib import Path

from homecare.storage import backups, place
from homecare.storage.backups import BackedUp
from homecare.storage.database import Database
from homecare.storage.erasing import wipe_erased
from homecare.storage.faults import StorageFault
from homecare.storage.restoring import Restored, restore_backup
from homecare.workflow.records import Filed, file_the_unfiled


def back_up(database: Database, library_folder: Path, target: Path) -> BackedUp:
    """Back up the records, which may be in use, and the clinic's own library into one file, and check that file.

    Raises StorageFault in words; then there is no file, or the one that stood there before.
    """
    made = backups.write_backup(database.path, library_folder, target, datetime.now(UTC))
    # The file is there and whole, whether or not the records can take note of it.
    with suppress(StorageFault), database.write() as connection:
        backups.record_backup(connection, made)
    return made


def last_backup(database: Database) -> BackedUp | None:
    """The last backup of these records, None when there was none yet."""
    with database.read() as connection:
        return backups.find_last(connection)


def restore(source: Path, data_folder: Path, library_folder: Path) -> Restored:
    """Put a backup in the place of the records and the clinic's own library; what it replaces is kept beside them.

    The desk may run meanwhile; it must be started anew to show another library. Raises StorageFault in words.
    """
    return restore_backup(source, data_folder, library_folder)


def settle(database: Database) -> Filed:
    """What waits at a start: sheets to file, traces of who was erased, remains of a copying that was ended by force."""
    place.clear_leftovers(database.path.parent, time.time())
    wipe_erased(database)
    return file_the_unfiled(database)
