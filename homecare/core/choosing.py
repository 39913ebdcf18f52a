"""The fewest drills that serve the most weight of wishes: what may be done, what is chosen, and why not the rest."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from homecare.core.atlas import Atlas, OneSide, Side, each_side, join_sides
from homecare.core.barring import PASSED_BY_PICK, Bar, Bars
from homecare.core.cover import Option, Task, best_cover
from homecare.core.drill import Drill, Kind
from homecare.core.findings import Pick
from homecare.core.nerve_bed import worst_load
from homecare.core.plain import listed, sentence
from homecare.core.sheet import LeftOut, Passed, Unserved
from homecare.core.wishes import Wish, serves

PLACES_NAMED = 3
"""Places on a nerve that are named beside a drill; the whole list stands with the candidates."""
BARRED_NAMED = 3
"""Drills named that would serve what is left unserved, had they not been barred."""

EASIER_FIRST: frozenset[Kind] = frozenset({"glide", "activate", "load", "mobilise"})
"""Kinds whose easier version comes first; of releases and stretches the easier one is a gentler touch."""


@dataclass(frozen=True)
class Chosen:
    """A drill of the sheet: on which side, for which wishes, and the practitioner's reason when it was picked."""

    drill: Drill
    side: Side
    wishes: tuple[Wish, ...]
    picked: Pick | None = None

    @property
    def weight(self) -> float:
        """All the weight of the wishes it serves: its priority."""
        return sum(wish.weight for wish in self.wishes)

    def because(self) -> tuple[str, ...]:
        """Why it is on the sheet: the findings it serves, what was found first, then places on a nerve."""
        order = sorted(self.wishes, key=lambda wish: (-wish.weight, wish.id))
        words = [sentence(wish.because) for wish in order if wish.site is None]
        places = list(dict.fromkeys(wish.place for wish in order if wish.site is not None))
        if len(places) > PLACES_NAMED:
            more = len(places) - PLACES_NAMED
            places[PLACES_NAMED:] = [f"{more} other place{'s' if more > 1 else ''}"]
        if places:
            words.append(sentence(f"the nerve may be irritated at {listed(places)}"))
        if self.picked:
            reason = f": {self.picked.because}" if self.picked.because else ""
            words.append(sentence(f"added by hand{reason}"))
        return tuple(dict.fromkeys(words))


@dataclass(frozen=True)
class Limits:
    """How many drills, and how many seconds a week at least their least days at the first dose may take.

    `week_s` gives these seconds of one drill, more than the room where its dose fits no day at all.
    """

    most: int
    room_s: int
    week_s: Callable[[Chosen], int]


@dataclass(frozen=True)
class Choice:
    """The chosen drills by priority, what was barred, what was passed over by wish, and the wishes left unserved."""

    chosen: tuple[Chosen, ...]
    left_out: tuple[LeftOut, ...] = ()
    unserved: tuple[Unserved, ...] = ()
    passed: Mapping[str, tuple[Passed, ...]] = field(default_factory=dict)


@dataclass
class _Weighed:
    """What weighing every drill gave: those that may be done, and for each wish the drills that may not, and why."""

    options: list[Chosen] = field(default_factory=list)
    left_out: dict[str, tuple[Bar, set[OneSide]]] = field(default_factory=dict)
    barred: dict[str, list[tuple[Drill, Bar]]] = field(default_factory=dict)


def choose(
    wishes: Sequence[Wish],
    drills: Iterable[Drill],
    bars: Bars,
    picks: Sequence[Pick],
    limits: Limits,
    kept: frozenset[str] = frozenset(),
) -> Choice:
    """Choose drills within the limits (picks count, and are always in); `kept` were on the last sheet and win ties."""
    by_pick = {pick.drill: pick for pick in picks}
    order = sorted(drills, key=lambda one: one.id)
    weighed = _Weighed()
    for drill in order:
        if drill.offered or drill.id in by_pick:
            _weigh(drill, wishes, bars, by_pick.get(drill.id), weighed)
    rank = {drill.id: number for number, drill in enumerate(order)}
    chosen = _cover(weighed.options, wishes, bars.atlas, rank, limits, kept)
    passed = {wish.id: _passed(wish, weighed, chosen, limits) for wish in wishes}
    return Choice(
        chosen=tuple(sorted(chosen, key=lambda one: (-round(one.weight, 6), one.drill.id))),
        left_out=tuple(
            LeftOut(drill, join_sides(sides), bar.because, bar.rule) for drill, (bar, sides) in weighed.left_out.items()
        ),
        unserved=_unserved(wishes, chosen, passed),
        passed=passed,
    )


def needed_sides(drill: Drill, side: OneSide) -> tuple[OneSide, ...]:
    """The sides on which a drill must be done for a wish on one side; for the midline a paired drill needs both."""
    if not drill.paired:
        return ("none",)
    return ("left", "right") if side == "none" else (side,)


