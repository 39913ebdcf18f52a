"""The things of a scene besides the body: boxes, rods, balls and cords in metres, already in their places."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Point = tuple[float, float, float]
Stuff = Literal["floor", "wall", "mat", "furniture", "roller", "ball", "stick", "cord", "cloth", "metal"]
"""What a thing is made of, for its colour."""


@dataclass(frozen=True)
class Box:
    """A block with its edges along the world's axes, from `low` to `high`, turned by `yaw` degrees about its middle."""

    name: str
    low: Point
    high: Point
    stuff: Stuff
    yaw: float = 0.0


@dataclass(frozen=True)
class Rod:
    """A round bar between two points."""

    name: str
    a: Point
    b: Point
    radius: float
    stuff: Stuff


@dataclass(frozen=True)
class Ball:
    """A ball."""

    name: str
    centre: Point
    radius: float
    stuff: Stuff = "ball"


@dataclass(frozen=True)
class Cord:
    """A strap or band along points, drawn as a cased line."""

    name: str
    points: tuple[Point, ...]
    closed: bool = False


Solid = Box | Rod | Ball | Cord
