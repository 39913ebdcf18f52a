"""Scenes and surfaces that the tests of the drawing share."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping

import numpy as np

from homecare.core.pose import Stance, Surface, between
from homecare.core.problems import Source
from homecare.figure.landmarks import on_skin
from homecare.figure.scene import ArrowPath, Posed, Scene, Target
from homecare.figure.skeleton import skeleton
from homecare.figure.solids import Ball, Box, Cord, Rod, Solid

TOKEN = re.compile(r"[A-Za-z]|-?\d+(?:\.\d+)?")
TAKES = {"M": 2, "l": 2, "q": 4, "a": 7, "z": 0}
"""Commands that a drawing uses, with how many numbers each takes."""
HERE = Source("test")
CALF = Surface(
    "calf",
    (("shank", -0.03, 0, -0.03, 0.018), ("shank", -0.045, 0, -0.13, 0.036), ("shank", -0.02, 0, -0.27, 0.010)),
    ("shank", -1, 0, 0),
    HERE,
)
HAMSTRING = Surface(
    "hamstring",
    (("thigh", -0.04, 0, -0.06, 0.016), ("thigh", -0.045, 0, -0.22, 0.036), ("thigh", -0.035, 0, -0.40, 0.012)),
    ("thigh", -1, 0, 0),
    HERE,
)
CHEST = Surface(
    "chest",
    (("thorax", 0.085, 0.02, 0, 0.03), ("thorax", 0.07, 0.09, 0.03, 0.034), ("upper_arm", 0.03, -0.01, -0.05, 0.014)),
    ("thorax", 1, 0.2, 0),
    HERE,
)
SCIATIC = Surface(
    "sciatic",
    (
        ("pelvis", -0.09, 0.05, 0.06, 0),
        ("thigh", -0.075, 0, -0.06, 0),
        ("thigh", -0.05, 0, -0.40, 0),
        ("shank", -0.05, 0, -0.06, 0),
        ("shank", -0.03, 0, -0.38, 0),
    ),
    ("thigh", -1, 0, 0),
    HERE,
)
FLOOR = Box("floor", (-1, -0.6, -0.94), (1, 0.6, -0.93), "floor")
THINGS: tuple[Solid, ...] = (
    Box("bench", (-0.5, 0.4, -0.6), (0.5, 0.9, -0.5), "furniture", yaw=20),
    Rod("stick", (-0.4, -0.5, 0.2), (0.4, -0.5, 0.3), 0.02, "stick"),
    Ball("ball", (0.5, -0.4, -0.8), 0.1),
    Cord("strap", ((0.3, -0.3, 0), (0.5, -0.3, -0.3), (0.4, -0.3, -0.6))),
)


def posed(angles: Mapping[str, float], stance: Stance = "upright", solids: tuple[Solid, ...] = (FLOOR,)) -> Posed:
    """A pose whose pelvis is where its angles put it."""
    return Posed(angles, skeleton(angles, stance), solids)


LUNGE = posed(
    {
        **{"root.pitch": 14, "right_hip.flex": -14, "right_ankle.df": 20},
        **{"left_hip.flex": 42, "left_knee.flex": 48, "left_ankle.df": 15},
        **{"right_shoulder.flex": 75, "left_shoulder.flex": 75, "right_wrist.flex": -60},
    }
)
BENT = posed({"right_hip.flex": 70, "right_knee.flex": 90, "left_elbow.flex": 60})
STRAIGHT = posed({"right_hip.flex": 70, "right_knee.flex": 5, "left_elbow.flex": 60})


def scene(
    end: Posed = STRAIGHT,
    start: Posed | None = None,
    view: tuple[float, float] = (-90.0, 0.0),
    crop: str = "",
    ghost: bool = False,
    targets: tuple[Surface, ...] = (),
    arrows: tuple[ArrowPath, ...] = (),
) -> Scene:
    """A scene of the right side."""
    return Scene(end, start, view, crop, ghost, tuple(Target(one, "right") for one in targets), arrows)


def on_the_way(start: Posed, end: Posed, count: int = 5) -> list[Posed]:
    """Poses from start to end, evenly by angle."""
    shares = np.linspace(0, 1, count)
    return [posed(between(start.angles, end.angles, float(share)), solids=end.solids) for share in shares]


def ankle_path(start: Posed = BENT, end: Posed = STRAIGHT) -> ArrowPath:
    """The way of the right ankle."""
    return ArrowPath(np.array([on_skin(one.body, "right_ankle")[0] for one in on_the_way(start, end, 9)]))


def ends(data: str) -> Iterator[list[tuple[int, int]]]:
    """The end points of each subpath of path data; fails on a command that the drawing does not use."""
    tokens = TOKEN.findall(data)
    at, x, y, letter = 0, 0, 0, ""
    found: list[tuple[int, int]] = []
    while at < len(tokens):
        if tokens[at].isalpha():
            letter = tokens[at]
            at += 1
        numbers = [int(one) for one in tokens[at : at + TAKES[letter]]]
        at += TAKES[letter]
        if letter == "M":
            if found:
                yield found
            x, y, found = numbers[0], numbers[1], [(numbers[0], numbers[1])]
        elif letter != "z":
            x, y = x + numbers[-2], y + numbers[-1]
            found.append((x, y))
    if found:
        yield found
