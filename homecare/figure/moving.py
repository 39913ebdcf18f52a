"""A figure that moves: each piece as the balls and discs it is the hull of, at five poses, for a small script to play.

The SVG holds no script. As it stands it shows the end pose; every part that moves carries `data-frames`:
what it is made of, then its numbers at each pose in tenths of a millimetre: first as they are, then as what they
miss of going on as before.
"""

from __future__ import annotations

from collections.abc import Sequence
from html import escape
from itertools import groupby
from zlib import crc32

import numpy as np

from homecare.figure import palette
from homecare.figure.arranging import Arranged, arranged, limb, look
from homecare.figure.cropping import crop
from homecare.figure.framing import LEVEL, framed, joined, paper_of, scale_of
from homecare.figure.marks import FAR_SIDE, Curve, curve, hosts, ribbon
from homecare.figure.outline import Camera, camera
from homecare.figure.painting import covered, far_sides, tint_of
from homecare.figure.pieces import BALL, CAP, Piece
from homecare.figure.scene import Posed, Scene
from homecare.figure.scenery import Brush, Floor, box, floor_of, ground
from homecare.figure.skeleton import Array
from homecare.figure.solids import Box
from homecare.figure.svg import UNITS, Paper, polyline, smooth, whole, width

TENTHS = 10
"""Steps of the numbers in `data-frames`, in one millimetre."""
_STILL = 1
"""Tenths of a millimetre that something may drift and still count as not moving."""
_THIN = f' stroke="{palette.PROP_INK}" stroke-width="{width(2 * palette.PROP_MM)}"'
_BOX = f' stroke="{palette.PROP_INK}" stroke-width="{width(palette.PROP_MM)}"'
_DOUBLE = 1.8
"""Stroke against that of a still: fills cover its inner half."""
_BARE = ' stroke="none"'


def moving_svg(
    frames: Sequence[Posed], scene: Scene, box_mm: tuple[float, float], alt: str, mirror: bool = False
) -> str:
    """One SVG of poses from start to end, in a box (millimetres); what it shows and from where is the scene's."""
    view = camera(*scene.view)
    shown = crop(scene.crop, [one.body for one in frames])
    middle = len(frames) // 2
    seen = look(frames[middle].body, view, shown, moving=True)
    poses = [arranged(one, view, seen) for one in frames]
    floor = floor_of(poses, view, level=abs(scene.view[1]) <= LEVEL)
    frame = joined([framed(one, shown, floor) for one in poses])
    scale = scale_of([frame], box_mm, shown)
    paper = paper_of(frame, float(frame.low[1]), float(frame.high[1]), scale, mirror)
    body = _Mover(poses, middle, view, paper).svg(scene, floor)
    words = escape(alt, quote=True)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {paper.width * UNITS:.0f} {paper.height * UNITS:.0f}"'
        f' role="img" aria-label="{words}" data-moving="{len(frames)}" data-unit="{UNITS / TENTHS:g}">'
        f"<title>{words}</title>{body}</svg>"
    )


def encoded(numbers: Sequence[Array]) -> list[str]:
    """Numbers at each pose as text: whole at the first, then by how much each misses going on as before.

    A miss of one is let go, so that what moves evenly takes no room; noughts at the end are left out.
    """
    found, before, last = [], None, None
    for row in numbers:
        whole_row = np.rint(row)
        if last is None:
            guess = np.zeros_like(whole_row)
        else:
            guess = last if before is None else 2 * last - before
        miss = whole_row - guess
        if last is not None:
            miss[np.abs(miss) <= 1] = 0
        before, last = last, guess + miss
        kept = np.flatnonzero(miss)
        # The first tells how many there are.
        count = len(miss) if before is None else int(kept[-1]) + 1 if len(kept) else 0
        words = miss[:count].astype(np.int64).tolist()
        found.append("".join(f"{n}" if n < 0 or k == 0 else f" {n}" for k, n in enumerate(words)))
    return found


