"""All that is kept of one athlete as one value, to give away."""

from __future__ import annotations

from dataclasses import dataclass

from sqlalchemy import Connection

from homecare.storage.athletes import Athlete, find_athlete
from homecare.storage.drafts import Draft, drafts_of_athlete
from homecare.storage.sheets import (
    AmendmentBytes,
    LibraryText,
    SheetBytes,
    StoredAmendment,
    StoredSheet,
    list_amendments,
    read_amendment,
    read_sheet,
    sheets_of_athlete,
    texts_of_sheet,
)
from homecare.storage.visits import CheckIn, Visit, list_check_ins, list_visits


@dataclass(frozen=True)
class WholeAmendment:
    """An amendment with its files."""

    amendment: StoredAmendment
    files: AmendmentBytes


@dataclass(frozen=True)
class WholeSheet:
    """A sheet with its files, the library's texts that it used, its amendments, and what came back of it."""

    sheet: StoredSheet
    files: SheetBytes
    texts: tuple[LibraryText, ...]
    amendments: tuple[WholeAmendment, ...]
    check_ins: tuple[CheckIn, ...]


@dataclass(frozen=True)
class WholeAthlete:
    """Every record of one athlete; sheets name their visits."""

    athlete: Athlete
    visits: tuple[Visit, ...]
    sheets: tuple[WholeSheet, ...]
    drafts: tuple[Draft, ...]


def export_athlete(connection: Connection, id: str) -> WholeAthlete:
    """Everything that is kept of an athlete. Raises KeyError, or StorageFault where the disk altered a file."""
    athlete = find_athlete(connection, id)
    if athlete is None:
        raise KeyError(id)
    whole = tuple(_whole(connection, sheet) for sheet in sheets_of_athlete(connection, id))
    return WholeAthlete(athlete, list_visits(connection, id), whole, drafts_of_athlete(connection, id))


def _whole(connection: Connection, sheet: StoredSheet) -> WholeSheet:
    slips = []
    for one in list_amendments(connection, sheet.id):
        slip = read_amendment(connection, one.id)
        assert slip is not None  # listed in this very view of the database
        slips.append(WholeAmendment(one, slip))
    files = read_sheet(connection, sheet.id)
    assert files is not None
    return WholeSheet(
        sheet, files, texts_of_sheet(connection, sheet.id), tuple(slips), list_check_ins(connection, sheet.id)
    )
