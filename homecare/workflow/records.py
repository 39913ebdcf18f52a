"""What is handed over is filed: a sheet or a slip in the clinic's database, with every text that it used."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from homecare.core.problems import InputFault, Problem, Source
from homecare.library.load import Entry, Place
from homecare.library.nodes import canonical_json
from homecare.storage import sheets, visits
from homecare.storage.database import Database
from homecare.storage.drafts import drop_draft
from homecare.storage.sheets import AmendmentBytes, LibraryText, SheetBytes, StoredAmendment
from homecare.workflow.sheets import PlanOf, SheetFiles
from homecare.workflow.slips import SlipFiles


@dataclass(frozen=True)
class Issued:
    """A sheet that was filed: the ids of its athlete, its visit and itself."""

    athlete: str
    visit: str
    sheet: str


def issue(
    database: Database, athlete: str, text: str, files: SheetFiles, at: datetime, draft: tuple[str, int] | None = None
) -> Issued:
    """File a sheet with its visit in one transaction; the draft that it was typed in goes with it.

    `athlete` is the id of one who is there; `text` the visit file that `files` were made from; `draft` its id and the
    revision that was seen. Raises StaleDraft when that was changed since, or StorageFault; then nothing is filed.
    """
    sheet = files.sheet
    with database.write() as connection:
        visit = visits.add_visit(connection, athlete, sheet.start, text, at, sheet.prepared_by)
        whole = SheetBytes(files.pdf, files.plan, files.phone, files.note)
        stored = sheets.issue_sheet(connection, visit.id, whole, _texts(files.used), at)
        if draft is not None:
            drop_draft(connection, *draft)
    return Issued(athlete, visit.id, stored.id)


def issue_slip(database: Database, sheet: str, files: SlipFiles, at: datetime) -> StoredAmendment:
    """File the slip of a change to an issued sheet. Raises StorageFault."""
    whole = AmendmentBytes(files.pdf, files.amendment, files.phone)
    with database.write() as connection:
        return sheets.amend_sheet(connection, sheet, files.slip.now.start, whole, _texts(files.used), at)


def stored_plans(database: Database) -> PlanOf:
    """Plans by the id of their sheet."""

    def plan_of(sheet: str) -> bytes:
        with database.read() as connection:
            found = sheets.read_sheet(connection, sheet)
        if found is None:
            message = "the sheet before this one is not in this clinic's records"
            raise InputFault([Problem(Source("last.plan"), "no-sheet", message, "take the last sheet off this visit")])
        return found.plan

    return plan_of


def _texts(used: Mapping[Place, Entry]) -> tuple[LibraryText, ...]:
    return tuple(LibraryText(section, key, canonical_json(one.content)) for (section, key), one in used.items())
