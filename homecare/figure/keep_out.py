"""Places that a release must not press, and whether what it presses lies over the tissue it claims."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from homecare.core.pose import SIDES, Contact, Held, Surface
from homecare.figure.landmarks import names, on_skin
from homecare.figure.skeleton import FRAMES, Array, Skeleton

MOST_AWAY, MARGIN = 0.060, 0.030
"""Metres: a press reaches what lies at most 60 mm off, and stays 30 mm from a keep-out (common practice)."""
PRESSING_HAND = ("palm", "fingertips", "hand_edge", "thumb_side")
_PRESSING_THINGS = ("stick",)
_BETWEEN = 9


@dataclass(frozen=True)
class KeepOut:
    """A place never to press: the centre of a ball in a frame without a side (y outwards) and its radius, in metres."""

    plain: str
    frame: str
    centre: tuple[float, float, float]
    radius: float


_SPINE = (
    *(("lumbar", -0.084, z) for z in (0.0, 0.043, 0.087, 0.13)),
    *(("thorax_low", -0.086, z) for z in (0.03, 0.06, 0.09)),
    *(("thorax", -0.090, z) for z in (0.0, 0.04, 0.08, 0.12)),
    *(("neck", -0.050, z) for z in (0.0, 0.04)),
)
KEEP_OUTS: tuple[KeepOut, ...] = (
    KeepOut("the front of the neck", "neck", (0.045, 0.0, 0.03), 0.022),
    KeepOut("the side of the neck", "neck", (0.022, 0.042, 0.03), 0.022),
    KeepOut("the armpit", "thorax", (0.0, 0.130, 0.005), 0.025),
    KeepOut("the crease of the elbow", "elbow", (0.036, 0.0, 0.0), 0.018),
    KeepOut("the groove behind the inner elbow", "elbow", (-0.022, -0.032, 0.0), 0.012),
    KeepOut("the front of the wrist", "hand", (0.0, -0.026, 0.0), 0.015),
    KeepOut("the groin", "pelvis", (0.070, 0.045, -0.025), 0.030),
    KeepOut("the back of the knee", "shank", (-0.052, 0.0, 0.0), 0.025),
    KeepOut("the neck of the fibula", "shank", (-0.012, 0.050, -0.055), 0.012),
    *(KeepOut("the knobs of the spine", frame, (x, 0.0, z), 0.008) for frame, x, z in _SPINE),
)
"""Where nerves and vessels lie shallow, or bone stands out: places by surface anatomy (Moore KL et al., Clinically
Oriented Anatomy 8e; from memory), sizes common practice."""


def pressed(contacts: Sequence[Contact], held: Sequence[Held] = ()) -> tuple[str, ...]:
    """The points of the body that a release presses: those on a tool, under a hand, or along a stick."""
    found: dict[str, None] = {}
    for one in contacts:
        if one.tool:
            found[one.point] = None
        elif _is_hand(one.point) and _is_body(one.on):
            found[one.on] = None
        elif one.on and _is_hand(one.on):
            found[one.point] = None
    for thing in held:
        if thing.thing in _PRESSING_THINGS:
            found |= {point: None for point in thing.points if not _is_hand(point) and not point.startswith("at:")}
    return tuple(found)


def release_faults(
    body: Skeleton, points: Sequence[str], targets: Sequence[tuple[str, Surface]], side: str
) -> list[str]:
    """Why pressing these points is no release of the targets (plain name, surface), or presses what it must not."""
    if not points:
        return ["nothing touches the tissue: no tool, stick or hand is on it"]
    faults = []
    if targets:
        gaps = [(away(body, point, surface, side), name) for point in points for name, surface in targets]
        nearest, name = min(gaps)
        if nearest > MOST_AWAY:
            faults.append(f"what presses is {nearest * 1000:.0f} mm away from the {name}")
    for point in points:
        for place in near_keep_outs(body, point):
            faults.append(f"it presses {place} ({point.replace('_', ' ')})")
    return faults


def away(body: Skeleton, point: str, surface: Surface, side: str) -> float:
    """Metres between a point on the skin and a tissue's surface on one side; 0 inside it."""
    at = on_skin(body, point)[0]
    balls = np.array([_world(body, frame, (x, y, z), side) for frame, x, y, z, _ in surface.points])
    radii = np.array([radius for *_, radius in surface.points])
    steps = np.linspace(0, len(balls) - 1, (len(balls) - 1) * _BETWEEN + 1)
    line = np.stack([np.interp(steps, range(len(balls)), balls[:, axis]) for axis in range(3)], axis=1)
    gaps = np.linalg.norm(line - at, axis=1) - np.interp(steps, range(len(balls)), radii)
    return max(0.0, float(gaps.min()))


def near_keep_outs(body: Skeleton, point: str) -> tuple[str, ...]:
    """The keep-outs of either side within the margin of a point on the skin."""
    at = on_skin(body, point)[0]
    found: dict[str, None] = {}
    for place in KEEP_OUTS:
        for side in SIDES:
            gap = float(np.linalg.norm(_world(body, place.frame, place.centre, side) - at)) - place.radius
            if gap < MARGIN:
                found[place.plain] = None
    return tuple(found)


def _world(body: Skeleton, frame: str, local: tuple[float, float, float], side: str) -> Array:
    x, y, z = local
    own = frame if frame in FRAMES else f"{side}_{frame}"
    found: Array = body.points(own, (x, y if side == "left" else -y, z))[0]
    return found


def _is_hand(point: str) -> bool:
    return point.endswith(PRESSING_HAND)


def _is_body(name: str) -> bool:
    """Whether a contact is with a point of the body rather than of the room."""
    return bool(name) and name.partition("@")[0] in names()
