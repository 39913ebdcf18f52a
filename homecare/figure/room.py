"""Where the room's surfaces stand, and the sizes of what lies, rolls or is held in it; metres, common practice."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from homecare.figure.skeleton import Array

HEIGHTS: Mapping[str, float] = {
    "floor": 0.0,
    "mat": 0.012,
    "step": 0.18,
    "chair": 0.45,
    "bench": 0.45,
    "bed": 0.50,
    "table": 0.72,
}
"""Level surfaces by their height."""
WALLS: Mapping[str, float] = {
    "wall": 0.70,
    "wall_behind": 0.35,
    "wall_left": 0.50,
    "wall_right": 0.50,
    "doorway": 0.50,
    "corner": 0.60,
}
"""Upright surfaces by their distance from where the athlete begins; a wall is in front unless it says otherwise."""
SURFACES: Mapping[str, float] = {**HEIGHTS, **WALLS}
REACHES: Mapping[str, float] = {"table_reach": 0.30, "chair_reach": 0.29}
"""How far a table goes on past what rests on it, and a seat past the sitting bones."""
TOOLS: Mapping[str, float] = {
    "roller": 0.075,
    "ball": 0.033,
    "big_ball": 0.10,
    "towel_roll": 0.045,
    "thin_towel": 0.015,
    "cushion": 0.05,
}
"""What may lie between the body and a surface, by its radius (a cushion by half its height)."""
THINGS = ("strap", "band", "towel", "towel_roll", "stick", "dumbbell", "cushion", "post")
"""What may be held, worn or stood beside."""
STICK_RADIUS = 0.014
_SLANT = 2**-0.5


def plane(surface: str, distance: float, side: str) -> tuple[Array, float]:
    """The unit normal (3,) out of a surface, and its offset: points p on it have normal . p = offset.

    A corner has two walls; `side` (left or right) says which.
    """
    normals = {
        "wall": (-1, 0, 0),
        "doorway": (-1, 0, 0),
        "wall_behind": (1, 0, 0),
        "wall_left": (0, -1, 0),
        "wall_right": (0, 1, 0),
    }
    if surface in HEIGHTS:
        return np.array([0.0, 0, 1]), distance
    if surface == "corner":
        return np.array([-_SLANT, -_SLANT if side == "left" else _SLANT, 0]), -distance * _SLANT
    return np.array(normals[surface], float), -distance
