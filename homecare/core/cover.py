"""The exact small cover: which drills serve the most weight of wishes, with the fewest of them."""

from __future__ import annotations

from collections.abc import Sequence

from homecare.core.milp import Goal, Program, maximise_in_turn

NODE_LIMIT = 20_000
"""Nodes of a search: far above what covers of a few dozen wishes have needed, so that it ends on any input."""


def best_cover(
    weights: Sequence[int], serves: Sequence[frozenset[int]], cost: Sequence[int], forced: Sequence[bool], most: int
) -> list[int]:
    """The chosen options, by number.

    First the most weight of wishes served by at most `most` options (those forced are always in, and may pass that
    number), then the fewest options, then the least cost, then those named first. `serves` holds wish numbers.
    """
    program = Program()
    taken = [program.column() for _ in serves]
    spared = [program.column() for _ in serves]
    served = [program.column(whole=False) for _ in weights]
    for option, (one, other) in enumerate(zip(taken, spared, strict=True)):
        program.at_most({one: 1, other: 1}, 1)
        program.at_least({one: 1}, int(forced[option]))
    for wish, column in enumerate(served):
        servers = [taken[option] for option, wishes in enumerate(serves) if wish in wishes]
        program.at_most({column: 1, **dict.fromkeys(servers, -1)}, 0)
    program.at_most(dict.fromkeys(taken, 1), max(most, sum(forced)))

    def settle(point: Sequence[int]) -> list[int]:
        chosen = [point[column] for column in taken]
        met = frozenset().union(*(wishes for option, wishes in enumerate(serves) if chosen[option]))
        return [*chosen, *(1 - one for one in chosen), *(int(wish in met) for wish in range(len(weights)))]

    goals = [
        Goal(dict(zip(served, weights, strict=True)), sum(weights)),
        Goal(dict.fromkeys(spared, 1), len(spared)),
        Goal(dict(zip(spared, cost, strict=True)), sum(cost)),
        Goal({column: number for number, column in enumerate(spared)}, sum(range(len(spared)))),
    ]
    answer = maximise_in_turn(program, goals, settle([int(one) for one in forced]), settle, NODE_LIMIT)
    return [option for option, column in enumerate(taken) if answer.point[column]]
