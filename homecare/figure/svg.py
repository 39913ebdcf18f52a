"""SVG text: paths of whole numbers, relative and short, with presentation attributes alone."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from html import escape
from itertools import pairwise

import numpy as np

from homecare.figure.outline import DIRECTIONS, clipped
from homecare.figure.skeleton import Array

UNITS = 25
"""Units of a picture in one millimetre."""
THIN_UNITS = 0.6
"""How far a thinned line may stray, in units."""
_SIDES = np.array([[1.0, 0], [0, 1], [-1, 0], [0, -1]])
_LONGEST_ARC = 38
"""Directions in one arc: 142 degrees, so that its flags never change."""
_SPECK = 6
"""Squared units that a step along a ball must pass to be bent."""
_BENT_ENOUGH = 1.0
"""A chord longer than its radius (60 degrees) is an arc; a shorter one is a parabola, which takes fewer characters."""


@dataclass(frozen=True)
class Paper:
    """From metres on paper to units: millimetres for one metre, left and top edge in metres, width and height in mm."""

    scale: float
    left: float
    top: float
    width: float
    height: float
    mirror: bool

    @property
    def window(self) -> tuple[Array, Array]:
        """Least and greatest place of the panel, in metres on paper."""
        low = np.array([self.left, self.top])
        return low, low + np.array([self.width, self.height]) / self.scale

    def cut(self, points: Array) -> Array:
        """A polygon (k, 2) on paper, cut to the panel."""
        low, high = self.window
        return clipped(points, np.array([*high, *(-low)]), _SIDES)

    def units(self, points: Array) -> Array:
        """Places in units (..., 2), not yet rounded."""
        found: Array = (points - np.array([self.left, self.top])) * (self.scale * UNITS)
        if self.mirror:
            found[..., 0] = self.width * UNITS - found[..., 0]
        return found


def _text(numbers: Sequence[int]) -> str:
    return "".join(f"{n}" if n < 0 or i == 0 else f" {n}" for i, n in enumerate(numbers))


def line(points: Sequence[Sequence[int]], closed: bool = False) -> str:
    """Path data of a polyline of whole numbers; repeated points are left out."""
    found = [f"M{_text(points[0])}"]
    for (x, y), (px, py) in pairwise(points):
        if (px, py) != (x, y):
            found.append("l" + _text((px - x, py - y)))
    return _close_up(found) + ("z" if closed else "")


def smooth(
    points: Sequence[Sequence[int]],
    arcs: Sequence[int],
    radii: Sequence[float],
    turns: Sequence[int],
    sweep: int,
    closed: bool,
) -> str:
    """Path data along samples: arcs where neighbours lie on one ball, and straight lines.

    `arcs[i]` tells the ball on which samples i and i + 1 lie, or is below -1 to name a straight edge that may be joined
    with the next sample's, or -1. `turns` are their directions, of 96.
    """
    x, y = points[0]
    found = [f"M{_text((x, y))}"]
    straight: list[Sequence[int]] = [(x, y)]
    i, end = 0, len(points) - 1
    while i < end:
        kind = arcs[i]
        j = i + 1
        if kind != -1:
            turn = turns[i]
            while j < end and arcs[j] == kind and (kind < 0 or (turns[j] - turn) % DIRECTIONS < _LONGEST_ARC):
                j += 1
        px, py = points[j]
        dx, dy = px - x, py - y
        chord, radius = dx * dx + dy * dy, radii[i]
        if kind >= 0 and chord > max(8 * radius, _SPECK):
            _straight(straight, found)
            found.append(_arc(dx, dy, chord, radius, sweep))
            straight = [(px, py)]
            x, y = px, py
        elif chord:
            straight.append((px, py))
            x, y = px, py
        i = j
    _straight(straight, found)
    return _close_up(found) + ("z" if closed else "")


def _straight(points: Sequence[Sequence[int]], found: list[str]) -> None:
    """Append the steps of a polyline, thinned."""
    thin = thinned(points)
    for (x, y), (px, py) in pairwise(thin):
        if px != x or py != y:
            found.append("l" + _text((int(px - x), int(py - y))))


def _arc(dx: int, dy: int, chord: int, radius: float, sweep: int) -> str:
    """A step along a ball of a radius: an arc where it bends much, else a parabola; `chord` is the step squared."""
    if chord > _BENT_ENOUGH * radius * radius:
        r = round(radius)
        return f"a{r} {r} 0 0 {sweep} {_text((dx, dy))}"
    rise = 0.5 * (chord / (4 * radius * radius - chord)) ** 0.5 * (1 if sweep else -1)
    return "q" + _text((round(dx / 2 + dy * rise), round(dy / 2 - dx * rise), dx, dy))


def _close_up(steps: Sequence[str]) -> str:
    """Steps as path data; a letter that repeats is left out."""
    found, last = [], ""
    for step in steps:
        letter = step[0]
        if letter == last:
            found.append(step[1:] if step[1] == "-" else " " + step[1:])
        else:
            found.append(step)
        last = letter
    return "".join(found)


def thinned(points: Sequence[Sequence[float]], tolerance: float = THIN_UNITS) -> list[Sequence[float]]:
    """A polyline with fewer points that strays at most the tolerance (Douglas and Peucker)."""
    if len(points) < 3:
        return list(points)
    (ax, ay), (bx, by) = points[0], points[-1]
    dx, dy = bx - ax, by - ay
    length = (dx * dx + dy * dy) ** 0.5
    worst, at = 0.0, 0
    for i in range(1, len(points) - 1):
        px, py = points[i][0] - ax, points[i][1] - ay
        off = abs(px * dy - py * dx) / length if length > 1e-9 else (px * px + py * py) ** 0.5
        if off > worst:
            worst, at = off, i
    if worst <= tolerance:
        return [points[0], points[-1]]
    return thinned(points[: at + 1], tolerance)[:-1] + thinned(points[at:], tolerance)


def whole(points: Array) -> list[list[int]]:
    """Points as lists of whole numbers."""
    found: list[list[int]] = np.rint(points).astype(np.int64).tolist()
    return found


def polyline(points: Array, closed: bool = False) -> str:
    """Path data of points in units, thinned and rounded."""
    thin = thinned(points.tolist())
    return line([[round(x), round(y)] for x, y in thin], closed)


def width(mm: float) -> str:
    """A stroke width in units, as text."""
    return f"{mm * UNITS:g}"


def document(width_mm: float, height_mm: float, body: str, alt: str) -> str:
    """A whole SVG with its alternative text, sized in millimetres."""
    words = escape(alt, quote=True)
    w, h = round(width_mm * UNITS), round(height_mm * UNITS)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {w} {h}" width="{width_mm:g}mm" height="{height_mm:g}mm"'
        f' role="img" aria-label="{words}"><title>{words}</title>{body}</svg>'
    )
