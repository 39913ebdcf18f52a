"""What is handed over is filed: a sheet or a slip in the clinic's database, with every text that it used."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from pathlib import Path

from sqlalchemy import Connection
from sqlalchemy.exc import IntegrityError

from homecare.core.findings import LastSheet
from homecare.core.problems import InputFault, Problem, Source
from homecare.library.load import Entry, Place
from homecare.library.nodes import canonical_json
from homecare.storage import filing, sheets
from homecare.storage.athletes import new_id
from homecare.storage.database import Database
from homecare.storage.faults import StorageFault
from homecare.storage.filing import SheetRecord
from homecare.storage.sheets import AmendmentBytes, LibraryText, SheetBytes, SheetFacts, StoredAmendment
from homecare.workflow.sheets import Named, PlanOf, SheetFiles
from homecare.workflow.slips import SlipFiles


@dataclass(frozen=True)
class Issued:
    """A sheet that was handed over: the ids of its athlete, its visit and itself.

    Not `filed` means that the database could not be written, `fault` says why: the sheet lies in a file of its own, and
    is filed under these ids as soon as that can be done.
    """

    athlete: str
    visit: str
    sheet: str
    fault: StorageFault | None = None

    @property
    def filed(self) -> bool:
        """Whether it stands in the database."""
        return self.fault is None


class Overtaken(Exception):
    """Another sheet or slip was handed over since this one was begun; nothing is filed."""


@dataclass(frozen=True)
class Filed:
    """How many sheets that had been set aside were filed, and why others still are not."""

    count: int
    left: tuple[StorageFault, ...]


def issue(
    database: Database,
    athlete: str,
    text: str,
    files: SheetFiles,
    at: datetime,
    draft: tuple[str, int] | None = None,
    *,
    follows: str | None = None,
) -> Issued:
    """File a sheet with its visit, and what came back at it, in one transaction; the draft it was typed in goes too.

    `athlete` is the id of one who is there; `text` the visit file that `files` were made from; `draft` its id and the
    revision that was seen; `follows` the athlete's latest sheet as it was seen. Where the database cannot be written
    the sheet is set aside, to be filed later. Raises StaleDraft when the draft was changed since, Overtaken when there
    is a later sheet, InputFault when the athlete is gone or there is no place at all; then nothing is filed.
    """
    record = _record(athlete, text, files, at, draft)
    issued = Issued(athlete, record.visit, record.id)
    try:
        with database.write() as connection:
            latest = sheets.latest_sheet(connection, athlete) if follows is not None else None
            if latest is not None and latest.id != follows:
                raise Overtaken
            filing.file_sheet(connection, record)
    except filing.NoAthlete:
        message = "this athlete is not in the clinic's records any more"
        raise InputFault([Problem(Source("athlete"), "no-athlete", message, "look for them on the list")]) from None
    except StorageFault as fault:
        _set_aside(database.path.parent, record, fault)
        return replace(issued, fault=fault)
    file_the_unfiled(database)
    return issued


def file_the_unfiled(database: Database) -> Filed:
    """File every sheet that was set aside; called when the desk starts, and after each sheet that is filed."""
    count, left = 0, []
    for path in filing.aside(database.path.parent):
        try:
            record = filing.read_aside(path)
            with database.write() as connection:
                filing.file_later(connection, record)
            path.unlink(missing_ok=True)
            count += 1
        except FileNotFoundError:  # somebody else has just filed it
            continue
        except StorageFault as fault:
            left.append(fault)
        except IntegrityError:
            left.append(StorageFault(path, "damaged", "this sheet does not fit the records", "keep it"))
        except OSError as error:
            left.append(StorageFault(path, "unwritable", f"this sheet cannot be filed: {error.strerror}"))
    return Filed(count, tuple(left))


def unfiled_sheet(database: Database, sheet: str) -> SheetRecord | None:
    """A sheet that waits to be filed, None when there is none of this id. Raises StorageFault where it is damaged."""
    for path in filing.aside(database.path.parent):
        if path.stem == sheet:
            try:
                return filing.read_aside(path)
            except FileNotFoundError:  # it was filed this very moment
                return None
    return None


def came_back_json(last: LastSheet) -> str:
    """What came back of a sheet, as a check-in keeps it: boxes ticked, responses, ratings from 0 to 10 by date."""
    told = {
        "done": dict(last.done),
        "response": dict(last.response),
        "ratings": [[day.isoformat(), value] for day, value in last.ratings],
    }
    return canonical_json(told)


def _record(athlete: str, text: str, files: SheetFiles, at: datetime, draft: tuple[str, int] | None) -> SheetRecord:
    sheet, visit = files.sheet, files.visit
    facts = SheetFacts(
        first_day=visit.start,
        last_day=visit.start + timedelta(days=visit.days - 1),
        drills=len(sheet.drills),
        review_by=sheet.review_by,
        refer=sheet.refer.urgency if sheet.refer else "",
        visit_days=tuple(one.day for one in visit.clinic_visits),
        events=visit.events,
    )
    return SheetRecord(
        id=new_id(),
        visit=new_id(),
        athlete=athlete,
        athlete_name=sheet.athlete,
        text=text,
        prepared_by=sheet.prepared_by,
        facts=facts,
        files=SheetBytes(files.pdf, files.plan, files.phone, files.note),
        used=_texts(files.used),
        at=at,
        came_back=(visit.last.plan, came_back_json(visit.last)) if visit.last else None,
        draft=draft,
    )


def _set_aside(folder: Path, record: SheetRecord, fault: StorageFault) -> None:
    try:
        filing.set_aside(folder, record)
    except OSError as error:
        message = f"this sheet could not be kept: {error.strerror}"
        hint = "it is on no record, so print it and keep a copy by hand"
        raise InputFault([*fault.problems, Problem(Source(str(folder)), "unfiled", message, hint)]) from error


def issue_slip(
    database: Database, sheet: str, files: SlipFiles, at: datetime, *, slips: int | None = None
) -> StoredAmendment:
    """File the slip of a change to an issued sheet; `slips` says how many it had when this one was begun.

    Raises StorageFault; or Overtaken when it has more since, and then nothing is filed.
    """
    whole = AmendmentBytes(files.pdf, files.amendment, files.phone)
    with database.write() as connection:
        if slips is not None and len(sheets.list_amendments(connection, sheet)) != slips:
            raise Overtaken
        return sheets.amend_sheet(connection, sheet, files.slip.now.start, whole, _texts(files.used), at)


def stored_plans(database: Database) -> PlanOf:
    """Plans by the id of their sheet, each with every slip that was handed over since."""

    def plan_of(last: LastSheet) -> tuple[Named, ...]:
        with database.read() as connection:
            found = sheets.read_sheet(connection, last.plan)
            slips = stored_slips(connection, last.plan)
        if found is None:
            message = "the sheet before this one is not in this clinic's records"
            raise InputFault([Problem(Source("last.plan"), "no-sheet", message, "take the last sheet off this visit")])
        return (("the last sheet", found.plan), *slips)

    return plan_of


def stored_slips(connection: Connection, sheet: str) -> tuple[Named, ...]:
    """The amendment.json of each slip of a sheet, in the order in which they were handed over."""
    slips = [(one.day, sheets.read_amendment(connection, one.id)) for one in sheets.list_amendments(connection, sheet)]
    return tuple((f"the slip from {day}", files.json) for day, files in slips if files is not None)


def _texts(used: Mapping[Place, Entry]) -> tuple[LibraryText, ...]:
    return tuple(LibraryText(section, key, canonical_json(one.content)) for (section, key), one in used.items())
