"""The day plan finished: rungs from the minutes left, parts of the day, and a note for each day without a drill."""

from __future__ import annotations

from homecare.core.drill import Part, Rung
from homecare.core.plan_draft import Draft
from homecare.core.plan_rules import EVENT_DAY_SECONDS, cost, rests
from homecare.core.plan_types import DayPlan, PlanDrill
from homecare.core.sheet import Day, Item, Note, Training

LONG_HOLD_S = 60
"""Seconds held per muscle and side from which strength is lost for a while, so never before training (Behm et al.
2016, Appl Physiol Nutr Metab 41:1-11; Kay and Blazevich 2012, Med Sci Sports Exerc 44:154-64)."""

SPREAD: dict[int, tuple[Part, ...]] = {2: ("morning", "evening"), 3: ("morning", "after", "evening")}
REST_SPREAD: dict[int, tuple[Part, ...]] = {2: ("morning", "evening"), 3: ("morning", "evening", "evening")}
"""Several times a day are spread over it (common practice); a rest day has no training to be before or after."""


def climb(draft: Draft) -> list[dict[int, int]]:
    """The rung of each drill on each of its days: by priority, up where the longer dose fits from that day on.

    A rung rises once its days were done at it, those of the sheet taken as done, and never close to an event. The
    draft's seconds rise with it. Where seconds fall along the rungs they stay: a date never forces a climb, and the
    drill is budgeted by its longest rung.
    """
    grid, transition = draft.grid, draft.grid.calendar.transition_s
    rungs: list[dict[int, int]] = [{} for _ in grid.drills]
    for one, drill in enumerate(grid.drills):
        rung, done, held = drill.start_rung, drill.done_at_rung, grid.takes[one]
        days = sorted(draft.days[one])
        for place, day in enumerate(days):
            due = drill.may_climb and done >= drill.climb_days and rung + 1 < len(drill.rungs)
            if due and not grid.close[day]:
                more = max(0, cost(drill, drill.rungs[rung + 1], transition) - held)
                if all(fits(draft, drill, rung + 1, later, more) for later in days[place:]):
                    rung, done, held = rung + 1, 0, held + more
                    for later in days[place:]:
                        draft.used[later] += more
            rungs[one][day] = rung
            done += 1
    return rungs


def fits(draft: Draft, drill: PlanDrill, rung: int, day: int, more: int) -> bool:
    """Whether a rung that takes `more` seconds fits the minutes of a day, and the two minutes of an event's day."""
    event = draft.grid.dates[day] in draft.grid.calendar.events
    too_long = event and drill.rungs[rung].seconds(drill.side) > EVENT_DAY_SECONDS
    return draft.used[day] + more <= draft.grid.room[day] and not too_long


class PartsOfDay:
    """The parts of one day, given out by priority; what is held before training adds up by muscle and side."""

    def __init__(self, training: Training) -> None:
        self.training = training
        self.held: dict[tuple[str, str], int] = {}

    def of(self, drill: PlanDrill, rung: Rung) -> tuple[Part, ...]:
        """One part of the day for each of a dose's times."""
        if rests(drill) and self.training != "rest":
            after: Part = "after"
            return (after,) * rung.times
        if rung.times > 1:
            return (REST_SPREAD if self.training == "rest" else SPREAD)[rung.times]
        part: Part = next((part for part in drill.parts if self.suits(drill, rung, part)), "evening")
        if part == "before":
            for place in places(drill):
                self.held[place] = self.held.get(place, 0) + held_s(rung)
        return (part,)

    def suits(self, drill: PlanDrill, rung: Rung, part: Part) -> bool:
        """Whether the day has the part, and no muscle comes to a long hold before training."""
        if part in ("before", "after") and self.training == "rest":
            return False
        longest = max((self.held.get(place, 0) for place in places(drill)), default=0)
        return part != "before" or longest + held_s(rung) < LONG_HOLD_S


def held_s(rung: Rung) -> int:
    """Seconds that a dose holds on each side, each time it is done."""
    return rung.hold_s * rung.reps * rung.sets


def places(drill: PlanDrill) -> list[tuple[str, str]]:
    """The muscles and sides that a drill works on; what has no side is on both."""
    sides = (drill.side,) if drill.side in ("left", "right") else ("left", "right")
    return [(muscle, side) for muscle in sorted(drill.muscles) for side in sides]


def finished(draft: Draft, proven: bool) -> DayPlan:
    """The plan that a draft becomes, its notes judged against the plan with its rungs risen."""
    grid, rungs = draft.grid, climb(draft)
    return DayPlan(
        days=tuple(_day(draft, rungs, day) for day in range(len(grid.dates))),
        proven=proven,
        least=tuple(sum(weeks) for weeks in grid.least),
        planned=tuple(len(days) for days in draft.days),
        wanted=tuple(sum(weeks) for weeks in grid.wanted),
    )


def _day(draft: Draft, rungs: list[dict[int, int]], day: int) -> Day:
    grid, parts = draft.grid, PartsOfDay(draft.grid.training[day])
    items, notes = [], []
    for one, drill in enumerate(grid.drills):
        if day in draft.days[one]:
            items.append(_item(drill, rungs[one][day], parts))
        else:
            notes.append(_note(draft, one, day))
    changes = max(0, sum(item.times for item in items) - 1)
    return Day(
        date=grid.dates[day],
        training=grid.training[day],
        budget_s=grid.budget[day],
        planned_s=sum(item.seconds for item in items) + grid.calendar.transition_s * changes,
        items=tuple(items),
        notes=tuple(notes),
        visit=grid.dates[day] in grid.calendar.visits,
        event=grid.dates[day] in grid.calendar.events,
    )


def _item(drill: PlanDrill, number: int, parts: PartsOfDay) -> Item:
    rung = drill.rungs[number]
    return Item(
        drill=drill.id,
        side=drill.side,
        rung=number,
        sets=rung.sets,
        reps=rung.reps,
        hold_s=rung.hold_s,
        times=rung.times,
        parts=parts.of(drill, rung),
        seconds=rung.seconds(drill.side),
    )


def _note(draft: Draft, one: int, day: int) -> Note:
    drill, bar = draft.grid.drills[one], draft.bar(one, day)
    if bar is None:
        raise AssertionError(f"{drill.id} could still stand on {draft.grid.dates[day]}: the plan is not full")
    return Note(drill.id, drill.side, bar.rule, bar.because)
