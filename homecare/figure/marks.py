"""Targets on the body: hatched spindles clipped to the pieces they lie under, and nerves as dashed lines."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from homecare.figure import palette
from homecare.figure.outline import Camera, Outlines, along, clipped
from homecare.figure.pieces import Ints, Piece
from homecare.figure.scene import Target
from homecare.figure.skeleton import INDEX, Array, Skeleton
from homecare.figure.svg import UNITS, Paper, polyline, width
from homecare.figure.svg import line as path

_STEPS = 8
"""Balls between two points of a surface."""
FAR_SIDE = -0.25
"""A target whose facing lies below this share towards the eye is drawn as seen through the body."""


@dataclass(frozen=True)
class Marks:
    """SVG of targets by the number of the piece after which it is painted."""

    tissues: dict[int, str]
    nerves: dict[int, str]


@dataclass(frozen=True)
class Curve:
    """A smooth line through a surface's points: places on paper (k, 2), radii (k,), metres, and how it faces the eye.

    `frames` are the frames of the surface's points, in order; `side` is the side of the body.
    """

    paper: Array
    radii: Array
    facing: float
    frames: tuple[str, ...]
    side: str


def _frame(name: str, side: str) -> str:
    return name if name in INDEX else f"{side}_{name}"


def curve(target: Target, body: Skeleton, view: Camera) -> Curve:
    """The target's line as seen; Catmull and Rom's spline through its points, in space."""
    s = 1 if target.side == "left" else -1
    frames = tuple(_frame(frame, target.side) for frame, *_ in target.surface.points)
    places = np.array(
        [
            body.points(name, (x, s * y, z))[0]
            for name, (_, x, y, z, _) in zip(frames, target.surface.points, strict=True)
        ]
    )
    rows = np.column_stack([places, [radius for *_, radius in target.surface.points]])
    if len(rows) > 1:
        rows = _spline(rows)
    name, x, y, z = target.surface.facing
    way = body.vectors(_frame(name, target.side), (x, s * y, z))[0]
    facing = float(way @ view.near) / (float(np.linalg.norm(way)) or 1.0)
    return Curve(view.paper(rows[:, :3]), np.maximum(rows[:, 3], 0.0), facing, frames, target.side)


def _spline(rows: Array) -> Array:
    padded = np.vstack([2 * rows[0] - rows[1], rows, 2 * rows[-1] - rows[-2]])
    t = (np.arange(_STEPS) / _STEPS)[:, None]
    found = []
    for a, b, c, d in zip(padded, padded[1:], padded[2:], padded[3:], strict=False):
        found.append(0.5 * (2 * b + (c - a) * t + (2 * a - 5 * b + 4 * c - d) * t**2 + (3 * b - a - 3 * c + d) * t**3))
    return np.vstack([*found, rows[-1:]])


def hosts(frames: Sequence[str], side: str, pieces: Sequence[Piece]) -> list[int]:
    """Numbers of the pieces on which a target of these frames and this side shows."""
    wanted = set(frames)
    return [i for i, piece in enumerate(pieces) if piece.side in ("", side) and wanted & set(piece.hosts)]


def ribbon(line: Curve) -> Array:
    """The outline (k, 2) of a spindle on paper: both sides of its line, with round ends."""
    step = np.gradient(line.paper, axis=0) if len(line.paper) > 1 else np.array([[1.0, 0.0]])
    length = np.linalg.norm(step, axis=1, keepdims=True)
    forth = step / np.where(length > 1e-9, length, 1.0)
    across = np.stack([-forth[:, 1], forth[:, 0]], axis=1)
    wide = line.radii[:, None]
    turns = np.linspace(-np.pi / 2, np.pi / 2, 7)[1:-1]
    start = line.paper[0] - line.radii[0] * (np.cos(turns)[:, None] * forth[0] - np.sin(turns)[:, None] * across[0])
    end = line.paper[-1] + line.radii[-1] * (np.cos(turns)[:, None] * forth[-1] - np.sin(turns)[:, None] * across[-1])
    return np.vstack([line.paper + wide * across, end, (line.paper - wide * across)[::-1], start])


def hatch(polygons: Sequence[Array]) -> list[list[list[int]]]:
    """Slanting line segments across polygons in units, spaced alike over the whole picture."""
    step = palette.HATCH_STEP_MM * UNITS * 2**0.5
    spans: dict[int, list[tuple[float, float]]] = {}
    for points in polygons:
        offset = points[:, 0] + points[:, 1]
        after, next_points = np.roll(offset, -1), np.roll(points, -1, axis=0)
        for number in range(int(np.ceil(offset.min() / step)), int(np.floor(offset.max() / step)) + 1):
            crosses = (offset > number * step) != (after > number * step)
            share = (number * step - offset[crosses]) / (after[crosses] - offset[crosses])
            across = sorted((points[crosses, 0] + share * (next_points - points)[crosses, 0]).tolist())
            spans.setdefault(number, []).extend(zip(across[::2], across[1::2], strict=False))
    found = []
    for number, cuts in sorted(spans.items()):
        for a, b in _merged(cuts):
            if b - a > 0.2 * UNITS:
                total = number * step
                found.append([[round(a), round(total - a)], [round(b), round(total - b)]])
    return found


def _merged(cuts: list[tuple[float, float]]) -> list[tuple[float, float]]:
    found: list[tuple[float, float]] = []
    for a, b in sorted(cuts):
        if found and a <= found[-1][1] + 1:
            found[-1] = found[-1][0], max(b, found[-1][1])
        else:
            found.append((a, b))
    return found


def spindle(line: Curve, pieces: Sequence[Piece], shapes: Outlines, rank: Ints, paper: Paper) -> dict[int, str]:
    """SVG of a muscle, tendon or joint, by the piece after which each part is painted."""
    shape = ribbon(line)
    found: dict[int, str] = {}
    for group in _groups(shape, hosts(line.frames, line.side, pieces), shapes, rank):
        text = _far(shape, group, shapes, paper) if line.facing < FAR_SIDE else _near(shape, group, shapes, paper)
        if text:
            found[group[-1]] = text
    return found


def _groups(shape: Array, found: Sequence[int], shapes: Outlines, rank: Ints) -> list[list[int]]:
    """Hosts in the order of painting, together where no other piece comes between them over the target."""
    low, high = shape.min(axis=0), shape.max(axis=0)
    meets = (shapes.low < high).all(axis=1) & (shapes.high > low).all(axis=1)
    order = sorted((i for i in found if meets[i]), key=lambda i: int(rank[i]))
    others = [int(rank[i]) for i in np.flatnonzero(meets) if i not in order]
    groups: list[list[int]] = []
    for host in order:
        if groups and not any(rank[groups[-1][-1]] < one < rank[host] for one in others):
            groups[-1].append(host)
        else:
            groups.append([host])
    return groups


def _near(shape: Array, group: Sequence[int], shapes: Outlines, paper: Paper) -> str:
    parts = [paper.units(paper.cut(clipped(shape, shapes.support[host]))) for host in group]
    parts = [one for one in parts if len(one) > 2 and np.ptp(one, axis=0).max() >= 0.5 * UNITS]
    # A part within another adds nothing, for the tint or for the hatch.
    data = dict.fromkeys(polyline(np.vstack([one, one[:1]]), closed=True) for one in parts)
    if not data:
        return ""
    lines = "".join(path(one) for one in hatch(parts))
    stroke = f'stroke="{palette.CASING}" stroke-width="{width(palette.HATCH_MM)}" stroke-linecap="butt"'
    tint = f'<path fill="{palette.MARK}" stroke="none" d="{"".join(data)}"/>'
    return tint + (f'<path {stroke} d="{lines}"/>' if lines else "")


def _far(shape: Array, group: Sequence[int], shapes: Outlines, paper: Paper) -> str:
    """The parts of the target's edge that lie on its hosts, dashed."""
    dense = np.linspace(shape, np.roll(shape, -1, axis=0), 4, endpoint=False).swapaxes(0, 1).reshape(-1, 2)
    within = (along(dense)[:, None] <= shapes.support[list(group)]).all(axis=2)
    low, high = paper.window
    shown = (dense > low).all(axis=1) & (dense < high).all(axis=1)
    on = within.max(axis=1) & shown
    places = paper.units(dense)
    starts = np.flatnonzero(on & ~np.roll(on, 1)).tolist() or ([0] if on.all() else [])
    data = ""
    for start in starts:
        rows = np.arange(start, start + len(on) + 1) % len(on)
        gone = np.flatnonzero(~on[rows])
        run = places[rows[: gone[0]] if len(gone) else rows]
        if len(run) > 1 and np.ptp(run, axis=0).max() >= 0.5 * UNITS:
            data += polyline(run)
    dash = " ".join(width(one) for one in palette.FAR_DASH_MM)
    stroke = f'stroke="{palette.MARK}" stroke-width="{width(palette.FAR_MM)}" stroke-dasharray="{dash}"'
    return f'<path {stroke} d="{data}"/>' if data else ""


