"""An issued sheet amended from a day on, once or several times: a drill off, a drill on, or another dose."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

from homecare.core.amending import amend_days, rest_of, resumed
from homecare.core.choosing import Chosen
from homecare.core.dosing import Dosing
from homecare.core.drill import Irritability
from homecare.core.findings import Visit
from homecare.core.last import LastPlan
from homecare.core.plan_types import DayPlan, PlanCalendar, PlanDrill
from homecare.core.problems import InputFault, Problem, Source, did_you_mean
from homecare.core.sheet import Clinic
from homecare.core.slip import Amendment
from homecare.library.load import Library
from homecare.workflow.calendar import calendar_of, plan_drill
from homecare.workflow.judging import Judged, dosing_of, judge
from homecare.workflow.laying import Laid, lay_out


@dataclass(frozen=True)
class Amended:
    """The plan that holds from `calendar.start` on, with its drills by priority.

    `judged` holds the choice as it then stands; its chosen drills, `grades` and `dosings` go with `drills`.
    """

    drills: tuple[PlanDrill, ...]
    calendar: PlanCalendar
    plan: DayPlan
    judged: Judged
    grades: tuple[Irritability, ...]
    dosings: tuple[Dosing, ...]


def amend_sheet(
    visit: Visit, library: Library, clinic: Clinic, last: LastPlan | None, *amendments: Amendment
) -> tuple[Amended, ...]:
    """What holds after each change in turn: the days left are planned again, what came before is held fast.

    Raises InputFault with every fault of the first change that has one.
    """
    judged = judge(visit, library, clinic, last)
    laid = lay_out(judged, visit, library, clinic, last)
    return amend_laid(judged, laid, visit, library, clinic, last, *amendments)


def amend_laid(
    judged: Judged,
    laid: Laid,
    visit: Visit,
    library: Library,
    clinic: Clinic,
    last: LastPlan | None,
    *amendments: Amendment,
) -> tuple[Amended, ...]:
    """The same of what was judged and laid out before."""
    found = [_as_issued(judged, laid, visit, library, clinic, last)]
    for amendment in amendments:
        found.append(_amended(found[-1], len(found) == 1, visit, library, clinic, last, amendment))
    return tuple(found[1:])


def _as_issued(
    judged: Judged, laid: Laid, visit: Visit, library: Library, clinic: Clinic, last: LastPlan | None
) -> Amended:
    """The sheet as it was handed over: with the drills that the leaf shows, those with a day, or all without any."""
    shown = [one for one, days in enumerate(laid.plan.planned) if days or not any(laid.plan.planned)]
    chosen, dosings = tuple(laid.chosen[one] for one in shown), tuple(laid.dosings[one] for one in shown)
    return Amended(
        tuple(
            plan_drill(one, dosing, judged.carried.get(one.drill.id), library.atlas)
            for one, dosing in zip(chosen, dosings, strict=True)
        ),
        calendar_of(visit, library.atlas, clinic, last, False),
        laid.plan,
        replace(judged, choice=replace(judged.choice, chosen=chosen)),
        tuple(laid.grades[one] for one in shown),
        dosings,
    )


def _amended(
    held: Amended,
    first: bool,
    visit: Visit,
    library: Library,
    clinic: Clinic,
    last: LastPlan | None,
    amendment: Amendment,
) -> Amended:
    """One change to what held so far; `first` when that is the sheet as it was issued."""
    earliest = held.calendar.start + timedelta(days=first)
    _refuse(held, earliest, visit, library, amendment)
    gone = (amendment.day - held.calendar.start).days
    stays = [number for number, drill in enumerate(held.drills) if drill.id not in amendment.off]
    dosings = [_dosing(held, number, visit, library, amendment) for number in stays]
    drills = [
        _goes_on(held, held.drills[number], dosing, gone, visit.start, amendment)
        for number, dosing in zip(stays, dosings, strict=True)
    ]
    days = [_offsets(held.plan, drill.id, gone) for drill in drills]
    chosen = [held.judged.choice.chosen[number] for number in stays]
    grades = [held.grades[number] for number in stays]
    for one, grade, dosing in _added(visit, library, clinic, last, amendment):
        drills.append(plan_drill(one, dosing, None, library.atlas))
        days.append(())
        chosen.append(one)
        grades.append(grade)
        dosings.append(dosing)
    calendar = rest_of(held.calendar, held.drills, held.plan, gone)
    plan = amend_days(drills, calendar, days)
    judged = replace(held.judged, choice=replace(held.judged.choice, chosen=tuple(chosen)))
    return Amended(tuple(drills), calendar, plan, judged, tuple(grades), tuple(dosings))


def _refuse(held: Amended, earliest: date, visit: Visit, library: Library, amendment: Amendment) -> None:
    """Every fault of an amendment at once."""
    here = sorted(drill.id for drill in held.drills)
    added = [pick.drill for pick in amendment.on]
    problems = []

    def fault(code: str, message: str, hint: str = "") -> None:
        problems.append(Problem(Source("amendment"), code, message, hint))

    end = visit.start + timedelta(days=visit.days - 1)
    if not here:
        fault("day", "the sheet of this visit has no drills, so there is nothing to change")
    elif visit.start < amendment.day < earliest:
        fault("day", f"{amendment.day} lies before the last change", f"from {earliest} to {end}")
    elif not earliest <= amendment.day <= end:
        fault("day", f"{amendment.day} is not within the sheet", f"from {earliest} to {end}")
    for key in dict.fromkeys((*amendment.off, *(key for key in amendment.doses if key not in added))):
        if here and key not in here:
            fault("drill", f"{key!r} is not on the sheet", did_you_mean(key, here) or "on it: " + ", ".join(here))
    for key in sorted(set(amendment.off) & set(amendment.doses)):
        fault("drill", f"{key!r} is taken off and given a dose", "say one of them")
    for key in dict.fromkeys(added):
        if key not in library.drills:
            fault("drill", f"{key!r} is not in the library", did_you_mean(key, library.drills))
        elif key in here:
            fault("drill", f"{key!r} is on the sheet already")
        elif library.drills[key].retired:
            fault("retired", f"{key!r} was retired by the clinic", "add another, or put it in use")
        elif added.count(key) > 1:
            fault("drill", f"{key!r} is added twice")
    if problems:
        raise InputFault(problems)


def _dosing(held: Amended, number: int, visit: Visit, library: Library, amendment: Amendment) -> Dosing:
    """The doses of a drill of the sheet: as they stand, or those set by hand."""
    one = held.judged.choice.chosen[number]
    by_hand = amendment.doses.get(one.drill.id)
    if by_hand is None:
        return held.dosings[number]
    asked = replace(visit, doses={**visit.doses, one.drill.id: by_hand})
    return dosing_of(one, held.grades[number], asked, library, held.judged.carried)


def _goes_on(
    held: Amended, drill: PlanDrill, dosing: Dosing, gone: int, start: date, amendment: Amendment
) -> PlanDrill:
    """A drill of the sheet as it stands on the day: at its rung, with its days so far, or at the dose set by hand."""
    before = [(day.date, item.rung) for day in held.plan.days[:gone] for item in day.items if item.drill == drill.id]
    goes_on = resumed(drill, before, start, (amendment.day - start).days)
    if drill.id not in amendment.doses:
        return goes_on
    return replace(goes_on, rungs=dosing.rungs, start_rung=dosing.start_rung, done_at_rung=0)


def _offsets(plan: DayPlan, drill: str, gone: int) -> Sequence[int]:
    return tuple(
        number for number, day in enumerate(plan.days[gone:]) if any(item.drill == drill for item in day.items)
    )


def _added(
    visit: Visit, library: Library, clinic: Clinic, last: LastPlan | None, amendment: Amendment
) -> list[tuple[Chosen, Irritability, Dosing]]:
    """Drills added by hand, barred as any pick is; they stand behind the drills of the sheet."""
    if not amendment.on:
        return []
    wanted = {pick.drill for pick in amendment.on}
    # What an earlier slip or the visit took off may come back: the later word holds.
    drops = tuple(key for key in visit.drops if key not in wanted)
    asked = replace(visit, picks=visit.picks + amendment.on, drops=drops, doses={**visit.doses, **amendment.doses})
    judged = judge(asked, library, clinic, last)
    other = lay_out(judged, asked, library, clinic, last)
    found = [
        (one, grade, dosing)
        for one, grade, dosing in zip(other.chosen, other.grades, other.dosings, strict=True)
        if one.drill.id in wanted
    ]
    missing = sorted(wanted - {one.drill.id for one, _, _ in found})
    if missing:
        why = {line.id: line.because for line in judged.choice.left_out}
        raise InputFault(
            [Problem(Source("amendment"), "barred", f"{key!r} may not be done", why.get(key, "")) for key in missing]
        )
    return found
