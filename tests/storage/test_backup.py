"""One file brings everything back: made and put in place while another process writes, checked, and nothing lost."""

from __future__ import annotations

import hashlib
import json
import multiprocessing
import sqlite3
import zipfile
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from multiprocessing.connection import Connection as Pipe
from pathlib import Path

import pytest
from sqlalchemy import select

from homecare import workflow
from homecare.cli.main import main
from homecare.storage import backups, place, sheets, sqlite, tables
from homecare.storage.athletes import search_athletes
from homecare.storage.database import Database, open_database
from homecare.storage.erasing import erase_athlete
from homecare.storage.faults import StorageFault
from homecare.storage.filing import SheetRecord
from homecare.storage.migrations import MIGRATIONS
from tests.storage.made import AT, athlete_in, file, raw, sheet_record
from tests.storage.test_migrations import add_rooms
from tests.storage.writer import say_athletes


@pytest.fixture
def library(database: Database) -> Path:
    """The clinic's own library beside the database: records, a photograph, kept revisions."""
    folder = database.path.parent / place.LIBRARY
    (folder / "photos").mkdir(parents=True)
    (folder / "kept").mkdir()
    (folder / "own.yaml").write_text("drills: {}\n")
    (folder / "photos" / "calf.jpg").write_bytes(b"\xff\xd8" + b"j" * 70_000)
    (folder / "kept" / "ab12.json").write_text("{}")
    (folder / ".new-x").write_text("half written")
    return folder


def tree(folder: Path) -> dict[str, bytes]:
    files = (path for path in folder.rglob("*") if path.is_file() and not path.name.startswith("."))
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in files}


def rows(database: Database) -> list[str]:
    """All rows but those that tell of backups."""
    with closing(raw(database)) as connection:
        return [line for line in connection.iterdump() if not line.startswith('INSERT INTO "backups"')]


@pytest.fixture
def filled(database: Database, library: Path) -> SheetRecord:
    """A sheet with its athlete in the database."""
    return file(database, sheet_record(athlete_in(database), size=40_000))


def test_another_machine_has_it_all_again(
    database: Database, library: Path, filled: SheetRecord, tmp_path: Path
) -> None:
    target = tmp_path / "stick" / "clinic.backup"
    target.parent.mkdir()
    made = workflow.back_up(database, library, target)
    assert (made.athletes, made.sheets, made.library_files, made.size) == (1, 1, 3, target.stat().st_size)
    assert target.stat().st_mode & 0o077 == 0
    assert list(target.parent.iterdir()) == [target]
    assert workflow.last_backup(database) == made

    other = tmp_path / "other"
    done = workflow.restore(target, other, other / "library")
    assert (done.backup, done.erased_again, done.kept) == (made, 0, ())
    restored = open_database(other)
    assert rows(restored) == rows(database)
    assert tree(other / "library") == tree(library)
    assert workflow.last_backup(restored) == made
    with restored.read() as connection:
        assert sheets.read_sheet(connection, filled.id) == filled.files
    assert restored.path.stat().st_mode & 0o077 == 0
    assert {path.name for path in other.iterdir()} == {"homecare.sqlite", "library"}


def test_what_a_restore_replaces_is_kept_whole(
    database: Database, library: Path, filled: SheetRecord, tmp_path: Path
) -> None:
    target = tmp_path / "clinic.backup"
    workflow.back_up(database, library, target)
    later = athlete_in(database, "Ebbe Lind")
    (library / "own.yaml").write_text("drills: {changed: {}}\n")
    before, shelf = rows(database), tree(library)
    done = workflow.restore(target, database.path.parent, library)
    records, books = done.kept
    assert rows(Database(records)) == before
    assert tree(books) == shelf
    assert tree(library) != shelf
    with database.read() as connection:  # the very database that the desk holds open
        assert search_athletes(connection, "lind") == ()
        assert len(search_athletes(connection, "ylva")) == 1
    # And what was kept can itself be put back.
    again = tmp_path / "again.backup"
    workflow.back_up(Database(records), books, again)
    workflow.restore(again, database.path.parent, library)
    assert rows(database) == before
    with database.read() as connection:
        assert search_athletes(connection, "lind") == (later,)


