"""Paints arranged pieces: fills and strokes, things with their faces, the floor, and the pale start behind the end."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from homecare.figure import palette
from homecare.figure.arranging import Arranged
from homecare.figure.marks import clipped
from homecare.figure.outline import WAYS, Camera
from homecare.figure.pieces import DISC, Ints, Piece
from homecare.figure.skeleton import Array
from homecare.figure.solids import Ball, Box, Rod
from homecare.figure.strokes import Flags, Samples, sampled, stroked
from homecare.figure.svg import UNITS, Paper, line, polyline, smooth, whole, width
from homecare.figure.things import faces

_STEP_MM = 0.35
"""Distance between samples of a long edge on paper."""
_SHORTEST_MM = 0.5
"""Strokes shorter than this are specks, and are left out."""
_GHOST_MOVED_MM = 1.2
"""How far a piece must move on paper for its start to be worth a ghost."""
_PLANE_PAD_M = 0.10


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
        across = np.concatenate([np.stack([one.shapes.low, one.shapes.high]).reshape(-1, 2) for one in drawn])
        at = float(view.paper(np.array([0.0, 0.0, top]))[1])
        thick = 0.01
        del across
        return Floor(at, None, np.array([np.inf, at]), np.array([-np.inf, at + thick]))
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

    @property
    def window(self) -> tuple[Array, Array]:
        """Least and greatest place of the panel, in metres on paper."""
        low = np.array([self.paper.left, self.paper.top])
        return low, low + np.array([self.paper.width, self.paper.height]) / self.paper.scale

    def cut(self, points: Array) -> Array:
        """A polygon (k, 2) on paper, cut to the panel."""
        low, high = self.window
        ways = np.array([[1.0, 0], [0, 1], [-1, 0], [0, -1]])
        return clipped(points, np.array([*high, *(-low)]), ways)


@dataclass(frozen=True)
class _Plot:
    """A pose's samples in whole units, ready to be written."""

    one: Arranged
    samples: Samples
    keep: Flags
    points: list[list[int]]
    arcs: list[int]
    radii: list[float]
    whole_inside: Flags


def _plot(one: Arranged, brush: Brush, shown: Flags) -> _Plot:
    scale = brush.paper.scale
    samples = sampled(one.shapes, one.stack.kinds == DISC, _STEP_MM / scale)
    rank = one.rank
    pairs = one.pairs[shown[one.pairs].all(axis=1)]
    later = np.where((rank[pairs[:, 0]] < rank[pairs[:, 1]])[:, None], pairs, pairs[:, ::-1])
    keep = stroked(one.pieces, one.join_places, one.shapes, samples, rank, later, 0.2 / scale)
    low, high = brush.window
    keep &= (samples.paper > low).all(axis=1) & (samples.paper < high).all(axis=1)
    inside = np.asarray((one.shapes.low >= low).all(axis=1) & (one.shapes.high <= high).all(axis=1))
    unit_radii = (samples.radii * scale * UNITS).tolist()
    return _Plot(one, samples, keep, whole(brush.paper.units(samples.paper)), samples.arcs.tolist(), unit_radii, inside)


def _covered(one: Arranged) -> Flags:
    """Which pieces lie wholly behind one later piece, or have nothing to show."""
    one_way, other = one.pairs[:, 0], one.pairs[:, 1]
    reach = one.shapes.support
    found = np.zeros(len(one.pieces), bool)
    solid = np.array([piece.kind in ("body", "ball", "rod", "box") for piece in one.pieces])
    for a, b in ((one_way, other), (other, one_way)):
        within = (reach[a] <= reach[b] + 0.0005).all(axis=1) & (one.rank[b] > one.rank[a]) & solid[b]
        found[a[within]] = True
    return found


def _runs(keep: Flags) -> list[list[int]]:
    """Circular runs of kept samples, each with the sample before and after it, so that strokes meet."""
    count = len(keep)
    starts = np.flatnonzero(keep & ~np.roll(keep, 1))
    ends = np.flatnonzero(~keep & np.roll(keep, 1))
    found = []
    for start in starts.tolist():
        later = ends[ends > start]
        end = int(later[0]) if len(later) else int(ends[0]) + count
        found.append([i % count for i in range(start - 1, end + 1)])
    return found


