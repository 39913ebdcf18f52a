"""The exact small cover: which drills serve the most weight of wishes, with the fewest of them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from homecare.core.atlas import OneSide
from homecare.core.milp import Goal, Program, maximise_in_turn

NODE_LIMIT = 20_000
"""Nodes of a search: far above what covers of a few dozen wishes have needed, so that it ends on any input."""


@dataclass(frozen=True)
class Option:
    """A drill that may be chosen: the wishes it serves by number, seconds a week, how far from liked, its rank.

    A `forced` one is always in; `rank` is its place in the whole library, so that ties do not hang on the visit.
    """

    serves: frozenset[int]
    week_s: int
    cost: int
    rank: int
    forced: bool = False


@dataclass(frozen=True)
class Task:
    """Wishes with whole weights and sides, the options, and the limits on their number and seconds a week."""

    weights: Sequence[int]
    sides: Sequence[OneSide]
    options: Sequence[Option]
    most: int
    room_s: int

    @property
    def limits(self) -> tuple[int, int]:
        """The number and the seconds that hold: forced options may pass both, and leave no room then."""
        forced = [one for one in self.options if one.forced]
        return max(self.most, len(forced)), max(self.room_s, sum(one.week_s for one in forced))


def best_cover(task: Task) -> list[int]:
    """The chosen options, by number.

    First the most weight of wishes served within the limits, then the fewest options, then the least weight left on
    the side that is left more (so that no side is forgotten), then the least cost, then the lowest ranks.
    """
    program, options, weights = Program(), task.options, task.weights
    taken = [program.column() for _ in options]
    spared = [program.column() for _ in options]
    served = [program.column(whole=False) for _ in weights]
    evened = program.column(sum(weights), whole=False)
    for option, (one, other) in enumerate(zip(taken, spared, strict=True)):
        program.at_most({one: 1, other: 1}, 1)
        program.at_least({one: 1}, int(options[option].forced))
    for wish, column in enumerate(served):
        servers = [taken[number] for number, option in enumerate(options) if wish in option.serves]
        program.at_most({column: 1, **dict.fromkeys(servers, -1)}, 0)
    for side in ("left", "right"):
        here = {column: -weights[wish] for wish, column in enumerate(served) if task.sides[wish] == side}
        program.at_most({evened: 1, **here}, sum(weights) + sum(here.values()))
    most, room_s = task.limits
    program.at_most(dict.fromkeys(taken, 1), most)
    program.at_most({column: option.week_s for column, option in zip(taken, options, strict=True)}, room_s)

    def settle(point: Sequence[int]) -> list[int]:
        chosen = [point[column] for column in taken]
        met = frozenset().union(*(option.serves for number, option in enumerate(options) if chosen[number]))
        left = _left_on_a_side(task, met)
        flags = [int(wish in met) for wish in range(len(weights))]
        return [*chosen, *(1 - one for one in chosen), *flags, sum(weights) - left]

    goals = [
        Goal(dict(zip(served, weights, strict=True)), sum(weights)),
        Goal(dict.fromkeys(spared, 1), len(spared)),
        Goal({evened: 1}, sum(weights)),
        Goal({column: one.cost for column, one in zip(spared, options, strict=True)}, sum(one.cost for one in options)),
        Goal({column: one.rank for column, one in zip(spared, options, strict=True)}, sum(one.rank for one in options)),
    ]
    start = settle([int(one.forced) for one in options])
    answer = maximise_in_turn(program, goals, start, settle, NODE_LIMIT)
    return [option for option, column in enumerate(taken) if answer.point[column]]


def _left_on_a_side(task: Task, met: frozenset[int]) -> int:
    """The weight of unserved wishes on the side, left or right, that has more of it."""
    return max(
        sum(weight for wish, weight in enumerate(task.weights) if task.sides[wish] == side and wish not in met)
        for side in ("left", "right")
    )
