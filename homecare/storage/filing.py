"""All that is filed when a sheet is handed over, as one value: filed in one transaction, or set aside for later."""

from __future__ import annotations

import base64
import json
import os
import tempfile
from collections.abc import Iterator
from dataclasses import asdict, dataclass
from datetime import date, datetime
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, select

from homecare.storage import place, sqlite
from homecare.storage.athletes import add_athlete, find_athlete
from homecare.storage.drafts import StaleDraft, drop_draft
from homecare.storage.faults import StorageFault
from homecare.storage.sheets import LibraryText, SheetBytes, SheetFacts, find_sheet, issue_sheet
from homecare.storage.tables import erasures
from homecare.storage.visits import add_check_in, add_visit

FORMAT = 1


@dataclass(frozen=True)
class SheetRecord:
    """A sheet with its visit, and what came back at that visit of the sheet before (its id, and JSON; None: nothing).

    `athlete_name` is as printed; `draft` is the id and the revision of the draft that the visit was typed in.
    """

    id: str
    visit: str
    athlete: str
    athlete_name: str
    text: str
    prepared_by: str
    facts: SheetFacts
    files: SheetBytes
    used: tuple[LibraryText, ...]
    at: datetime
    came_back: tuple[str, str] | None = None
    draft: tuple[str, int] | None = None


class NoAthlete(Exception):
    """The athlete of a sheet is not in the records (any more)."""


def file_sheet(connection: Connection, record: SheetRecord) -> None:
    """Add every row of a handed over sheet. Raises NoAthlete, or StaleDraft."""
    if find_athlete(connection, record.athlete) is None:
        raise NoAthlete(record.athlete)
    _add(connection, record)
    if record.draft is not None:
        drop_draft(connection, *record.draft)


def file_later(connection: Connection, record: SheetRecord) -> None:
    """File a sheet that was set aside. One that is there already stays; one of an erased athlete is not filed.

    An athlete who is not there otherwise (an older backup was restored since) is added again. A draft that was changed
    since stays.
    """
    erased = connection.scalar(select(erasures.c.athlete).where(erasures.c.athlete == record.athlete))
    if erased or find_sheet(connection, record.id) is not None:
        return
    if find_athlete(connection, record.athlete) is None:
        add_athlete(connection, record.athlete_name, record.at, id=record.athlete)
    if record.came_back is not None and find_sheet(connection, record.came_back[0]) is None:
        record = SheetRecord(**{**vars(record), "came_back": None})  # the visit's text tells it still
    _add(connection, record)
    if record.draft is not None:
        try:
            drop_draft(connection, *record.draft)
        except StaleDraft:
            pass


def _add(connection: Connection, record: SheetRecord) -> None:
    day, at = record.facts.first_day, record.at
    visit = add_visit(connection, record.athlete, day, record.text, at, record.prepared_by, id=record.visit)
    issue_sheet(connection, visit, record.files, record.used, record.facts, at, id=record.id)
    if record.came_back is not None:
        sheet, told = record.came_back
        add_check_in(connection, sheet, day, told, at, visit.id)


def set_aside(folder: Path, record: SheetRecord) -> None:
    """Keep a sheet that could not be filed as a file of its own, whole or not at all. Raises OSError."""
    path = place.unfiled_folder(folder) / f"{record.id}.json"
    path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
    descriptor, name = tempfile.mkstemp(dir=path.parent, prefix=".new-")  # for this user alone
    part = Path(name)
    try:
        with os.fdopen(descriptor, "w", encoding="utf-8") as stream:
            json.dump({"format": FORMAT, **asdict(record)}, stream, default=_plain, ensure_ascii=False)
        sqlite.put_in_place(part, path)
    finally:
        part.unlink(missing_ok=True)


def aside(folder: Path) -> Iterator[Path]:
    """The files of what was set aside, by name."""
    yield from sorted(place.unfiled_folder(folder).glob("*.json"))


def read_aside(path: Path) -> SheetRecord:
    """A sheet that was set aside. Raises StorageFault when its file was altered, OSError when it cannot be read."""
    try:
        found = json.loads(path.read_text(encoding="utf-8"))
        if found.pop("format") != FORMAT:
            raise ValueError("another format")
        return _record(found)
    except (ValueError, KeyError, TypeError, AttributeError) as error:
        raise StorageFault(path, "damaged", "this sheet, which is not filed yet, cannot be read", "keep it") from error


def _record(found: dict[str, Any]) -> SheetRecord:
    came_back, draft = found.pop("came_back"), found.pop("draft")
    files = {name: base64.b64decode(content, validate=True) for name, content in found.pop("files").items()}
    return SheetRecord(
        facts=_facts(found.pop("facts")),
        files=SheetBytes(**files),
        used=tuple(LibraryText(**one) for one in found.pop("used")),
        at=datetime.fromisoformat(found.pop("at")),
        came_back=(str(came_back[0]), str(came_back[1])) if came_back else None,
        draft=(str(draft[0]), int(draft[1])) if draft else None,
        **found,
    )


def _facts(found: dict[str, Any]) -> SheetFacts:
    return SheetFacts(
        first_day=date.fromisoformat(found["first_day"]),
        last_day=date.fromisoformat(found["last_day"]),
        drills=int(found["drills"]),
        review_by=date.fromisoformat(found["review_by"]),
        refer=found["refer"],
        visit_days=tuple(date.fromisoformat(day) for day in found["visit_days"]),
        events=tuple(date.fromisoformat(day) for day in found["events"]),
    )


def _plain(value: object) -> str:
    if isinstance(value, bytes):
        return base64.b64encode(value).decode()
    if isinstance(value, date):  # a datetime too
        return value.isoformat()
    raise TypeError(type(value).__name__)
