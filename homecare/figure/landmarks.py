"""Points on the skin that contacts, arrows, straps and targets are named by, with the radius of the flesh there.

Radii in metres; they follow the body's outline as it is drawn. Limb points may end in `@share`, the share of the
segment from its nearer joint: `right_thigh_back@0.7`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from homecare.core.pose import SIDES
from homecare.figure.skeleton import LENGTHS, Array, Skeleton

Local = tuple[float, float, float]


@dataclass(frozen=True)
class Landmark:
    """A ball of flesh: its frame, the centre in it, its radius, and the way out of the body (in the frame).

    A way out of zeros means that any side of the ball may touch.
    """

    frame: str
    centre: Local
    radius: float
    out: Local = (0.0, 0.0, 0.0)


_LIMBS: Mapping[str, tuple[str, float, tuple[float, ...]]] = {
    "thigh": ("thigh", LENGTHS["thigh"], (0.088, 0.080, 0.077, 0.066, 0.055)),
    "shank": ("shank", LENGTHS["shank"], (0.054, 0.053, 0.048, 0.040, 0.034)),
    "upper_arm": ("upper_arm", LENGTHS["upper_arm"], (0.051, 0.046, 0.043, 0.040, 0.038)),
    "forearm": ("forearm", LENGTHS["forearm"], (0.038, 0.042, 0.040, 0.032, 0.026)),
}
"""Limb segments: frame, length, and radii at 0, 1/4, 1/2, 3/4 and the whole of the length."""
_WAYS: Mapping[str, Local] = {"front": (1, 0, 0), "back": (-1, 0, 0), "outer": (0, 1, 0), "inner": (0, -1, 0)}
"""Ways out of a limb; y counts outwards from the middle of the body."""

_PAIRED: Mapping[str, Landmark] = {
    "heel": Landmark("foot", (-0.045, 0, -0.035), 0.035),
    "sole": Landmark("foot", (0.05, 0, -0.042), 0.028, (0, 0, -1)),
    "ball": Landmark("foot", (0.125, 0, -0.050), 0.020),
    "toes": Landmark("toes", (0.045, 0, -0.006), 0.016),
    "big_toe": Landmark("toes", (0.05, -0.025, -0.006), 0.016),
    "instep": Landmark("foot", (0.06, 0, 0.0), 0.030, (0.3, 0, 0.95)),
    "inner_foot": Landmark("foot", (0.06, -0.02, -0.03), 0.022, (0, -1, 0)),
    "outer_foot": Landmark("foot", (0.06, 0.02, -0.04), 0.022, (0, 1, 0)),
    "ankle": Landmark("foot", (0, 0, 0), 0.036),
    "ankle_front": Landmark("foot", (0.0, 0, 0.0), 0.036, (1, 0, 0)),
    "ankle_outer": Landmark("foot", (0, 0, 0), 0.036, (0, 1, 0)),
    "ankle_inner": Landmark("foot", (0, 0, 0), 0.036, (0, -1, 0)),
    "knee": Landmark("shank", (0.006, 0, 0.0), 0.056, (1, 0, 0)),
    "knee_inner": Landmark("shank", (0.0, 0, 0.0), 0.054, (0, -1, 0)),
    "knee_outer": Landmark("shank", (0.0, 0, 0.0), 0.054, (0, 1, 0)),
    "knee_back": Landmark("shank", (0.0, 0, 0.0), 0.054, (-1, 0, 0)),
    "hip_outer": Landmark("pelvis", (0, 0.078, 0.01), 0.090, (0, 1, 0)),
    "hip_front": Landmark("pelvis", (0, 0.07, 0.04), 0.088, (1, 0, 0)),
    "sitting_bone": Landmark("pelvis", (-0.012, 0.075, 0.0), 0.088, (0, 0, -1)),
    "buttock": Landmark("pelvis", (-0.012, 0.075, 0.01), 0.090, (-1, 0, 0)),
    "back_pocket": Landmark("pelvis", (-0.012, 0.072, 0.06), 0.080, (-1, 0, 0)),
    "shoulder": Landmark("upper_arm", (0, 0, 0), 0.056, (0, 1, 0)),
    "shoulder_top": Landmark("thorax", (-0.012, 0.105, 0.068), 0.046, (0, 0, 1)),
    "shoulder_blade": Landmark("thorax", (-0.01, 0.08, 0.02), 0.085, (-1, 0, 0)),
    "blade_top": Landmark("thorax", (-0.02, 0.072, 0.055), 0.055, (-0.7, 0, 0.7)),
    "chest_side": Landmark("thorax", (0.0, 0.085, 0.03), 0.085, (1, 0, 0)),
    "ribs": Landmark("thorax_low", (0.01, 0.066, 0.09), 0.092, (0, 1, 0)),
    "waist": Landmark("lumbar", (0, 0.055, 0.06), 0.084, (0, 1, 0)),
    "low_back_side": Landmark("lumbar", (0, 0.05, 0.03), 0.084, (-1, 0, 0)),
    "elbow": Landmark("elbow", (-0.004, 0, 0), 0.038, (-1, 0, 0)),
    "elbow_inner": Landmark("elbow", (0, 0, 0), 0.038, (0, -1, 0)),
    "elbow_outer": Landmark("elbow", (0, 0, 0), 0.038, (0, 1, 0)),
    "wrist": Landmark("hand", (0, 0, 0), 0.026),
    "wrist_palm": Landmark("hand", (0, 0, 0), 0.026, (0, -1, 0)),
    "wrist_back": Landmark("hand", (0, 0, 0), 0.026, (0, 1, 0)),
    "palm": Landmark("hand", (0, 0, -0.07), 0.016, (0, -1, 0)),
    "hand_back": Landmark("hand", (0, 0, -0.07), 0.016, (0, 1, 0)),
    "hand_edge": Landmark("hand", (-0.03, 0, -0.06), 0.014, (-1, 0, 0)),
    "fingertips": Landmark("hand", (0, -0.004, -0.178), 0.010, (0, -1, 0)),
    "thumb_side": Landmark("hand", (0.03, 0, -0.06), 0.014, (1, 0, 0)),
    "temple": Landmark("head", (0.02, 0.0, 0.085), 0.088, (0, 1, 0)),
    "cheek": Landmark("head", (0.03, 0.030, -0.005), 0.042, (0, 1, 0)),
    "neck_side": Landmark("neck", (0, 0, 0.03), 0.048, (0, 1, 0)),
}
_MIDDLE: Mapping[str, Landmark] = {
    "sacrum": Landmark("pelvis", (0, 0, 0.02), 0.095, (-1, 0, 0)),
    "pelvis_front": Landmark("pelvis", (-0.005, 0, 0.04), 0.086, (1, 0, 0)),
    "hips": Landmark("pelvis", (0, 0, 0), 0.09),
    "low_back": Landmark("lumbar", (0, 0, 0.03), 0.084, (-1, 0, 0)),
    "belly": Landmark("lumbar", (0, 0, 0.03), 0.088, (1, 0, 0)),
    "mid_back": Landmark("thorax_low", (0.006, 0, 0.06), 0.092, (-1, 0, 0)),
    "upper_back": Landmark("thorax", (0, 0, 0.03), 0.090, (-1, 0, 0)),
    "chest": Landmark("thorax", (0, 0, 0.02), 0.090, (1, 0, 0)),
    "breastbone": Landmark("thorax_low", (0.012, 0, 0.09), 0.092, (1, 0, 0)),
    "neck_back": Landmark("neck", (0, 0, 0.03), 0.050, (-1, 0, 0)),
    "skull_base": Landmark("head", (-0.03, 0, 0.02), 0.060, (-1, 0, 0)),
    "back_of_head": Landmark("head", (-0.004, 0, 0.085), 0.098, (-1, 0, 0)),
    "crown": Landmark("head", (-0.004, 0, 0.085), 0.098, (0, 0, 1)),
    "forehead": Landmark("head", (0.002, 0, 0.09), 0.093, (1, 0, 0)),
    "chin": Landmark("head", (0.066, 0, -0.030), 0.028, (1, 0, 0)),
    "face": Landmark("head", (0.02, 0, 0.05), 0.085, (1, 0, 0)),
}


def names() -> tuple[str, ...]:
    """Every name of a point, limb points without their share."""
    limbs = [f"{side}_{limb}_{way}" for side in SIDES for limb in _LIMBS for way in _WAYS]
    return (*_MIDDLE, *(f"{side}_{name}" for side in SIDES for name in _PAIRED), *limbs)


@lru_cache(maxsize=1024)
def landmark(name: str) -> Landmark:
    """The point of a name; KeyError when there is none."""
    if name in _MIDDLE:
        return _MIDDLE[name]
    side, _, rest = name.partition("_")
    if side not in SIDES:
        raise KeyError(name)
    if rest in _PAIRED:
        return _to_side(_PAIRED[rest], side)
    base, _, share = rest.partition("@")
    limb, _, way = base.rpartition("_")
    if limb not in _LIMBS or way not in _WAYS:
        raise KeyError(name)
    frame, length, radii = _LIMBS[limb]
    try:
        at = float(share) if share else 0.5
    except ValueError:
        raise KeyError(name) from None
    if not 0 <= at <= 1:
        raise KeyError(name)
    radius = float(np.interp(at, (0, 0.25, 0.5, 0.75, 1), radii))
    back = -0.012 if limb == "shank" and 0.05 < at < 0.8 else 0.0
    return _to_side(Landmark(frame, (back, 0, -at * length), radius, _WAYS[way]), side)


def _to_side(mark: Landmark, side: str) -> Landmark:
    s = 1 if side == "left" else -1
    frame = mark.frame
    if frame not in ("pelvis", "lumbar", "thorax_low", "thorax", "neck", "head"):
        frame = f"{side}_{frame}"
    (x, y, z), (ox, oy, oz) = mark.centre, mark.out
    return Landmark(frame, (x, y * s, z), mark.radius, (ox, oy * s, oz))


def centres(body: Skeleton, name: str) -> Array:
    """World centre (n, 3) of a point's ball of flesh."""
    mark = landmark(name)
    return body.points(mark.frame, mark.centre)


def on_skin(body: Skeleton, name: str) -> Array:
    """World place (n, 3) on the skin: the centre, moved out by the radius where the point has a way out."""
    mark = landmark(name)
    way = np.asarray(mark.out)
    length = float(np.linalg.norm(way))
    out = way / length * mark.radius if length else way
    return body.points(mark.frame, np.asarray(mark.centre) + out)
