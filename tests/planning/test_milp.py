"""Goals in turn: the first outweighs all later ones, however they share a solve."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import product

import pytest

from homecare.core.milp import PACKED, Goal, Program, best_if_any, maximise_in_turn, packed, packs
from tests.planning.cases import seeded


def same(point: Sequence[int]) -> Sequence[int]:
    """No column follows from others."""
    return point


def a_program(seed: int) -> tuple[Program, list[Goal]]:
    """Eight columns under three rows, with four goals that pull in different ways."""
    pick = seeded(seed)
    program = Program()
    columns = [program.column(pick((1, 2))) for _ in range(8)]
    for _ in range(3):
        program.at_most({column: pick((1, 2, 3)) for column in columns}, pick((4, 6, 9)))
    goals = []
    for _ in range(4):
        terms = {column: pick((0, 1, 2)) for column in columns}
        goals.append(Goal(terms, sum(weight * program.upper[column] for column, weight in terms.items())))
    return program, goals


@pytest.mark.parametrize("seed", range(30))
def test_goals_in_turn_are_the_best_of_all_points(seed: int) -> None:
    program, goals = a_program(seed)
    points = product(*(range(upper + 1) for upper in program.upper))
    allowed = [p for p in points if all(lo <= sum(w * p[c] for c, w in t.items()) <= hi for lo, hi, t in program.rows)]
    best = max(tuple(goal.value(point) for goal in goals) for point in allowed)
    answer = maximise_in_turn(program, goals, [0] * 8, same, 1000)
    assert answer.proven
    assert tuple(goal.value(answer.point) for goal in goals) == best


def test_one_step_of_an_earlier_goal_outweighs_all_of_the_later_ones() -> None:
    goals = [Goal({0: 1}, 3), Goal({1: 1}, 5), Goal({2: 2}, 8)]
    together = packed(goals)
    assert together.value((1, 0, 0)) > together.value((0, 5, 4))
    assert together.value((0, 1, 0)) > together.value((0, 0, 4))


def test_goals_share_a_solve_only_while_their_weights_stay_small() -> None:
    goals = [Goal({column: 1}, 9) for column in range(12)]
    shared = packs(goals)
    assert [goal for pack in shared for goal in pack] == goals
    assert len(shared) > 1
    assert all(max(packed(pack).terms.values()) < PACKED for pack in shared)
    assert packs([Goal({}, 0)]) == []


def test_what_no_point_satisfies_has_no_best() -> None:
    program = Program()
    column = program.column()
    program.at_least({column: 1}, 2)
    assert best_if_any(program, Goal({column: 1}, 1), 100) is None


def test_the_start_remains_where_the_limit_leaves_nothing_better() -> None:
    """Columns to be packed in pairs, at no node at all: whatever comes back is no worse than the start, and honest."""
    unproven = 0
    for seed in range(20):
        pick = seeded(seed)
        program = Program()
        columns = [program.column() for _ in range(30)]
        for _ in range(12):
            program.at_most({column: pick((3, 5, 7, 11)) for column in columns}, pick((40, 50, 61)))
        goal = Goal({column: pick((2, 3, 5)) for column in columns}, 150)
        start = [1, *[0] * 29]
        answer = maximise_in_turn(program, [goal], start, same, 0)
        assert goal.value(answer.point) >= goal.value(start)
        assert all(sum(w * answer.point[c] for c, w in t.items()) <= hi for _, hi, t in program.rows[:12])
        unproven += not answer.proven
    assert unproven > 0
