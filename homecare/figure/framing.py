"""How large a figure is drawn, and what of its surroundings is seen."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from homecare.figure.arranging import Arranged
from homecare.figure.cropping import Crop, extent
from homecare.figure.scenery import Floor
from homecare.figure.skeleton import Array
from homecare.figure.svg import Paper

MARGIN_MM = 0.5
_WALL_REACH, _THING_REACH = 0.05, 0.8
"""How far a wall or a thing is shown beyond the body, in metres."""
LEVEL = 4.0
"""Elevation in degrees up to which the floor is a line."""
LITTLE_WIDER = 1.2
"""How much wider a frame that both panels share may be than the wider of their own."""


@dataclass(frozen=True)
class Frame:
    """Where a panel's picture lies: least and greatest place on paper in metres."""

    low: Array
    high: Array


def framed(one: Arranged, shown: Crop, floor: Floor | None) -> Frame:
    """The part of a pose that is shown."""
    low, high = extent(shown, one.pieces, one.shapes, one.body, one.paper)
    if shown.part not in ("", "lower_body", "leg"):
        return Frame(low, high)
    least, most = low, high
    for i, piece in enumerate(one.pieces):
        if piece.kind != "body" and piece.tint != "floor":
            reach = _WALL_REACH if piece.tint == "wall" else _THING_REACH if shown.part == "" else 0.1
            low = np.minimum(low, np.maximum(one.shapes.low[i], least - reach))
            high = np.maximum(high, np.minimum(one.shapes.high[i], most + reach))
    if floor is not None:
        low, high = np.minimum(low, floor.low), np.maximum(high, floor.high)
    return Frame(low, high)


def joined(frames: Sequence[Frame]) -> Frame:
    """What holds all the frames."""
    return Frame(np.min([one.low for one in frames], axis=0), np.max([one.high for one in frames], axis=0))


def alike(frames: Sequence[Frame]) -> list[Frame]:
    """The same frame for start and end where that costs little room, so that what one leans on is seen in both."""
    both = joined(frames)
    widest = max(float(one.high[0] - one.low[0]) for one in frames)
    return [both] * len(frames) if float(both.high[0] - both.low[0]) <= LITTLE_WIDER * widest else list(frames)


def scale_of(frames: Sequence[Frame], box: tuple[float, float], shown: Crop) -> float:
    """Millimetres on paper for a metre: all panels as large as the box allows, at one scale."""
    wide = max(float(one.high[0] - one.low[0]) for one in frames)
    tall = float(max(one.high[1] for one in frames) - min(one.low[1] for one in frames))
    return min((box[0] - 2 * MARGIN_MM) / wide, (box[1] - 2 * MARGIN_MM) / tall, shown.largest)


def paper_of(frame: Frame, top: float, bottom: float, scale: float, mirror: bool) -> Paper:
    """The paper of one frame between a top and bottom that all panels share."""
    margin = MARGIN_MM / scale
    wide = float(frame.high[0] - frame.low[0]) * scale + 2 * MARGIN_MM
    tall = (bottom - top) * scale + 2 * MARGIN_MM
    return Paper(scale, float(frame.low[0]) - margin, top - margin, round(wide, 2), round(tall, 2), mirror)
