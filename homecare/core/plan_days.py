"""The day plan finished: rungs from the minutes left, parts of the day, and a note for each day without a drill."""

from __future__ import annotations

from homecare.core.drill import Part, Rung
from homecare.core.plan_draft import Draft
from homecare.core.plan_rules import EVENT_DAY_SECONDS, Grid, cost
from homecare.core.plan_types import PlanDrill
from homecare.core.sheet import Day, Item, Note, Training

LONG_HOLD_S = 60
"""Seconds held per muscle and side from which strength is lost for a while, so never before training (Behm et al.
2016, Appl Physiol Nutr Metab 41:1-11; Kay and Blazevich 2012, Med Sci Sports Exerc 44:154-64)."""

SPREAD: dict[int, tuple[Part, ...]] = {2: ("morning", "evening"), 3: ("morning", "after", "evening")}
REST_SPREAD: dict[int, tuple[Part, ...]] = {2: ("morning", "evening"), 3: ("morning", "evening", "evening")}
"""Several times a day are spread over it (common practice); a rest day has no training to be before or after."""


def climbed(draft: Draft) -> list[dict[int, int]]:
    """The rung of each drill on each of its days: by priority, up where the longer dose fits from that day on."""
    grid = draft.grid
    transition = grid.calendar.transition_s
    used = [0] * len(grid.dates)
    rungs: list[dict[int, int]] = [
        {day: drill.start_rung for day in draft.days[one]} for one, drill in enumerate(grid.drills)
    ]
    for one, drill in enumerate(grid.drills):
        for day in draft.days[one]:
            used[day] += cost(drill, drill.rungs[drill.start_rung], transition)
    for one, drill in enumerate(grid.drills):
        rung, done = drill.start_rung, drill.done_at_rung
        days = sorted(draft.days[one])
        for place, day in enumerate(days):
            if drill.may_climb and done >= drill.climb_days and rung + 1 < len(drill.rungs) and not grid.close[day]:
                more = cost(drill, drill.rungs[rung + 1], transition) - cost(drill, drill.rungs[rung], transition)
                if all(fits(grid, drill, rung + 1, later, used[later] + more) for later in days[place:]):
                    rung, done = rung + 1, 0
                    for later in days[place:]:
                        used[later] += more
            rungs[one][day] = rung
            done += 1
    return rungs


def fits(grid: Grid, drill: PlanDrill, rung: int, day: int, used: int) -> bool:
    """Whether a rung fits the minutes of a day, and the two minutes of an event's day."""
    event = grid.dates[day] in grid.calendar.events
    return used <= grid.room[day] and not (event and drill.rungs[rung].seconds(drill.side) > EVENT_DAY_SECONDS)


def parts_of(drill: PlanDrill, rung: Rung, training: Training) -> tuple[Part, ...]:
    """One part of the day for each of a dose's times."""
    rest = training == "rest"
    if drill.kind == "load" and not drill.gap_exempt and not rest:
        after: Part = "after"
        return (after,) * rung.times
    if rung.times > 1:
        return REST_SPREAD[rung.times] if rest else SPREAD[rung.times]
    held = rung.hold_s * rung.reps * rung.sets >= LONG_HOLD_S
    barred: set[Part] = {"before", "after"} if rest else {"before"} if held else set()
    return (next((part for part in drill.parts if part not in barred), "evening"),)


def finished(draft: Draft) -> tuple[Day, ...]:
    """The days of the sheet."""
    grid = draft.grid
    rungs = climbed(draft)
    return tuple(_day(draft, rungs, day) for day in range(len(grid.dates)))


def _day(draft: Draft, rungs: list[dict[int, int]], day: int) -> Day:
    grid = draft.grid
    items, notes, spent, times = [], [], 0, 0
    for one, drill in enumerate(grid.drills):
        if day in draft.days[one]:
            number = rungs[one][day]
            rung = drill.rungs[number]
            seconds = rung.seconds(drill.side)
            spent, times = spent + seconds, times + rung.times
            parts = parts_of(drill, rung, grid.training[day])
            items.append(
                Item(drill.id, drill.side, number, rung.sets, rung.reps, rung.hold_s, rung.times, parts, seconds)
            )
    for one, drill in enumerate(grid.drills):
        if day not in draft.days[one]:
            bar = draft.bar(one, day)
            if bar is None:
                raise AssertionError(f"{drill.id} could still stand on {grid.dates[day]}: the plan is not full")
            notes.append(Note(drill.id, drill.side, bar.rule, bar.because))
    planned = spent + grid.calendar.transition_s * max(0, times - 1)
    day_of = grid.dates[day]
    return Day(
        day_of,
        grid.training[day],
        grid.budget[day],
        planned,
        tuple(items),
        tuple(notes),
        day_of in grid.calendar.visits,
        day_of in grid.calendar.events,
    )