class _Mover:
    """Writes the parts of one moving figure, in the middle pose's order of painting."""

    def __init__(self, poses: Sequence[Arranged], middle: int, view: Camera, paper: Paper) -> None:
        self.poses, self.middle, self.view, self.paper = poses, poses[middle], view, paper
        self.rows = [{piece.name: i for i, piece in enumerate(one.pieces)} for one in poses]
        hidden = [covered(one) for one in poses]
        self.shown = {
            name
            for name in self.rows[middle]
            if all(name in row for row in self.rows)
            and not all(gone[row[name]] for gone, row in zip(hidden, self.rows, strict=True))
        }
        # Several figures may stand in one page, so that ids carry the figure's own mark.
        self.key = f"m{crc32(b''.join(one.paper.tobytes() for one in poses)) % 4096:03x}-"
        self.ids: dict[str, str] = {}
        self.defs: list[str] = []

    def svg(self, scene: Scene, floor: Floor | None) -> str:
        """All parts: of each limb the strokes, then the fills, so that lines inside it vanish."""
        brush = Brush(self.paper, self.view)
        found = [ground(floor, brush)] if floor else []
        far = far_sides(self.middle)
        marks = self._marks(scene)
        chunk: list[tuple[Piece, str, str]] = []
        group, over = "", ""
        for i in self.middle.order:
            piece = self.middle.pieces[i]
            if piece.name in self.shown and not (piece.tint == "floor" and piece.kind == "box"):
                if limb(piece) != group:
                    found += [_chunk(chunk), over]
                    chunk, group, over = [], limb(piece), ""
                solid = self.middle.solids.get(piece.name)
                if isinstance(solid, Box):
                    found.append(f"<g{_BOX}>{box(solid, brush)}</g>")
                else:
                    chunk.append((piece, f'href="#{self._hull(piece)}"', tint_of(piece, far)))
            # A target lies over the whole of its limb, so as not to break its outline.
            over += marks.get(i, "")
        found += [_chunk(chunk), over]
        stroke = f'stroke="{palette.INK}" stroke-width="{width(_DOUBLE * palette.OUTLINE_MM)}"'
        return (
            f"<defs>{''.join(self.defs)}</defs>"
            f'<g fill="none" {stroke} stroke-linejoin="round" stroke-linecap="round">{"".join(found)}</g>'
        )

    def _define(self, name: str, data: str, made_of: str, numbers: Sequence[Array]) -> str:
        """The id of a path; it carries its numbers where they change."""
        if name in self.ids:
            return self.ids[name]
        found = f"{self.key}{len(self.ids)}"
        self.ids[name] = found
        still = all(np.abs(one - numbers[0]).max() <= _STILL for one in numbers)
        frames = "" if still else f' data-frames="{"|".join((made_of, *encoded(numbers)))}"'
        self.defs.append(f'<path id="{found}" d="{data}"{frames}/>')
        return found

    def _hull(self, piece: Piece) -> str:
        """The id of a piece's outline: made of balls (b), discs (d) and caps (c) with radius, and height of a cap."""
        made, numbers = [], []
        for number, (one, row) in enumerate(zip(self.poses, self.rows, strict=True)):
            at = row[piece.name]
            span = slice(one.stack.starts[at], one.stack.starts[at + 1])
            stack = one.stack
            places = self.paper.units(self.view.paper(stack.centres[span])) * (TENTHS / UNITS)
            ways = self.view.paper(stack.normals[span]) * 100 * np.array([-1.0 if self.paper.mirror else 1.0, 1.0])
            values: list[float] = []
            for kind, place, way, radius, height in zip(
                stack.kinds[span], places, ways, stack.radii[span], stack.heights[span], strict=True
            ):
                values += place.tolist() + ([] if kind == BALL else way.tolist())
                if number == 0:
                    r, h = radius * self.paper.scale * TENTHS, height * self.paper.scale * TENTHS
                    made.append(f"b{r:.1f}" if kind == BALL else f"c{r:.1f},{h:.1f}" if kind == CAP else f"d{r:.1f}")
            numbers.append(np.array(values))
        return self._define(piece.name, self._outline(piece), " ".join(made), numbers)

    def _outline(self, piece: Piece) -> str:
        """Path data of a piece's outline at the end pose."""
        one, at = self.poses[-1], self.rows[-1][piece.name]
        shapes = one.shapes
        points = whole(self.paper.units(shapes.paper[at]))
        same = (shapes.prims[at] == np.roll(shapes.prims[at], -1)) & (shapes.arcs[at] > 0)
        arcs = np.where(same, shapes.prims[at], -1).tolist()
        radii = (shapes.arcs[at] * self.paper.scale * UNITS).tolist()
        turns = list(range(len(points)))
        sweep = 0 if self.paper.mirror else 1
        return smooth([*points, points[0]], [*arcs, -1], [*radii, 0.0], [*turns, 0], sweep, True)

    def _marks(self, scene: Scene) -> dict[int, str]:
        """SVG of the targets by the piece after which it is painted."""
        found: dict[int, str] = {}
        for number, target in enumerate(scene.targets):
            curves = [curve(target, one.body, self.view) for one in self.poses]
            on = [i for i in hosts(curves[0].frames, curves[0].side, self.middle.pieces)]
            on = [i for i in on if self.middle.pieces[i].name in self.shown]
            if on:
                last = max(on, key=lambda i: int(self.middle.rank[i]))
                text = self._nerve(curves, number) if target.surface.is_line else self._spindle(curves, number, on)
                found[last] = found.get(last, "") + text
        return found

    def _along(self, curves: Sequence[Curve], step: int, name: str, made_of: str) -> str:
        """The id of a line along every so many points of a curve."""
        rows = [np.append(np.arange(0, len(one.paper) - 1, step), len(one.paper) - 1) for one in curves]
        places = [self.paper.units(one.paper[row]) for one, row in zip(curves, rows, strict=True)]
        numbers = [one.ravel() * (TENTHS / UNITS) for one in places]
        return self._define(name, polyline(places[-1]), made_of, numbers)

    def _nerve(self, curves: Sequence[Curve], number: int) -> str:
        name = self._along(curves, 3, f"nerve {number}", "l")
        dash = " ".join(width(one) for one in palette.NERVE_DASH_MM)
        casing = width(palette.NERVE_MM + 2 * palette.CASING_MM)
        return (
            f'<use href="#{name}" stroke="{palette.CASING}" stroke-width="{casing}"/>'
            f'<use href="#{name}" stroke="{palette.MARK}" stroke-width="{width(palette.NERVE_MM)}"'
            f' stroke-linecap="butt" stroke-dasharray="{dash}"/>'
        )

    def _spindle(self, curves: Sequence[Curve], number: int, on: Sequence[int]) -> str:
        """A muscle as balls in a row, within its hosts; stripes across it, since a tint alone says little."""
        step = 4
        rows = np.append(np.arange(0, len(curves[0].radii) - 1, step), len(curves[0].radii) - 1)
        radii = curves[0].radii[rows] * self.paper.scale * TENTHS
        places = [self.paper.units(one.paper[rows]).ravel() * (TENTHS / UNITS) for one in curves]
        shape = self.paper.units(ribbon(curves[-1]))
        data = polyline(np.vstack([shape, shape[:1]]), closed=True)
        name = self._define(f"muscle {number}", data, "~" + " ".join(f"b{r:.1f}" for r in radii), places)
        inside = "".join(f'<use href="#{self._hull(self.middle.pieces[i])}"/>' for i in on)
        self.defs.append(f'<clipPath id="{name}h">{inside}</clipPath>')
        if curves[len(curves) // 2].facing < FAR_SIDE:
            return (
                f'<use href="#{name}" clip-path="url(#{name}h)" fill="{palette.MARK}" fill-opacity=".3" stroke="none"/>'
            )
        middle = self._along(curves, step, f"middle {number}", "l")
        self.defs.append(f'<clipPath id="{name}s"><use href="#{name}"/></clipPath>')
        wide = 2.5 * float(radii.max()) * UNITS / TENTHS
        dash = f"{width(palette.HATCH_MM)} {width(palette.HATCH_STEP_MM)}"
        return (
            f'<g clip-path="url(#{name}h)"><use href="#{name}" fill="{palette.MARK}" stroke="none"/>'
            f'<use href="#{middle}" clip-path="url(#{name}s)" stroke="{palette.CASING}" stroke-width="{wide:.0f}"'
            f' stroke-linecap="butt" stroke-dasharray="{dash}"/></g>'
        )


def _chunk(chunk: Sequence[tuple[Piece, str, str]]) -> str:
    """SVG of pieces of one limb: their strokes, of which the outer half stays, then their fills."""
    if not chunk:
        return ""
    thin = "" if chunk[0][0].kind == "body" else _THIN
    strokes = "".join(f"<use {use}/>" for piece, use, _ in chunk if piece.outlined)
    strokes = f"<g{thin}>{strokes}</g>" if thin else strokes
    fills = ""
    for tint, found in groupby(chunk, key=lambda one: one[2]):
        uses = [use for _, use, _ in found]
        paint = f'fill="{tint}"{_BARE}'
        fills += (
            f"<use {uses[0]} {paint}/>"
            if len(uses) == 1
            else f"<g {paint}>{''.join(f'<use {use}/>' for use in uses)}</g>"
        )
    return strokes + fills