def test_who_was_erased_stays_erased(database: Database, library: Path, filled: SheetRecord, tmp_path: Path) -> None:
    other = athlete_in(database, "Ebbe Lind")
    target = tmp_path / "clinic.backup"
    workflow.back_up(database, library, target)
    erase_athlete(database, filled.athlete, AT)
    for path in place.copies(database.path.parent):
        path.unlink()
    done = workflow.restore(target, database.path.parent, library)
    assert done.erased_again == 1
    with database.read() as connection:
        assert search_athletes(connection, "ylva") == ()
        assert search_athletes(connection, "ebbe") == (other,)
    traces = [path.name for path in database.path.parent.rglob("*") if path.is_file() and b"Ylva" in path.read_bytes()]
    assert traces == []
    assert workflow.restore(target, database.path.parent, library).erased_again == 1  # and once more


def test_an_older_backup_is_brought_up_to_date(database: Database, filled: SheetRecord, tmp_path: Path) -> None:
    target = tmp_path / "clinic.backup"
    workflow.back_up(database, tmp_path / "none", target)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("homecare.storage.database.open_database.__defaults__", (None, (*MIGRATIONS, add_rooms)))
        other = tmp_path / "other"
        workflow.restore(target, other, other / "library")
        with open_database(other).read() as connection:
            assert connection.exec_driver_sql("SELECT count(*) FROM rooms").scalar() == 0
            assert len(search_athletes(connection, "ylva")) == 1
        newer = tmp_path / "newer.backup"
        workflow.back_up(open_database(other), other / "library", newer)
    before = rows(database)
    with pytest.raises(StorageFault, match="use the newer version") as fault:
        workflow.restore(newer, database.path.parent, tmp_path / "none")
    assert (fault.value.code, fault.value.path) == ("newer", newer)
    assert rows(database) == before


@pytest.mark.parametrize("content", [b"Dear diary", b"SQLite format 3\0" + b"\xff" * 5000])
def test_damaged_records_are_set_aside_and_replaced(
    database: Database, library: Path, filled: SheetRecord, tmp_path: Path, content: bytes
) -> None:
    target = tmp_path / "clinic.backup"
    workflow.back_up(database, library, target)
    before = rows(database)
    for end in ("-wal", "-shm"):
        Path(f"{database.path}{end}").unlink(missing_ok=True)
    database.path.write_bytes(content)
    done = workflow.restore(target, database.path.parent, library)
    assert [path.read_bytes() for path in done.kept] == [content]
    assert rows(database) == before


@pytest.mark.parametrize("table", ["erasures", "athletes", "sheets"])
def test_records_damaged_in_the_middle_are_kept_too(
    database: Database, library: Path, filled: SheetRecord, tmp_path: Path, table: str
) -> None:
    target = tmp_path / "clinic.backup"
    workflow.back_up(database, library, target)
    before = rows(database)
    with closing(raw(database)) as connection:
        connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        (root,) = connection.execute("SELECT rootpage FROM sqlite_master WHERE name = ?", (table,)).fetchone()
        (size,) = connection.execute("PRAGMA page_size").fetchone()
    content = bytearray(database.path.read_bytes())
    content[(root - 1) * size : root * size] = b"\xa5" * size
    database.path.write_bytes(content)
    (kept,) = workflow.restore(target, database.path.parent, library).kept
    assert b"\xa5" * size in kept.read_bytes()
    assert rows(database) == before


def altered(target: Path, change: Callable[[dict[str, bytes]], None]) -> Path:
    """The same backup with some files changed, as a zip that is whole in itself."""
    with zipfile.ZipFile(target) as whole:
        files = {name: whole.read(name) for name in whole.namelist()}
    change(files)
    path = target.with_name("altered.backup")
    with zipfile.ZipFile(path, "w") as whole:
        for name, content in files.items():
            whole.writestr(name, content)
    return path


def tampered(statement: str) -> Callable[[dict[str, bytes]], None]:
    """Change the database with a statement of another program, and list it as if it had been backed up so."""

    def change(files: dict[str, bytes]) -> None:
        with closing(sqlite3.connect(":memory:", isolation_level=None)) as connection:
            connection.deserialize(files[place.FILE])
            connection.execute(statement)
            files[place.FILE] = connection.serialize()
        told = json.loads(files["backup.json"])
        one = next(entry for entry in told["files"] if entry["path"] == place.FILE)
        one |= {"size": len(files[place.FILE]), "sha256": hashlib.sha256(files[place.FILE]).hexdigest()}
        files["backup.json"] = json.dumps(told).encode()

    return change


def listed(files: dict[str, bytes], path: str) -> None:
    """List a file that leads elsewhere as if it belonged there."""
    told = json.loads(files["backup.json"])
    one = next(entry for entry in told["files"] if entry["path"].startswith("library/"))
    files[path] = files.pop(one["path"])
    one["path"] = path
    files["backup.json"] = json.dumps(told).encode()


