"""A change to an issued sheet in, three files out: the printed slip, what holds now as data, the renewed phone page."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Literal, cast

from homecare.core.findings import Visit
from homecare.core.last import LastPlan, LastSlip
from homecare.core.problems import InputFault, Problem, Source
from homecare.core.sheet import Clinic, LeftOut, Sheet
from homecare.core.slip import Amendment, Slip, leaf_rows, slip_lines
from homecare.library.archive import used
from homecare.library.clinic import read_clinic
from homecare.library.load import Entry, Library, Place, load_library
from homecare.library.nodes import read_text
from homecare.library.visit import parse_visit
from homecare.render.amendment_json import amendment_bytes
from homecare.render.figures import slip_box
from homecare.render.phone_file import phone_html
from homecare.render.plan_json import plan_bytes
from homecare.render.plan_read import read_plan, read_slip
from homecare.render.slip_view import slip_pdf
from homecare.workflow import lines
from homecare.workflow.amending import Amended, amend_laid
from homecare.workflow.assembling import in_order_of_doing, join_sheet, laid_sheet
from homecare.workflow.judging import Judged, judge
from homecare.workflow.laying import Laid, lay_out
from homecare.workflow.sheets import Named, PlanOf, last_plan, plan_text, plans_in
from homecare.workflow.shortage import shortage_words

Found = Callable[[Visit, LastPlan | None], tuple[Judged, Laid]]
"""What a visit leads to, with what came back."""
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
    after: Sequence[Path] = (),
    clinic: Path | None = None,
    library: Path | None = None,
    paper: str | None = None,
    large: bool = False,
) -> SlipFiles:
    """The slip of a change to the sheet of a visit file; raises InputFault with every fault.

    `after` are the amendment.json of the slips before it, in order. Where `out` holds the plan.json of the sheet, that
    must be the plan that the visit still gives; where it holds another change, that is not written over.
    """
    text = read_text(visit_path)
    shelf = load_library(library)
    house = read_clinic(clinic) if clinic else Clinic()
    if paper is not None:
        house = replace(house, paper=cast(Literal["a4", "letter"], paper))
    issued = (str(out / "plan.json"), plan_text(out / "plan.json")) if (out / "plan.json").exists() else None
    earlier = [(str(path), plan_text(path)) for path in after]
    plans = plans_in(visit_path.parent)
    files = visit_slip(text, str(visit_path), shelf, house, plans, amendment, issued, earlier, large=large)
    _keep_other(out / "amendment.json", files)
    return files


def _keep_other(path: Path, files: SlipFiles) -> None:
    """Raise InputFault where another change is kept already; the same may be printed again, on other paper too."""
    if not path.exists():
        return
    kept, made = read_slip(plan_text(path)), read_slip(files.amendment)
    if (kept.asked, kept.after) != (made.asked, made.after):
        message = "another change is kept in this folder, and what was handed over is never written over"
        hint = "name it with --after, and another folder with --out"
        raise InputFault([Problem(Source(str(path)), "other-slip", message, hint)])


def visit_slip(
    text: str,
    name: str,
    library: Library,
    clinic: Clinic,
    plan_of: PlanOf,
    amendment: Amendment,
    issued: Named | None,
    after: Sequence[Named] = (),
    *,
    large: bool = False,
    found: Found | None = None,
) -> SlipFiles:
    """The slip of a change to the sheet of a visit written as text; raises InputFault with every fault.

    `issued` is the sheet's plan.json, `after` the amendment.json of each slip that it has already, in order: they must
    be what the visit still gives. `found` says what the visit leads to, where that was reasoned already.
    """
    plan, hashes, held, asked = _held(text, name, library, clinic, plan_of, (amendment,), issued, after, large, found)
    _refuse_idle(held[-1], amendment)
    slip = joined_slip(held, asked)
    return SlipFiles(
        pdf=slip_pdf(slip, clinic.paper, large),
        amendment=amendment_bytes(slip, amendment, plan, hashes),
        phone=phone_html(slip.now).encode(),
        slip=slip,
        used=used(library, (drill.id for drill in slip.now.drills)),
    )


def refuse_unfit(
    text: str, name: str, library: Library, clinic: Clinic, plan_of: PlanOf, issued: Named, after: Sequence[Named] = ()
) -> None:
    """Raise InputFault where no change can be made to a sheet, since its visit does not give the leaf any more."""
    _held(text, name, library, clinic, plan_of, (), issued, after, large=False)


def _held(
    text: str,
    name: str,
    library: Library,
    clinic: Clinic,
    plan_of: PlanOf,
    new: tuple[Amendment, ...],
    issued: Named | None,
    after: Sequence[Named],
    large: bool,
    found: Found | None = None,
) -> tuple[str, list[str], tuple[Sheet, ...], tuple[Amendment, ...]]:
    """The hashes of the plan and of the slips so far; the sheets in turn, as held_sheets; and every change to it."""
    visit = parse_visit(text, name, library)
    earlier = [(named, read_slip(content, named)) for named, content in after]
    asked = (*(slip.asked for _, slip in earlier), *new)
    last = last_plan(visit, plan_of)
    reasoned = found(visit, last) if found else None
    held = held_sheets(visit, library, clinic, last, asked, large, whole=issued is None, reasoned=reasoned)
    plan = _issued_plan(held[0], issued, earlier[0][1].amends if earlier else None)
    _refuse_others(plan, earlier, held)
    return plan, [one.hash for _, one in earlier], held, asked


def held_sheets(
    visit: Visit,
    library: Library,
    clinic: Clinic,
    last: LastPlan | None,
    amendments: Sequence[Amendment],
    large: bool = False,
    whole: bool = True,
    reasoned: tuple[Judged, Laid] | None = None,
) -> tuple[Sheet, ...]:
    """The sheet as issued and, after each change in turn, what holds from then on. InputFault as amend_sheet.

    Not `whole` leaves out what the sheet says of its minutes: no slip shows it, and it takes longest. `reasoned` is
    what the visit leads to, where that is known.
    """
    if reasoned is None:
        judged = judge(visit, library, clinic, last)
        reasoned = judged, lay_out(judged, visit, library, clinic, last)
    judged, laid = reasoned
    in_turn = amend_laid(judged, laid, visit, library, clinic, last, *amendments)
    short = shortage_words(laid, visit, library, clinic, last) if whole else ()
    held = [laid_sheet(judged, laid, visit, library, clinic, last, large, short)]
    for amended, amendment in zip(in_turn, amendments, strict=True):
        held.append(_now(visit, library, clinic, last, held[-1], amended, amendment, large))
    return tuple(held)


def _refuse_idle(now: Sheet, amendment: Amendment) -> None:
    """A drill that is added must get a day: a slip that shows one which is never done would be of no use."""
    added = {pick.drill for pick in amendment.on}
    hint = "take another drill off, or make a new sheet with more minutes"
    idle = [
        Problem(Source("amendment"), "no-day", f"{one.id!r} gets no day: the minutes left are full", hint)
        for one in now.drills
        if one.id in added and not one.days_planned
    ]
    if idle:
        raise InputFault(idle)


def joined_slip(held: Sequence[Sheet], amendments: Sequence[Amendment]) -> Slip:
    """What the last of some changes says; `held` as held_sheets gives them."""
    told = leaf_rows(held[0])
    for before, now, amendment in zip(held[:-1], held[1:], amendments, strict=True):
        changed = slip_lines(before, now, frozenset(amendment.doses), told)
        told = told.and_of(now.start, changed)
    return Slip(held[0], held[-1], changed, tuple(one.start for one in held[1:-1]))


def _now(
    visit: Visit,
    library: Library,
    clinic: Clinic,
    last: LastPlan | None,
    held: Sheet,
    amended: Amended,
    amendment: Amendment,
    large: bool,
) -> Sheet:
    """The sheet that holds from the day of the change on, words and links made anew; the check-in is the visit's."""
    stays = {drill.id: drill for drill in held.drills if drill.id not in amendment.doses}
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
    left = replace(visit, start=amendment.day, days=len(amended.plan.days), review_by=held.review_by)
    taken_off = tuple(
        LeftOut(drill.id, drill.side, f"taken off from {amendment.day}", "drop")
        for drill in held.drills
        if drill.id in amendment.off
    )
    choice = replace(amended.judged.choice, left_out=amended.judged.choice.left_out + taken_off)
    judged = replace(amended.judged, choice=choice)
    sheet = join_sheet(left, library, clinic, last, (), judged, amended.plan, in_order_of_doing(drills))
    return replace(sheet, check_in=held.check_in)


