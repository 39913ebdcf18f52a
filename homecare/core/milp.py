"""A thin typed face of HiGHS for integer programs whose goals come one after the other, each before the next."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field

import highspy
import numpy

PACKED = 100_000
"""Goals share one objective while their weights stay below this: well within HiGHS's tolerance of 1e-6."""

OPTIONS: Mapping[str, bool | int | float | str] = {
    "output_flag": False,
    "threads": 1,
    "random_seed": 0,
    "mip_rel_gap": 0.0,
    "mip_abs_gap": 0.0,
    # A plan that holds is always known already: hunting for a first one only costs time (half of it, when tried).
    "mip_heuristic_run_feasibility_jump": False,
}
"""Gap 0, one thread, a fixed seed and no clock, so that the same program has the same answer every time."""


@dataclass(frozen=True)
class Goal:
    """A sum to be maximised, columns to whole weights of at least 0; it is known never to exceed `bound`."""

    terms: Mapping[int, int]
    bound: int

    def value(self, point: Sequence[int]) -> int:
        """The sum at a point."""
        return sum(weight * point[column] for column, weight in self.terms.items())


@dataclass(frozen=True)
class Answer:
    """The best point found, and whether it was proven best for every goal in turn."""

    point: tuple[int, ...]
    proven: bool


@dataclass
class Program:
    """An integer program built up column by column and row by row; every column is at least 0."""

    upper: list[int] = field(default_factory=list)
    whole: list[bool] = field(default_factory=list)
    rows: list[tuple[float, float, Mapping[int, int]]] = field(default_factory=list)

    def column(self, upper: int = 1, whole: bool = True) -> int:
        """Add a column and return its number; `whole` False where it is whole by itself once the others are."""
        self.upper.append(upper)
        self.whole.append(whole)
        return len(self.upper) - 1

    def at_most(self, terms: Mapping[int, int], most: int) -> None:
        """Add a row: the sum may not exceed `most`."""
        self.rows.append((-highspy.kHighsInf, float(most), terms))

    def at_least(self, terms: Mapping[int, int], least: int) -> None:
        """Add a row: the sum may not fall below `least`."""
        self.rows.append((float(least), highspy.kHighsInf, terms))


def packs(goals: Sequence[Goal]) -> list[list[Goal]]:
    """Neighbouring goals that fit one objective, the earlier always outweighing the later ones together."""
    found: list[list[Goal]] = []
    weight = PACKED
    for goal in goals:
        if goal.bound == 0:
            continue
        if weight * (goal.bound + 1) >= PACKED:
            found.append([])
            weight = 1
        found[-1].append(goal)
        weight *= goal.bound + 1
    return found


def packed(goals: Sequence[Goal]) -> Goal:
    """One goal that stands for several in turn."""
    terms: dict[int, int] = {}
    weight, bound = 1, 0
    for goal in reversed(goals):
        for column, own in goal.terms.items():
            terms[column] = terms.get(column, 0) + weight * own
        bound += weight * goal.bound
        weight *= goal.bound + 1
    return Goal(terms, bound)


def maximise_in_turn(
    program: Program,
    goals: Sequence[Goal],
    start: Sequence[int],
    settle: Callable[[Sequence[int]], Sequence[int]],
    node_limit: int,
) -> Answer:
    """The best point for the first goal, among those for the second, and so on, within `node_limit` nodes a solve.

    `start` must satisfy the program: it is what remains where the limit leaves nothing better. `settle` puts the
    columns that follow from others at their best. A goal that stands at its bound already is not solved for.
    """
    point, proven = tuple(start), True
    solver: highspy.Highs | None = None
    for pack in packs(goals):
        goal = packed(pack)
        if any(each.value(point) < each.bound for each in pack):
            solver = solver or loaded(program)
            found, ended = maximise(solver, goal, node_limit)
            proven = proven and ended
            settled = point if found is None else tuple(settle(found))
            if goal.value(settled) >= goal.value(point):
                point = settled
        for each in pack:
            keep(program, solver, each, each.value(point))
    return Answer(point, proven)


def keep(program: Program, solver: highspy.Highs | None, goal: Goal, least: int) -> None:
    """Hold a goal at what it has reached, in the program and in the solver that has it loaded."""
    program.at_least(goal.terms, least)
    if solver is not None:
        columns = numpy.fromiter(goal.terms.keys(), numpy.int32)
        weights = numpy.fromiter(goal.terms.values(), numpy.float64)
        solver.addRow(float(least), highspy.kHighsInf, len(columns), columns, weights)


class _Quiet(highspy.Highs):
    """HiGHS that prints nothing: its banner comes with the callbacks, before an option could be set from outside."""

    def enableCallbacks(self) -> None:
        """Enable callbacks once the output is off."""
        self.setOptionValue("output_flag", False)
        super().enableCallbacks()  # type: ignore[no-untyped-call]  # highspy leaves it without a type


def loaded(program: Program) -> highspy.Highs:
    """A solver that holds the program with every row so far."""
    solver = _Quiet()  # type: ignore[no-untyped-call]  # likewise
    for option, value in OPTIONS.items():
        solver.setOptionValue(option, value)
    linear = highspy.HighsLp()
    linear.num_col_ = len(program.upper)
    linear.num_row_ = len(program.rows)
    linear.col_cost_ = numpy.zeros(len(program.upper))
    linear.col_lower_ = numpy.zeros(len(program.upper))
    linear.col_upper_ = numpy.array(program.upper, numpy.float64)
    linear.row_lower_ = numpy.array([lower for lower, _, _ in program.rows], numpy.float64)
    linear.row_upper_ = numpy.array([upper for _, upper, _ in program.rows], numpy.float64)
    linear.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
    linear.a_matrix_.start_ = numpy.cumsum([0, *(len(terms) for _, _, terms in program.rows)], dtype=numpy.int32)
    linear.a_matrix_.index_ = numpy.array([c for _, _, terms in program.rows for c in terms], numpy.int32)
    linear.a_matrix_.value_ = numpy.array([v for _, _, terms in program.rows for v in terms.values()], numpy.float64)
    kinds = highspy.HighsVarType
    linear.integrality_ = [kinds.kInteger if whole else kinds.kContinuous for whole in program.whole]
    linear.sense_ = highspy.ObjSense.kMaximize
    solver.passModel(linear)
    return solver


def best_if_any(program: Program, goal: Goal, node_limit: int) -> tuple[int, ...] | None:
    """The best point for a goal where no start is known; None where none was found that satisfies the program."""
    return maximise(loaded(program), goal, node_limit)[0]


def maximise(solver: highspy.Highs, goal: Goal, node_limit: int) -> tuple[tuple[int, ...] | None, bool]:
    """One solve: the best point found, if any, and whether it is proven that none is better.

    The solver is never handed a point to start from: where presolve improved on one, release 1.16 was seen to report
    the better objective and to return the worse point. A point short of the proven bound is not called proven.
    """
    cost = numpy.zeros(solver.getNumCol())
    cost[list(goal.terms.keys())] = list(goal.terms.values())
    solver.changeColsCost(len(cost), numpy.arange(len(cost), dtype=numpy.int32), cost)
    solver.setOptionValue("mip_max_nodes", node_limit)
    solver.clearSolver()
    solver.run()
    info = solver.getInfo()
    if info.primal_solution_status != highspy.SolutionStatus.kSolutionStatusFeasible:
        return None, False
    point = tuple(round(value) for value in solver.getSolution().col_value)
    ended = solver.getModelStatus() == highspy.HighsModelStatus.kOptimal
    return point, ended and info.mip_dual_bound < goal.value(point) + 0.5
