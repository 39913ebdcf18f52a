"""Arrows on paper: bent as their path bends, moved off the body, with solid heads on a white casing."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from homecare.figure import palette
from homecare.figure.outline import WAYS, Camera, along
from homecare.figure.scene import ArrowPath
from homecare.figure.skeleton import Array
from homecare.figure.svg import UNITS, Paper, line, polyline, whole, width

SHORTEST_MM, LONGEST_MM = 5.5, 16.0
_POINTS = 13
_STEPS_MM = (0.0, 1.5, 3.0, 4.5, 6.0, 8.0, 10.0)
_CLEAR_MM = 1.3
_COARSE = WAYS[::6]
_RING = WAYS[::6]


def _even(points: Array) -> Array:
    """The same path with evenly spaced points."""
    length = np.concatenate([[0], np.cumsum(np.linalg.norm(np.diff(points, axis=0), axis=1))])
    if length[-1] < 1e-9:
        return np.repeat(points[:1], _POINTS, axis=0)
    at = np.linspace(0, length[-1], _POINTS)
    return np.stack([np.interp(at, length, points[:, axis]) for axis in (0, 1)], axis=1)


def laid(arrow: ArrowPath, view: Camera, scale: float) -> Array:
    """The arrow's path on paper (13, 2) in metres, long enough to be seen and no longer than is needed."""
    points = _even(view.paper(np.asarray(arrow.points, float)))
    length = float(np.linalg.norm(np.diff(points, axis=0), axis=1).sum()) * scale
    if length < 1e-6:
        return points
    if length < SHORTEST_MM:
        middle = points.mean(axis=0)
        return np.asarray(middle + (points - middle) * (SHORTEST_MM / length))
    if length > LONGEST_MM and not arrow.both_ways:
        # The last stretch tells where the movement ends.
        keep = max(3, round(_POINTS * LONGEST_MM / length))
        return _even(points[-keep:])
    return points


def moved_off(points: Array, taken: Array, scale: float, others: Sequence[Array], floor: float = np.inf) -> Array:
    """The path moved to the nearest place where it covers least.

    `taken` are support values (pieces, 96), `others` arrows already placed, `floor` a level floor's height.
    """
    reach = taken[:, ::6] + _CLEAR_MM / scale
    places = along(points[::2], _COARSE)
    best, least = points, np.inf
    for far in _STEPS_MM:
        # A farther ring costs at least its distance.
        if far >= least:
            break
        shifts = (_RING if far else _RING[:1]) * (far / scale)
        at = places[None] + along(shifts, _COARSE)[:, None]
        covered = ((at[:, :, None] - reach).max(axis=3) <= 0).any(axis=2).mean(axis=1)
        cost = covered * 14.0 + far
        lowest = points[:, 1].max() + shifts[:, 1] + 0.6 * palette.ARROW_HEAD_MM / scale
        cost += np.where(lowest > floor, 20.0, 0.0)
        for other in others:
            apart = np.linalg.norm((points + shifts[:, None])[:, :, None] - other, axis=3).min(axis=(1, 2))
            cost += np.where(apart * scale < 2.5, 12.0, 0.0)
        pick = int(np.argmin(cost))
        if cost[pick] < least:
            best, least = points + shifts[pick], float(cost[pick])
    return best


def _head(points: Array, length: float) -> tuple[Array, Array]:
    """A head (3, 2) at the end of a path in units, and the path cut back to it."""
    away = np.linalg.norm(points - points[-1], axis=1)
    inner = int(np.flatnonzero(away >= length * 0.95)[-1]) if (away >= length * 0.95).any() else 0
    base = points[inner]
    way = points[-1] - base
    far = float(np.linalg.norm(way)) or 1.0
    way = way / far
    side = np.array([-way[1], way[0]]) * length * 0.5
    foot = points[-1] - way * length
    return np.array([foot + side, points[-1], foot - side]), np.vstack([points[: inner + 1], foot + way * 0.2 * length])


def svg(points: Array, both_ways: bool, paper: Paper) -> str:
    """SVG of one arrow along places on paper."""
    places = paper.units(points)
    whole_length = float(np.linalg.norm(np.diff(places, axis=0), axis=1).sum())
    length = min(palette.ARROW_HEAD_MM * UNITS, whole_length * 0.45)
    head, shaft = _head(places, length)
    heads = [head]
    if both_ways:
        back, turned = _head(shaft[::-1], length)
        heads.append(back)
        shaft = turned[::-1]
    stem = polyline(shaft)
    tips = "".join(line(whole(one), closed=True) for one in heads)
    casing = width(palette.ARROW_MM + 2 * palette.CASING_MM)
    wide, thin = width(2 * palette.CASING_MM), width(palette.ARROW_MM)
    return (
        f'<g stroke="{palette.CASING}"><path stroke-width="{casing}" d="{stem}"/>'
        f'<path stroke-width="{wide}" d="{tips}"/></g>'
        f'<g stroke="{palette.MARK}"><path stroke-width="{thin}" d="{stem}"/>'
        f'<path fill="{palette.MARK}" stroke="none" d="{tips}"/></g>'
    )
