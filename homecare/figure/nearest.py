"""What lets a body rest on what its figure says: nearer angles, a surface elsewhere, a place that is left open."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import inf

from homecare.core.pose import COORDINATES, Angles, Contact, Figure
from homecare.figure.landmarks import centres, landmark
from homecare.figure.limits import LIMITS
from homecare.figure.planting import Planted
from homecare.figure.room import SURFACES, TOOLS, plane
from homecare.figure.staging import plant_figure

TRIES = 6
"""How often a pose is set down anew from where it came to rest, before it is given up."""
GAINED = 0.8
"""Of what was off, the share that may still be off after a try: a body that comes no nearer is given up."""
KEPT = 5.0
"""Degrees by which a joint may have moved and still be left as it was written (common practice)."""
_PLACE = ("root.x", "root.y", "root.z")
_FIXED = ("floor", "mat")
"""Surfaces that stay where they are."""


@dataclass(frozen=True)
class Moved:
    """A surface at the distance or height (metres, to the centimetre) at which what should touch it does."""

    surface: str
    at: float


def stands(figure: Figure) -> bool:
    """Whether every pose of a figure meets its contacts near the angles that are written."""
    return all(not one.misses and not one.drifts for one in plant_figure(figure) if one is not None)


def settled(figure: Figure) -> Figure | None:
    """The figure at the nearest angles (whole degrees) that rest on its contacts; None where none are found."""
    tried, before = figure, inf
    for _ in range(TRIES):
        start, end = plant_figure(tried)
        off = sum(miss for one in (start, end) if one is not None for _, miss in one.misses)
        if off > before * GAINED:
            return None
        tried, before = (
            replace(tried, start=_as_planted(tried.start, start), end=_as_planted(tried.end, end) or {}),
            off,
        )
        if stands(tried):
            return tried
    return None


def moved_surfaces(figure: Figure) -> tuple[Moved, ...]:
    """Surfaces whose contacts are off, each where they would be met; the joints may still go far for it."""
    off = _misses(figure)
    surfaces = dict.fromkeys(one.on for one, _ in off if one.on in SURFACES and one.on not in _FIXED)
    return tuple(moved for one in surfaces if (moved := _moved(figure, one)) is not None)


def _moved(figure: Figure, surface: str) -> Moved | None:
    """A surface where a body that does not have to reach for it is."""

    def without(contacts: tuple[Contact, ...]) -> tuple[Contact, ...]:
        return tuple(one for one in contacts if one.on != surface)

    contact, _ = next((one, by) for one, by in _misses(figure) if one.on == surface)
    bare = replace(figure, contacts=without(figure.contacts), start_contacts=without(figure.start_contacts))
    start, end = plant_figure(bare)
    at = round(_distance(end if contact in figure.contacts or start is None else start, contact), 2)
    return None if _misses(replace(figure, surfaces={**figure.surfaces, surface: at})) else Moved(surface, at)


def loosened(figure: Figure) -> tuple[Contact, ...]:
    """The contacts fixed in space and off, without whose fixed place, and their other side's, the figure stands."""
    fixed: list[Contact] = []
    for contact, _ in _misses(figure):
        placed = contact.on and _at(contact) != (None, None, None)
        if placed and not any(_alike(contact, other) for other in fixed):
            fixed.append(contact)
    return tuple(one for one in fixed if stands(_open(figure, one)))


def _misses(figure: Figure) -> list[tuple[Contact, Planted]]:
    """Every contact that is off, and the pose that misses it."""
    return [(contact, one) for one in plant_figure(figure) if one is not None for contact, _ in one.misses]


def _open(figure: Figure, like: Contact) -> Figure:
    """The figure with the place of every contact alike left open."""

    def opened(contacts: tuple[Contact, ...]) -> tuple[Contact, ...]:
        return tuple(replace(one, x=None, y=None, z=None) if _alike(one, like) else one for one in contacts)

    return replace(figure, contacts=opened(figure.contacts), start_contacts=opened(figure.start_contacts))


def _alike(one: Contact, other: Contact) -> bool:
    """Whether two contacts are fixed to the same thing at the same place, as those of both sides are."""
    return (one.on, one.tool, _at(one)) == (other.on, other.tool, _at(other))


def _at(contact: Contact) -> tuple[float | None, float | None, float | None]:
    return contact.x, contact.y, contact.z


def _as_planted(written: Angles | None, planted: Planted | None) -> Angles | None:
    """The angles as written, but for the joints that went somewhere else."""
    if written is None or planted is None:
        return None
    found = dict(written)
    for name in COORDINATES:
        value = planted.angles.get(name, 0.0)
        if name not in _PLACE and abs(value - written.get(name, 0.0)) >= KEPT:
            limit = LIMITS.get(name)
            found[name] = float(round(value)) if limit is None else min(max(round(value), limit.low), limit.high)
    return found


def _distance(planted: Planted, contact: Contact) -> float:
    """The height or distance (metres) of its surface at which a planted point would just touch it."""
    side = contact.point.partition("_")[0]
    normal, at_none = plane(contact.on, 0.0, side)
    at_one = plane(contact.on, 1.0, side)[1]
    reach = landmark(contact.point).radius + 2 * TOOLS.get(contact.tool, 0.0)
    offset = float((centres(planted.body, contact.point) @ normal)[0]) - reach
    return (offset - at_none) / (at_one - at_none)
