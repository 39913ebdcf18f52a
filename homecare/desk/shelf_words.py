"""What the form of a drill offers to choose from, in words."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import get_args

from homecare.core.drill import KINDS
from homecare.core.pose import Show
from homecare.desk.shelf_form import Names
from homecare.desk.shelf_pose import Move, every_move
from homecare.desk.shelf_rows import REGION_ORDER
from homecare.desk.vocabulary import Option
from homecare.figure.scene import CROPS
from homecare.library.figures import VIEWS
from homecare.library.lint import LADDERS
from homecare.library.load import Library
from homecare.library.reading import MARKS

_CLAIMS = (Option("", "no glide"), Option("slider", "it slides"), Option("tensioner", "it pulls"))
_SHOWN = {"auto": "as fits", "one": "the end alone", "two": "start and end", "ghost": "the start pale behind the end"}


@dataclass(frozen=True)
class Choices:
    """Every list of the form; `ladders` and `moves` in groups, `tissues`, `sites` and `drills` names to type."""

    ladders: tuple[tuple[str, tuple[Option, ...]], ...]
    kit: tuple[Option, ...]
    traits: tuple[Option, ...]
    cautions: tuple[Option, ...]
    postures: tuple[Option, ...]
    tissues: tuple[str, ...]
    sites: tuple[str, ...]
    drills: tuple[str, ...]
    moves: tuple[tuple[str, tuple[Move, ...]], ...]
    kinds: tuple[Option, ...] = tuple(Option(kind, kind) for kind in KINDS)
    regions: tuple[Option, ...] = tuple(Option(one, one.replace("_", " ")) for one in REGION_ORDER)
    reaches: tuple[Option, ...] = (Option("full", "full"), Option("gentle", "gentle"))
    sides: tuple[Option, ...] = (Option("true", "one side at a time"), Option("false", "both sides at once"))
    claims: tuple[Option, ...] = _CLAIMS
    marks: tuple[Option, ...] = tuple(Option(mark, mark) for mark in MARKS)
    views: tuple[str, ...] = tuple(VIEWS)
    crops: tuple[Option, ...] = tuple(Option(one, one.replace("_", " ") or "the whole body") for one in CROPS)
    shows: tuple[Option, ...] = tuple(Option(one, _SHOWN[one]) for one in get_args(Show))


def choices(library: Library) -> Choices:
    """The lists for one library."""
    names = Names(library)
    shipped = frozenset().union(*LADDERS.values())
    ladders = [
        (f"to {kind}", tuple(Option(key, library.ladders[key].name) for key in sorted(LADDERS[kind]))) for kind in KINDS
    ]
    rest = tuple(Option(key, one.name) for key, one in library.ladders.items() if key not in shipped)
    return Choices(
        ladders=(*ladders, ("others", rest)),
        kit=_by_words(Option(key, one.plain) for key, one in library.kit.items()),
        traits=_by_words(Option(key, one.plain) for key, one in library.traits.items()),
        cautions=_by_words(Option(key, one.name) for key, one in library.cautions.items()),
        postures=_by_words(Option(key, one.plain) for key, one in library.postures.items()),
        tissues=tuple(sorted(names.tissue(key) for key in (*library.atlas.groups, *library.atlas.tissues))),
        sites=tuple(sorted(names.site(key) for key in library.atlas.sites)),
        drills=tuple(sorted(drill.name for drill in library.drills.values())),
        moves=every_move(),
    )


def _by_words(options: Iterable[Option]) -> tuple[Option, ...]:
    return tuple(sorted(options, key=lambda option: option.words.lower()))
