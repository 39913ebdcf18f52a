"""From a drill's figure to the scene that is drawn: poses planted, things put in place, arrows along their ways."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property, lru_cache
from typing import Generic, TypeVar

import numpy as np

from homecare.core.pose import Arrow, Figure, Surface, between
from homecare.core.problems import Source
from homecare.figure.furniture import furniture, things
from homecare.figure.landmarks import centres, landmark, on_skin
from homecare.figure.planting import Planted, plant
from homecare.figure.scene import WAYS, ArrowPath, Posed, Scene, Target
from homecare.figure.skeleton import COLUMN, Array, Skeleton, as_row, skeletons

T = TypeVar("T")
ARROW_M, CLOSE_ARROW_M = 0.16, 0.07
FRAMES = 5
"""Poses of a figure that moves: with two a bending limb would shorten by a quarter."""
GHOST_SHARE = 0.30
"""A start is drawn pale behind the end when nothing moves by more than this share of what is seen."""
_CLOSE = ("hand", "foot", "head")


@dataclass(frozen=True)
class Stage:
    """A figure set up: both poses as planted, and the scene."""

    end: Planted
    start: Planted | None
    scene: Scene


def stage(
    figure: Figure, surfaces: Mapping[str, Surface], targets: Sequence[str], sides: Sequence[str] = ("right",)
) -> Stage:
    """The scene of a drill's figure for its right side; `targets` are tissue ids, those without a surface not shown.

    They are marked on the `sides`: the right for a drill of one side, both for one that works both at once.
    """
    start, end = plant_figure(figure)
    bodies = [(one.body, contacts) for one, contacts in ((start, figure.start_contacts), (end, figure.contacts)) if one]
    room = furniture(bodies, figure.surfaces)
    posed = Posed(end.angles, end.body, (*room, *things(end.body, figure.held)))
    begun = None if start is None else Posed(start.angles, start.body, (*room, *things(start.body, figure.held)))
    scene = Scene(
        end=posed,
        start=None if figure.show == "one" else begun,
        view=figure.view,
        crop=figure.crop,
        ghost=start is not None and _as_ghost(figure, start, end),
        targets=tuple(Target(surfaces[one], side) for one in targets if one in surfaces for side in sides),
        arrows=tuple(_arrow(one, figure, start, end) for one in figure.arrows),
    )
    return Stage(end, start, scene)


def moving_frames(figure: Figure, count: int = FRAMES) -> tuple[Posed, ...]:
    """Poses from start to end, evenly, none for a figure that has no start.

    Between the two planted poses the joints go evenly; the body is moved so that what touches at both keeps touching.
    """
    start, end = plant_figure(figure)
    if start is None:
        return ()
    shared = [one.point for one in figure.contacts if one in figure.start_contacts]
    shares = np.linspace(0.0, 1.0, count)
    rows = np.stack([as_row(between(start.angles, end.angles, float(share))) for share in shares])
    bodies = skeletons(rows, figure.stance)
    if shared:
        part = shares[:, None]
        wanted = [centres(start.body, one) * (1 - part) + centres(end.body, one) * part for one in shared]
        off = np.mean([place - centres(bodies, one) for place, one in zip(wanted, shared, strict=True)], axis=0)
        rows[:, [COLUMN[f"root.{axis}"] for axis in "xyz"]] += off
        bodies = skeletons(rows, figure.stance)
    room = furniture([(start.body, figure.start_contacts), (end.body, figure.contacts)], figure.surfaces)
    found = []
    for number, row in enumerate(rows):
        body = Skeleton(bodies.origins[number : number + 1], bodies.rotations[number : number + 1])
        angles = {name: float(row[column]) for name, column in COLUMN.items() if row[column]}
        found.append(Posed(angles, body, (*room, *things(body, figure.held))))
    return tuple(found)


def plant_figure(figure: Figure) -> tuple[Planted | None, Planted]:
    """Start and end of a figure set down on their contacts; kept, since several proofs and pictures ask for them."""
    return _plant_both(Content(replace(figure, where=Source(""))))


@dataclass(frozen=True, eq=False)
class Content(Generic[T]):
    """A value as a key of what is kept: equal where its content is (figures hold mappings, which have no hash)."""

    value: T

    @cached_property
    def text(self) -> str:
        """The content in letters."""
        return repr(self.value)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Content) and other.text == self.text

    def __hash__(self) -> int:
        return hash(self.text)


@lru_cache(maxsize=1024)
def _plant_both(content: Content[Figure]) -> tuple[Planted | None, Planted]:
    figure = content.value
    end = plant(figure.stance, figure.end, figure.contacts, figure.free, figure.surfaces)
    if figure.start is None:
        return None, end
    stay = _stay(figure, end)
    return plant(figure.stance, figure.start, figure.start_contacts, figure.free, figure.surfaces, stay), end


def _stay(figure: Figure, end: Planted) -> dict[str, Array]:
    """Points that touch the same surface at start and end, where the end has put them."""
    there = {(one.point, one.on) for one in figure.contacts if one.on and not one.slides and not one.tool}
    return {
        one.point: centres(end.body, one.point)[0]
        for one in figure.start_contacts
        if (one.point, one.on) in there and one.x is None and not one.slides
    }


def _as_ghost(figure: Figure, start: Planted, end: Planted) -> bool:
    if figure.show != "auto":
        return figure.show == "ghost"
    before, after = start.body.origins[0], end.body.origins[0]
    most = float(np.max(np.linalg.norm(after - before, axis=1)))
    seen = 0.35 if figure.crop.endswith(_CLOSE) else 0.8 if figure.crop else float(np.max(np.ptp(after, axis=0)))
    return most < GHOST_SHARE * seen


def _arrow(arrow: Arrow, figure: Figure, start: Planted | None, end: Planted) -> ArrowPath:
    at = on_skin(end.body, arrow.point)[0]
    if arrow.way == "path" and start is not None:
        shares = np.linspace(0.0, 1.0, 13)
        rows = np.stack([as_row(between(start.angles, end.angles, float(share))) for share in shares])
        return ArrowPath(on_skin(skeletons(rows, figure.stance), arrow.point), arrow.both_ways)
    length = CLOSE_ARROW_M if figure.crop.endswith(_CLOSE) else ARROW_M
    way = np.array(WAYS[arrow.way]) * length
    mark = landmark(arrow.point)
    pressing = float(end.body.vectors(mark.frame, mark.out)[0] @ way) < -0.5 * length
    # What presses into the body comes from outside and ends at the skin.
    first = -0.5 if arrow.both_ways else -1.0 if pressing else 0.0
    return ArrowPath(at + np.linspace(first, first + 1, 5)[:, None] * way, arrow.both_ways)
