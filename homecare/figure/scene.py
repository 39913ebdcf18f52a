"""What one figure shows, all in world metres and decided: poses, things, targets and arrows."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from homecare.core.pose import Angles, Surface
from homecare.figure.skeleton import Array, Skeleton
from homecare.figure.solids import Solid

CROPS = (
    "",
    "head",
    "upper_body",
    "lower_body",
    *(f"{side}_{part}" for side in ("left", "right") for part in ("hand", "arm", "foot", "leg")),
)
"""Parts of the body that a close-up shows; empty is the whole."""
WAYS: Mapping[str, tuple[float, float, float]] = {
    "path": (0, 0, 0),
    "up": (0, 0, 1),
    "down": (0, 0, -1),
    "forward": (1, 0, 0),
    "back": (-1, 0, 0),
    "left": (0, 1, 0),
    "right": (0, -1, 0),
    "forward_up": (0.7, 0, 0.7),
    "forward_down": (0.7, 0, -0.7),
    "back_up": (-0.7, 0, 0.7),
    "back_down": (-0.7, 0, -0.7),
    "left_up": (0, 0.7, 0.7),
    "right_up": (0, -0.7, 0.7),
    "left_down": (0, 0.7, -0.7),
    "right_down": (0, -0.7, -0.7),
}
"""Ways of an arrow in the room; `path` is the way that its point goes from start to end."""


@dataclass(frozen=True)
class Posed:
    """One pose with its contacts met: the angles that came out, the frames (one pose) and the things around it."""

    angles: Angles
    body: Skeleton
    solids: tuple[Solid, ...] = ()


@dataclass(frozen=True)
class Target:
    """A tissue to show on one side of the body."""

    surface: Surface
    side: str


@dataclass(frozen=True)
class ArrowPath:
    """An arrow along world points (k, 3). With `loose` the drawing moves it sideways, off the body."""

    points: Array
    both_ways: bool = False
    loose: bool = True


@dataclass(frozen=True)
class Scene:
    """A figure: the end pose, the start where the drill moves, and how it is looked at.

    `view` is azimuth and elevation in degrees; -90, 0 looks from the athlete's right. `crop` names a close-up
    (left_hand, right_hand, left_foot, right_foot, head, left_arm, right_arm, upper_body, lower_body, left_leg,
    right_leg) or is empty for the whole. `ghost` draws the start pale behind the end, in one panel.
    """

    end: Posed
    start: Posed | None
    view: tuple[float, float]
    crop: str
    ghost: bool
    targets: tuple[Target, ...]
    arrows: tuple[ArrowPath, ...]
