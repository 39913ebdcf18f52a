"""The fewest drills that serve the most weight of wishes: an exact small cover, with a reason for all left out."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from homecare.core.atlas import Atlas, OneSide, Side, each_side, join_sides
from homecare.core.barring import PASSED_BY_PICK, Bar, Bars
from homecare.core.cover import best_cover
from homecare.core.drill import Drill, Kind
from homecare.core.findings import Pick
from homecare.core.nerve_bed import worst_load
from homecare.core.plain import listed, sentence
from homecare.core.sheet import LeftOut, Unserved
from homecare.core.wishes import Wish, serves

PLACES_NAMED = 3
"""Places on a nerve that are named beside a drill; the whole list stands with the candidates."""

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
class Choice:
    """The chosen drills by priority, what was barred, and the wishes that nothing serves."""

    chosen: tuple[Chosen, ...]
    left_out: tuple[LeftOut, ...]
    unserved: tuple[Unserved, ...]


@dataclass(frozen=True)
class _Option:
    """A drill that may be done on some sides, with the wishes that it would serve there."""

    drill: Drill
    sides: frozenset[OneSide]
    wishes: tuple[Wish, ...]


def choose(
    wishes: Sequence[Wish],
    drills: Iterable[Drill],
    bars: Bars,
    picks: Sequence[Pick],
    most: int,
    kept: frozenset[str] = frozenset(),
) -> Choice:
    """Choose at most `most` drills (picks count, and are always in); `kept` were on the last sheet and win ties."""
    options: list[_Option] = []
    left_out: dict[str, tuple[Bar, set[OneSide]]] = {}
    by_pick = {pick.drill: pick for pick in picks}
    for drill in sorted(drills, key=lambda one: one.id):
        if drill.retired and drill.id not in by_pick:
            continue
        option, barred = _option(drill, wishes, bars, by_pick.get(drill.id))
        if option:
            options.append(option)
        for side, bar in barred.items():
            left_out.setdefault(drill.id, (bar, set()))[1].add(side)
    picked = _cover(options, wishes, bars.atlas, frozenset(by_pick), most, kept)
    chosen = [_chosen(option, by_pick.get(option.drill.id)) for option in picked]
    lines = [LeftOut(drill, join_sides(sides), bar.because, bar.rule) for drill, (bar, sides) in left_out.items()]
    return Choice(
        chosen=tuple(sorted(chosen, key=lambda one: (-round(one.weight, 6), one.drill.id))),
        left_out=tuple(lines),
        unserved=_unserved(wishes, chosen, options, left_out),
    )


def needed_sides(drill: Drill, side: OneSide) -> tuple[OneSide, ...]:
    """The sides on which a drill must be done for a wish on one side; for the midline a paired drill needs both."""
    if not drill.paired:
        return ("none",)
    return ("left", "right") if side == "none" else (side,)


def _option(
    drill: Drill, wishes: Sequence[Wish], bars: Bars, pick: Pick | None
) -> tuple[_Option | None, dict[OneSide, Bar]]:
    served, sides, barred = [], set[OneSide](), dict[OneSide, Bar]()
    for wish in wishes:
        if not serves(drill, wish, bars.atlas):
            continue
        found = {side: bars.of(drill, side) for side in needed_sides(drill, wish.side)}
        here = {side: bar for side, bar in found.items() if bar and not _passes(bar, pick)}
        barred |= here
        if not here:
            served.append(wish)
            sides |= set(found)
    if pick:
        asked = _pick_sides(drill, pick, sides)
        found = {side: bars.of(drill, side) for side in asked}
        barred |= {side: bar for side, bar in found.items() if bar and not _passes(bar, pick)}
        sides |= {side for side in asked if side not in barred}
    return (_Option(drill, frozenset(sides), tuple(served)) if sides else None), barred


def _passes(bar: Bar, pick: Pick | None) -> bool:
    return pick is not None and bar.rule in PASSED_BY_PICK


def _pick_sides(drill: Drill, pick: Pick, served: set[OneSide]) -> tuple[OneSide, ...]:
    if not drill.paired:
        return ("none",)
    if pick.side in ("left", "right", "both"):
        return each_side(pick.side)
    return tuple(sorted(served)) or ("left", "right")


def _cover(
    options: Sequence[_Option],
    wishes: Sequence[Wish],
    atlas: Atlas,
    forced: frozenset[str],
    most: int,
    kept: frozenset[str],
) -> list[_Option]:
    place = {wish.id: number for number, wish in enumerate(wishes)}
    chosen = best_cover(
        weights=[round(wish.weight * 100) for wish in wishes],
        serves=[frozenset(place[wish.id] for wish in option.wishes) for option in options],
        cost=[_cost(option, atlas, kept) for option in options],
        forced=[option.drill.id in forced for option in options],
        most=most,
    )
    return [options[number] for number in chosen]


def _cost(option: _Option, atlas: Atlas, kept: frozenset[str]) -> int:
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
        points += round(4 * max(worst_load(drill, nerve, atlas) for nerve in drill.tissues))
    return points


def _chosen(option: _Option, pick: Pick | None) -> Chosen:
    return Chosen(option.drill, join_sides(option.sides), option.wishes, pick)


def _unserved(
    wishes: Sequence[Wish],
    chosen: Sequence[Chosen],
    options: Sequence[_Option],
    left_out: Mapping[str, tuple[Bar, set[OneSide]]],
) -> tuple[Unserved, ...]:
    served = {wish.id for one in chosen for wish in one.wishes}
    possible = {wish.id for option in options for wish in option.wishes}
    lines = []
    for wish in wishes:
        if wish.id in served:
            continue
        if wish.id in possible:
            because = "the sheet is full: other findings weigh more"
        elif left_out:
            because = "every drill for it is left out, or the library has none"
        else:
            because = "the library has no drill for it"
        lines.append(Unserved(wish.says, because))
    return tuple(lines)
