"""Stages 1 and 2 of the day plan: the most least days and then the most wanted days, both by priority, proven.

Lexicographic order adds up: no plan does better in any week than that week does on its own, freed of its neighbours,
and so none does better over all weeks than those bests together. Each week is therefore solved alone. Where the weeks
fit side by side the plan is proven best; where one does not, it is solved again behind the weeks before it, or with
the last of them, each held at its own best; and only where that is impossible are all weeks solved as one program, in
which no week may pass its own best. Among plans of equal days the one nearest to even days is taken, and among those
the one that a written order puts first, so that the solver's own way through ties never shows.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from homecare.core.milp import Answer, Goal, best_if_any, maximise_in_turn
from homecare.core.plan_draft import Draft
from homecare.core.plan_program import Block, block, bound_weeks
from homecare.core.plan_rules import Grid

JOINED_WEEKS = 3
"""The most weeks solved together, each at its own best, before all are solved as one program."""

EVENNESS = 2000
"""Weight of one day off an even place, against the written order, among plans of equal days."""

ORDER = 997
"""The written order of cells counts up to this prime, so below half a day off an even place."""


@dataclass(frozen=True)
class Best:
    """The best a block of weeks can do: the days of each drill, and whether they are proven best."""

    days: tuple[frozenset[int], ...]
    proven: bool


def best_days(grid: Grid, node_limit: int) -> tuple[Draft, bool]:
    """The plan with the best vector (least days by priority, then wanted days by priority); whether it is proven."""
    bests = _alone(grid, node_limit)
    draft: Draft | None = Draft(grid)
    for week in range(len(grid.weeks)):
        draft = _joined(grid, draft, week, bests, node_limit) if draft is not None else None
    if draft is not None:
        return draft, all(best.proven for best in bests)
    return _together(grid, bests, node_limit)


def _alone(grid: Grid, node_limit: int) -> list[Best]:
    """The best of each week freed of the others; weeks alike in all that counts are solved once."""
    solved: dict[object, Best] = {}
    bests = []
    for week in range(len(grid.weeks)):
        made = block(grid, range(week, week + 1), None)
        first, likeness = made.days[0], made.likeness()
        if likeness not in solved:
            answer = _staged(made, Draft(grid), node_limit)
            days = made.chosen(answer.point)
            solved[likeness] = Best(tuple(frozenset(d - first for d in own) for own in days), answer.proven)
        best = solved[likeness]
        bests.append(Best(tuple(frozenset(first + d for d in own) for own in best.days), best.proven))
    return bests


def _staged(made: Block, before: Draft, node_limit: int) -> Answer:
    """The best vector of a block and, where the solver was needed for it, the point that the tie order puts first."""
    filled = Draft(made.grid, before.days)
    filled.fill(made.days)
    start, goals = made.point(filled.days), made.goals(made.weeks)
    if all(goal.value(start) == goal.bound for goal in goals):
        return Answer(tuple(start), True)
    answer = maximise_in_turn(made.program, goals, start, made.settle, node_limit)
    tie = _tie(made, list(map(len, made.chosen(answer.point))))
    return Answer(maximise_in_turn(made.program, [tie], answer.point, made.settle, node_limit).point, answer.proven)


def _joined(grid: Grid, before: Draft, week: int, bests: Sequence[Best], node_limit: int) -> Draft | None:
    """The plan with one week more, every week so far at its own best; None where they cannot all be."""
    draft = Draft(grid, before.days)
    if _put(draft, bests[week]):
        return draft
    for first in range(week, max(-1, week - JOINED_WEEKS), -1):
        earlier = Draft(grid, [{day for day in own if day < grid.weeks[first][0]} for own in before.days])
        made = block(grid, range(first, week + 1), earlier)
        wanted = [frozenset().union(*parts) for parts in zip(*(bests[one].days for one in made.weeks), strict=True)]
        made.hold(wanted)
        point = best_if_any(made.program, _tie(made, list(map(len, wanted))), node_limit)
        if point is not None:
            return Draft(grid, [own | new for own, new in zip(earlier.days, made.chosen(point), strict=True)])
    return None


def _put(draft: Draft, best: Best) -> bool:
    """Put a week's own best behind what stands; false, the draft then left half filled, where a rule forbids it."""
    for day, drill in sorted((day, drill) for drill, days in enumerate(best.days) for day in days):
        if draft.bar(drill, day) is not None:
            return False
        draft.add(drill, day)
    return True


def _tie(made: Block, counts: Sequence[int]) -> Goal:
    """Among plans of equal days: those near to even places in the weeks of the block, then a written order.

    `counts` are the days of each drill in the block, which the best vector gives: whatever way the solver took, the
    goal is the same.
    """
    first, span = made.days[0], len(made.days)
    terms = {}
    for drill, count in enumerate(counts):
        places = [first + (number + 0.5) * span / count - 0.5 for number in range(count)]
        cells = [day for day in made.days if (drill, day) in made.cells and count]
        off = {day: min(abs(day - place) for place in places) for day in cells}
        for day in cells:
            order = (drill + 2) * (day + 3) * (day + drill + 7) % ORDER
            terms[made.cells[drill, day]] = round((max(off.values()) - off[day]) * EVENNESS) + order
    return Goal(terms, sum(terms.values()))


def _together(grid: Grid, bests: Sequence[Best], node_limit: int) -> tuple[Draft, bool]:
    """All weeks as one program, started from the weeks one after the other, no week past its own best."""
    start = Draft(grid)
    for week in range(len(grid.weeks)):
        joined = _joined(grid, start, week, bests, node_limit)
        if joined is None:
            made = block(grid, range(week, week + 1), start)
            joined = Draft(grid, start.days)
            for drill, days in enumerate(made.chosen(_staged(made, start, node_limit).point)):
                for day in days:
                    joined.add(drill, day)
        start = joined
    made = block(grid, range(len(grid.weeks)), Draft(grid))
    proven = all(best.proven for best in bests)
    if proven:
        bound_weeks(made, [frozenset().union(*parts) for parts in zip(*(best.days for best in bests), strict=True)])
    answer = maximise_in_turn(made.program, made.goals(made.weeks), made.point(start.days), made.settle, node_limit)
    tie = _tie(made, list(map(len, made.chosen(answer.point))))
    point = maximise_in_turn(made.program, [tie], answer.point, made.settle, node_limit).point
    return Draft(grid, made.chosen(point)), proven and answer.proven
