"""A sheet handed over while the database cannot be written is set aside, said so, and filed as soon as it can be."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import closing
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest

from homecare import workflow
from homecare.core.problems import InputFault
from homecare.core.sheet import Clinic
from homecare.library.load import Library
from homecare.storage import filing, place, sheets, sqlite, visits
from homecare.storage.athletes import Athlete, find_athlete
from homecare.storage.database import Database, open_database
from homecare.storage.drafts import StaleDraft, add_draft, load_draft, save_draft
from homecare.storage.erasing import erase_athlete
from homecare.workflow import SheetFiles
from tests.storage.made import AT, athlete_in, file, raw, sheet_record

VISIT = """athlete: "Ylva Brandt"
start: 2026-03-02
prepared_by: "D. Achterberg"
clinic_visits: [2026-03-05, 2026-03-20]
event: 2026-03-28
findings:
  - {tissue: soleus, side: left, found: tight}
"""


@pytest.fixture(scope="module")
def made(lib: Library) -> SheetFiles:
    """A sheet as it is handed over."""
    return workflow.visit_sheet(VISIT, "visit", lib, Clinic(), lambda _: ())


@pytest.fixture
def database(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Database:
    """A database that does not wait long for another program."""
    monkeypatch.setattr(sqlite, "BUSY_S", 0.05)
    return open_database(tmp_path / "data")


@pytest.fixture
def athlete(database: Database) -> Athlete:
    """An athlete in it."""
    return athlete_in(database)


def locked(database: Database, work: Callable[[], workflow.Issued]) -> workflow.Issued:
    """Do the work while another program holds the database."""
    with closing(raw(database)) as other:
        other.execute("BEGIN IMMEDIATE")
        return work()


def set_aside(database: Database) -> list[Path]:
    return list(filing.aside(database.path.parent))


def test_a_sheet_is_filed_with_all_that_lists_tell_of_it(
    database: Database, athlete: Athlete, made: SheetFiles
) -> None:
    issued = workflow.issue(database, athlete.id, VISIT, made, AT)
    assert (issued.filed, issued.fault, issued.athlete) == (True, None, athlete.id)
    with database.read() as connection:
        stored = sheets.find_sheet(connection, issued.sheet)
        visit = visits.find_visit(connection, issued.visit)
        files = sheets.read_sheet(connection, issued.sheet)
    assert stored is not None
    assert visit is not None
    assert files == sheets.SheetBytes(made.pdf, made.plan, made.phone, made.note)
    assert (visit.text, visit.prepared_by, visit.day) == (VISIT, "D. Achterberg", made.sheet.start)
    assert stored.last_day == made.sheet.days[-1].date
    assert (stored.drills, stored.review_by, stored.refer) == (len(made.sheet.drills), made.sheet.review_by, "")


def test_while_the_database_is_held_it_is_set_aside_and_then_filed(
    database: Database, athlete: Athlete, made: SheetFiles
) -> None:
    with database.write() as connection:
        draft = add_draft(connection, "typed", AT, athlete.id)
    work = lambda: workflow.issue(database, athlete.id, VISIT, made, AT, (draft.id, draft.revision))  # noqa: E731
    issued = locked(database, work)
    assert not issued.filed
    assert issued.fault is not None
    assert issued.fault.code == "busy"
    (path,) = set_aside(database)
    assert path.stat().st_mode & 0o077 == path.parent.stat().st_mode & 0o077 == 0
    waiting = workflow.unfiled_sheet(database, issued.sheet)
    assert waiting is not None
    assert waiting.files.pdf == made.pdf
    assert workflow.unfiled_sheet(database, "other") is None

    assert workflow.settle(database) == workflow.Filed(1, ())
    assert set_aside(database) == []
    with database.read() as connection:
        assert sheets.read_sheet(connection, issued.sheet) == waiting.files
        stored, visit = sheets.find_sheet(connection, issued.sheet), visits.find_visit(connection, issued.visit)
        assert load_draft(connection, draft.id) is None
    assert stored is not None
    assert visit is not None
    assert (stored.issued, visit.text) == (AT, VISIT)


def test_what_is_set_aside_is_read_back_as_it_was(database: Database, athlete: Athlete) -> None:
    facts = replace(sheet_record(athlete).facts, refer="soon", visit_days=(AT.date(),), events=(AT.date(),))
    record = sheet_record(athlete, facts=facts, came_back=("sheet", "{}"), draft=("draft", 3))
    record = replace(record, files=sheets.SheetBytes(bytes(range(256)), b"", b"\r\n", "ø\n".encode()))
    filing.set_aside(database.path.parent, record)
    (path,) = set_aside(database)
    assert filing.read_aside(path) == record


def test_the_next_sheet_that_is_filed_takes_the_others_along(
    database: Database, athlete: Athlete, made: SheetFiles
) -> None:
    waiting = locked(database, lambda: workflow.issue(database, athlete.id, VISIT, made, AT))
    issued = workflow.issue(database, athlete.id, VISIT, made, AT + timedelta(hours=1))
    assert set_aside(database) == []
    with database.read() as connection:
        ids = [sheet.id for sheet in sheets.sheets_of_athlete(connection, athlete.id)]
    assert ids == [waiting.sheet, issued.sheet]


def test_filing_twice_is_filing_once(database: Database, athlete: Athlete) -> None:
    record = file(database, sheet_record(athlete))
    filing.set_aside(database.path.parent, record)  # the end came between the filing and the taking away
    assert workflow.file_the_unfiled(database) == workflow.Filed(1, ())
    with database.read() as connection:
        assert len(sheets.sheets_of_athlete(connection, athlete.id)) == 1
    assert set_aside(database) == []


def test_a_draft_that_was_changed_since_stays(database: Database, athlete: Athlete) -> None:
    with database.write() as connection:
        draft = add_draft(connection, "typed", AT, athlete.id)
        newer = save_draft(connection, draft.id, "typed more", draft.revision, AT, athlete.id)
    record = sheet_record(athlete, draft=(draft.id, draft.revision))
    with pytest.raises(StaleDraft):
        file(database, record)
    filing.set_aside(database.path.parent, record)  # printed it is, so it must be filed
    workflow.file_the_unfiled(database)
    with database.read() as connection:
        assert load_draft(connection, draft.id) == newer
        assert sheets.find_sheet(connection, record.id) is not None


def test_an_athlete_whom_an_older_backup_does_not_know_comes_back(database: Database, tmp_path: Path) -> None:
    target = tmp_path / "clinic.backup"
    workflow.back_up(database, tmp_path / "none", target)
    athlete = athlete_in(database)
    first = file(database, sheet_record(athlete))
    record = sheet_record(athlete, came_back=(first.id, "{}"))
    filing.set_aside(database.path.parent, record)
    workflow.restore(target, database.path.parent, tmp_path / "none")
    assert workflow.settle(database) == workflow.Filed(1, ())
    with database.read() as connection:
        found = find_athlete(connection, athlete.id)
        assert sheets.find_sheet(connection, record.id) is not None
    assert found is not None
    assert found.name == athlete.name


def test_an_erased_athletes_sheet_is_not_filed(database: Database, athlete: Athlete) -> None:
    filing.set_aside(database.path.parent, sheet_record(athlete))
    other = athlete_in(database, "Ebbe Lind")
    kept = sheet_record(other)
    filing.set_aside(database.path.parent, kept)
    erase_athlete(database, athlete.id, AT)
    assert [path.stem for path in set_aside(database)] == [kept.id]
    filing.set_aside(database.path.parent, sheet_record(athlete))  # from another machine's folder
    workflow.settle(database)
    assert set_aside(database) == []
    with database.read() as connection:
        assert find_athlete(connection, athlete.id) is None
        assert sheets.find_sheet(connection, kept.id) is not None


def test_an_athlete_who_is_gone_is_told(database: Database, made: SheetFiles) -> None:
    with pytest.raises(InputFault, match="not in the clinic's records any more"):
        workflow.issue(database, "nobody", VISIT, made, AT)
    assert set_aside(database) == []


def test_what_cannot_be_read_is_told_and_stays(database: Database, athlete: Athlete) -> None:
    filing.set_aside(database.path.parent, sheet_record(athlete))
    (path,) = set_aside(database)
    for content in (path.read_bytes()[:-40], b"", b"{}", b'{"format": 99}', b"[]", b"\xff\xfe"):
        path.write_bytes(content)
        done = workflow.file_the_unfiled(database)
        assert (done.count, [fault.code for fault in done.left]) == (0, ["damaged"])
        assert path.read_bytes() == content


def test_what_does_not_fit_the_records_stops_nothing_else(
    database: Database, athlete: Athlete, made: SheetFiles
) -> None:
    filed = file(database, sheet_record(athlete))
    filing.set_aside(database.path.parent, sheet_record(athlete, visit=filed.visit))  # of a visit that is there already
    (path,) = set_aside(database)
    assert workflow.issue(database, athlete.id, VISIT, made, AT).filed
    assert [fault.path for fault in workflow.settle(database).left] == [path]
    assert set_aside(database) == [path]


def test_a_sheet_that_can_be_kept_nowhere_is_refused_in_words(
    database: Database, athlete: Athlete, made: SheetFiles
) -> None:
    place.unfiled_folder(database.path.parent).write_text("in the way")
    with pytest.raises(InputFault) as fault:
        locked(database, lambda: workflow.issue(database, athlete.id, VISIT, made, AT))
    assert [problem.code for problem in fault.value.problems] == ["unfiled", "busy"]
    assert "could not be kept" in str(fault.value)