CHANGES: dict[str, Callable[[dict[str, bytes]], None]] = {
    "a library file changed": lambda files: files.update({"library/own.yaml": b"drills: {x: {}}\n"}),
    "the database changed": lambda files: files.update({"homecare.sqlite": files["homecare.sqlite"][:-1] + b"#"}),
    "a file more": lambda files: files.update({"library/other.yaml": b""}),
    "a file less": lambda files: files.__delitem__("library/own.yaml"),
    "no list": lambda files: files.__delitem__("backup.json"),
    "a list of nothing": lambda files: files.update({"backup.json": b"[]"}),
    "up and out": lambda files: listed(files, "library/../../evil.yaml"),
    "from the top": lambda files: listed(files, "/tmp/evil.yaml"),
    "beside": lambda files: listed(files, "session.key"),
    "another system's way": lambda files: listed(files, "library/..\\..\\evil.yaml"),
    "what keeps sheets taken out": tampered("DROP TRIGGER sheets_stay"),
    "a trigger more": tampered("CREATE TRIGGER x AFTER INSERT ON athletes BEGIN DELETE FROM drafts; END"),
    "rows that lead nowhere": tampered("INSERT INTO athlete_words VALUES ('nobody', 'x')"),
    "a drive": lambda files: listed(files, "library/C:evil.yaml"),
}


@pytest.mark.parametrize("change", CHANGES.values(), ids=CHANGES)
def test_what_is_no_backup_or_an_altered_one_is_refused(
    database: Database, library: Path, filled: SheetRecord, tmp_path: Path, change: Callable[[dict[str, bytes]], None]
) -> None:
    target = tmp_path / "clinic.backup"
    workflow.back_up(database, library, target)
    path = altered(target, change)
    before, files = rows(database), tree(tmp_path)
    with pytest.raises(StorageFault) as fault:
        workflow.restore(path, database.path.parent, library)
    assert (fault.value.path, fault.value.code) in [(path, "no-backup"), (path, "damaged")]
    assert rows(database) == before
    assert tree(tmp_path).keys() == files.keys()


