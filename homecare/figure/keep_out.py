"""Places that a release must not press, and whether what it presses lies over the tissue it claims."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from homecare.core.pose import SIDES, Contact, Held, Surface
from homecare.figure.landmarks import centres, names, on_skin
from homecare.figure.point_words import point_in_words
from homecare.figure.skeleton import FRAMES, Array, Skeleton

MOST_AWAY, MARGIN = 0.060, 0.030
"""Metres: a press reaches what lies at most 60 mm off, and stays 30 mm from a keep-out (common practice)."""
HAND_MARGIN, ON_THE_NECK = 0.018, ("the front of the neck", "the side of the neck")
"""A hand that presses elsewhere may pass a limb, but no part of it lies on the neck: 18 mm is its own thickness."""
PRESSING_HAND = ("palm", "fingertips", "hand_edge", "thumb_side")
_BETWEEN, _ALONG = 9, 25


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


Press = tuple[str, Array]
"""What is pressed, in plain words, and its places in the world (k, 3): one on the skin, or many along a stick."""


def presses(body: Skeleton, contacts: Sequence[Contact], held: Sequence[Held] = ()) -> list[Press]:
    """What a release presses: points on a tool, else those under a hand, and where a stick between hands runs."""
    points = {one.point: None for one in contacts if one.tool}
    for one in () if points else contacts:
        if _is_hand(one.point) and _is_body(one.on):
            points[one.on] = None
        elif one.on and _is_hand(one.on):
            points[one.point] = None
    found = [(point_in_words(point), on_skin(body, point)) for point in points]
    for thing in held:
        ends = [centres(body, point)[0] for point in thing.points if not point.startswith("at:")]
        if thing.thing == "stick" and len(ends) > 1:
            found.append(("under the stick", np.linspace(ends[0], ends[-1], _ALONG)))
    return found


def hands_in_the_way(body: Skeleton, contacts: Sequence[Contact]) -> list[str]:
    """Why a pressing hand lies wrong although its press is right: its palm or fingers on the front of the neck."""
    faults: dict[str, None] = {}
    for one in contacts:
        if not (_is_hand(one.point) and _is_body(one.on)):
            continue
        side = one.point.partition("_")[0]
        whole = np.array([centres(body, f"{side}_{part}")[0] for part in ("palm", "fingertips")])
        for place in near_keep_outs(body, whole, HAND_MARGIN):
            if place in ON_THE_NECK:
                faults[f"the {side} hand lies on {place}"] = None
    return list(faults)


def release_faults(
    body: Skeleton, pressing: Sequence[Press], targets: Sequence[tuple[str, Surface]], side: str
) -> list[str]:
    """Why these presses are no release of the targets (plain name, surface), or press what they must not."""
    if not pressing:
        return ["nothing touches the tissue: no tool, stick or hand is on it"]
    faults = []
    gaps = [
        (float(away(body, places, surface, side).min()), name) for _, places in pressing for name, surface in targets
    ]
    if gaps and min(gaps)[0] > MOST_AWAY:
        faults.append(f"what presses is {min(gaps)[0] * 1000:.0f} mm away from the {min(gaps)[1]}")
    for what, places in pressing:
        if len(places) > 1 and targets:  # a stick presses where it comes nearest
            nearest = np.min([away(body, places, surface, side) for _, surface in targets], axis=0)
            places = places[[int(np.argmin(nearest))]]
        faults += [f"it presses {place} ({what})" for place in near_keep_outs(body, places)]
    return faults


def away(body: Skeleton, places: Array, surface: Surface, side: str) -> Array:
    """Metres (k,) between places in the world (k, 3) and a tissue's surface on one side; 0 inside it."""
    balls = np.array([_world(body, frame, (x, y, z), side) for frame, x, y, z, _ in surface.points])
    radii = np.array([radius for *_, radius in surface.points])
    steps = np.linspace(0, len(balls) - 1, (len(balls) - 1) * _BETWEEN + 1)
    line = np.stack([np.interp(steps, range(len(balls)), balls[:, axis]) for axis in range(3)], axis=1)
    gaps = np.linalg.norm(line - places[:, None], axis=2) - np.interp(steps, range(len(balls)), radii)
    nearest: Array = np.maximum(0.0, gaps.min(axis=1))
    return nearest


def near_keep_outs(body: Skeleton, places: Array, margin: float = MARGIN) -> tuple[str, ...]:
    """The keep-outs of either side within a margin (metres) of any place in the world (k, 3)."""
    found: dict[str, None] = {}
    for keep_out in KEEP_OUTS:
        for side in SIDES:
            gaps = np.linalg.norm(places - _world(body, keep_out.frame, keep_out.centre, side), axis=1)
            if float(gaps.min()) - keep_out.radius < margin:
                found[keep_out.plain] = None
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
