"""A change to an issued sheet in, three files out: the printed slip, what holds now as data, the renewed phone page."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Literal, cast

from homecare.core.findings import Visit
from homecare.core.last import LastPlan
from homecare.core.problems import InputFault, Problem, Source
from homecare.core.sheet import Clinic, LeftOut, Sheet
from homecare.core.slip import Slip, slip_lines
from homecare.library.archive import used
from homecare.library.clinic import read_clinic
from homecare.library.load import Entry, Library, Place, load_library
from homecare.library.nodes import read_text
from homecare.library.visit import parse_visit
from homecare.render.amendment_json import amendment_bytes
from homecare.render.figures import slip_box
from homecare.render.phone_file import phone_html
from homecare.render.plan_json import plan_bytes
from homecare.render.plan_read import read_plan
from homecare.render.slip_view import slip_pdf
from homecare.workflow import lines
from homecare.workflow.amending import Amended, Amendment, amend_sheet
from homecare.workflow.assembling import build_sheet, in_order_of_doing, join_sheet
from homecare.workflow.sheets import MAX_PLAN_BYTES, PlanOf, last_plan, plans_in

PHONE_NAME = "phone_amended.html"
"""Beside the sheet's own phone page, which stays as it was issued."""


@dataclass(frozen=True)
class SlipFiles:
    """The three files of a change as bytes, what they say, and the library's records that they used."""

    pdf: bytes
    amendment: bytes
    phone: bytes
    slip: Slip
    used: Mapping[Place, Entry]

    def by_name(self) -> dict[str, bytes]:
        """The files by the names they are written under."""
        return {"slip.pdf": self.pdf, "amendment.json": self.amendment, PHONE_NAME: self.phone}


def make_slip(
    visit_path: Path,
    amendment: Amendment,
    *,
    out: Path,
    clinic: Path | None = None,
    library: Path | None = None,
    paper: str | None = None,
    large: bool = False,
) -> SlipFiles:
    """The slip of a change to the sheet of a visit file; raises InputFault with every fault.

    Where `out` holds the plan.json of the sheet, that must be the plan that the visit still gives.
    """
    text = read_text(visit_path)
    shelf = load_library(library)
    house = read_clinic(clinic) if clinic else Clinic()
    if paper is not None:
        house = replace(house, paper=cast(Literal["a4", "letter"], paper))
    path = out / "plan.json"
    issued = (read_text(path, MAX_PLAN_BYTES).encode(), str(path)) if path.exists() else None
    plans = plans_in(visit_path.parent)
    return visit_slip(text, str(visit_path), shelf, house, plans, amendment, issued, large=large)


def visit_slip(
    text: str,
    name: str,
    library: Library,
    clinic: Clinic,
    plan_of: PlanOf,
    amendment: Amendment,
    issued: tuple[bytes, str] | None,
    *,
    large: bool = False,
) -> SlipFiles:
    """The slip of a change to the sheet of a visit written as text; raises InputFault with every fault.

    `issued` is the sheet's plan.json, with the name that it goes by, and must be the plan that the visit still gives.
    """
    visit = parse_visit(text, name, library)
    slip = build_slip(visit, library, clinic, last_plan(visit, plan_of), amendment, large)
    plan = _issued_plan(slip.issued, issued)
    return SlipFiles(
        pdf=slip_pdf(slip, clinic.paper, large),
        amendment=amendment_bytes(slip, amendment.on, hashlib.sha256(plan).hexdigest()),
        phone=phone_html(slip.now).encode(),
        slip=slip,
        used=used(library, (drill.id for drill in slip.now.drills)),
    )


def build_slip(
    visit: Visit,
    library: Library,
    clinic: Clinic,
    last: LastPlan | None,
    amendment: Amendment,
    large: bool = False,
) -> Slip:
    """The sheet as issued, the one that holds from the day of the change on, what differs; InputFault as amend_sheet.

    A drill that is added must get a day: a slip that shows one which is never done would be of no use.
    """
    amended = amend_sheet(visit, library, clinic, last, amendment)
    idle = [
        Problem(
            Source("amendment"),
            "no-day",
            f"{one.drill.id!r} gets no day: the minutes left are full",
            "take another drill off, or make a new sheet with more minutes",
        )
        for number, one in enumerate(amended.judged.choice.chosen)
        if one.picked in amendment.on and one.picked and not amended.plan.planned[number]
    ]
    if idle:
        raise InputFault(idle)
    issued = build_sheet(visit, library, clinic, last, large)
    now = _now(visit, library, clinic, last, issued, amended, amendment, large)
    return Slip(issued, now, slip_lines(issued, now, frozenset(amendment.doses)))


def _now(
    visit: Visit,
    library: Library,
    clinic: Clinic,
    last: LastPlan | None,
    issued: Sheet,
    amended: Amended,
    amendment: Amendment,
    large: bool,
) -> Sheet:
    """The sheet that holds from the day of the change on, words and links made anew; the check-in is the visit's."""
    stays = {drill.id: drill for drill in issued.drills if drill.id not in amendment.doses}
    drills = []
    for number, (one, grade, dosing) in enumerate(
        zip(amended.judged.choice.chosen, amended.grades, amended.dosings, strict=True)
    ):
        planned, wanted = amended.plan.planned[number], amended.plan.wanted[number]
        if one.drill.id in stays:
            drills.append(replace(stays[one.drill.id], days_planned=planned, days_wanted=wanted))
            continue
        drills.append(
            lines.sheet_drill(
                one, grade, dosing, number, amended.plan, amended.judged.carried, library, clinic, slip_box(large)
            )
        )
    left = replace(visit, start=amendment.day, days=len(amended.plan.days), review_by=issued.review_by)
    taken_off = tuple(
        LeftOut(drill.id, drill.side, f"taken off from {amendment.day}", "drop")
        for drill in issued.drills
        if drill.id in amendment.off
    )
    choice = replace(amended.judged.choice, left_out=amended.judged.choice.left_out + taken_off)
    judged = replace(amended.judged, choice=choice)
    sheet = join_sheet(left, library, clinic, last, (), judged, amended.plan, in_order_of_doing(drills))
    return replace(sheet, check_in=issued.check_in)


def _issued_plan(issued: Sheet, kept_as: tuple[bytes, str] | None) -> bytes:
    """The bytes of the plan that is amended: the kept ones, which must have its days and doses, or as made now."""
    made = plan_bytes(issued)
    if kept_as is None:
        return made
    kept, name = kept_as
    one, other = read_plan(kept, name), read_plan(made)
    if (one.start, one.days, one.drills) != (other.start, other.days, other.drills):
        message = "this is not the plan that the visit gives now: the slip would not fit the leaf"
        hint = "amend with the visit file, clinic file and library that the sheet was made with, or make a new sheet"
        raise InputFault([Problem(Source(name), "other-plan", message, hint)])
    return kept
