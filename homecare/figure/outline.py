"""Outlines of all pieces at once: the support function of their primitives, as array operations."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from homecare.figure.pieces import BALL, CAP, Ints, Stack
from homecare.figure.skeleton import Array

DIRECTIONS = 96
_TURN = 2 * np.pi * np.arange(DIRECTIONS) / DIRECTIONS
WAYS: Array = np.stack([np.cos(_TURN), np.sin(_TURN)], axis=1)
"""Outward directions (96, 2) on paper, y down."""


@dataclass(frozen=True)
class Camera:
    """A view without perspective: `right` and `up` on paper and `near` to the eye, unit vectors of the world."""

    right: Array
    up: Array
    near: Array

    def paper(self, points: Array) -> Array:
        """Places on paper (..., 2) in metres, y down, of world points (..., 3)."""
        return np.stack([points @ self.right, -(points @ self.up)], axis=-1)


def camera(azimuth: float, elevation: float) -> Camera:
    """The view from an azimuth and elevation in degrees; -90, 0 looks from the athlete's right."""
    a, e = np.radians(azimuth), np.radians(elevation)
    near = np.array([np.cos(e) * np.cos(a), np.cos(e) * np.sin(a), np.sin(e)])
    right = np.array([-np.sin(a), np.cos(a), 0.0])
    return Camera(right, np.cross(near, right), near)


def _reach(stack: Stack, ways: Array) -> tuple[Array, Array, Array]:
    """How far each primitive reaches in each world direction (prims, ways), with what its extreme point is made of.

    That point is the centre plus the first factor times the direction plus the second times the normal.
    """
    along = stack.normals @ ways.T
    radius, height = stack.radii[:, None], stack.heights[:, None]
    round_ = (stack.kinds == BALL)[:, None] | ((stack.kinds == CAP)[:, None] & (along * radius >= height))
    flat = np.where((stack.kinds == CAP)[:, None], np.sqrt(np.maximum(radius**2 - height**2, 0)), radius)
    cross = np.sqrt(np.maximum(1 - along**2, 1e-12))
    by_way = np.where(round_, radius, flat / cross)
    by_normal = np.where(round_, 0.0, height - by_way * along)
    value = stack.centres @ ways.T + by_way + by_normal * along
    return value, by_way, by_normal


def support(stack: Stack, ways: Array) -> Array:
    """How far each piece reaches in each world direction: (pieces, ways)."""
    best: Array = np.maximum.reduceat(_reach(stack, ways)[0], stack.starts[:-1], axis=0)
    return best


@dataclass(frozen=True)
class Outlines:
    """The outlines of n pieces in 96 directions: paper and world points, support values, and which primitive made each.

    `arcs` is the radius of the ball that a point lies on, 0 where it lies on a flat edge.
    """

    paper: Array
    world: Array
    support: Array
    prims: Ints
    arcs: Array

    @cached_property
    def low(self) -> Array:
        """Least x and y of each piece on paper."""
        lowest: Array = self.paper.min(axis=1)
        return lowest

    @cached_property
    def high(self) -> Array:
        """Greatest x and y of each piece on paper."""
        highest: Array = self.paper.max(axis=1)
        return highest

    @cached_property
    def edges(self) -> tuple[Array, Array, Array]:
        """Unit normals of all edges, x and y, and how far the edges lie along them: each (n, 96)."""
        step = np.roll(self.paper, -1, axis=1) - self.paper
        length = np.sqrt((step**2).sum(axis=2))
        real = length > 1e-7
        safe = np.where(real, length, 1.0)
        across, down = np.where(real, step[..., 1], 0.0) / safe, np.where(real, -step[..., 0], 0.0) / safe
        reach = across * self.paper[..., 0] + down * self.paper[..., 1]
        return across, down, np.where(real, reach, np.inf)


def outlines(stack: Stack, view: Camera) -> Outlines:
    """The outline of every piece as seen."""
    ways = WAYS[:, :1] * view.right - WAYS[:, 1:] * view.up
    value, by_way, by_normal = _reach(stack, ways)
    best = np.maximum.reduceat(value, stack.starts[:-1], axis=0)
    counts = np.diff(stack.starts)
    row = np.arange(len(value))[:, None]
    winner = np.where(value >= np.repeat(best, counts, axis=0) - 1e-9, row, len(value))
    prims = np.minimum.reduceat(winner, stack.starts[:-1], axis=0)
    column = np.arange(DIRECTIONS)[None]
    way, normal = by_way[prims, column], by_normal[prims, column]
    world = stack.centres[prims] + way[..., None] * ways + normal[..., None] * stack.normals[prims]
    is_round = np.abs(normal) < 1e-12
    arcs = np.where(is_round & (stack.kinds[prims] != 1), stack.radii[prims], 0.0)
    return Outlines(view.paper(world), world, best, prims, arcs)


FEW = 256
"""So many points are held to all edges at once: arrays of thousands would not stay in the processor's own memory."""


def along(points: Array, ways: Array = WAYS) -> Array:
    """How far places on paper (..., 2) lie along directions (k, 2): (..., k). Plain sums wake no threads."""
    found: Array = points[..., :1] * ways[:, 0] + points[..., 1:] * ways[:, 1]
    return found


def inside(points: Array, shapes: Outlines, pieces: Ints, margin: float = 0.0) -> NDArray[np.bool_]:
    """Whether each of the points (k, 2) lies inside the outline of its piece (k,), by at least a margin in metres.

    Measured from the outline's edges: between two directions the support values would let a long edge bulge.
    """
    found = np.zeros(len(points), bool)
    low, high = shapes.low, shapes.high
    rows = np.flatnonzero(((points > low[pieces]) & (points < high[pieces])).all(axis=1))
    rough = (along(points[rows], WAYS[::8]) - shapes.support[pieces[rows], ::8]).max(axis=1) <= -margin
    rows = rows[rough]
    across, down, reach = shapes.edges
    for start in range(0, len(rows), FEW):
        some = rows[start : start + FEW]
        at = pieces[some]
        off = points[some, :1] * across[at] + points[some, 1:] * down[at] - reach[at]
        found[some] = off.max(axis=1) <= -margin
    return found


def clipped(polygon: Array, reach: Array, ways: Array = WAYS) -> Array:
    """The part (k, 2) of a polygon inside a convex outline with these support values; k is 0 when there is none."""
    found = polygon
    out = (along(found, ways) - reach > 0).any(axis=0)
    for number in np.flatnonzero(out):
        off = along(found, ways[number : number + 1])[:, 0] - reach[number]
        if not (off > 0).any():
            continue
        if (off > 0).all():
            return found[:0]
        after, off_after = np.concatenate([found[1:], found[:1]]), np.concatenate([off[1:], off[:1]])
        crosses = (off > 0) != (off_after > 0)
        share = np.where(crosses, off / np.where(crosses, off - off_after, 1.0), 0.0)[:, None]
        both = np.stack([found, found + (after - found) * share], axis=1)
        found = both[np.stack([off <= 0, crosses], axis=1)]
    return found
