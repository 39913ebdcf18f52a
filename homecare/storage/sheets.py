"""Issued sheets and their amendments: kept to the byte, never changed, read back with their hashes checked."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path
from typing import Literal

from sqlalchemy import Connection, Row, TableClause, insert, select, update

from homecare.storage.athletes import new_id
from homecare.storage.faults import RESTORE, StorageFault
from homecare.storage.tables import amendments, latest_sheets, planned_days, sheet_texts, sheets, texts
from homecare.storage.visits import Visit


@dataclass(frozen=True)
class SheetBytes:
    """The four files of a sheet, to the byte."""

    pdf: bytes
    plan: bytes
    phone: bytes
    note: bytes


@dataclass(frozen=True)
class AmendmentBytes:
    """The three files of an amendment, to the byte."""

    pdf: bytes
    json: bytes
    phone: bytes


@dataclass(frozen=True)
class SheetFacts:
    """What lists tell of a sheet: its days, how many drills, whether it refers, and the dates that it was told of."""

    first_day: date
    last_day: date
    drills: int
    review_by: date
    refer: Literal["", "soon", "now"] = ""
    visit_days: tuple[date, ...] = ()
    events: tuple[date, ...] = ()


@dataclass(frozen=True)
class StoredSheet:
    """An issued sheet of a visit, without its files; from `first_day` to `last_day`, both included."""

    id: str
    visit: str
    athlete: str
    issued: datetime
    first_day: date
    last_day: date
    drills: int
    review_by: date
    refer: Literal["", "soon", "now"]


@dataclass(frozen=True)
class StoredAmendment:
    """An issued amendment of a sheet, without its files; `day` is the first changed one."""

    id: str
    sheet: str
    day: date
    issued: datetime


@dataclass(frozen=True)
class LibraryText:
    """A record of the library as an issued sheet used it; `content` is its canonical JSON, whose hash pins it."""

    section: str
    record: str
    content: str

    @property
    def sha256(self) -> str:
        """The record's revision."""
        return _hash(self.content.encode())


def issue_sheet(
    connection: Connection,
    visit: Visit,
    files: SheetBytes,
    used: Iterable[LibraryText],
    facts: SheetFacts,
    at: datetime,
    *,
    id: str | None = None,
) -> StoredSheet:
    """Keep a sheet with every text that it used. It is issued when the caller's transaction ends, and not before."""
    days = (facts.first_day, facts.last_day, facts.drills, facts.review_by, facts.refer)
    sheet = StoredSheet(id or new_id(), visit.id, visit.athlete, at, *days)
    connection.execute(insert(sheets).values({**vars(sheet), **_with_hashes(vars(files))}))
    told = [("visit", day) for day in facts.visit_days] + [("event", day) for day in facts.events]
    if told:
        rows = [{"sheet": sheet.id, "what": what, "day": day} for what, day in dict.fromkeys(told)]
        connection.execute(insert(planned_days), rows)
    _keep_latest(connection, sheet)
    keep_texts(connection, sheet.id, used)
    return sheet


def keep_texts(connection: Connection, sheet: str, used: Iterable[LibraryText]) -> None:
    """Keep the texts that a sheet or its amendment used; one that is kept already is kept once."""
    by_hash = {text.sha256: text for text in used}
    there = set(connection.scalars(select(texts.c.sha256).where(texts.c.sha256.in_(by_hash))))
    linked = set(connection.scalars(select(sheet_texts.c.sha256).where(sheet_texts.c.sheet == sheet)))
    new = [{"sha256": key, **vars(text)} for key, text in by_hash.items() if key not in there]
    if new:
        connection.execute(insert(texts), new)
    if by_hash.keys() - linked:
        connection.execute(insert(sheet_texts), [{"sheet": sheet, "sha256": key} for key in by_hash.keys() - linked])


def find_sheet(connection: Connection, id: str) -> StoredSheet | None:
    """The sheet of an id without its files, None when there is none (any more)."""
    row = connection.execute(select(*STORED).where(sheets.c.id == id)).one_or_none()
    return StoredSheet(**row._mapping) if row else None


def sheets_of_athlete(connection: Connection, athlete: str) -> tuple[StoredSheet, ...]:
    """An athlete's sheets by their first day, the latest last."""
    question = select(*STORED).where(sheets.c.athlete == athlete)
    rows = connection.execute(question.order_by(sheets.c.first_day, sheets.c.issued, sheets.c.id))
    return tuple(StoredSheet(**row._mapping) for row in rows)


