"""The words that the desk's form offers, taken from the library and put in order for a reader."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import get_args

from homecare.core.atlas import ARM_REGIONS, LEG_REGIONS, Found
from homecare.core.findings import Depth, Symptom
from homecare.core.sheet import Training
from homecare.library.load import Library
from homecare.library.visit_findings import SIDES


@dataclass(frozen=True)
class Option:
    """One thing to choose: the value that the visit file holds, and the words on the screen."""

    value: str
    words: str


@dataclass(frozen=True)
class Vocabulary:
    """Everything that the form offers; `tissues` are names to type, each with what it is beside it.

    `how_to_test` and `how_to_measure` hold the names of tests and markers with how each is done.
    """

    tissues: tuple[Option, ...]
    zones: tuple[tuple[str, tuple[Option, ...]], ...]
    worse_with: tuple[Option, ...]
    kit: tuple[Option, ...]
    cautions: tuple[Option, ...]
    flags: tuple[Option, ...]
    tests: tuple[Option, ...]
    firing: tuple[Option, ...]
    markers: tuple[Option, ...]
    how_to_test: tuple[tuple[str, str], ...]
    how_to_measure: tuple[tuple[str, str], ...]
    sides: tuple[Option, ...] = tuple(Option(side, side) for side in SIDES if side != "none")
    found: tuple[Option, ...] = tuple(Option(word, word) for word in get_args(Found))
    symptoms: tuple[Option, ...] = tuple(Option(word, word) for word in get_args(Symptom))
    trainings: tuple[Option, ...] = tuple(Option(word, word) for word in get_args(Training))
    treated: tuple[Option, ...] = (
        *(Option(word, word) for word in sorted(get_args(Depth), key=("firm", "light", "deep").index)),
        Option("not", "not treated"),
    )
    irritability: tuple[Option, ...] = (
        Option("low", "hardly"),
        Option("moderate", "fairly"),
        Option("high", "easily"),
    )
    results: tuple[Option, ...] = (Option("positive", "positive"), Option("negative", "negative"))


def vocabulary(library: Library) -> Vocabulary:
    """The form's words for one library."""
    zones: dict[str, list[Option]] = {"Arm and hand": [], "Neck and trunk": [], "Leg and foot": []}
    for key, zone in library.atlas.zones.items():
        limb = "Arm and hand" if zone.region in ARM_REGIONS else "Leg and foot" if zone.region in LEG_REGIONS else ""
        zones[limb or "Neck and trunk"].append(Option(key, zone.plain))
    return Vocabulary(
        tissues=tuple(_tissue_names(library)),
        zones=tuple((limb, tuple(options)) for limb, options in zones.items()),
        worse_with=_by_words(Option(key, word.plain) for key, word in library.worse_with.items()),
        kit=tuple(Option(key, word.plain) for key, word in library.kit.items()),
        cautions=_by_words(Option(key, one.name) for key, one in library.cautions.items()),
        flags=tuple(Option(key, flag.ask) for key, flag in library.flags.items()),
        tests=tuple(Option(key, one.name) for key, one in library.tests.items()),
        firing=tuple(Option(key, one.name) for key, one in library.firing_orders.items()),
        markers=tuple(Option(key, f"{one.name} ({one.unit})") for key, one in library.markers.items()),
        how_to_test=tuple((one.name, one.how) for one in library.tests.values()),
        how_to_measure=tuple((one.name, one.how) for one in library.markers.values()),
    )


def _by_words(options: Iterable[Option]) -> tuple[Option, ...]:
    return tuple(sorted(options, key=lambda option: option.words.lower()))


def _tissue_names(library: Library) -> Iterable[Option]:
    """Each name once that leads to a tissue or a group, the anatomical one first, with its plain words beside it."""
    named: dict[str, str] = {}
    atlas = library.atlas
    for key, group in atlas.groups.items():
        for name in (key.replace("_", " "), *group.also):
            named.setdefault(name, group.plain)
    for tissue in atlas.tissues.values():
        named.setdefault(tissue.name, tissue.plain)
        for name in tissue.also:
            named.setdefault(name, tissue.name)
    return (Option(name, words) for name, words in sorted(named.items(), key=lambda item: item[0].lower()))
