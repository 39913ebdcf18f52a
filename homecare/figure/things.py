"""The things of a scene as pieces: boxes, rods, balls and cords, in world places."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

import numpy as np

from homecare.figure.pieces import BALL, DISC, WORLD, Join, Piece, Prim
from homecare.figure.skeleton import Array
from homecare.figure.solids import Ball, Box, Cord, Rod, Solid

CORD_RADIUS = 0.013
_TINY = 1e-9
_FACES = ((0, 1, 3, 2), (4, 6, 7, 5), (0, 4, 5, 1), (2, 3, 7, 6), (0, 2, 6, 4), (1, 5, 7, 3))
"""Corner numbers of the faces -x, +x, -y, +y, -z, +z; a corner's bits are x, y, z."""


def corners(box: Box) -> Array:
    """World corners (8, 3) of a box, turned by its yaw."""
    low, high = np.asarray(box.low), np.asarray(box.high)
    bits = np.array([[i >> 2 & 1, i >> 1 & 1, i & 1] for i in range(8)])
    found = np.where(bits == 1, high, low).astype(float)
    if box.yaw:
        turn = np.radians(box.yaw)
        cos, sin = np.cos(turn), np.sin(turn)
        middle = (low[:2] + high[:2]) / 2
        found[:, :2] = (found[:, :2] - middle) @ np.array([[cos, sin], [-sin, cos]]) + middle
    return found


def faces(box: Box) -> tuple[tuple[Array, Array], ...]:
    """The six faces: outward normal (3,) and corners (4, 3)."""
    places = corners(box)
    middle = places.mean(axis=0)
    found = []
    for numbers in _FACES:
        face = places[list(numbers)]
        normal = np.cross(face[1] - face[0], face[2] - face[0])
        length = float(np.linalg.norm(normal)) or 1.0
        normal = normal / length
        found.append((normal if normal @ (face.mean(axis=0) - middle) > 0 else -normal, face))
    return tuple(found)


def _point(place: Sequence[float] | Array) -> tuple[float, float, float]:
    x, y, z = (float(one) for one in place)
    return x, y, z


def _cord(cord: Cord, name: str) -> list[Piece]:
    points = [*cord.points, cord.points[0]] if cord.closed else list(cord.points)
    found = []
    last = len(points) - 2
    for number, (a, b) in enumerate(pairwise(points)):
        joins = []
        if number > 0 or cord.closed:
            joins.append(Join(f"{name} {(number - 1) % (last + 1)}", WORLD, _point(a), CORD_RADIUS * 1.5))
        if number < last or cord.closed:
            joins.append(Join(f"{name} {(number + 1) % (last + 1)}", WORLD, _point(b), CORD_RADIUS * 1.5))
        prims = Prim(BALL, WORLD, _point(a), CORD_RADIUS), Prim(BALL, WORLD, _point(b), CORD_RADIUS)
        found.append(Piece(f"{name} {number}", "cord", prims, joins=tuple(joins), kind="cord"))
    return found


def solid_pieces(solids: Sequence[Solid]) -> tuple[list[Piece], dict[str, Solid]]:
    """Pieces of solids, and each piece's solid by name; names are made unlike each other by a number."""
    pieces: list[Piece] = []
    owners: dict[str, Solid] = {}
    for number, solid in enumerate(solids):
        name = f"{solid.name} #{number}"
        if isinstance(solid, Box):
            prims = tuple(Prim(BALL, WORLD, _point(one), 0.0) for one in corners(solid))
            found = [Piece(name, solid.stuff, prims, kind="box")]
        elif isinstance(solid, Rod):
            way = np.asarray(solid.b) - np.asarray(solid.a)
            normal = _point(way if float(np.linalg.norm(way)) > _TINY else np.array([0.0, 0.0, 1.0]))
            ends = tuple(Prim(DISC, WORLD, _point(one), solid.radius, normal) for one in (solid.a, solid.b))
            found = [Piece(name, solid.stuff, ends, kind="rod")]
        elif isinstance(solid, Ball):
            found = [Piece(name, solid.stuff, (Prim(BALL, WORLD, _point(solid.centre), solid.radius),), kind="ball")]
        else:
            found = _cord(solid, name)
        pieces += found
        owners |= {piece.name: solid for piece in found}
    return pieces, owners
