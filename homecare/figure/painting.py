"""Paints arranged pieces far to near: fills, strokes, targets, and the pale start behind the end."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from homecare.figure import palette
from homecare.figure.arranging import Arranged
from homecare.figure.canvas import Canvas
from homecare.figure.marks import Marks
from homecare.figure.pieces import DISC, Piece
from homecare.figure.scenery import Brush, Floor, box, ground, thing
from homecare.figure.solids import Box
from homecare.figure.strokes import MELT_M, Flags, Samples, needless, sampled, stroked
from homecare.figure.svg import UNITS, polyline, smooth, whole

_STEP_MM = 0.24
"""Distance between samples of a long edge on paper: no more than a stroke's width, so that strokes that end meet."""
_MELT_MM = 0.04
_SHORTEST_MM = 0.5
"""Strokes shorter than this are specks, and are left out."""
_EDGE_MM = 0.35
"""Strokes end this far from the edge of the panel."""
_GHOST_MOVED_MM = 1.2
"""How far a piece must move on paper for its start to be worth a ghost."""


@dataclass(frozen=True)
class _Plot:
    """A pose's samples in whole units, ready to be written."""

    one: Arranged
    samples: Samples
    keep: Flags
    melted: Flags
    needed: list[bool]
    points: list[list[int]]
    arcs: list[int]
    radii: list[float]
    turns: list[int]
    whole_inside: Flags


def _plot(one: Arranged, brush: Brush, shown: Flags) -> _Plot:
    scale = brush.paper.scale
    lined = np.array([piece.kind != "box" for piece in one.pieces])
    samples = sampled(one.shapes, one.stack.kinds == DISC, shown & lined, _STEP_MM / scale)
    rank = one.rank
    pairs = one.pairs[shown[one.pairs].all(axis=1)]
    later = np.where((rank[pairs[:, 0]] < rank[pairs[:, 1]])[:, None], pairs, pairs[:, ::-1])
    keep, melted, behind = stroked(
        one.pieces, one.join_places, one.shapes, samples, rank, later, min(MELT_M, _MELT_MM / scale)
    )
    low, high = brush.paper.window
    edge = _EDGE_MM / scale
    keep &= (samples.paper > low + edge).all(axis=1) & (samples.paper < high - edge).all(axis=1)
    inside = np.asarray((one.shapes.low >= low).all(axis=1) & (one.shapes.high <= high).all(axis=1))
    unit_radii = (samples.radii * scale * UNITS).tolist()
    points = whole(brush.paper.units(samples.paper))
    needed = (~needless(behind, samples.starts)).tolist()
    arcs, turns = samples.arcs.tolist(), samples.turns.tolist()
    return _Plot(one, samples, keep, melted, needed, points, arcs, unit_radii, turns, inside)


def covered(one: Arranged) -> Flags:
    """Which pieces lie wholly behind one later piece, or have nothing to show."""
    one_way, other = one.pairs[:, 0], one.pairs[:, 1]
    reach = one.shapes.support
    found = np.zeros(len(one.pieces), bool)
    solid = np.array([piece.kind in ("body", "ball", "rod", "box") for piece in one.pieces])
    for a, b in ((one_way, other), (other, one_way)):
        within = (reach[a] <= reach[b] + 0.0005).all(axis=1) & (one.rank[b] > one.rank[a]) & solid[b]
        found[a[within]] = True
    return found


def _runs(keep: Flags, melted: Flags) -> list[list[int]]:
    """Circular runs of kept samples, each with its melted neighbours, so that strokes meet."""
    count = len(keep)
    starts = np.flatnonzero(keep & ~np.roll(keep, 1))
    ends = np.flatnonzero(~keep & np.roll(keep, 1))
    found = []
    for start in starts.tolist():
        later = ends[ends > start]
        end = int(later[0]) if len(later) else int(ends[0]) + count
        before, after = int(melted[start - 1]), int(melted[end % count])
        found.append([i % count for i in range(start - before, end + after)])
    return found


def _stroke(plot: _Plot, i: int, sweep: int) -> str:
    """Path data of the parts of a piece's outline that are stroked."""
    a, b = int(plot.samples.starts[i]), int(plot.samples.starts[i + 1])
    if _is_whole(plot, i):
        return _closed(plot, a, b, sweep)
    found = []
    for run in _runs(plot.keep[a:b], plot.melted[a:b]):
        rows = [a + k for k in run]
        points = [plot.points[k] for k in rows]
        length = sum(abs(p[0] - q[0]) + abs(p[1] - q[1]) for p, q in pairwise(points))
        if length >= _SHORTEST_MM * UNITS:
            arcs, radii, turns = (
                [plot.arcs[k] for k in rows],
                [plot.radii[k] for k in rows],
                [plot.turns[k] for k in rows],
            )
            found.append(smooth(points, arcs, radii, turns, sweep, False))
    return "".join(found)