def _stroke(plot: _Plot, i: int, sweep: int) -> str:
    a, b = int(plot.samples.starts[i]), int(plot.samples.starts[i + 1])
    found = []
    for run in _runs(plot.keep[a:b]):
        if len(run) < 2:
            continue
        points = [plot.points[a + k] for k in run]
        length = sum(abs(p[0] - q[0]) + abs(p[1] - q[1]) for p, q in pairwise(points))
        if length >= _SHORTEST_MM * UNITS:
            found.append(
                smooth(points, [plot.arcs[a + k] for k in run], [plot.radii[a + k] for k in run], sweep, False)
            )
    return "".join(found)


def _tint(piece: Piece, far: dict[str, float]) -> str:
    colour = palette.TINTS[piece.tint]
    share = far.get(piece.side, 0.0)
    return palette.mixed(colour, palette.FAR, share * palette.FAR_SHARE) if share and piece.tint == "skin" else colour


def _far(one: Arranged) -> dict[str, float]:
    """How far behind (0 to 1) each side of the body lies."""
    limbs = {
        side: float(np.mean([one.depth[i] for i, piece in enumerate(one.pieces) if piece.side == side] or [0.0]))
        for side in ("left", "right")
    }
    gap = limbs["right"] - limbs["left"]
    share = min(1.0, max(0.0, (abs(gap) - 0.06) / 0.08))
    return {"left" if gap > 0 else "right": share} if share else {}


def painted(one: Arranged, brush: Brush, floor: Floor | None, under: str, marks: dict[int, str]) -> str:
    """SVG of a pose with its things; `under` goes below the body, `marks` after the piece of their number."""
    shown = ~_covered(one)
    plot = _plot(one, brush, shown)
    far = _far(one)
    sweep = 0 if brush.paper.mirror else 1
    found = [_ground(floor, brush)] if floor is not None else []
    waiting = under
    for i in one.order:
        piece = one.pieces[i]
        if piece.tint == "floor" and piece.kind == "box":
            continue
        if piece.kind == "body" and waiting:
            found.append(waiting)
            waiting = ""
        if shown[i]:
            if piece.kind == "box":
                found.append(_box(one, i, brush))
            else:
                found.append(_piece(plot, i, _tint(piece, far), brush, sweep))
                found.append(_finish(one, i, brush))
        found.append(marks.get(i, ""))
    return "".join(found)


def _piece(plot: _Plot, i: int, tint: str, brush: Brush, sweep: int) -> str:
    one, piece = plot.one, plot.one.pieces[i]
    a, b = int(plot.samples.starts[i]), int(plot.samples.starts[i + 1])
    if plot.whole_inside[i]:
        points, arcs, radii = plot.points[a:b], plot.arcs[a:b], plot.radii[a:b]
        shape = smooth([*points, points[0]], [*arcs, -1], [*radii, 0.0], sweep, True)
    else:
        part = brush.cut(one.shapes.paper[i])
        if len(part) < 3:
            return ""
        places = brush.paper.units(part)
        shape = polyline(np.vstack([places, places[:1]]), closed=True)
    thing = "" if piece.kind == "body" else f' stroke="{palette.PROP_INK}" stroke-width="{width(palette.PROP_MM)}"'
    if piece.outlined and plot.whole_inside[i] and plot.keep[a:b].all():
        return f'<path fill="{tint}"{thing} d="{shape}"/>'
    text = f'<path fill="{tint}" stroke="none" d="{shape}"/>'
    stroke = _stroke(plot, i, sweep) if piece.outlined else ""
    return text + (f'<path{thing} d="{stroke}"/>' if stroke else "")


