"""The exact small cover: which drills serve the most weight of wishes, with the fewest of them."""

from __future__ import annotations

from collections.abc import Sequence

from homecare.core.milp import Program


def best_cover(
    weights: Sequence[int], serves: Sequence[frozenset[int]], cost: Sequence[int], forced: Sequence[bool], most: int
) -> list[int]:
    """The chosen options, by number.

    First the most weight of wishes served by at most `most` options (those forced are always in, and may pass that
    number), then the fewest options, then the least cost, then those named first. `serves` holds wish numbers.
    """
    program = Program()
    options = [program.binary() for _ in serves]
    wishes = [program.binary() for _ in weights]
    for wish, variable in enumerate(wishes):
        servers = [options[number] for number, served in enumerate(serves) if wish in served]
        program.at_most({variable: 1, **dict.fromkeys(servers, -1)}, 0)
    program.at_most(dict.fromkeys(options, 1), max(most, sum(forced)))
    for variable, must in zip(options, forced, strict=True):
        if must:
            program.at_least({variable: 1}, 1)
    program.maximise(dict(zip(wishes, weights, strict=True)))
    program.maximise(dict.fromkeys(options, -1))
    program.maximise({option: -points for option, points in zip(options, cost, strict=True)})
    program.maximise({option: -number for number, option in enumerate(options)})
    return [number for number, option in enumerate(options) if program.value(option)]