def _is_whole(plot: _Plot, i: int) -> bool:
    """Whether a piece's outline is stroked all round."""
    return bool(plot.keep[plot.samples.starts[i] : plot.samples.starts[i + 1]].all())


def _closed(plot: _Plot, a: int, b: int, sweep: int) -> str:
    """Path data of a whole outline, straight where what is cut off lies behind another piece."""
    rows = [k for k in range(a, b) if plot.needed[k]]
    if not rows:  # all of it lies behind other pieces
        return ""
    rows.append(rows[0])
    arcs = [plot.arcs[k] if after == k + 1 else -1 for k, after in pairwise(rows)]
    if rows[-2] == b - 1 and rows[0] == a:
        arcs[-1] = plot.arcs[b - 1]
    points, radii, turns = [plot.points[k] for k in rows], [plot.radii[k] for k in rows], [plot.turns[k] for k in rows]
    return smooth(points, [*arcs, -1], radii, turns, sweep, True)


def tint_of(piece: Piece, far: dict[str, float]) -> str:
    """A piece's fill; skin on a far side is greyer."""
    colour = palette.TINTS[piece.tint]
    share = far.get(piece.side, 0.0)
    return palette.mixed(colour, palette.FAR, share * palette.FAR_SHARE) if share and piece.tint == "skin" else colour


def far_sides(one: Arranged) -> dict[str, float]:
    """How far behind (0 to 1) each side of the body lies."""
    limbs = {
        side: float(np.mean([one.depth[i] for i, piece in enumerate(one.pieces) if piece.side == side] or [0.0]))
        for side in ("left", "right")
    }
    gap = limbs["right"] - limbs["left"]
    share = min(1.0, max(0.0, (abs(gap) - 0.06) / 0.08))
    return {"left" if gap > 0 else "right": share} if share else {}


def painted(one: Arranged, brush: Brush, floor: Floor | None, under: str, marks: Marks) -> str:
    """SVG of a pose with its things.

    `under` goes below the body, `marks` after the piece of their number, nerves over its stroke.
    """
    shown = ~covered(one)
    plot = _plot(one, brush, shown)
    far = far_sides(one)
    sweep = 0 if brush.paper.mirror else 1
    canvas = Canvas()
    if floor is not None:
        canvas.raw(ground(floor, brush))
    waiting = under
    for i in one.order:
        piece = one.pieces[i]
        if piece.tint == "floor" and piece.kind == "box":
            continue
        if piece.kind == "body" and waiting:
            canvas.raw(waiting)
            waiting = ""
        if shown[i] and piece.kind == "body":
            tint, shape = tint_of(piece, far), _shape(plot, i, brush, sweep)
            if piece.outlined and plot.whole_inside[i] and _is_whole(plot, i):
                canvas.both(tint, shape)
            else:
                canvas.fill(tint, shape)
                canvas.stroke(_stroke(plot, i, sweep) if piece.outlined else "")
        elif shown[i]:
            solid = one.solids[piece.name]
            if isinstance(solid, Box):
                canvas.prop(box(solid, brush))
            else:
                shape, edge = _shape(plot, i, brush, sweep), _stroke(plot, i, sweep)
                canvas.prop(thing(solid, piece.tint, shape, edge, brush))
        canvas.raw(marks.tissues.get(i, ""))
        if i in marks.nerves:
            canvas.flush()
            canvas.raw(marks.nerves[i])
    return canvas.text()


def _shape(plot: _Plot, i: int, brush: Brush, sweep: int) -> str:
    """Path data of a piece's outline, cut to the panel."""
    a, b = int(plot.samples.starts[i]), int(plot.samples.starts[i + 1])
    if plot.whole_inside[i]:
        return _closed(plot, a, b, sweep)
    part = brush.paper.cut(plot.one.shapes.paper[i])
    if len(part) < 3:
        return ""
    places = brush.paper.units(part)
    return polyline(np.vstack([places, places[:1]]), closed=True)


def ghost(start: Arranged, end: Arranged, brush: Brush) -> str:
    """SVG of the start's pieces that move, pale."""
    number = {piece.name: i for i, piece in enumerate(end.pieces)}
    moved = np.zeros(len(start.pieces), bool)
    for i, piece in enumerate(start.pieces):
        j = number.get(piece.name)
        if j is not None:
            far = np.abs(start.shapes.paper[i] - end.shapes.paper[j]).max()
            moved[i] = far * brush.paper.scale > _GHOST_MOVED_MM and piece.tint != "eye"
    plot = _plot(start, brush, moved)
    sweep = 0 if brush.paper.mirror else 1
    canvas = Canvas()
    for i in start.order:
        if moved[i]:
            canvas.fill(palette.TINTS["ghost"], _shape(plot, i, brush, sweep))
            canvas.stroke(_stroke(plot, i, sweep))
    found = canvas.text()
    return f'<g stroke="{palette.GHOST_INK}">{found}</g>' if found else ""
