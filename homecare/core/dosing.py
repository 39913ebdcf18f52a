"""The dose of a drill for one athlete: which ladder, where it starts, how fast it climbs, what was set by hand."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from math import ceil

from homecare.core.atlas import Side
from homecare.core.check_in import Carried
from homecare.core.drill import AgeGroup, Drill, Irritability, Ladder, Rung
from homecare.core.findings import SetDose


@dataclass(frozen=True)
class Dosing:
    """A drill's doses on this sheet, and how often they are wanted."""

    ladder: Ladder
    rungs: tuple[Rung, ...]
    start_rung: int
    climb_days: int
    done_at_rung: int
    wanted_per_week: int
    least_per_week: int
    halved: bool
    worse_in_row: int


def ladder_for(drill: Drill, age: AgeGroup, ladders: Mapping[str, Ladder]) -> Ladder:
    """The drill's ladder, or the variant for the athlete's age."""
    ladder = ladders[drill.ladder]
    return ladders[(ladder.ages or {}).get(age, ladder.id)]


def dose(
    drill: Drill,
    side: Side,
    age: AgeGroup,
    irritability: Irritability,
    ladders: Mapping[str, Ladder],
    by_hand: SetDose | None,
    carried: Carried | None,
) -> Dosing:
    """A drill's doses: set by hand first, then as the check-in left them, else from the ladder's start."""
    ladder = ladder_for(drill, age, ladders)
    halved = bool(carried and carried.halved and not by_hand)
    start, rungs, done = ladder.start_rung[irritability], ladder.rungs, 0
    if by_hand:
        rungs, start = _from_hand(by_hand, ladder.rungs[start], ladder, side), 0
    elif carried:
        rungs, start, done = carried.rungs, carried.start_rung, carried.done_at_rung
    # a dose of once a day cannot be halved in its times, so its days are
    full = ladder.rungs if len(ladder.rungs) == len(rungs) else rungs
    once = halved and full[start].times == 1
    return Dosing(
        ladder=ladder,
        rungs=rungs,
        start_rung=start,
        climb_days=ladder.climb_days[irritability],
        done_at_rung=done,
        wanted_per_week=ceil(ladder.wanted_per_week / 2) if once else ladder.wanted_per_week,
        least_per_week=ceil(ladder.least_per_week / 2) if once else ladder.least_per_week,
        halved=halved,
        worse_in_row=carried.worse_in_row if carried else 0,
    )


def _from_hand(by_hand: SetDose, start: Rung, ladder: Ladder, side: Side) -> tuple[Rung, ...]:
    """The dose set by hand as the first rung, and above it the ladder's rungs that ask for more time."""
    given = {
        key: value
        for key in ("sets", "reps", "hold_s", "tempo_s", "times", "load")
        if (value := getattr(by_hand, key)) is not None
    }
    first = replace(start, **given)
    above = [rung for rung in ladder.rungs if rung.seconds(side) > first.seconds(side)]
    return (first, *(replace(rung, load=by_hand.load) if by_hand.load else rung for rung in above))
