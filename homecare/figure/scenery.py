"""The panel that is painted on, and what it shows besides the body: the ground, boxes, rods, balls and cords."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from homecare.figure import palette
from homecare.figure.arranging import Arranged
from homecare.figure.outline import WAYS, Camera
from homecare.figure.skeleton import Array
from homecare.figure.solids import Ball, Box, Rod, Solid
from homecare.figure.svg import UNITS, Paper, line, polyline, whole, width
from homecare.figure.things import faces

_LINE_M = 0.01
"""Room below the feet for the line of the floor."""
_PLANE_PAD_M = 0.10
"""How far a ground seen from above reaches beyond the body."""
_PLANE_EDGE = palette.mixed(palette.TINTS["floor"], palette.PROP_INK, 0.35)
_END_SEEN_MM = 0.6
"""Radius on paper from which the end of a rod is drawn."""


@dataclass(frozen=True)
class Floor:
    """The ground as seen: a line at the height `level` on paper, or a plane with these corners (4, 2) on paper."""

    level: float
    corners: Array | None
    low: Array
    high: Array


def floor_of(drawn: Sequence[Arranged], view: Camera, level: bool) -> Floor | None:
    """The ground of a scene where it has one, under all its poses."""
    boxes = [
        solid for one in drawn for solid in one.solids.values() if isinstance(solid, Box) and solid.stuff == "floor"
    ]
    if not boxes:
        return None
    top = max(box.high[2] for box in boxes)
    spots = np.concatenate([one.body.origins[0] for one in drawn])
    if level:
        at = float(view.paper(np.array([0.0, 0.0, top]))[1])
        return Floor(at, None, np.array([np.inf, at]), np.array([-np.inf, at + _LINE_M]))
    low, high = spots[:, :2].min(axis=0) - _PLANE_PAD_M, spots[:, :2].max(axis=0) + _PLANE_PAD_M
    plane = np.array([(low[0], low[1], top), (high[0], low[1], top), (high[0], high[1], top), (low[0], high[1], top)])
    corners = view.paper(plane)
    return Floor(float(corners[:, 1].max()), corners, corners.min(axis=0), corners.max(axis=0))


@dataclass(frozen=True)
class Brush:
    """Paints on one panel."""

    paper: Paper
    view: Camera

    def group(self, body: str) -> str:
        """The panel's parts in the group that holds what most strokes share."""
        return (
            f'<g fill="none" stroke="{palette.INK}" stroke-width="{width(palette.OUTLINE_MM)}"'
            f' stroke-linejoin="round" stroke-linecap="round">{body}</g>'
        )


def thing(solid: Solid, stuff: str, shape: str, edge: str, brush: Brush) -> str:
    """SVG of a rod, ball or cord from the path data of its outline and of the edge that is stroked."""
    tint, found = palette.TINTS[stuff], ""
    if shape and shape == edge:
        found = f'<path fill="{tint}" d="{shape}"/>'
    elif shape:
        found = f'<path fill="{tint}" stroke="none" d="{shape}"/>' + (f'<path d="{edge}"/>' if edge else "")
    if isinstance(solid, Ball):
        x, y = brush.paper.units(brush.view.paper(np.asarray(solid.centre))).tolist()
        r = solid.radius * brush.paper.scale * UNITS
        left = x + (0.3 if brush.paper.mirror else -0.3) * r
        light = f'cx="{left:.0f}" cy="{y - 0.35 * r:.0f}" r="{0.22 * r:.0f}"'
        found += f'<circle {light} fill="{palette.CASING}" stroke="none"/>'
    elif isinstance(solid, Rod) and solid.radius * brush.paper.scale > _END_SEEN_MM:
        found += _rod_end(solid, tint, brush)
    return found


def _rod_end(rod: Rod, tint: str, brush: Brush) -> str:
    """The round end that faces the eye, with its hollow."""
    along = np.asarray(rod.b) - np.asarray(rod.a)
    along = along / (float(np.linalg.norm(along)) or 1.0)
    if abs(float(along @ brush.view.near)) < 0.05:
        return ""
    end = np.asarray(rod.b if along @ brush.view.near > 0 else rod.a)
    ways = WAYS[::4, :1] * brush.view.right - WAYS[::4, 1:] * brush.view.up
    flat = ways - (ways @ along)[:, None] * along
    rim = flat / np.maximum(np.linalg.norm(flat, axis=1, keepdims=True), 1e-9) * rod.radius
    found = ""
    for share, light in ((1.0, 0.35), (0.4, 0.8)):
        part = brush.paper.cut(brush.view.paper(end + rim * share))
        if len(part) > 2:
            ring = brush.paper.units(part)
            shape = polyline(np.vstack([ring, ring[:1]]), closed=True)
            found += f'<path fill="{palette.mixed(tint, "#ffffff", light)}" d="{shape}"/>'
    return found


def box(solid: Box, brush: Brush) -> str:
    """SVG of the faces of a box that are seen; upright ones are darker, so that edges show."""
    tint, found = palette.TINTS[solid.stuff], ""
    for normal, corner in faces(solid):
        towards = float(normal @ brush.view.near)
        if towards < 0.02:
            continue
        part = brush.paper.cut(brush.view.paper(corner))
        if len(part) < 3:
            continue
        shade = 0.0 if normal[2] > 0.5 or towards > 0.97 else 0.12 if abs(normal[0]) > 0.5 else 0.22
        shape = line(whole(brush.paper.units(part)), closed=True)
        found += f'<path fill="{palette.mixed(tint, palette.PROP_INK, shade)}" d="{shape}"/>'
    return found


def ground(floor: Floor, brush: Brush) -> str:
    """SVG of the floor: a line, or a plane where it is seen from above."""
    low, high = brush.paper.window
    if floor.corners is not None:
        part = brush.paper.cut(floor.corners)
        if len(part) < 3:
            return ""
        shape = line(whole(brush.paper.units(part)), closed=True)
        edge = f'stroke="{_PLANE_EDGE}" stroke-width="{width(palette.PROP_MM)}"'
        return f'<path fill="{palette.TINTS["floor"]}" {edge} d="{shape}"/>'
    if not low[1] <= floor.level <= high[1]:
        return ""
    half = palette.FLOOR_MM / 2 / brush.paper.scale
    at = floor.level + half
    ends = brush.paper.units(np.array([[low[0] + half, at], [high[0] - half, at]]))
    return f'<path stroke="{palette.PROP_INK}" stroke-width="{width(palette.FLOOR_MM)}" d="{line(whole(ends))}"/>'
