"""An issued sheet amended from a day on: a drill off, a drill on, or another dose, and what the slip says of it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, timedelta

from homecare.core.amending import amend_days, rest_of, resumed
from homecare.core.check_in import Carried
from homecare.core.choosing import Chosen
from homecare.core.dosing import Dosing
from homecare.core.drill import Irritability
from homecare.core.findings import Pick, SetDose, Visit
from homecare.core.last import LastPlan
from homecare.core.plain import listed, sentence
from homecare.core.plan_types import DayPlan, PlanCalendar, PlanDrill
from homecare.core.problems import InputFault, Problem, Source, did_you_mean
from homecare.core.sheet import Clinic
from homecare.library.load import Library
from homecare.render.dose_words import day_words, dose_words
from homecare.workflow.calendar import calendar_of, plan_drill
from homecare.workflow.judging import Judged, dosing_of, judge
from homecare.workflow.laying import Laid, lay_out

MOST_DATES = 7
"""Dates that a slip of a quarter page names one by one (common practice)."""


@dataclass(frozen=True)
class Amendment:
    """What changes from a day on: drills taken off, drills added by hand, doses set by hand."""

    day: date
    off: tuple[str, ...] = ()
    on: tuple[Pick, ...] = ()
    doses: Mapping[str, SetDose] = field(default_factory=dict)


@dataclass(frozen=True)
class Amended:
    """The amended plan from that day on, its drills by priority, and the lines of the slip.

    `judged` holds the choice as it now stands; its chosen drills, `grades` and `dosings` go with `drills`.
    """

    drills: tuple[PlanDrill, ...]
    calendar: PlanCalendar
    plan: DayPlan
    changes: tuple[str, ...]
    judged: Judged
    grades: tuple[Irritability, ...]
    dosings: tuple[Dosing, ...]


def amend_sheet(visit: Visit, library: Library, clinic: Clinic, last: LastPlan | None, amendment: Amendment) -> Amended:
    """Plan the days left of an issued sheet again, what came before held fast; raises InputFault with every fault."""
    judged = judge(visit, library, clinic, last)
    laid = lay_out(judged, visit, library, clinic, last)
    gone = (amendment.day - visit.start).days
    _refuse(laid, visit, library, amendment, gone)
    whole = [
        plan_drill(one, dosing, judged.carried.get(one.drill.id), library.atlas)
        for one, dosing in zip(laid.chosen, laid.dosings, strict=True)
    ]
    stays = [number for number in _on_leaf(laid) if laid.chosen[number].drill.id not in amendment.off]
    dosings = [_dosing(laid, number, visit, library, amendment, judged.carried) for number in stays]
    drills = [
        _goes_on(laid, whole[number], dosing, gone, visit, amendment)
        for number, dosing in zip(stays, dosings, strict=True)
    ]
    issued = [_offsets(laid.plan, whole[number].id, gone) for number in stays]
    chosen, grades = [laid.chosen[number] for number in stays], [laid.grades[number] for number in stays]
    for one, grade, dosing in _added(visit, library, clinic, last, amendment):
        drills.append(plan_drill(one, dosing, None, library.atlas))
        issued.append(())
        chosen.append(one)
        grades.append(grade)
        dosings.append(dosing)
    calendar = rest_of(calendar_of(visit, library.atlas, clinic, last, False), whole, laid.plan, gone)
    plan = amend_days(drills, calendar, issued)
    names = {key: drill.name for key, drill in library.drills.items()}
    said = _slip(laid, drills, plan, amendment, gone, names)
    stands = replace(judged, choice=replace(judged.choice, chosen=tuple(chosen)))
    return Amended(tuple(drills), calendar, plan, said, stands, tuple(grades), tuple(dosings))


def _on_leaf(laid: Laid) -> list[int]:
    """The drills that the leaf shows: those with a day, or all where none has one."""
    return [number for number in range(len(laid.chosen)) if laid.plan.planned[number] or not any(laid.plan.planned)]


def _refuse(laid: Laid, visit: Visit, library: Library, amendment: Amendment, gone: int) -> None:
    """Every fault of an amendment at once."""
    here = sorted(laid.chosen[number].drill.id for number in _on_leaf(laid))
    added = [pick.drill for pick in amendment.on]
    problems = []

    def fault(code: str, message: str, hint: str = "") -> None:
        problems.append(Problem(Source("amendment"), code, message, hint))

    if not here:
        fault("day", "the sheet of this visit has no drills, so there is nothing to change")
    elif not 0 < gone < visit.days:
        last = visit.start + timedelta(days=visit.days - 1)
        fault("day", f"{amendment.day} is not within the sheet", f"from {visit.start + timedelta(days=1)} to {last}")
    for key in dict.fromkeys((*amendment.off, *(key for key in amendment.doses if key not in added))):
        if here and key not in here:
            fault("drill", f"{key!r} is not on the sheet", did_you_mean(key, here) or "on it: " + ", ".join(here))
    for key in sorted(set(amendment.off) & set(amendment.doses)):
        fault("drill", f"{key!r} is taken off and given a dose", "say one of them")
    for key in added:
        if key not in library.drills:
            fault("drill", f"{key!r} is not in the library", did_you_mean(key, library.drills))
        elif key in here:
            fault("drill", f"{key!r} is on the sheet already")
        elif library.drills[key].retired:
            fault("retired", f"{key!r} was retired by the clinic", "add another, or put it in use")
        elif added.count(key) > 1 and f"{key!r} is added twice" not in [one.message for one in problems]:
            fault("drill", f"{key!r} is added twice")
    if problems:
        raise InputFault(problems)


def _dosing(
    laid: Laid, number: int, visit: Visit, library: Library, amendment: Amendment, carried: Mapping[str, Carried]
) -> Dosing:
    """The doses of a drill of the sheet: as issued, or those set by hand."""
    one = laid.chosen[number]
    by_hand = amendment.doses.get(one.drill.id)
    if by_hand is None:
        return laid.dosings[number]
    asked = replace(visit, doses={**visit.doses, one.drill.id: by_hand})
    return dosing_of(one, laid.grades[number], asked, library, carried)


def _goes_on(laid: Laid, drill: PlanDrill, dosing: Dosing, gone: int, visit: Visit, amendment: Amendment) -> PlanDrill:
    """A drill of the sheet as it stands on the day: at its rung, with its days so far, or at the dose set by hand."""
    before = [(day.date, item.rung) for day in laid.plan.days[:gone] for item in day.items if item.drill == drill.id]
    goes_on = resumed(drill, before, visit.start, gone)
    if drill.id not in amendment.doses:
        return goes_on
    return replace(goes_on, rungs=dosing.rungs, start_rung=dosing.start_rung, done_at_rung=0)


def _offsets(plan: DayPlan, drill: str, gone: int) -> tuple[int, ...]:
    return tuple(
        number for number, day in enumerate(plan.days[gone:]) if any(item.drill == drill for item in day.items)
    )


def _added(
    visit: Visit, library: Library, clinic: Clinic, last: LastPlan | None, amendment: Amendment
) -> list[tuple[Chosen, Irritability, Dosing]]:
    """Drills added by hand, barred as any pick is; they stand behind the drills of the sheet."""
    if not amendment.on:
        return []
    asked = replace(visit, picks=visit.picks + amendment.on, doses={**visit.doses, **amendment.doses})
    judged = judge(asked, library, clinic, last)
    other = lay_out(judged, asked, library, clinic, last)
    wanted = {pick.drill for pick in amendment.on}
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


def _slip(
    laid: Laid, drills: Sequence[PlanDrill], plan: DayPlan, amendment: Amendment, gone: int, names: Mapping[str, str]
) -> tuple[str, ...]:
    """What the slip says: what comes off, what is new, each other dose, and whose days move."""
    when = day_words(amendment.day)
    said = [sentence(f"from {when}: {names[key]} comes off") for key in amendment.off]
    was = {one.drill.id: _offsets(laid.plan, one.drill.id, gone) for one in laid.chosen}
    for drill in drills:
        now = _offsets(plan, drill.id, 0)
        dates = _dates(amendment.day, now)
        dose = dose_words(drill.rungs[drill.start_rung])
        if drill.id not in was:
            said.append(sentence(f"new: {names[drill.id]}, {dose}, on {dates}"))
            continue
        if drill.id in amendment.doses:
            said.append(sentence(f"from {when}: {names[drill.id]} is {dose}"))
        if now != was[drill.id]:
            said.append(sentence(f"{names[drill.id]} is now on {dates}"))
    return tuple(said)


def _dates(start: date, offsets: Sequence[int]) -> str:
    """The days of a drill in words; many of them by their number and the first."""
    days = [day_words(start + timedelta(days=offset)) for offset in offsets]
    if len(days) > MOST_DATES:
        return f"{len(days)} days, the first {days[0]}"
    return listed(days) or "no day"
