"""Who is erased leaves no byte behind; others lose nothing; and what a person must judge is told."""

from __future__ import annotations

from contextlib import closing
from datetime import timedelta
from pathlib import Path

import pytest

from homecare import workflow
from homecare.storage import drafts, filing, place, sheets, sqlite
from homecare.storage.athletes import rename_athlete
from homecare.storage.database import Database, open_database
from homecare.storage.erasing import erase_athlete
from homecare.storage.exporting import export_athlete
from homecare.storage.faults import StorageFault
from homecare.storage.visits import add_check_in
from tests.storage.made import AT, FIRST, SLIP, TEXTS, athlete_in, file, raw, sheet_record

NAME = "Xanthippe Quellenhofer"
TRACES = (b"Xanthippe", b"Quellenhofer", b"xanthippe", b"quellenhofer", b"QUELLENHOFER")


def a_life_of(database: Database, name: str) -> str:
    """An athlete with drafts, visits, sheets, slips, check-ins and a sheet not filed yet; returns the id."""
    athlete = athlete_in(database, name)
    text = f"athlete: {name}\n" + f"notes: {name} was tender\n" * 400
    last = None
    for number in range(6):
        day = FIRST + timedelta(days=14 * number)
        files = sheets.SheetBytes(*(f"{kind} of {name} ".encode() * 300 for kind in ("a", "b", "c", "d")))
        came_back = (last.id, f'{{"of": "{name}"}}') if last else None
        last = file(database, sheet_record(athlete, day, text=text, files=files, came_back=came_back))
    assert last is not None
    with database.write() as connection:
        sheets.amend_sheet(connection, last.id, FIRST, SLIP, TEXTS, AT)
        add_check_in(connection, last.id, FIRST, f'{{"alone": "{name}"}}', AT)
        drafts.add_draft(connection, text, AT, athlete.id)
        rename_athlete(connection, athlete.id, f"{name} Junior")
    filing.set_aside(database.path.parent, sheet_record(athlete, text=text))
    return athlete.id


def traces(folder: Path) -> list[str]:
    return [
        f"{path.name}: {trace.decode()}"
        for path in folder.rglob("*")
        if path.is_file()
        for trace in TRACES
        if trace in path.read_bytes()
    ]


def test_no_byte_is_left_in_any_file(database: Database) -> None:
    folder = database.path.parent
    others = [a_life_of(database, f"Rower {number}") for number in range(2)]
    id = a_life_of(database, NAME)
    assert traces(folder)
    before = {other: _exported(database, other) for other in others}
    done = erase_athlete(database, id, AT)
    assert (done.wiped, done.drafts, done.copies) == (True, (), ())
    assert traces(folder) == []
    assert {other: _exported(database, other) for other in others} == before
    with sqlite.opened(database.path) as connection:
        sqlite.check_whole(connection, database.path)
    with pytest.raises(KeyError):
        erase_athlete(database, id, AT)


def _exported(database: Database, id: str) -> object:
    with database.read() as connection:
        return export_athlete(connection, id)


def test_a_reader_delays_the_last_trace_until_the_next_start(
    database: Database, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sqlite, "BUSY_S", 0.05)
    id = a_life_of(database, NAME)
    with closing(raw(database)) as reader:
        reader.execute("BEGIN")
        reader.execute("SELECT count(*) FROM sheets").fetchone()
        assert not erase_athlete(database, id, AT).wiped
        assert traces(database.path.parent)
    again = open_database(database.path.parent)
    workflow.settle(again)
    assert traces(database.path.parent) == []


def test_no_room_to_wipe_is_made_up_for_at_the_next_start(database: Database, monkeypatch: pytest.MonkeyPatch) -> None:
    id = a_life_of(database, NAME)

    def full(path: Path) -> bool:
        raise StorageFault(path, "full", "the disk is full")

    with monkeypatch.context() as patch:
        patch.setattr(sqlite, "wipe", full)
        assert not erase_athlete(database, id, AT).wiped
    workflow.settle(database)
    assert traces(database.path.parent) == []


def test_drafts_of_nobody_and_copies_that_may_name_them_are_told(database: Database, tmp_path: Path) -> None:
    id = a_life_of(database, NAME)
    with database.write() as connection:
        names = drafts.add_draft(connection, '{"athlete": "QUELLENHOFER, Xanthippe (junior)"}', AT)
        drafts.add_draft(connection, '{"athlete": "Xanthippe Junior"}', AT)
    copy = place.copy_name(database.path, "before-restore")
    sqlite.copy_whole(database.path, copy)
    left = database.path.parent / f"{place.LEFT_START}x.part"
    left.write_bytes(b"half a copy")
    done = erase_athlete(database, id, AT)
    assert done.drafts == (names.id,)
    assert done.copies == tuple(sorted([copy, left]))


def test_a_whole_athlete_is_given_away(database: Database) -> None:
    id = a_life_of(database, NAME)
    with database.read() as connection:
        whole = export_athlete(connection, id)
        with pytest.raises(KeyError):
            export_athlete(connection, "nobody")
    assert whole.athlete.name == f"{NAME} Junior"
    assert (len(whole.visits), len(whole.sheets), len(whole.drafts)) == (6, 6, 1)
    assert [len(one.check_ins) for one in whole.sheets] == [1, 1, 1, 1, 1, 1]
    assert [len(one.amendments) for one in whole.sheets] == [0, 0, 0, 0, 0, 1]
    assert whole.sheets[-1].amendments[0].files == SLIP
    assert {text.sha256 for text in whole.sheets[0].texts} == {text.sha256 for text in TEXTS}
    assert [one.sheet.visit for one in whole.sheets] == [visit.id for visit in whole.visits]


def test_remains_of_a_copying_go_when_they_are_old(database: Database) -> None:
    folder = database.path.parent
    old, new, deep = folder / ".homecare-a.part", folder / ".homecare-b.part", folder / ".homecare-c"
    old.write_bytes(b"x")
    new.write_bytes(b"x")
    deep.mkdir()
    (deep / "homecare.sqlite").write_bytes(b"x")
    now = new.stat().st_mtime
    place.clear_leftovers(folder, now + 3600)
    assert {old.exists(), new.exists(), deep.exists()} == {True}
    place.clear_leftovers(folder, now + 25 * 3600)
    assert {old.exists(), new.exists(), deep.exists()} == {False}
    assert database.path.exists()
