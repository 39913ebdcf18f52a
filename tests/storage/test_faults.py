"""A file that is newer, foreign, damaged, locked, full or not to be written is told in words, and stays as it was."""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

import pytest
from sqlalchemy import event

from homecare.storage import sqlite
from homecare.storage.athletes import add_athlete, search_athletes
from homecare.storage.database import Database, open_database
from homecare.storage.faults import StorageFault
from tests.storage.made import AT, athlete_in, database_in, raw

NOBODY = 65534


def opening(folder: Path) -> StorageFault:
    with pytest.raises(StorageFault) as fault:
        open_database(folder)
    return fault.value


@contextmanager
def as_a_plain_user() -> Iterator[None]:
    """Whoever runs the tests may be allowed everything; here they are not."""
    if os.geteuid() != 0:
        yield
        return
    os.seteuid(NOBODY)
    try:
        yield
    finally:
        os.seteuid(0)


@pytest.fixture
def unowned(tmp_path: Path) -> Iterator[Path]:
    """A folder that a plain user may reach, with a database that they may not write."""
    database = database_in(tmp_path)
    athlete_in(database, "Ylva Brandt")
    above = [one for one in tmp_path.parents if one.owner() == tmp_path.owner()]
    modes = [(one, one.stat().st_mode) for one in above]
    for one in above:
        one.chmod(one.stat().st_mode | 0o055)
    database.path.chmod(0o444)
    tmp_path.chmod(0o555)
    yield tmp_path
    tmp_path.chmod(0o755)
    for one, mode in modes:
        one.chmod(mode)


def test_a_file_that_may_not_be_written_is_told(unowned: Path) -> None:
    with as_a_plain_user():
        fault = opening(unowned)
    assert (fault.code, fault.path) == ("unwritable", unowned / "homecare.sqlite")
    assert "Permission denied" in str(fault)


def test_a_file_that_became_unwritable_is_told_and_nothing_is_kept(unowned: Path) -> None:
    database = Database(unowned / "homecare.sqlite")
    with as_a_plain_user(), pytest.raises(StorageFault) as fault:
        athlete_in(database, "Ebbe Lind")
    assert fault.value.code == "unwritable"
    with database.read() as connection:
        assert search_athletes(connection, "ebbe") == ()


def test_no_place_for_the_folder_is_told(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    fault = opening(tmp_path / "file" / "data")
    assert fault.code == "unwritable"
    assert "cannot be kept there: Not a directory" in str(fault)


def test_the_file_is_for_its_user_alone(tmp_path: Path) -> None:
    database = database_in(tmp_path / "data")
    assert (database.path.stat().st_mode & 0o077, database.path.parent.stat().st_mode & 0o077) == (0, 0)


def test_a_newer_programs_database_is_left_alone(database: Database) -> None:
    with closing(raw(database)) as connection:
        connection.execute("INSERT INTO migrations VALUES (99, 'add_rooms', '2031-01-01 00:00:00')")
    before = database.path.read_bytes()
    fault = opening(database.path.parent)
    assert fault.code == "newer"
    assert "add_rooms" in str(fault)
    assert "use the newer version" in str(fault)
    assert database.path.read_bytes() == before


def test_another_programs_database_is_left_alone(tmp_path: Path) -> None:
    path = tmp_path / "homecare.sqlite"
    with closing(sqlite3.connect(path)) as connection:
        connection.execute("CREATE TABLE boats (name)")
    before = path.read_bytes()
    assert opening(tmp_path).code == "foreign"
    assert path.read_bytes() == before


@pytest.mark.parametrize("content", [b"Dear diary, " * 500, b"SQLite format 3\0" + b"\xff" * 5000])
def test_what_is_no_database_is_left_alone(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "homecare.sqlite"
    path.write_bytes(content)
    fault = opening(tmp_path)
    assert fault.code == "damaged"
    assert "homecare restore FILE" in str(fault)
    assert path.read_bytes() == content


def test_damage_in_the_middle_is_told_when_it_is_met(database: Database) -> None:
    for number in range(400):
        athlete_in(database, f"Rower {number}")
    with closing(raw(database)) as connection:
        connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        (root,) = connection.execute("SELECT rootpage FROM sqlite_master WHERE name = 'athletes_by_word'").fetchone()
        (size,) = connection.execute("PRAGMA page_size").fetchone()
    content = bytearray(database.path.read_bytes())
    content[(root - 1) * size : root * size] = b"\xa5" * size
    database.path.write_bytes(content)
    with pytest.raises(StorageFault) as fault, database.read() as connection:
        search_athletes(connection, "rower")
    assert fault.value.code == "damaged"


def test_a_lock_is_waited_for_and_then_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sqlite, "BUSY_S", 0.05)
    database = database_in(tmp_path)
    with closing(raw(database)) as other:
        other.execute("BEGIN IMMEDIATE")
        with pytest.raises(StorageFault, match="try again in a moment") as fault:
            athlete_in(database)
        assert fault.value.code == "busy"
        with database.read() as connection:  # readers go on
            assert search_athletes(connection, "ylva") == ()
        other.execute("ROLLBACK")
    athlete_in(database)


def add_rowers(database: Database, count: int) -> None:
    with database.write() as connection:
        for number in range(count):
            add_athlete(connection, f"Rower {number}", AT)


def test_a_full_disk_keeps_nothing_of_the_change(database: Database) -> None:
    athlete_in(database, "Ylva Brandt")
    with closing(raw(database)) as connection:
        (pages,) = connection.execute("PRAGMA page_count").fetchone()
    # SQLite answers with SQLITE_FULL here, as it does when the disk is (https://sqlite.org/pragma.html, from memory).
    event.listen(database.engine, "connect", lambda bare, _: bare.execute(f"PRAGMA max_page_count = {pages + 2}"))
    with pytest.raises(StorageFault, match="the disk is full") as fault:
        add_rowers(database, 2000)
    assert fault.value.code == "full"
    with open_database(database.path.parent).read() as connection:
        assert search_athletes(connection, "rower") == ()
        assert len(search_athletes(connection, "ylva")) == 1


def test_a_path_with_signs_of_an_address_is_a_path(tmp_path: Path) -> None:
    database = database_in(tmp_path / "a b?c=1#d%20e;é")
    athlete_in(database)
    assert database.path.stat().st_size > 0
    assert {path.name for path in tmp_path.iterdir()} == {"a b?c=1#d%20e;é"}


def test_no_message_holds_a_value(database: Database) -> None:
    with pytest.raises(Exception, match="CHECK constraint failed") as fault, database.write() as connection:
        add_athlete(connection, "Ylva Brandt", AT, age=300)
    assert "Ylva" not in str(fault.value)
