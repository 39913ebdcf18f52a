"""An issued sheet amended from a day on: a drill off, a drill on, or another dose, and what the slip says of it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, timedelta

from homecare.core.amending import amend_days, rest_of, resumed
from homecare.core.check_in import Carried
from homecare.core.choosing import Chosen
from homecare.core.dosing import Dosing
from homecare.core.findings import Pick, SetDose, Visit
from homecare.core.last import LastPlan
from homecare.core.plain import listed, sentence
from homecare.core.plan_types import DayPlan, PlanCalendar, PlanDrill
from homecare.core.problems import InputFault, Problem, Source
from homecare.core.sheet import Clinic
from homecare.library.load import Library
from homecare.render.dose_words import day_words, dose_words
from homecare.workflow.calendar import calendar_of, plan_drill
from homecare.workflow.judging import dosing_of, judge
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
    """The amended plan from that day on, its drills by priority, and the lines of the slip."""

    drills: tuple[PlanDrill, ...]
    calendar: PlanCalendar
    plan: DayPlan
    changes: tuple[str, ...]


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
    stays = [number for number, one in enumerate(laid.chosen) if one.drill.id not in amendment.off]
    drills = [
        _goes_on(laid, number, whole[number], gone, visit, library, amendment, judged.carried) for number in stays
    ]
    issued = [_offsets(laid.plan, whole[number].id, gone) for number in stays]
    for one, dosing in _added(visit, library, clinic, last, amendment):
        drills.append(plan_drill(one, dosing, None, library.atlas))
        issued.append(())
    calendar = rest_of(calendar_of(visit, library.atlas, clinic, last, False), whole, laid.plan, gone)
    plan = amend_days(drills, calendar, issued)
    names = {key: drill.name for key, drill in library.drills.items()}
    return Amended(tuple(drills), calendar, plan, _slip(laid, drills, plan, amendment, gone, names))


def _refuse(laid: Laid, visit: Visit, library: Library, amendment: Amendment, gone: int) -> None:
    """Every fault of an amendment at once."""
    here = {one.drill.id for one in laid.chosen}
    source, problems = Source("amendment"), []
    if not 0 < gone < visit.days:
        last = visit.start + timedelta(days=visit.days - 1)
        message = f"{amendment.day} is not within the sheet"
        problems.append(Problem(source, "day", message, f"from {visit.start + timedelta(days=1)} to {last}"))
    for key in (*amendment.off, *amendment.doses):
        if key not in here:
            problems.append(Problem(source, "drill", f"{key!r} is not on the sheet", ", ".join(sorted(here))))
    for pick in amendment.on:
        if pick.drill not in library.drills or pick.drill in here:
            reason = "is on the sheet already" if pick.drill in here else "is not in the library"
            problems.append(Problem(source, "drill", f"{pick.drill!r} {reason}"))
    if problems:
        raise InputFault(problems)


def _goes_on(
    laid: Laid,
    number: int,
    drill: PlanDrill,
    gone: int,
    visit: Visit,
    library: Library,
    amendment: Amendment,
    carried: Mapping[str, Carried],
) -> PlanDrill:
    """A drill of the sheet as it stands on the day: at its rung, with its days so far, or at the dose set by hand."""
    before = [(day.date, item.rung) for day in laid.plan.days[:gone] for item in day.items if item.drill == drill.id]
    goes_on = resumed(drill, before, visit.start, gone)
    by_hand = amendment.doses.get(drill.id)
    if by_hand is None:
        return goes_on
    one, asked = laid.chosen[number], replace(visit, doses={**visit.doses, drill.id: by_hand})
    dosing = dosing_of(one, laid.grades[number], asked, library, carried)
    return replace(goes_on, rungs=dosing.rungs, start_rung=dosing.start_rung, done_at_rung=0)


def _offsets(plan: DayPlan, drill: str, gone: int) -> tuple[int, ...]:
    return tuple(
        number for number, day in enumerate(plan.days[gone:]) if any(item.drill == drill for item in day.items)
    )


def _added(
    visit: Visit, library: Library, clinic: Clinic, last: LastPlan | None, amendment: Amendment
) -> list[tuple[Chosen, Dosing]]:
    """Drills added by hand, barred as any pick is; they stand behind the drills of the sheet."""
    if not amendment.on:
        return []
    asked = replace(visit, picks=visit.picks + amendment.on)
    other = lay_out(judge(asked, library, clinic, last), asked, library, clinic, last)
    wanted = {pick.drill for pick in amendment.on}
    found = [(one, dosing) for one, dosing in zip(other.chosen, other.dosings, strict=True) if one.drill.id in wanted]
    missing = sorted(wanted - {one.drill.id for one, _ in found})
    if missing:
        words = [Problem(Source("amendment"), "barred", f"{key!r} may not be done") for key in missing]
        raise InputFault(words)
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
