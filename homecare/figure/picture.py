"""A scene as SVG: its panels at one scale, the pieces painted far before near, with targets, floor and arrows."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from homecare.figure import arrows, palette
from homecare.figure.arranging import Arranged, arranged, look
from homecare.figure.cropping import Crop, crop
from homecare.figure.framing import LEVEL, Frame, alike, framed, joined, paper_of, scale_of
from homecare.figure.marks import Marks, curve, nerve, spindle
from homecare.figure.outline import Camera, camera
from homecare.figure.painting import ghost, painted
from homecare.figure.scene import Posed, Scene
from homecare.figure.scenery import Brush, floor_of
from homecare.figure.skeleton import Array
from homecare.figure.svg import UNITS, Paper, document

GAP_MM = 5.0
"""Between two panels in one picture."""


@dataclass(frozen=True)
class Panel:
    """One pose on paper: its size in millimetres and the SVG inside it, in units of 1/25 mm."""

    caption: Literal["", "start", "end"]
    width: float
    height: float
    body: str


def panels(scene: Scene, box: tuple[float, float], mirror: bool = False) -> tuple[Panel, ...]:
    """The panels of a scene at one scale, each within the box (millimetres wide, high); mirrored for the left side."""
    view = camera(*scene.view)
    start = scene.start
    bodies = [scene.end.body] if start is None else [start.body, scene.end.body]
    shown = crop(scene.crop, bodies)
    end = _seen(scene.end, view, shown)
    first = None if start is None else _seen(start, view, shown, with_solids=not scene.ghost)
    drawn = [one for one in (first, end) if one is not None]
    floor = floor_of(drawn, view, level=abs(scene.view[1]) <= LEVEL)
    frames = [framed(one, shown, floor) for one in drawn]
    frames = [joined(frames)] if scene.ghost else alike(frames)
    scale = scale_of(frames, box, shown)
    level = floor.level if floor is not None and floor.corners is None else np.inf
    paths = _arrows(scene, end, view, scale, level)
    frames[-1] = _with_arrows(frames[-1], paths, scale)
    scale = min(scale, scale_of(frames, box, shown))
    captions: tuple[Literal["", "start", "end"], ...] = ("start", "end") if len(frames) == 2 else ("",)
    top, bottom = min(one.low[1] for one in frames), max(one.high[1] for one in frames)
    found = []
    for number, (frame, caption) in enumerate(zip(frames, captions, strict=True)):
        last = number == len(frames) - 1
        paper = paper_of(frame, float(top), float(bottom), scale, mirror)
        brush = Brush(paper, view)
        one = end if last else drawn[number]
        under = ghost(drawn[0], end, brush) if scene.ghost and len(drawn) == 2 else ""
        body = painted(one, brush, floor, under, _marks(scene, one, view, paper))
        if last:
            body += "".join(
                arrows.svg(path, arrow.both_ways, paper) for arrow, path in zip(scene.arrows, paths, strict=True)
            )
        found.append(Panel(caption, paper.width, paper.height, brush.group(body)))
    return tuple(found)


def _seen(posed: Posed, view: Camera, shown: Crop, with_solids: bool = True) -> Arranged:
    return arranged(posed, view, look(posed.body, view, shown), with_solids)


def _arrows(scene: Scene, end: Arranged, view: Camera, scale: float, floor: float) -> list[Array]:
    body = [i for i, piece in enumerate(end.pieces) if piece.tint not in ("floor", "wall")]
    taken = end.shapes.support[body]
    found: list[Array] = []
    for arrow in scene.arrows:
        path = arrows.laid(arrow, view, scale)
        found.append(arrows.moved_off(path, taken, scale, found, floor) if arrow.loose else path)
    return found


def _with_arrows(frame: Frame, paths: Sequence[Array], scale: float) -> Frame:
    pad = (palette.ARROW_HEAD_MM / 2 + palette.CASING_MM) / scale
    low = np.min([frame.low, *(path.min(axis=0) - pad for path in paths)], axis=0)
    high = np.max([frame.high, *(path.max(axis=0) + pad for path in paths)], axis=0)
    return Frame(low, high)


def _marks(scene: Scene, one: Arranged, view: Camera, paper: Paper) -> Marks:
    found = Marks({}, {})
    for target in scene.targets:
        line = curve(target, one.body, view)
        if target.surface.is_line:
            parts, into = nerve(line, one.pieces, one.rank, paper), found.nerves
        else:
            parts, into = spindle(line, one.pieces, one.shapes, one.rank, paper), found.tissues
        for host, text in parts.items():
            into[host] = into.get(host, "") + text
    return found


def panel_svg(panel: Panel, alt: str) -> str:
    """One panel as a whole SVG."""
    return document(panel.width, panel.height, panel.body, alt)


def one_svg(found: Sequence[Panel], alt: str) -> str:
    """All panels side by side as one SVG, their floors level."""
    height = max(panel.height for panel in found)
    left, parts = 0.0, []
    for panel in found:
        shift = f"{round(left * UNITS)} {round((height - panel.height) * UNITS)}"
        parts.append(panel.body if shift == "0 0" else f'<g transform="translate({shift})">{panel.body}</g>')
        left += panel.width + GAP_MM
    return document(round(left - GAP_MM, 2), height, "".join(parts), alt)
