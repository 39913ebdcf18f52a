"""An issued plan amended from a day on: the best plan of the days left, and of equal ones that which changes least."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import replace
from datetime import date, timedelta

from homecare.core.atlas import each_side
from homecare.core.plan_days import finished
from homecare.core.plan_draft import Draft
from homecare.core.plan_optimum import best_days
from homecare.core.plan_rules import Grid, grid, rests
from homecare.core.plan_spacing import space_out
from homecare.core.plan_types import DayPlan, LoadDay, PlanCalendar, PlanDrill
from homecare.core.planning import NODE_LIMIT


def amend_days(
    drills: Sequence[PlanDrill],
    calendar: PlanCalendar,
    issued: Sequence[Collection[int]],
    node_limit: int = NODE_LIMIT,
) -> DayPlan:
    """The plan of the drills over the days left; `issued` are each drill's days on the leaf, offsets from the start.

    Days that stand are kept wherever the plan made of them is as good as the best there is (least days, then wanted
    days, by priority), so that the leaf stays true; only else is the whole plan made anew.
    """
    laid = grid(drills, calendar)
    kept = _kept(laid, issued)
    best, proven = best_days(laid, node_limit)
    if _vector(kept) < _vector(best):
        space_out(best)
        kept = best
    while not proven and kept.fill(range(calendar.days)):
        pass  # what a proof would have shown to be full is made full
    return finished(kept, proven)


def resumed(drill: PlanDrill, before: Sequence[tuple[date, int]], start: date, gone: int) -> PlanDrill:
    """A drill as it stands `gone` days into its sheet, by the dates and rungs it had: at its last rung so far.

    `start` is the first day of the sheet; `drill` may itself be resumed, and `before` then what it had since.
    """
    rung = before[-1][1] if before else drill.start_rung
    done = sum(at == rung for _, at in before) + (drill.done_at_rung if rung == drill.start_rung else 0)
    week_start = start + timedelta(days=gone - gone % 7)
    return replace(
        drill,
        start_rung=rung,
        done_at_rung=done,
        carried=drill.carried or bool(before),
        history=(*drill.history, *(day for day, _ in before)),
        had=sum(day >= week_start for day in (*drill.history, *(day for day, _ in before))),
    )


def rest_of(calendar: PlanCalendar, drills: Sequence[PlanDrill], plan: DayPlan, gone: int) -> PlanCalendar:
    """The calendar from a day on, with the loading of the days before it; the neck was adjusted before, not now."""
    loads = tuple(
        LoadDay(day.date, muscle, side)
        for drill in drills
        if rests(drill)
        for day in plan.days[:gone]
        if any(item.drill == drill.id for item in day.items)
        for muscle in sorted(drill.muscles)
        for side in each_side(drill.side)
    )
    return replace(
        calendar,
        start=calendar.start + timedelta(days=gone),
        days=calendar.days - gone,
        gone=(calendar.gone + gone) % 7,
        neck_adjusted=False,
        load_history=calendar.load_history + loads,
    )


def _kept(laid: Grid, issued: Sequence[Collection[int]]) -> Draft:
    """The leaf's days as far as the rules still allow them, by priority, and what is free filled."""
    draft = Draft(laid)
    for drill, days in enumerate(issued):
        for day in sorted(days):
            if draft.bar(drill, day) is None:
                draft.add(drill, day)
    draft.fill(range(len(laid.dates)))
    return draft


def _vector(draft: Draft) -> tuple[int, ...]:
    """Least days by priority, then wanted days by priority."""
    laid = draft.grid
    least = [
        sum(min(cap, sum(day in own for day in week)) for cap, week in zip(laid.least[drill], laid.weeks, strict=True))
        for drill, own in enumerate(draft.days)
    ]
    return (*least, *(len(own) for own in draft.days))
