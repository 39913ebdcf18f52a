"""What a newer shipped library would change under a clinic's own records: each to be read, none taken by itself."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from homecare.core.problems import Source
from homecare.library import archive
from homecare.library.differences import Difference, differences
from homecare.library.load import Entry, Place, load_library

Standing = Literal["added", "edited", "update", "gone", "unnamed", "out of use"]
STANDINGS: dict[Standing, str] = {
    "added": "the clinic's own, nothing shipped beneath it",
    "edited": "the clinic's text over the shipped one of today",
    "update": "the shipped text has changed since the clinic wrote over it",
    "gone": "the record that the clinic wrote over is no longer shipped",
    "out of use": "shipped, and taken out of use by the clinic",
    "unnamed": "written over a shipped record without saying which (`based_on`)",
}


@dataclass(frozen=True)
class Change:
    """One of the clinic's own records at its place in a file, and how it stands to the shipped one.

    `edits` is what the clinic changed, `update` what the shipped text has changed since (None when the text that the
    clinic wrote over was not kept), `both` the fields that both changed: there a choice must be made.
    """

    place: Place
    where: Source
    standing: Standing
    edits: tuple[Difference, ...] = ()
    update: tuple[Difference, ...] | None = ()

    @property
    def both(self) -> tuple[str, ...]:
        """Fields that the clinic and the update both changed."""
        own = {one.field for one in self.edits}
        return tuple(one.field for one in self.update or () if one.field in own)


def changes(own: Path) -> tuple[Change, ...]:
    """Every own record of a clinic's folder against the shipped library of today, updates first."""
    found = sorted(_changes(own), key=lambda one: (one.standing != "update", one.place))
    return tuple(found)


def _changes(own: Path) -> Iterator[Change]:
    shipped, library = load_library().entries, load_library(own)
    for place, entry in library.entries.items():
        if entry.own:
            yield change_of(own, place, entry, shipped.get(place))
    for place, where in library.framed.items():
        yield Change(place, where, "out of use")


def change_of(own: Path, place: Place, entry: Entry, below: Entry | None) -> Change:
    """How one of the clinic's own records stands to the shipped one `below` it, where there is one."""
    if below is None:
        return Change(place, entry.where, "gone" if entry.based_on else "added")
    edits = differences(below.content, entry.content)
    if not entry.based_on:
        return Change(place, entry.where, "unnamed", edits)
    if entry.based_on == below.hash:
        return Change(place, entry.where, "edited", edits)
    base = archive.kept(own, entry.based_on)
    if base is None:
        return Change(place, entry.where, "update", edits, None)
    return Change(
        place, entry.where, "update", differences(base[1], entry.content), differences(base[1], below.content)
    )