def _weigh(drill: Drill, wishes: Sequence[Wish], bars: Bars, pick: Pick | None, weighed: _Weighed) -> None:
    """Add one drill to the options with all it may serve, or note what bars it."""
    served, sides, barred = [], set[OneSide](), dict[OneSide, Bar]()
    for wish in wishes:
        if not serves(drill, wish, bars.atlas):
            continue
        found = {side: bars.of(drill, side) for side in needed_sides(drill, wish.side)}
        here = {side: bar for side, bar in found.items() if bar and not _passes(bar, pick)}
        barred |= here
        if here:
            weighed.barred.setdefault(wish.id, []).append((drill, next(iter(here.values()))))
        else:
            served.append(wish)
            sides |= set(found)
    if pick:
        asked = _pick_sides(drill, pick, sides)
        found = {side: bars.of(drill, side) for side in asked}
        barred |= {side: bar for side, bar in found.items() if bar and not _passes(bar, pick)}
        sides |= {side for side in asked if side not in barred}
    if sides:
        weighed.options.append(Chosen(drill, join_sides(sides), tuple(served), pick))
    for side, bar in barred.items():
        weighed.left_out.setdefault(drill.id, (bar, set()))[1].add(side)


def _passes(bar: Bar, pick: Pick | None) -> bool:
    return pick is not None and bar.rule in PASSED_BY_PICK


def _pick_sides(drill: Drill, pick: Pick, served: set[OneSide]) -> tuple[OneSide, ...]:
    if not drill.paired:
        return ("none",)
    if pick.side in ("left", "right", "both"):
        return each_side(pick.side)
    return tuple(sorted(served)) or ("left", "right")


def _cover(
    options: Sequence[Chosen],
    wishes: Sequence[Wish],
    atlas: Atlas,
    rank: Mapping[str, int],
    limits: Limits,
    kept: frozenset[str],
) -> list[Chosen]:
    place = {wish.id: number for number, wish in enumerate(wishes)}
    task = Task(
        weights=[round(wish.weight * 100) for wish in wishes],
        sides=[wish.side for wish in wishes],
        options=[
            Option(
                serves=frozenset(place[wish.id] for wish in option.wishes),
                week_s=limits.week_s(option),
                cost=_cost(option, atlas, kept),
                rank=rank[option.drill.id],
                forced=option.picked is not None,
            )
            for option in options
        ],
        most=limits.most,
        room_s=limits.room_s,
    )
    return [options[number] for number in best_cover(task)]


def _cost(option: Chosen, atlas: Atlas, kept: frozenset[str]) -> int:
    """How far a drill is from the first liking, in points; among equal covers the sum decides (common practice)."""
    drill = option.drill
    targets = set(atlas.members(drill.tissues))
    wanted = {tissue for wish in option.wishes for tissue in wish.tissues | wish.nerves}
    main = set(atlas.members(drill.tissues[:1]))
    points = 10
    points += 2 if drill.reach == "gentle" and not any(wish.gentle for wish in option.wishes) else 0
    points += 0 if main & wanted else 3
    points += min(3, len(targets - wanted))
    points += 2 if drill.easier and drill.kind in EASIER_FIRST else 0
    points -= 5 if drill.id in kept else 0
    if drill.kind == "glide":
        points += 2 * _nerves_apart(option, atlas)
        points += round(4 * max(worst_load(drill, nerve, atlas) for nerve in drill.tissues))
    return points


def _nerves_apart(option: Chosen, atlas: Atlas) -> int:
    """How many nerves lie between a glide's own and the one most in question: itself 0, its trunk or a branch 1."""
    asked = max((wish for wish in option.wishes if wish.site is None), key=lambda wish: wish.weight, default=None)
    if asked is None:
        return 0
    apart = atlas.nerves_apart(option.drill.tissues[0], asked.id.split(":")[1])
    return 3 if apart is None else apart


def _passed(wish: Wish, weighed: _Weighed, chosen: Sequence[Chosen], limits: Limits) -> tuple[Passed, ...]:
    """The drills that would have served a wish and are not on the sheet, each with the reason."""
    on_sheet = {one.drill.id for one in chosen}
    served = {other.id for one in chosen for other in one.wishes}
    found = []
    for option in weighed.options:
        if wish not in option.wishes or option.drill.id in on_sheet:
            continue
        more = [other for other in option.wishes if other.id not in served]
        because = _no_room(chosen, limits) if more else "what it serves is served already"
        found.append(Passed(option.drill.id, option.drill.name, option.side, because))
    for drill, bar in weighed.barred.get(wish.id, ()):
        found.append(Passed(drill.id, drill.name, wish.side, bar.because, bar.rule))
    return tuple(found)


def _no_room(chosen: Sequence[Chosen], limits: Limits) -> str:
    if len(chosen) >= limits.most:
        return "the sheet is full: other findings weigh more"
    return "the minutes do not reach: other findings weigh more"


def _unserved(
    wishes: Sequence[Wish], chosen: Sequence[Chosen], passed: Mapping[str, Sequence[Passed]]
) -> tuple[Unserved, ...]:
    served = {wish.id for one in chosen for wish in one.wishes}
    lines = []
    for wish in wishes:
        if wish.id in served:
            continue
        open_to_it = [one for one in passed[wish.id] if not one.rule]
        if open_to_it:
            because = f"{open_to_it[0].because} ({listed([one.name for one in open_to_it[:1]])} would serve it)"
        elif passed[wish.id]:
            barred = [f"{one.name} ({one.because})" for one in passed[wish.id][:BARRED_NAMED]]
            more = len(passed[wish.id]) - len(barred)
            because = f"what would serve it is left out: {'; '.join(barred)}" + (f"; and {more} more" if more else "")
        else:
            because = "the library has no drill for it"
        lines.append(Unserved(wish.says, because))
    return tuple(lines)