def latest_sheet(connection: Connection, athlete: str) -> StoredSheet | None:
    """An athlete's sheet with the latest first day (of two, the one issued last), None when there is none yet."""
    question = select(*STORED).join(latest_sheets, latest_sheets.c.sheet == sheets.c.id)
    row = connection.execute(question.where(latest_sheets.c.athlete == athlete)).one_or_none()
    return StoredSheet(**row._mapping) if row else None


def read_sheet(connection: Connection, id: str) -> SheetBytes | None:
    """The very bytes that were issued, None when there is no such sheet; StorageFault if the disk altered them."""
    found = _read(connection, sheets, id, ("pdf", "plan", "phone", "note"))
    return SheetBytes(**found) if found else None


def texts_of_sheet(connection: Connection, sheet: str) -> tuple[LibraryText, ...]:
    """The library's records as a sheet and its amendments used them, by section and id."""
    question = select(texts.c.section, texts.c.record, texts.c.content)
    question = question.join(sheet_texts, sheet_texts.c.sha256 == texts.c.sha256).where(sheet_texts.c.sheet == sheet)
    rows = connection.execute(question.order_by(texts.c.section, texts.c.record, texts.c.sha256))
    return tuple(LibraryText(**row._mapping) for row in rows)


def amend_sheet(
    connection: Connection, sheet: str, day: date, files: AmendmentBytes, used: Iterable[LibraryText], at: datetime
) -> StoredAmendment:
    """Keep an amendment that goes with a sheet, with every text that it used."""
    amendment = StoredAmendment(new_id(), sheet, day, at)
    connection.execute(insert(amendments).values({**vars(amendment), **_with_hashes(vars(files))}))
    keep_texts(connection, sheet, used)
    return amendment


def list_amendments(connection: Connection, sheet: str) -> tuple[StoredAmendment, ...]:
    """The amendments of a sheet in the order in which they were issued."""
    columns = (amendments.c.id, amendments.c.sheet, amendments.c.day, amendments.c.issued)
    question = select(*columns).where(amendments.c.sheet == sheet).order_by(amendments.c.issued, amendments.c.id)
    return tuple(StoredAmendment(**row._mapping) for row in connection.execute(question))


def read_amendment(connection: Connection, id: str) -> AmendmentBytes | None:
    """The very bytes of an amendment, None when there is none. Raises StorageFault if the disk altered them."""
    found = _read(connection, amendments, id, ("pdf", "json", "phone"))
    return AmendmentBytes(**found) if found else None


def _keep_latest(connection: Connection, sheet: StoredSheet) -> None:
    """Remember a sheet as its athlete's latest, unless the one that is known is later."""
    known = latest_sheet(connection, sheet.athlete)
    values = {"sheet": sheet.id, "last_day": sheet.last_day}
    if known is None:
        connection.execute(insert(latest_sheets).values(athlete=sheet.athlete, **values))
    elif (known.first_day, known.issued, known.id) < (sheet.first_day, sheet.issued, sheet.id):
        changed = update(latest_sheets).where(latest_sheets.c.athlete == sheet.athlete)
        connection.execute(changed.values(**values))


STORED = tuple(sheets.c[name] for name in StoredSheet.__dataclass_fields__)
"""The columns of a `StoredSheet`."""


def _hash(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()


def _with_hashes(files: Mapping[str, bytes]) -> dict[str, bytes | str]:
    return {**files, **{f"{name}_sha256": _hash(content) for name, content in files.items()}}


def _read(connection: Connection, table: TableClause, id: str, names: tuple[str, ...]) -> dict[str, bytes] | None:
    row: Row[tuple[object, ...]] | None = connection.execute(select(table).where(table.c.id == id)).one_or_none()
    if row is None:
        return None
    files = {name: bytes(row._mapping[name]) for name in names}
    for name, content in files.items():
        if _hash(content) != row._mapping[f"{name}_sha256"]:
            message = f"the {name} of a record in {table.name} is not what was issued: the disk has altered it"
            raise StorageFault(Path(str(connection.engine.url.database)), "damaged", message, RESTORE)
    return files
