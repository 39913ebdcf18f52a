"""What was issued never changes, through our own code or through another program, and is read to the byte."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from dataclasses import replace
from datetime import timedelta

import pytest
from sqlalchemy import update
from sqlalchemy.exc import IntegrityError

from homecare.storage import sheets, tables, visits
from homecare.storage.database import Database
from homecare.storage.drafts import StaleDraft, add_draft, load_draft, save_draft
from homecare.storage.faults import StorageFault
from tests.storage.made import AT, FIRST, SLIP, TEXTS, athlete_in, file, raw, sheet_record

ISSUED = ("visits", "sheets", "amendments", "texts", "sheet_texts")


@pytest.fixture
def filed(database: Database) -> Database:
    """A database with two sheets of one athlete, one with a slip."""
    athlete = athlete_in(database)
    one = file(database, sheet_record(athlete))
    file(database, sheet_record(athlete, FIRST + timedelta(days=14)))
    with database.write() as connection:
        sheets.amend_sheet(connection, one.id, FIRST + timedelta(days=3), SLIP, TEXTS, AT)
    return database


def dump(database: Database) -> list[str]:
    with closing(raw(database)) as connection:
        return list(connection.iterdump())


def tamperings() -> list[tuple[str, str]]:
    found = []
    for name in ISSUED:
        key = "sha256" if name == "texts" else "sheet" if name == "sheet_texts" else "id"
        found += [
            (name, f"UPDATE {name} SET {key} = 'other'"),
            (name, f"UPDATE OR REPLACE {name} SET {key} = (SELECT max({key}) FROM {name})"),
            (name, f"UPDATE {name} SET rowid = rowid + 100"),
            (name, f"DELETE FROM {name}"),
            (name, f"INSERT OR REPLACE INTO {name} SELECT * FROM {name}"),
            (name, f"REPLACE INTO {name} SELECT * FROM {name} LIMIT 1"),
        ]
    return found


@pytest.mark.parametrize(("name", "statement"), tamperings())
def test_no_statement_of_another_program_changes_it(filed: Database, name: str, statement: str) -> None:
    before = dump(filed)
    with closing(raw(filed)) as connection, pytest.raises(sqlite3.IntegrityError, match=rf"never changes \({name}\)"):
        connection.execute(statement)
    assert dump(filed) == before


@pytest.mark.parametrize("name", ISSUED)
def test_no_row_takes_the_place_of_another_by_its_number(filed: Database, name: str) -> None:
    key = "sha256" if name in ("texts", "sheet_texts") else "id"
    with closing(raw(filed)) as connection:
        columns = [row[1] for row in connection.execute(f"PRAGMA table_info({name})")]
        values = ", ".join("'other'" if column == key else column for column in columns)
        statement = f"INSERT OR REPLACE INTO {name} (rowid, {', '.join(columns)}) SELECT rowid, {values} FROM {name}"
        before = dump(filed)
        with pytest.raises(sqlite3.IntegrityError, match="never changes"):
            connection.execute(statement)
    assert dump(filed) == before


def test_our_own_statements_are_refused_too(filed: Database) -> None:
    with pytest.raises(IntegrityError), filed.write() as connection:
        connection.execute(update(tables.sheets).values(pdf=b""))
    with pytest.raises(StorageFault), filed.read() as connection:  # a reader writes nothing at all
        connection.execute(update(tables.athletes).values(name="X"))


def test_a_reprint_is_those_very_bytes(filed: Database) -> None:
    athlete = athlete_in(filed, "Ebbe Lind")
    files = sheets.SheetBytes(b"%PDF\0\xff\r\n", b'{"a": 1}\n', b"<!doctype html>\n", b"note\r\n")
    record = file(filed, replace(sheet_record(athlete), files=files))
    with filed.read() as connection:
        assert sheets.read_sheet(connection, record.id) == files
        assert {text.sha256 for text in sheets.texts_of_sheet(connection, record.id)} == {one.sha256 for one in TEXTS}


def test_a_byte_that_the_disk_altered_is_told(filed: Database) -> None:
    record = file(filed, sheet_record(athlete_in(filed), size=9000))
    with closing(raw(filed)) as connection:
        connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    content = filed.path.read_bytes()
    at = content.index(record.files.pdf[:26]) + 10
    filed.path.write_bytes(content[:at] + b"#" + content[at + 1 :])
    with filed.read() as connection, pytest.raises(StorageFault, match="the disk has altered it") as fault:
        sheets.read_sheet(connection, record.id)
    assert fault.value.code == "damaged"


def test_a_sheet_is_of_the_athlete_of_its_visit(filed: Database) -> None:
    one, other = athlete_in(filed, "Ebbe Lind"), athlete_in(filed, "Signe Holm")
    record = sheet_record(one)
    with filed.write() as connection:
        visit = visits.add_visit(connection, one.id, FIRST, record.text, AT)
        stranger = replace(visit, athlete=other.id)
        with pytest.raises(IntegrityError):
            sheets.issue_sheet(connection, stranger, record.files, record.used, record.facts, AT)


def test_the_draft_goes_with_the_sheet_or_nothing_happens(filed: Database) -> None:
    athlete = athlete_in(filed, "Ebbe Lind")
    with filed.write() as connection:
        draft = add_draft(connection, "one", AT)
        newer = save_draft(connection, draft.id, "two", draft.revision, AT)
    before = dump(filed)
    with pytest.raises(StaleDraft) as stale:
        file(filed, sheet_record(athlete, draft=(draft.id, draft.revision)))
    assert stale.value.now == newer
    assert dump(filed) == before
    file(filed, sheet_record(athlete, draft=(draft.id, newer.revision)))
    with filed.read() as connection:
        assert load_draft(connection, draft.id) is None
        assert len(sheets.sheets_of_athlete(connection, athlete.id)) == 1


def test_what_came_back_is_filed_with_the_visit_that_told_it(filed: Database) -> None:
    athlete = athlete_in(filed, "Ebbe Lind")
    first = file(filed, sheet_record(athlete))
    second = file(filed, sheet_record(athlete, FIRST + timedelta(days=14), came_back=(first.id, '{"done":{}}')))
    with filed.write() as connection:
        alone = visits.add_check_in(connection, second.id, FIRST + timedelta(days=20), "{}", AT)
    with filed.read() as connection:
        (told,) = visits.list_check_ins(connection, first.id)
        assert (told.visit, told.day, told.json) == (second.visit, second.facts.first_day, '{"done":{}}')
        assert visits.list_check_ins(connection, second.id) == (alone,)
        sheet = sheets.latest_sheet(connection, athlete.id)
    assert sheet is not None
    assert (sheet.visit, sheet.id) == (second.visit, second.id)