def _issued_plan(issued: Sheet, kept: Named | None, amended: str | None) -> str:
    """The hash of the plan that is amended: the kept one, which must have its days and doses, or as made now.

    `amended` is the hash of the plan that an earlier slip changed: it goes with the same one.
    """
    made = plan_bytes(issued)
    if kept is None:
        return amended or hashlib.sha256(made).hexdigest()
    name, content = kept
    one, other = read_plan(content, name), read_plan(made)
    if (one.start, one.days, one.drills) != (other.start, other.days, other.drills):
        raise _not_this(name, "this is not the plan that the visit gives now")
    return one.hash


def _refuse_others(plan: str, earlier: Sequence[tuple[str, LastSlip]], held: Sequence[Sheet]) -> None:
    """Raise InputFault where an earlier slip is not one of this plan, or not what the visit gives now."""
    for number, (name, slip) in enumerate(earlier):
        if (slip.amends, slip.after) != (plan, tuple(one.hash for _, one in earlier[:number])):
            raise _not_this(name, "this change is not one of this sheet, or not in this place")
        made = read_plan(plan_bytes(held[number + 1]))
        if (slip.days, slip.drills) != (made.days, made.drills):
            raise _not_this(name, "this is not the change that the visit gives now")


def _not_this(name: str, message: str) -> InputFault:
    hint = "amend with the visit file, clinic file and library that the sheet was made with, or make a new sheet"
    return InputFault([Problem(Source(name), "other-plan", f"{message}: the slip would not fit the leaf", hint)])