def nerve(line: Curve, pieces: Sequence[Piece], rank: Ints, paper: Paper) -> dict[int, str]:
    """SVG of a nerve, by the piece after which each stretch is painted: the last of the pieces it runs on."""
    places = paper.units(line.paper)
    last = []
    for frame in line.frames:
        found = hosts((frame,), line.side, pieces)
        last.append(max(found, key=lambda i: int(rank[i])) if found else -1)
    stretches: list[tuple[int, int, int]] = []
    for number in range(len(line.frames) - 1):
        host = max(last[number], last[number + 1], key=lambda i: int(rank[i]) if i >= 0 else -1)
        start, end = number * _STEPS, (number + 1) * _STEPS
        if stretches and stretches[-1][0] == host:
            stretches[-1] = host, stretches[-1][1], end
        else:
            stretches.append((host, start, end))
    length = np.concatenate([[0], np.cumsum(np.linalg.norm(np.diff(places, axis=0), axis=1))])
    result: dict[int, str] = {}
    dash = [one * UNITS for one in palette.NERVE_DASH_MM]
    casing = width(palette.NERVE_MM + 2 * palette.CASING_MM)
    for host, start, end in stretches:
        if host < 0:
            continue
        shape = polyline(places[start : end + 1])
        shift = round(float(length[start]) % sum(dash))
        result[host] = result.get(host, "") + (
            f'<path stroke="{palette.CASING}" stroke-width="{casing}" stroke-linecap="butt" d="{shape}"/>'
            f'<path stroke="{palette.MARK}" stroke-width="{width(palette.NERVE_MM)}" stroke-linecap="butt"'
            f' stroke-dasharray="{dash[0]:g} {dash[1]:g}" stroke-dashoffset="{shift}" d="{shape}"/>'
        )
    return result
