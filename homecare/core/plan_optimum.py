"""Stages 1 and 2 of the day plan: the most least days and then the most wanted days, both by priority, proven.

Lexicographic order adds up: no plan does better in any block of weeks than that block does on its own, freed of its
neighbours, and so none does better over all weeks than those bests together. Each week is therefore solved alone.
Where the weeks fit side by side, or can each be placed at its own best once its neighbours are known, the plan is
proven best; where two of them cannot, they become one block, solved in their stead, in which neither may pass its own
best. Among plans of equal days the one nearest to even days is taken, and among those the one that a written order
puts first, so that the solver's own way through ties never shows.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from homecare.core.milp import Answer, Goal, best_if_any, maximise_in_turn
from homecare.core.plan_draft import Draft
from homecare.core.plan_program import Block, block, bound_weeks
from homecare.core.plan_rules import Grid

JOINED_BLOCKS = 3
"""The most blocks placed anew together, each at its own best, before two of them become one."""

EVENNESS = 2000
"""Weight of one day off an even place, against the written order, among plans of equal days."""

ORDER = 997
"""The written order of cells counts up to this prime, so below half a day off an even place."""


@dataclass(frozen=True)
class Best:
    """What a block of weeks can do on its own: its days by drill, the vector they reach, and whether it is proven."""

    weeks: range
    days: tuple[frozenset[int], ...]
    vector: tuple[int, ...]
    proven: bool


def best_days(grid: Grid, node_limit: int) -> tuple[Draft, bool]:
    """The plan with the best vector (least days by priority, then wanted days by priority); whether it is proven."""
    bests = _alone(grid, node_limit)
    draft, placed = Draft(grid), 0
    while placed < len(bests):
        joined = _joined(draft, bests, placed, node_limit)
        if joined is not None:
            draft, placed = joined, placed + 1
        else:
            placed -= 1
            bests[placed : placed + 2] = [_merged(grid, bests[placed], bests[placed + 1], node_limit)]
            draft = _before(draft, bests[placed].weeks)
    return draft, all(best.proven for best in bests)


def _alone(grid: Grid, node_limit: int) -> list[Best]:
    """The best of each week freed of the others; weeks alike in all that counts are solved once."""
    solved: dict[object, tuple[int, Best]] = {}
    bests = []
    for week in range(len(grid.weeks)):
        weeks = range(week, week + 1)
        made = block(grid, weeks, None)
        first, likeness = made.days[0], made.likeness()
        if likeness not in solved:
            solved[likeness] = (first, _staged(made, node_limit))
        other, best = solved[likeness]
        days = tuple(frozenset(first + day - other for day in own) for own in best.days)
        bests.append(replace(best, weeks=weeks, days=days))
    return bests


def _staged(made: Block, node_limit: int) -> Best:
    """The best vector of a block and, where the solver was needed for it, the point that the tie order puts first."""
    filled = Draft(made.grid)
    filled.fill(made.days)
    start, goals = made.point(filled.days), made.goals(made.weeks)
    answer = Answer(tuple(start), True)
    if any(goal.value(start) < goal.bound for goal in goals):
        answer = maximise_in_turn(made.program, goals, start, made.settle, node_limit)
        tie = _tie(made, list(map(len, made.chosen(answer.point))))
        first = maximise_in_turn(made.program, [tie], answer.point, made.settle, node_limit)
        answer = replace(answer, point=first.point)
    vector = tuple(goal.value(answer.point) for goal in goals)
    return Best(made.weeks, tuple(map(frozenset, made.chosen(answer.point))), vector, answer.proven)


def _merged(grid: Grid, one: Best, other: Best, node_limit: int) -> Best:
    """Two neighbouring blocks as one, freed of the rest."""
    made = block(grid, range(one.weeks[0], other.weeks[-1] + 1), None)
    proven = one.proven and other.proven
    if proven:
        bound_weeks(made, [(each.weeks, each.vector) for each in (one, other)])
    best = _staged(made, node_limit)
    return replace(best, proven=best.proven and proven)


def _joined(draft: Draft, bests: Sequence[Best], placed: int, node_limit: int) -> Draft | None:
    """The plan with one block more, every block so far at its own best; None where they cannot all be."""
    beside = Draft(draft.grid, draft.days)
    if _put(beside, bests[placed]):
        return beside
    for first in range(placed, max(-1, placed - JOINED_BLOCKS), -1):
        blocks = bests[first : placed + 1]
        earlier = _before(draft, blocks[0].weeks)
        made = block(draft.grid, range(blocks[0].weeks[0], blocks[-1].weeks[-1] + 1), earlier)
        for best in blocks:
            for goal, value in zip(made.goals(best.weeks), best.vector, strict=True):
                made.program.at_least(goal.terms, value)
        counts = [sum(map(len, days)) for days in zip(*(best.days for best in blocks), strict=True)]
        point = best_if_any(made.program, _tie(made, counts), node_limit)
        if point is not None:
            days = zip(earlier.days, made.chosen(point), strict=True)
            return Draft(draft.grid, [own | more for own, more in days])
    return None


def _before(draft: Draft, weeks: range) -> Draft:
    """What the plan holds before these weeks."""
    start = draft.grid.weeks[weeks[0]][0]
    return Draft(draft.grid, [{day for day in days if day < start} for days in draft.days])


def _put(draft: Draft, best: Best) -> bool:
    """Put a block's own best behind what stands; false, the draft then left half filled, where a rule forbids it."""
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