def test_any_byte_altered_on_the_way_is_found(database: Database, library: Path, tmp_path: Path) -> None:
    target = tmp_path / "clinic.backup"
    workflow.back_up(database, library, target)
    content = target.read_bytes()
    names = content.rindex(b"PK\x01\x02")  # behind it stand only the zip's own names and dates
    for at in range(40, names, names // 60):
        target.write_bytes(content[:at] + bytes([content[at] ^ 0x10]) + content[at + 1 :])
        with pytest.raises(StorageFault):
            workflow.restore(target, tmp_path / "other", tmp_path / "other" / "library")
    assert search_count(tmp_path / "other") == 0


def search_count(folder: Path) -> int:
    return len([path for path in folder.iterdir() if path.name == place.FILE]) if folder.exists() else 0


def test_a_backup_of_damaged_records_is_refused_and_the_last_one_stays(
    database: Database, library: Path, filled: SheetRecord, tmp_path: Path
) -> None:
    target = tmp_path / "clinic.backup"
    workflow.back_up(database, library, target)
    good = target.read_bytes()
    with closing(raw(database)) as connection:
        connection.execute("PRAGMA foreign_keys = OFF")
        connection.execute("DROP TRIGGER visits_stay")
        connection.execute("DELETE FROM visits")
    with pytest.raises(StorageFault, match="the database is damaged"):
        workflow.back_up(database, library, target)
    assert target.read_bytes() == good
    assert [path.name for path in tmp_path.iterdir() if path.name.startswith(".")] == []
    assert place.copies(database.path.parent) == ()


def test_a_backup_that_does_not_read_back_takes_no_name(
    database: Database, library: Path, filled: SheetRecord, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    target = tmp_path / "clinic.backup"
    workflow.back_up(database, library, target)
    good, last = target.read_bytes(), workflow.last_backup(database)

    def altered_on_the_way(path: Path) -> None:
        raise StorageFault(path, "damaged", "this backup is damaged")

    monkeypatch.setattr(backups, "check_backup", altered_on_the_way)
    with pytest.raises(StorageFault, match="this backup is damaged"):
        workflow.back_up(database, library, target)
    assert target.read_bytes() == good
    assert workflow.last_backup(database) == last
    assert sorted(path.name for path in tmp_path.iterdir()) == ["clinic.backup", "data"]


@contextmanager
def a_writer(folder: Path) -> Iterator[Pipe]:
    """Another process that adds athletes as fast as it can, and tells each."""
    processes = multiprocessing.get_context("forkserver")
    pipe, its_end = processes.Pipe(duplex=False)
    child = processes.Process(target=say_athletes, args=(its_end, folder))
    child.start()
    its_end.close()
    try:
        yield pipe
    finally:
        child.kill()
        child.join()


def told(pipe: Pipe) -> list[str]:
    found = []
    while pipe.poll():
        found.append(pipe.recv())
    return found


def athletes_in(database: Database) -> set[str]:
    with database.read() as connection:
        return set(connection.scalars(select(tables.athletes.c.id)))


def test_a_writer_in_another_process_goes_on_while_a_backup_is_made(
    database: Database, library: Path, tmp_path: Path
) -> None:
    athlete = athlete_in(database)
    for _ in range(40):
        file(database, sheet_record(athlete, size=200_000))
    target = tmp_path / "clinic.backup"
    with a_writer(database.path.parent) as pipe:
        before = [pipe.recv(), *told(pipe)]
        workflow.back_up(database, library, target)
        meanwhile = told(pipe)
        assert pipe.poll(20)
    assert meanwhile
    workflow.restore(target, tmp_path / "other", tmp_path / "other" / "library")
    there = athletes_in(open_database(tmp_path / "other"))
    assert there >= {*before, athlete.id}
    assert len(there) - 1 <= len(before) + len(meanwhile) + 1


def test_nothing_that_a_writer_had_confirmed_is_lost_by_a_restore(
    database: Database, library: Path, tmp_path: Path
) -> None:
    """What was confirmed until the very end stands in the kept copy, what was confirmed after in the records."""
    target = tmp_path / "clinic.backup"
    workflow.back_up(database, library, target)
    for _ in range(5):
        with a_writer(database.path.parent) as pipe:
            confirmed = [pipe.recv()]
            done = workflow.restore(target, database.path.parent, library)
            assert pipe.poll(20)
            confirmed += told(pipe)
        assert set(confirmed) <= athletes_in(database) | athletes_in(Database(done.kept[0]))
        with sqlite.opened(database.path) as connection:
            sqlite.check_whole(connection, database.path)


def test_a_restore_waits_for_a_lock_and_then_says_so(
    database: Database, library: Path, filled: SheetRecord, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    target = tmp_path / "clinic.backup"
    workflow.back_up(database, library, target)
    athlete_in(database, "Ebbe Lind")
    before = rows(database)
    monkeypatch.setattr(sqlite, "BUSY_S", 0.05)
    with closing(raw(database)) as other:
        other.execute("BEGIN IMMEDIATE")
        with pytest.raises(StorageFault, match="another program holds the database") as fault:
            workflow.restore(target, database.path.parent, library)
        other.execute("ROLLBACK")
    assert fault.value.code == "busy"
    assert rows(database) == before
    assert place.copies(database.path.parent) == ()


def test_no_place_for_it_is_told(database: Database, library: Path, tmp_path: Path) -> None:
    for target, words in (
        (tmp_path, "this is a folder"),
        (tmp_path / "none" / "x", "no such folder"),
        (database.path, "may not stand among what it keeps"),
        (library / "x", "may not stand among what it keeps"),
    ):
        with pytest.raises(StorageFault, match=words):
            workflow.back_up(database, library, target)
    with pytest.raises(StorageFault, match="cannot be read: No such file"):
        workflow.restore(tmp_path / "none", database.path.parent, library)
    with pytest.raises(StorageFault, match="cannot be written") as fault:
        workflow.back_up(database, library, Path("/proc/x"))
    assert fault.value.code == "unwritable"
    assert workflow.last_backup(database) is None


def test_the_two_commands(
    database: Database, library: Path, filled: SheetRecord, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    data, target = database.path.parent, tmp_path / "clinic.backup"
    assert main(["backup", str(target), "--data", str(data)]) == 0
    out = capsys.readouterr().out
    assert out.startswith(f"{target}: 1 athlete, 1 sheet, 3 files of your own library, ")
    assert "checked" in out
    assert main(["restore", str(target), "--data", str(data)]) == 0
    out = capsys.readouterr().out
    assert "restored to" in out
    assert f"kept as {data}/homecare-before-restore-" in out
    assert main(["restore", str(database.path), "--data", str(data)]) == 1
    assert "this is no backup" in capsys.readouterr().err
    assert main(["backup", str(target), "--data", str(tmp_path / "nowhere")]) == 1
    assert "no records here" in capsys.readouterr().err
    assert not (tmp_path / "nowhere").exists()
