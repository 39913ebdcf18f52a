"""The standing body from the front and from behind, with the places on it that can be pressed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from homecare.core.atlas import OneSide
from homecare.core.pose import SIDES, Surface
from homecare.figure.arranging import Arranged, arranged, look
from homecare.figure.body_regions import REGIONS, Region, Spot, View
from homecare.figure.cropping import crop
from homecare.figure.framing import framed, paper_of, scale_of
from homecare.figure.marks import Marks, curve
from homecare.figure.outline import Camera, camera
from homecare.figure.painting import painted
from homecare.figure.scene import Posed, Target
from homecare.figure.scenery import Brush
from homecare.figure.skeleton import INDEX, Array, Skeleton, as_row, skeletons
from homecare.figure.svg import Paper, document

VIEWS: Mapping[View, tuple[float, float]] = {"front": (0.0, 0.0), "back": (180.0, 0.0)}
"""Azimuth and elevation of each view, in degrees."""
BOX_MM = (60.0, 110.0)
SEEN = 0.2
"""A tissue belongs to a view when it faces it by at least this share; one that faces neither, to the nearer one."""

_POSE = {
    **{f"{side}_{name}": value for side in SIDES for name, value in {
        "shoulder.abd": 20.0, "forearm.pron": -78.0, "hip.abd": 5.0, "fingers.flex": 8.0, "fingers.curl": 10.0,
    }.items()},
}  # fmt: skip
"""Standing, the arms away from the trunk and the palms forward, as anatomy shows a body."""


@dataclass(frozen=True)
class Place:
    """A region on one side, and where it lies on the picture of its view: shares of its width and height, from 0 to 1
    from the left and from the top."""

    region: Region
    side: OneSide
    x: float
    y: float

    @property
    def key(self) -> str:
        """How it is named: `palm-right`, `upper_back-none`."""
        return f"{self.region.id}-{self.side}"

    @property
    def words(self) -> str:
        """How it is said: "right palm and fingers"."""
        return self.region.words if self.side == "none" else f"{self.side}: {self.region.words}"


@dataclass(frozen=True)
class BodyMap:
    """Both pictures as SVG with their proportions (width over height), the places on them, and tissues by region."""

    pictures: Mapping[View, str]
    ratio: Mapping[View, float]
    places: tuple[Place, ...]
    tissues: Mapping[str, tuple[str, ...]]

    def place(self, key: str) -> Place | None:
        """The place of a key, None when there is none."""
        return next((one for one in self.places if one.key == key), None)

    def places_of(self, side: str, tissues: frozenset[str], zones: frozenset[str]) -> tuple[Place, ...]:
        """Where something that was found lies, on the side or sides that it was found."""
        regions = {key for key, held in self.tissues.items() if tissues & set(held)}
        regions |= {one.id for one in REGIONS if zones & set(one.zones)}
        return tuple(
            one for one in self.places if one.region.id in regions and (one.side in (side, "none") or side == "both")
        )


@dataclass(frozen=True)
class _Seen:
    """The body in one view: what is drawn, the camera, and the paper that it is drawn on."""

    drawn: Arranged
    view: Camera
    paper: Paper


@lru_cache(maxsize=1)
def _body() -> Skeleton:
    return skeletons(as_row(_POSE)[None], "upright")


@lru_cache(maxsize=2)
def _seen(name: View) -> _Seen:
    body, view, shown = _body(), camera(*VIEWS[name]), crop("", [_body()])
    drawn = arranged(Posed(_POSE, body), view, look(body, view, shown))
    frame = framed(drawn, shown, None)
    scale = scale_of([frame], BOX_MM, shown)
    return _Seen(drawn, view, paper_of(frame, float(frame.low[1]), float(frame.high[1]), scale, False))


def body_map(surfaces: Mapping[str, Surface]) -> BodyMap:
    """The map of a body on which these surfaces lie."""
    pictures, ratio = {}, {}
    for name in VIEWS:
        seen = _seen(name)
        brush = Brush(seen.paper, seen.view)
        body = painted(seen.drawn, brush, None, "", Marks({}, {}))
        words = f"The body from the {name}" if name == "front" else "The body from behind"
        pictures[name] = document(seen.paper.width, seen.paper.height, brush.group(body), words)
        ratio[name] = seen.paper.width / seen.paper.height
    return BodyMap(pictures, ratio, tuple(_places()), _tissues(surfaces))


def _places() -> list[Place]:
    found = []
    for region in REGIONS:
        sides: tuple[OneSide, ...] = ("left", "right") if region.paired else ("none",)
        for side in sides:
            x, y = _on_picture(region, side)
            found.append(Place(region, side, round(x, 4), round(y, 4)))
    return found


def _on_picture(region: Region, side: OneSide) -> tuple[float, float]:
    seen = _seen(region.view)
    places = seen.paper.units(seen.view.paper(_spot(region.at, side)))[0]
    high = seen.paper.units(np.array(seen.paper.window[1]))
    return float(places[0] / high[0]), float(places[1] / high[1])


def _spot(at: Spot, side: OneSide) -> Array:
    """The world point (1, 3) of a spot on a side."""
    name, x, y, z = at
    frame = name if name in INDEX else f"{'left' if side == 'left' else 'right'}_{name}"
    return _body().points(frame, (x, y * (1 if side == "left" else -1), z))


def _tissues(surfaces: Mapping[str, Surface]) -> dict[str, tuple[str, ...]]:
    """Tissues by region: each under the nearest region of every view that it faces, measured on the right side."""
    found: dict[str, list[str]] = {region.id: [] for region in REGIONS}
    for key, surface in surfaces.items():
        lines = {name: curve(Target(surface, "right"), _body(), _seen(name).view) for name in VIEWS}
        faced = [name for name, line in lines.items() if line.facing >= SEEN]
        for name in faced or [max(lines, key=lambda one: lines[one].facing)]:
            middle = lines[name].paper[len(lines[name].paper) // 2]
            apart = {one.id: float(np.linalg.norm(_middle(one) - middle)) for one in REGIONS if one.view == name}
            found[min(apart, key=apart.__getitem__)].append(key)
    return {region: tuple(keys) for region, keys in found.items()}


def _middle(region: Region) -> Array:
    """Where a region's tissues lie around, on the paper of its view (2,), in metres."""
    middle: Array = _seen(region.view).view.paper(_spot(region.middle or region.at, "right"))[0]
    return middle
