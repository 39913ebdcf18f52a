"""A sheet as the desk shows it: sites with their evidence, drills with their reasons, days with their gaps."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from itertools import groupby

from homecare.core.plain import listed, minutes_words, sentence
from homecare.core.sheet import Candidate, LeftOut, Passed, Sheet
from homecare.library.load import Library
from homecare.render.dose_words import day_words
from homecare.render.note import RESTS_ON
from homecare.render.sheet_view import Block, Week, blocks, weeks

MOST_SWAPS = 4
"""So many other drills are offered in place of one: those that serve the most of the same."""

FINAL = frozenset({"flag", "drop", "check-in"})
"""Rules after which a left-out drill cannot be put on: a flag is never passed, a drop has its own button."""

NEEDS_REASON = frozenset({"caution", "irritable", "reach", "age"})
"""Rules of safety: to put such a drill on anyway, the practitioner writes why."""


@dataclass(frozen=True)
class SiteRow:
    """One candidate site: what speaks for and against it, how many tests were not done, what covers it.

    `folded` is a site that needs no decision: below the bar, not covered and not asked for.
    """

    site: str
    name: str
    plain: str
    because: tuple[str, ...]
    against: tuple[str, ...]
    not_tested: int
    covered_by: tuple[str, ...]
    evidence: str
    asked_for: bool
    folded: bool


@dataclass(frozen=True)
class LeftRow:
    """One drill that is not on the sheet, why, and whether (and with a reason?) it may be put on by hand."""

    drill: str
    side: str
    name: str
    because: str
    may_pick: bool
    needs_reason: bool


@dataclass(frozen=True)
class Swap:
    """Another drill that would serve what one on the sheet serves, on its side, and how much of it."""

    drill: str
    side: str
    name: str
    words: str


@dataclass(frozen=True)
class Gaps:
    """Why one drill is not on some days: the reason, and the days it holds for, in words."""

    drill: str
    reasons: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class Bar:
    """One day's minutes, planned and at hand."""

    day: str
    planned: int
    budget: int


@dataclass(frozen=True)
class SheetPage:
    """Everything of a sheet that the desk shows."""

    sheet: Sheet
    sites: tuple[SiteRow, ...]
    neighbours: tuple[tuple[str, str], ...]
    not_tested: tuple[tuple[str, tuple[str, ...]], ...]
    blocks: tuple[Block, ...]
    left_out: tuple[LeftRow, ...]
    dropped: tuple[tuple[str, str], ...]
    weeks: tuple[tuple[Week, tuple[Bar, ...]], ...]
    gaps: tuple[Gaps, ...]
    minutes: str
    swaps: Mapping[str, tuple[Swap, ...]]


def sheet_page(sheet: Sheet, library: Library, dropped: Iterable[str], covered: Iterable[str]) -> SheetPage:
    """The page of one sheet; `dropped` and `covered` are what the practitioner took off and asked to cover."""
    asked = frozenset(covered)
    return SheetPage(
        sheet=sheet,
        sites=tuple(_site(one, sheet, library, asked) for one in sheet.candidates),
        neighbours=tuple(
            (_sided(one.name, one.side), f"{sentence(one.says)} {sentence(RESTS_ON[one.strength])}")
            for one in sheet.neighbours
        ),
        not_tested=tuple(_not_tested(sheet, library)),
        blocks=blocks(sheet),
        left_out=tuple(_left(one, library) for one in sheet.left_out if one.rule != "drop"),
        dropped=tuple((key, library.drills[key].name) for key in dropped if key in library.drills),
        weeks=tuple(zip(weeks(sheet), _bars(sheet), strict=True)),
        gaps=tuple(_gaps(sheet)),
        minutes=minutes_words(day.planned_s for day in sheet.days),
        swaps={drill.id: tuple(_swaps(drill.id, sheet)) for drill in sheet.drills},
    )


def _site(one: Candidate, sheet: Sheet, library: Library, asked: frozenset[str]) -> SiteRow:
    site = library.atlas.sites[one.site]
    numbers = {drill.id: f"{number} {drill.text.name}" for number, drill in enumerate(sheet.drills, 1)}
    by = [
        library.habits[key.removeprefix("habit:")].words if key.startswith("habit:") else numbers[key]
        for key in one.covered_by
    ]
    return SiteRow(
        site=one.site,
        name=_sided(site.name, one.side),
        plain=library.atlas.tissues[one.nerve].name,
        because=one.because,
        against=one.against,
        not_tested=len(one.not_tested),
        covered_by=tuple(by),
        evidence=one.evidence,
        asked_for=one.site in asked,
        folded=one.score < sheet.planner.cover_bar and not by and one.site not in asked,
    )


def _not_tested(sheet: Sheet, library: Library) -> Iterable[tuple[str, tuple[str, ...]]]:
    """Each test that was not done, once, with the places it would speak for or against."""
    places: dict[str, dict[str, None]] = {}
    for one in sheet.candidates:
        for test in one.not_tested:
            places.setdefault(test, {})[library.atlas.sites[one.site].name] = None
    return ((test, tuple(names)) for test, names in places.items())


def _sided(name: str, side: str) -> str:
    return name if side == "none" else f"{name}, {side}"


def _left(one: LeftOut, library: Library) -> LeftRow:
    drill = library.drills[one.id]
    return LeftRow(
        one.id, one.side, _sided(drill.name, one.side), one.because, one.rule not in FINAL, one.rule in NEEDS_REASON
    )


def _swaps(drill: str, sheet: Sheet) -> Iterable[Swap]:
    """The drills passed over that would serve the same wishes as one on the sheet, those that serve most first."""
    wishes = {asked.says: asked for chain in sheet.chains for asked in chain.asked if drill in asked.served_by}
    serving: dict[str, list[Passed]] = {}
    for asked in wishes.values():
        for one in asked.passed:
            if not one.rule:
                serving.setdefault(one.id, []).append(one)
    best = sorted(serving.items(), key=lambda item: (-len(item[1]), item[1][0].name))[:MOST_SWAPS]
    for key, found in best:
        whole = "serves all of it" if len(found) == len(wishes) else f"serves {len(found)} of {len(wishes)}"
        yield Swap(key, found[0].side, found[0].name, whole)


def _bars(sheet: Sheet) -> Iterable[tuple[Bar, ...]]:
    bars = [Bar(str(day.date.day), -(-day.planned_s // 60), day.budget_s // 60) for day in sheet.days]
    return (tuple(bars[at : at + 7]) for at in range(0, len(bars), 7))


def _gaps(sheet: Sheet) -> Iterable[Gaps]:
    for drill in sheet.drills:
        notes = [
            (note.because, day.date)
            for day in sheet.days
            for note in day.notes
            if (note.drill, note.side) == (drill.id, drill.side)
        ]
        by_reason = groupby(sorted(notes), key=lambda note: note[0])
        reasons = tuple(
            (because, listed([day_words(day, weekday=False) for _, day in days])) for because, days in by_reason
        )
        if reasons:
            yield Gaps(drill.text.name, reasons)