def _finish(one: Arranged, i: int, brush: Brush) -> str:
    """The end of a rod, the light on a ball."""
    solid = one.solids.get(one.pieces[i].name)
    tint = palette.TINTS[one.pieces[i].tint]
    if isinstance(solid, Ball):
        x, y = brush.paper.units(brush.view.paper(np.asarray(solid.centre))).tolist()
        r = solid.radius * brush.paper.scale * UNITS
        turn = 1 if brush.paper.mirror else -1
        return f'<circle cx="{x + turn * 0.3 * r:.0f}" cy="{y - 0.35 * r:.0f}" r="{0.22 * r:.0f}" fill="#fff" stroke="none"/>'
    if isinstance(solid, Rod) and solid.radius * brush.paper.scale > 0.6:
        along = np.asarray(solid.b) - np.asarray(solid.a)
        along = along / (float(np.linalg.norm(along)) or 1.0)
        end = np.asarray(solid.b if along @ brush.view.near > 0 else solid.a)
        if abs(float(along @ brush.view.near)) < 0.05:
            return ""
        ways = WAYS[::4, :1] * brush.view.right - WAYS[::4, 1:] * brush.view.up
        flat = ways - (ways @ along)[:, None] * along
        rim = flat / np.maximum(np.linalg.norm(flat, axis=1, keepdims=True), 1e-9) * solid.radius
        found = ""
        for share, light in ((1.0, 0.35), (0.4, 0.8)):
            ring = brush.paper.units(brush.view.paper(end + rim * share))
            colour = palette.mixed(tint, "#ffffff", light)
            shape = polyline(np.vstack([ring, ring[:1]]), closed=True)
            found += f'<path fill="{colour}" stroke="{palette.PROP_INK}" stroke-width="{width(palette.PROP_MM)}" d="{shape}"/>'
        return found
    return ""


def _box(one: Arranged, i: int, brush: Brush) -> str:
    solid = one.solids[one.pieces[i].name]
    if not isinstance(solid, Box):
        return ""
    tint, found = palette.TINTS[one.pieces[i].tint], ""
    for normal, corner in faces(solid):
        towards = float(normal @ brush.view.near)
        if towards < 0.02:
            continue
        part = brush.cut(brush.view.paper(corner))
        if len(part) < 3:
            continue
        shade = 0.0 if normal[2] > 0.5 or towards > 0.97 else 0.12 if abs(normal[0]) > 0.5 else 0.22
        places = brush.paper.units(part)
        shape = line(whole(places), closed=True)
        found += f'<path fill="{palette.mixed(tint, palette.PROP_INK, shade)}" d="{shape}"/>'
    return f'<g stroke="{palette.PROP_INK}" stroke-width="{width(palette.PROP_MM)}">{found}</g>' if found else ""


def _ground(floor: Floor, brush: Brush) -> str:
    low, high = brush.window
    if floor.corners is not None:
        part = brush.cut(floor.corners)
        if len(part) < 3:
            return ""
        shape = line(whole(brush.paper.units(part)), closed=True)
        edge = palette.mixed(palette.TINTS["floor"], palette.PROP_INK, 0.35)
        return f'<path fill="{palette.TINTS["floor"]}" stroke="{edge}" stroke-width="{width(palette.PROP_MM)}" d="{shape}"/>'
    if not low[1] <= floor.level <= high[1]:
        return ""
    inset = 0.25 / brush.paper.scale
    at = floor.level + 0.25 / brush.paper.scale
    ends = brush.paper.units(np.array([[low[0] + inset, at], [high[0] - inset, at]]))
    return f'<path stroke="{palette.PROP_INK}" stroke-width="{width(palette.FLOOR_MM)}" d="{line(whole(ends))}"/>'


def ghost(start: Arranged, end: Arranged, brush: Brush) -> str:
    """SVG of the start's pieces that move, pale."""
    number = {piece.name: i for i, piece in enumerate(end.pieces)}
    rows: Ints = np.arange(len(start.pieces))
    moved = np.zeros(len(rows), bool)
    for i, piece in enumerate(start.pieces):
        j = number.get(piece.name)
        if j is not None:
            far = np.abs(start.shapes.paper[i] - end.shapes.paper[j]).max()
            moved[i] = far * brush.paper.scale > _GHOST_MOVED_MM and piece.tint != "eye"
    plot = _plot(start, brush, moved)
    sweep = 0 if brush.paper.mirror else 1
    found = "".join(_piece(plot, i, palette.TINTS["ghost"], brush, sweep) for i in start.order if moved[i])
    return f'<g stroke="{palette.GHOST_INK}">{found}</g>' if found else ""
