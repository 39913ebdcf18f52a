"""The library as a list: every drill with its state, searched by name, tissue, kind and state, in groups."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from homecare.core.drill import KINDS, Drill, Kind
from homecare.library.load import Library, Place
from homecare.library.names import fold

STATES: Mapping[str, str] = {
    "shipped": "as shipped",
    "added": "the clinic's own",
    "changed": "changed by the clinic",
    "update": "changed here, and shipped anew",
    "retired": "retired",
    "hidden": "hidden",
}
"""How a drill stands, in words; one that is retired or hidden is told as that."""
REGION_ORDER = (
    *("neck", "shoulder", "upper_back", "arm", "forearm", "hand", "low_back", "pelvis", "hip", "thigh", "knee"),
    *("leg", "foot"),
)


@dataclass(frozen=True)
class Row:
    """One drill of the list; `state` is '' where it is as shipped and in use."""

    id: str
    name: str
    kind: Kind
    of: str
    state: str


@dataclass(frozen=True)
class Group:
    """Drills of one region or kind."""

    title: str
    rows: tuple[Row, ...]


@dataclass(frozen=True)
class Wanted:
    """What a list is asked for: words, a kind, a state ('' any), and by what it is put in groups."""

    words: str = ""
    kind: str = ""
    state: str = ""
    by: str = "region"

    @property
    def narrowed(self) -> bool:
        """Whether anything is left out."""
        return bool(self.words or self.kind or self.state)


def state_of(library: Library, shipped: Library, drill: str) -> str:
    """How a drill stands: a key of STATES."""
    one, place = library.drills[drill], ("drills", drill)
    if one.retired or one.hidden:
        return "retired" if one.retired else "hidden"
    return _standing(library, shipped, place)


def _standing(library: Library, shipped: Library, place: Place) -> str:
    entry, below = library.entries[place], shipped.entries.get(place)
    if not entry.own:
        return "shipped"
    if below is None:
        return "added"
    return "changed" if entry.based_on in ("", below.hash) else "update"


def groups(library: Library, shipped: Library, wanted: Wanted) -> tuple[Group, ...]:
    """The drills that are wanted, in groups by region or kind, each by name."""
    keys = REGION_ORDER if wanted.by == "region" else KINDS
    found: dict[str, list[Row]] = {key: [] for key in keys}
    words = fold(wanted.words)
    tissue = library.names.find("tissues", wanted.words) if words else None
    members = frozenset(library.atlas.members((tissue,))) if tissue else frozenset()
    for key, drill in library.drills.items():
        state = state_of(library, shipped, key)
        if wanted.kind not in ("", drill.kind) or wanted.state not in ("", state):
            continue
        if words and not members & set(library.atlas.members(drill.tissues)) and words not in _haystack(drill, library):
            continue
        of = library.atlas.plain(drill.tissues[0])
        row = Row(key, drill.name, drill.kind, of, "" if state == "shipped" else STATES[state])
        found.setdefault(drill.region if wanted.by == "region" else drill.kind, []).append(row)
    return tuple(
        Group(title.replace("_", " "), tuple(sorted(rows, key=lambda row: row.name.lower())))
        for title, rows in found.items()
        if rows
    )


def _haystack(drill: Drill, library: Library) -> str:
    """Every word that a drill is found by."""
    atlas = library.atlas
    tissues = [atlas.tissues[one] for one in atlas.members(drill.tissues)]
    names = [word for one in tissues for word in (one.name, one.plain, *one.also)]
    return fold(" ".join((drill.name, drill.clinical, drill.id, drill.code, drill.address, *drill.tissues, *names)))
