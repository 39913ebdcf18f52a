"""A migration happens whole or not at all, with a copy kept before it, also when two programs begin at once."""

from __future__ import annotations

import threading
from contextlib import closing
from pathlib import Path

import pytest
from sqlalchemy import Connection, inspect
from sqlalchemy.exc import IntegrityError

from homecare.storage import tables
from homecare.storage.athletes import search_athletes
from homecare.storage.database import Database, open_database
from homecare.storage.migrations import MIGRATIONS
from homecare.storage.place import copies
from tests.storage.made import athlete_in, database_in, file, raw, sheet_record


def add_rooms(connection: Connection) -> None:
    connection.exec_driver_sql("CREATE TABLE rooms (id INTEGER PRIMARY KEY)")


def fall_over(connection: Connection) -> None:
    connection.exec_driver_sql("CREATE TABLE halves (id INTEGER PRIMARY KEY)")
    connection.exec_driver_sql("DELETE FROM athlete_words")
    raise ZeroDivisionError


def lose_athletes(connection: Connection) -> None:
    connection.exec_driver_sql("CREATE TABLE kept AS SELECT * FROM athletes")
    connection.exec_driver_sql("DELETE FROM athletes")


def refuse_its_record(connection: Connection) -> None:
    connection.exec_driver_sql("CREATE TABLE rooms (id INTEGER PRIMARY KEY)")
    refuse = "BEGIN SELECT RAISE(ABORT, 'no record'); END"
    connection.exec_driver_sql(f"CREATE TRIGGER no_record BEFORE INSERT ON migrations {refuse}")


def test_the_tables_for_queries_are_those_that_the_migrations_make(database: Database) -> None:
    with database.read() as connection:
        seen = inspect(connection)
        made = {name: [column["name"] for column in seen.get_columns(name)] for name in seen.get_table_names()}
    assert made == {one.name: [column.name for column in one.columns] for one in tables.PRESENT}


def test_a_migration_keeps_a_copy_of_what_it_begins_with(tmp_path: Path) -> None:
    athlete_in(database_in(tmp_path))
    database = open_database(tmp_path, (*MIGRATIONS, add_rooms))
    with database.read() as connection:
        assert inspect(connection).has_table("rooms")
    (copy,) = copies(tmp_path)
    assert copy.name.startswith("homecare-before-add_rooms-")
    assert copy.stat().st_mode & 0o077 == 0
    with Database(copy).read() as connection:
        assert not inspect(connection).has_table("rooms")
        assert len(search_athletes(connection, "ylva")) == 1
    open_database(tmp_path, (*MIGRATIONS, add_rooms))
    assert copies(tmp_path) == (copy,)  # nothing is pending any more


@pytest.mark.parametrize(
    ("step", "fault"),
    [(fall_over, ZeroDivisionError), (lose_athletes, RuntimeError), (refuse_its_record, IntegrityError)],
)
def test_a_migration_that_fails_leaves_all_as_it_was(tmp_path: Path, step: object, fault: type[Exception]) -> None:
    database = database_in(tmp_path)
    athlete = athlete_in(database)
    file(database, sheet_record(athlete))
    with closing(raw(database)) as connection:
        before = list(connection.iterdump())
    with pytest.raises(fault):
        open_database(tmp_path, (*MIGRATIONS, step))  # type: ignore[arg-type]
    with closing(raw(open_database(tmp_path))) as connection:
        assert list(connection.iterdump()) == before


def test_programs_that_begin_at_once_migrate_once(tmp_path: Path) -> None:
    faults: list[BaseException] = []
    gate = threading.Barrier(4)

    def begin() -> None:
        gate.wait()
        try:
            open_database(tmp_path / "data", (*MIGRATIONS, add_rooms))
        except BaseException as fault:
            faults.append(fault)

    threads = [threading.Thread(target=begin) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert faults == []
    with open_database(tmp_path / "data", (*MIGRATIONS, add_rooms)).read() as connection:
        applied = connection.exec_driver_sql("SELECT name FROM migrations ORDER BY number").scalars().all()
    assert applied == [step.__name__ for step in (*MIGRATIONS, add_rooms)]
    assert len(copies(tmp_path / "data")) == 1
