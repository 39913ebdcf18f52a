"""The words that the desk's form offers, taken from the library and put in order for a reader."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
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
    """Everything that the form offers; `how_to_test` and `how_to_measure` say by id how a test or marker is done."""

    zones: tuple[tuple[str, tuple[Option, ...]], ...]
    worse_with: tuple[Option, ...]
    kit: tuple[Option, ...]
    cautions: tuple[Option, ...]
    flags: tuple[Option, ...]
    tests: tuple[Option, ...]
    firing: tuple[Option, ...]
    markers: tuple[Option, ...]
    how_to_test: Mapping[str, str]
    how_to_measure: Mapping[str, str]
    sides: tuple[Option, ...] = tuple(Option(side, side) for side in SIDES if side != "none")
    found: tuple[Option, ...] = tuple(Option(word, word) for word in get_args(Found))
    symptoms: tuple[Option, ...] = tuple(Option(word, word) for word in get_args(Symptom))
    trainings: tuple[Option, ...] = tuple(Option(word, word) for word in get_args(Training))
    treated: tuple[Option, ...] = (
        *(Option(word, word) for word in get_args(Depth)),
        Option("not", "not"),
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
        zones=tuple((limb, tuple(options)) for limb, options in zones.items()),
        worse_with=_by_words(Option(key, word.plain) for key, word in library.worse_with.items()),
        kit=tuple(Option(key, word.plain) for key, word in library.kit.items()),
        cautions=_by_words(Option(key, one.name) for key, one in library.cautions.items()),
        flags=tuple(Option(key, flag.ask) for key, flag in library.flags.items()),
        tests=tuple(Option(key, one.name) for key, one in library.tests.items()),
        firing=tuple(Option(key, one.name) for key, one in library.firing_orders.items()),
        markers=tuple(Option(key, f"{one.name} ({one.unit})") for key, one in library.markers.items()),
        how_to_test={key: one.how for key, one in library.tests.items()},
        how_to_measure={key: one.how for key, one in library.markers.items()},
    )


def _by_words(options: Iterable[Option]) -> tuple[Option, ...]:
    return tuple(sorted(options, key=lambda option: option.words.lower()))
