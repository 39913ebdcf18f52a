"""The library's rule of doses: each rung of a ladder stays within what is published for the kind that uses it."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from homecare.core.drill import Kind, Ladder, Rung
from homecare.core.problems import Problem
from homecare.library.load import Library


@dataclass(frozen=True)
class Bound:
    """The least and most of one measure of a rung (both included), for which kinds, and who says so."""

    kinds: tuple[Kind, ...]
    what: str
    measure: Callable[[Rung], float | None]
    low: float
    high: float
    source: str


def _hold(rung: Rung) -> float | None:
    return rung.hold_s or None


def _held_a_day(rung: Rung) -> float | None:
    return rung.times * rung.sets * rung.reps * rung.hold_s or None


def _set_seconds(rung: Rung) -> float | None:
    return rung.reps * (rung.tempo_s + rung.hold_s)


def _pass(rung: Rung) -> float | None:
    return None if rung.hold_s else rung.tempo_s


def _moved_reps(rung: Rung) -> float | None:
    """Repetitions of a set of movements; None for holds."""
    return None if rung.hold_s else rung.reps


def _holds(rung: Rung) -> float | None:
    return rung.sets * rung.reps if rung.hold_s else None


def _sets(rung: Rung) -> float | None:
    return rung.sets


GARBER = "Garber CE et al. 2011, Med Sci Sports Exerc 43:1334-59"
BEHM = "Behm DG et al. 2020, J Strength Cond Res 34:3301-8"
CHEATHAM = "Cheatham SW et al. 2015, Int J Sports Phys Ther 10:827-38, from memory"
INGRAM = "Ingram LA et al. 2024, Sports Med, doi 10.1007/s40279-024-02143-9"
PEARSON = "Pearson SJ et al. 2020, Clin J Sport Med 30:335-40"
RIO = "Rio E et al. 2015, Br J Sports Med 49:1277-83, from memory"
BOUNDS = (
    Bound(("stretch",), "seconds of one hold", _hold, 10, 60, GARBER),
    Bound(("stretch",), "holds a session", _holds, 1, 4, GARBER),
    Bound(("stretch",), "seconds held a day", _held_a_day, 10, 120, f"{INGRAM}: no more gain beyond 10 minutes a week"),
    Bound(("release",), "sets", _sets, 1, 3, BEHM),
    Bound(("release",), "seconds of a set", _set_seconds, 5, 120, f"{BEHM}; {CHEATHAM}"),
    Bound(("release",), "seconds of one pass", _pass, 2, 4, BEHM),
    Bound(("activate", "load"), "sets", _sets, 1, 5, f"{GARBER}, from memory; {RIO}"),
    Bound(("activate", "load"), "repetitions of a set", _moved_reps, 5, 20, f"{GARBER}, from memory"),
    Bound(("activate", "load"), "seconds of one hold", _hold, 3, 45, RIO),
    Bound(
        ("activate", "load"),
        "seconds held a day",
        _held_a_day,
        10,
        240,
        "Pearson SJ et al. 2020, Clin J Sport Med 30:335-40",
    ),
    Bound(("glide",), "repetitions of a set", _moved_reps, 1, 15, "common practice; no dose of glides is agreed"),
    Bound(("mobilise",), "repetitions of a set", _moved_reps, 1, 20, "common practice"),
)
"""What is published of doses, by kind: wide bounds that no ladder, shipped or a clinic's own, may leave."""

LOAD_GAP_DAYS = 2
"""Days from one session of load to the next on the same muscle: 48 hours (Garber CE et al. 2011, from memory)."""


def doses_sourced(library: Library) -> Iterator[Problem]:
    """No rung asks for more or less than is published, and load rests 48 hours unless its ladder is exempt by type."""
    used: dict[str, set[Kind]] = {}
    for drill in library.drills.values():
        for ladder in _climbed(library, drill.ladder):
            used.setdefault(ladder.id, set()).add(drill.kind)
    for key, kinds in sorted(used.items()):
        ladder = library.ladders[key]
        yield from _outside(ladder, kinds)
        if "load" in kinds and ladder.gap_days < LOAD_GAP_DAYS and not (ladder.gap_exempt or _holds(ladder.rungs[0])):
            message = f"{key}: load every {ladder.gap_days} days; a muscle rests 48 hours after it"
            yield Problem(ladder.where, "gap", message, "gap_days: 2, or gap_exempt: true with its source")


def _climbed(library: Library, key: str) -> Iterator[Ladder]:
    """A drill's ladder, and those that stand in for it by age."""
    ladder = library.ladders[key]
    yield ladder
    yield from (library.ladders[one] for one in (ladder.ages or {}).values())


def _outside(ladder: Ladder, kinds: set[Kind]) -> Iterator[Problem]:
    for bound in BOUNDS:
        for number, rung in enumerate(ladder.rungs if kinds & set(bound.kinds) else (), start=1):
            value = bound.measure(rung)
            if value is not None and not bound.low <= value <= bound.high:
                message = f"{ladder.id}: step {number} has {value:g} {bound.what}"
                hint = f"from {bound.low:g} to {bound.high:g}: {bound.source}"
                yield Problem(ladder.where, "dose", message, hint)
