"""The choice held to a second solver on generated visits: OR-Tools CP-SAT, with a model of its own."""

from __future__ import annotations

from dataclasses import dataclass

import pytest
from ortools.sat.python import cp_model

from homecare.core.atlas import each_side
from homecare.core.barring import PASSED_BY_PICK
from homecare.core.choosing import Chosen, needed_sides
from homecare.core.sheet import Clinic
from homecare.core.wishes import Wish, all_wishes, serves
from homecare.library.load import Library
from homecare.workflow.judging import Judged, judge
from tests.reasoning.choice_cases import visit_of_seed

CASES = 500
CHUNK = 50


@dataclass(frozen=True)
class Reference:
    """The best that the second solver found, goal by goal: weight served, drills, weight left on the worse side."""

    weight: int
    count: int
    worse_side: int


def hundredths(wish: Wish) -> int:
    """The weight of a wish as the choice counts it."""
    return round(wish.weight * 100)


def allowed(lib: Library, judged: Judged, wishes: tuple[Wish, ...], picks: frozenset[str]) -> dict[str, list[Wish]]:
    """Every drill that may be done for some wish, with those wishes; a picked one even for none."""
    found: dict[str, list[Wish]] = {}
    for drill in lib.drills.values():
        for wish in wishes:
            if not serves(drill, wish, lib.atlas):
                continue
            bars = [judged.bars.of(drill, side) for side in needed_sides(drill, wish.side)]
            if all(bar is None or (drill.id in picks and bar.rule in PASSED_BY_PICK) for bar in bars):
                found.setdefault(drill.id, []).append(wish)
    return found


def reference(lib: Library, judged: Judged, wishes: tuple[Wish, ...], forced: dict[str, Chosen]) -> Reference:
    """The same choice by CP-SAT: three solves, each holding what the one before reached."""
    options = allowed(lib, judged, wishes, frozenset(forced))
    model = cp_model.CpModel()
    taken = {key: model.new_bool_var(key) for key in {**options, **forced}}
    served = {wish.id: model.new_bool_var(wish.id) for wish in wishes}
    seconds = {key: week_s(lib, judged, key, options.get(key, []), forced) for key in taken}
    for wish in wishes:
        by = [taken[key] for key, serving in options.items() if wish in serving]
        model.add(sum(by) >= served[wish.id])
    for key in forced:
        model.add(taken[key] == 1)
    model.add(sum(taken.values()) <= max(judged.limits.most, len(forced)))
    room = max(judged.limits.room_s, sum(seconds[key] for key in forced))
    model.add(sum(seconds[key] * one for key, one in taken.items()) <= room)
    worse = model.new_int_var(0, sum(map(hundredths, wishes)), "worse side")
    for side in ("left", "right"):
        model.add(worse >= sum(hundredths(one) * (1 - served[one.id]) for one in wishes if one.side == side))
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    weight = sum(hundredths(wish) * served[wish.id] for wish in wishes)
    best = []
    for goal, sense in ((weight, 1), (sum(taken.values()), -1), (worse, -1)):
        model.maximize(sense * goal)
        assert solver.solve(model) == cp_model.OPTIMAL
        best.append(round(solver.objective_value) * sense)
        model.add(goal == best[-1])
    return Reference(*best)


def week_s(lib: Library, judged: Judged, key: str, serving: list[Wish], forced: dict[str, Chosen]) -> int:
    """Seconds a week of a drill on all the sides that its wishes need."""
    if key in forced:
        return judged.limits.week_s(forced[key])
    drill = lib.drills[key]
    sides = {side for wish in serving for side in needed_sides(drill, wish.side)}
    side = "both" if {"left", "right"} <= sides else sorted(sides)[0]
    return judged.limits.week_s(Chosen(drill, side, tuple(serving)))


def reached(wishes: tuple[Wish, ...], chosen: tuple[Chosen, ...]) -> Reference:
    """What the product's own choice comes to."""
    met = {wish.id for one in chosen for wish in one.wishes}
    left = {
        side: sum(hundredths(wish) for wish in wishes if wish.side == side and wish.id not in met)
        for side in ("left", "right")
    }
    return Reference(sum(hundredths(wish) for wish in wishes if wish.id in met), len(chosen), max(left.values()))


@pytest.mark.parametrize("start", range(0, CASES, CHUNK))
def test_the_choice_is_as_good_as_a_second_solver_finds(lib: Library, start: int) -> None:
    for seed in range(start, start + CHUNK):
        visit = visit_of_seed(lib, seed)
        judged = judge(visit, lib, Clinic(), None)
        if judged.refer is not None and judged.refer.urgency == "now":
            continue
        wishes = all_wishes(judged.by_finding)
        forced = {one.drill.id: one for one in judged.choice.chosen if one.picked}
        best = reference(lib, judged, wishes, forced)
        assert reached(wishes, judged.choice.chosen) == best, f"seed {seed}"
        sides = {one.drill.id: set(each_side(one.side)) for one in judged.choice.chosen}
        assert all(
            set(needed_sides(one.drill, wish.side)) <= sides[one.drill.id]
            for one in judged.choice.chosen
            for wish in one.wishes
        ), f"seed {seed}: a wish is counted on a side that is not done"
