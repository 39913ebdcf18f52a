"""Stages 1 and 2 of the day plan: the most least days and then the most wanted days, both by priority, proven.

Lexicographic order adds up: no plan does better in any week than that week does on its own, freed of its neighbours,
and so none does better over all weeks than those bests together. Each week is therefore solved alone. Where the weeks
fit side by side at their bests the plan is proven best; where one does not, it is solved together with the week before
it; and only where even that falls short, all weeks are solved as one program, the bests as bounds in it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from homecare.core.milp import Goal, maximise_in_turn
from homecare.core.plan_draft import Draft
from homecare.core.plan_program import Block, block
from homecare.core.plan_rules import Grid

Vector = tuple[int, ...]
"""Least days by priority, then wanted days by priority."""


def best_days(grid: Grid, node_limit: int) -> tuple[Draft, bool]:
    """The plan with the best vector, and whether it is proven best."""
    weeks = range(len(grid.weeks))
    alone = [_alone(grid, week, node_limit) for week in weeks]
    bests = [best for best, _ in alone]
    draft, fits, proven = Draft(grid), True, all(finished for _, finished in alone)
    for week in weeks:
        draft, reached = _joined(grid, draft, week, bests, node_limit)
        fits = fits and reached
    if not fits:
        draft, finished = _together(grid, draft, bests, node_limit)
        proven = proven and finished
    return draft, proven


def _vector(made: Block, point: Sequence[int]) -> Vector:
    return tuple(goal.value(point) for goal in made.goals())


def _sum(vectors: Sequence[Vector]) -> Vector:
    return tuple(sum(parts) for parts in zip(*vectors, strict=True))


def _bounded(goals: Sequence[Goal], bests: Vector) -> list[Goal]:
    """The goals, known never to exceed the bests of their weeks."""
    return [replace(goal, bound=min(goal.bound, best)) for goal, best in zip(goals, bests, strict=True)]


def _alone(grid: Grid, week: int, node_limit: int) -> tuple[Vector, bool]:
    """The best vector of one week freed of the others, and whether it is proven."""
    made = block(grid, range(week, week + 1), None)
    draft = Draft(grid)
    draft.fill(made.days)
    answer = maximise_in_turn(made.program, made.goals(), made.point(draft.days), made.settle, node_limit)
    return _vector(made, answer.point), answer.proven


def _joined(grid: Grid, before: Draft, week: int, bests: Sequence[Vector], node_limit: int) -> tuple[Draft, bool]:
    """The plan with one week more, and whether that week (with the one before it, if need be) is at its best."""
    made, point = _extended(grid, before, range(week, week + 1), bests, node_limit)
    if week == 0 or _vector(made, point) == bests[week]:
        return _with(grid, before, made, point), _vector(made, point) == bests[week]
    start = grid.weeks[week - 1][0]
    earlier = Draft(grid, [{day for day in days if day < start} for days in before.days])
    pair = range(week - 1, week + 1)
    made, point = _extended(grid, earlier, pair, bests, node_limit)
    return _with(grid, earlier, made, point), _vector(made, point) == _sum([bests[one] for one in pair])


def _extended(
    grid: Grid, before: Draft, weeks: range, bests: Sequence[Vector], node_limit: int
) -> tuple[Block, Sequence[int]]:
    """The weeks at their best behind what the plan holds already."""
    made = block(grid, weeks, before)
    filled = Draft(grid, before.days)
    filled.fill(made.days)
    goals = _bounded(made.goals(), _sum([bests[one] for one in weeks]))
    return made, maximise_in_turn(made.program, goals, made.point(filled.days), made.settle, node_limit).point


def _with(grid: Grid, before: Draft, made: Block, point: Sequence[int]) -> Draft:
    return Draft(grid, [own | new for own, new in zip(before.days, made.chosen(point), strict=True)])


def _together(grid: Grid, draft: Draft, bests: Sequence[Vector], node_limit: int) -> tuple[Draft, bool]:
    """All weeks as one program, from a plan that keeps the rules already."""
    made = block(grid, range(len(grid.weeks)), Draft(grid))
    goals = _bounded(made.goals(), _sum(bests))
    answer = maximise_in_turn(made.program, goals, made.point(draft.days), made.settle, node_limit)
    best = Draft(grid, made.chosen(answer.point))
    if not answer.proven:
        best.fill(range(len(grid.dates)))  # what a proof would have shown to be full is made full
    return best, answer.proven
