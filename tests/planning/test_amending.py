"""An amended plan: what came before holds, no rule is broken over the whole, and the leaf stays true if it can."""

from __future__ import annotations

from datetime import date, timedelta
from itertools import pairwise

from hypothesis import given, settings
from hypothesis import strategies as st

from homecare.core.amending import amend_days, rest_of, resumed
from homecare.core.plan_types import DayPlan, PlanDrill
from homecare.core.planning import plan_days
from tests.planning.cases import START, Case, cases, plain_drill
from tests.planning.rulebook import dates_of, faults, vector


def had(plan: DayPlan, drill: str, gone: int) -> list[tuple[date, int]]:
    """The dates and rungs of a drill before the day of the amendment."""
    return [(day.date, item.rung) for day in plan.days[:gone] for item in day.items if item.drill == drill]


def left(plan: DayPlan, drill: str, gone: int) -> list[int]:
    """The days of a drill from the amendment on, as offsets from it."""
    days = enumerate(plan.days[gone:])
    return [number for number, day in days if any(item.drill == drill for item in day.items)]


def amended(case: Case, plan: DayPlan, gone: int, drills: list[PlanDrill]) -> DayPlan:
    """The plan amended for some of the drills of the case, from a day on."""
    calendar = rest_of(case.calendar, case.drills, plan, gone)
    going = [resumed(drill, had(plan, drill.id, gone), case.calendar.start, gone) for drill in drills]
    return amend_days(going, calendar, [left(plan, drill.id, gone) for drill in drills])


def test_a_drill_goes_on_at_its_last_step_with_its_days_counted() -> None:
    """Nine days into a sheet that began on a Monday: the Monday and Tuesday of its second week are this week's days."""
    drill = plain_drill("glide", done_at_rung=2, carried=False, history=(START - timedelta(days=2),))
    days = [START + timedelta(days=number) for number in (0, 2, 6, 7, 8)]
    risen = resumed(drill, list(zip(days, (0, 0, 0, 1, 1), strict=True)), START, 9)
    assert (risen.start_rung, risen.done_at_rung, risen.carried, risen.had) == (1, 2, True, 2)
    assert risen.history == (START - timedelta(days=2), *days)
    stood = resumed(drill, [(day, 0) for day in days[:3]], START, 7)
    assert (stood.start_rung, stood.done_at_rung, stood.carried, stood.had) == (0, 5, True, 0)
    never = resumed(drill, [], START, 3)
    assert (never.start_rung, never.done_at_rung, never.carried, never.had) == (0, 2, False, 0)


@settings(max_examples=60, deadline=None)
@given(cases(most_days=21, most_drills=5), st.integers(1, 20))
def test_an_amendment_that_changes_nothing_changes_no_day(case: Case, day: int) -> None:
    gone = min(day, case.calendar.days - 1)
    if gone < 1:
        return
    plan = plan_days(case.drills, case.calendar)
    again = amended(case, plan, gone, list(case.drills))
    for drill in case.drills:
        assert set(left(plan, drill.id, gone)) <= set(left(again, drill.id, 0)), drill.id
        rungs = [rung for _, rung in (*had(plan, drill.id, gone), *had(again, drill.id, len(again.days)))]
        assert all(later - earlier in (0, 1) for earlier, later in pairwise(rungs)), f"{drill.id} goes on where it was"
    assert [day.date for day in again.days] == [day.date for day in plan.days[gone:]]


@settings(max_examples=80, deadline=None)
@given(cases(most_days=21, most_drills=5), st.integers(1, 20), st.integers(0, 4))
def test_a_drill_taken_off_breaks_no_rule_and_takes_no_day_from_the_others(case: Case, day: int, off: int) -> None:
    """Judged by the rulebook over the whole sheet: the days before as they were, those after as amended."""
    gone = min(day, case.calendar.days - 1)
    if gone < 1 or len(case.drills) < 2:
        return
    plan = plan_days(case.drills, case.calendar)
    rest = [drill for number, drill in enumerate(case.drills) if number != off % len(case.drills)]
    after = amended(case, plan, gone, rest)
    start = case.calendar.start
    whole = [
        {when for when, _ in had(plan, drill.id, gone)}
        | {start + timedelta(days=gone + offset) for offset in left(after, drill.id, 0)}
        for drill in rest
    ]
    smaller = Case(tuple(rest), case.calendar)
    assert faults(smaller, whole) == []
    before = [own for drill, own in zip(case.drills, dates_of(case, plan), strict=True) if drill in rest]
    assert vector(smaller, whole) >= vector(smaller, before)


@settings(max_examples=60, deadline=None)
@given(
    cases(most_days=21, most_drills=5),
    st.lists(st.integers(1, 20), min_size=3, max_size=3),
    st.lists(st.integers(0, 4), min_size=3, max_size=3),
)
def test_three_changes_in_a_row_break_no_rule(case: Case, days: list[int], offs: list[int]) -> None:
    """One drill less each time while there is more than one; each change holds what was done until then."""
    if case.calendar.days < 2:
        return
    start = case.calendar.start
    calendar, drills, plan = case.calendar, list(case.drills), plan_days(case.drills, case.calendar)
    done: dict[str, set[date]] = {drill.id: set() for drill in drills}
    for day, off in zip(sorted(min(day, calendar.days - 1) for day in days), offs, strict=True):
        gone = (start + timedelta(days=day) - calendar.start).days
        for drill in drills:
            done[drill.id] |= {when for when, _ in had(plan, drill.id, gone)}
        stay = [drill for number, drill in enumerate(drills) if number != off or len(drills) == 1]
        going = [resumed(drill, had(plan, drill.id, gone), start, day) for drill in stay]
        issued = [left(plan, drill.id, gone) for drill in stay]
        calendar = rest_of(calendar, drills, plan, gone)
        drills, plan = going, amend_days(going, calendar, issued)
    whole = [done[drill.id] | {when for when, _ in had(plan, drill.id, len(plan.days))} for drill in drills]
    kept = {drill.id for drill in drills}
    first = tuple(drill for drill in case.drills if drill.id in kept)
    assert faults(Case(first, case.calendar), whole) == []
    for drill, now, own in zip(first, drills, whole, strict=True):
        assert {when for when in now.history if when >= start} <= own, drill.id
