"""A visit file in, four files out: the printed sheet, its plan, the phone page and the chart note."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Literal, Protocol, cast

from homecare.core.findings import LastSheet, Visit
from homecare.core.last import LastPlan, as_amended
from homecare.core.problems import InputFault, Problem, Source
from homecare.core.sheet import Clinic, Sheet
from homecare.library.archive import keep, used
from homecare.library.clinic import read_clinic
from homecare.library.load import Entry, Library, Place, load_library
from homecare.library.nodes import read_text
from homecare.library.visit import parse_visit
from homecare.render.explain import explain_text
from homecare.render.note import note_text
from homecare.render.phone_file import phone_html
from homecare.render.plan_json import plan_bytes
from homecare.render.plan_read import read_plan, read_slip
from homecare.render.print_view import sheet_pdf
from homecare.workflow.assembling import build_sheet

MAX_PLAN_BYTES = 20_000_000

Named = tuple[str, bytes]
"""A file's content behind the name that faults call it by."""

PlanOf = Callable[[LastSheet], tuple[Named, ...]]
"""Finds the plan.json of the sheet before a visit, and behind it the amendment.json of each of its slips in order;
raises InputFault when there is none."""


@dataclass(frozen=True)
class SheetFiles:
    """The four files of a sheet as bytes, what they were made from, and the library's records that it used."""

    pdf: bytes
    plan: bytes
    phone: bytes
    note: bytes
    visit: Visit
    sheet: Sheet
    used: Mapping[Place, Entry]

    def by_name(self) -> dict[str, bytes]:
        """The files by the names they are written under."""
        return {"sheet.pdf": self.pdf, "plan.json": self.plan, "phone.html": self.phone, "note.txt": self.note}


class HandedOver(Protocol):
    """Files that are handed over together, and the library's records that they used."""

    @property
    def used(self) -> Mapping[Place, Entry]: ...

    def by_name(self) -> dict[str, bytes]: ...


def make_sheet(
    visit_path: Path,
    *,
    clinic: Path | None = None,
    library: Path | None = None,
    paper: str | None = None,
    large: bool = False,
) -> SheetFiles:
    """The sheet of a visit file; raises InputFault with every fault of visit, clinic file, library or last plan."""
    text = read_text(visit_path)
    shelf = load_library(library)
    house = read_clinic(clinic) if clinic else Clinic()
    return visit_sheet(text, str(visit_path), shelf, house, plans_in(visit_path.parent), paper=paper, large=large)


def visit_sheet(
    text: str,
    name: str,
    library: Library,
    clinic: Clinic,
    plan_of: PlanOf,
    *,
    paper: str | None = None,
    large: bool = False,
) -> SheetFiles:
    """The sheet of a visit written as text; `plan_of` finds its last plan."""
    visit = parse_visit(text, name, library)
    if paper is not None:
        clinic = replace(clinic, paper=cast(Literal["a4", "letter"], paper))
    return sheet_files(visit, build_sheet(visit, library, clinic, last_plan(visit, plan_of), large), library, large)


def sheet_files(visit: Visit, sheet: Sheet, library: Library, large: bool = False) -> SheetFiles:
    """The files of a sheet that was made of a visit, on the paper of its clinic."""
    return SheetFiles(
        pdf=sheet_pdf(sheet, sheet.clinic.paper, large),
        plan=plan_bytes(sheet),
        phone=phone_html(sheet).encode(),
        note=note_text(sheet).encode(),
        visit=visit,
        sheet=sheet,
        used=used(library, (drill.id for drill in sheet.drills)),
    )


def last_plan(visit: Visit, plan_of: PlanOf) -> LastPlan | None:
    """The plan that a visit says came before it, as its slips left it."""
    return amended_plan(plan_of(visit.last)) if visit.last else None


def amended_plan(files: Sequence[Named]) -> LastPlan:
    """A plan.json and the amendment.json of each slip after it, in order, as what held in the end."""
    (name, content), *slips = files
    plan = read_plan(content, name)
    for name, content in slips:
        slip = read_slip(content, name)
        if not slip.follows(plan):
            message = "this change does not belong to the last plan, or not in this place"
            hint = "name the amendment.json of every slip, in the order in which they were handed over"
            raise InputFault([Problem(Source(name), "other-plan", message, hint)])
        plan = as_amended(plan, slip)
    return plan


def plans_in(folder: Path) -> PlanOf:
    """Plans and amendments by their path, taken from a visit file's folder."""
    return lambda last: tuple((name, plan_text(folder / name)) for name in (last.plan, *last.amendments))


def plan_text(path: Path) -> bytes:
    """The content of a plan.json or amendment.json; raises InputFault when it cannot be read."""
    return read_text(path, MAX_PLAN_BYTES).encode()


def write_sheet(files: HandedOver, out: Path) -> None:
    """Write the files into a folder, made when it is not there: all of them or, on an error, none."""
    out.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory(dir=out, prefix=".new-") as folder:
        for name, content in files.by_name().items():
            (Path(folder) / name).write_bytes(content)
        for name in files.by_name():
            os.replace(Path(folder) / name, out / name)  # noqa: PTH105  (the one call that replaces atomically)


def keep_texts(files: HandedOver, library: Path) -> None:
    """Keep the texts and doses of a sheet that is handed over in the clinic's folder, for as long as that is kept.

    Raises OSError when the folder cannot be written.
    """
    keep(library, files.used)


def explain(sheet: Sheet) -> str:
    """Why the sheet is as it is, from each finding to each drill and to what was not chosen."""
    return explain_text(sheet)
