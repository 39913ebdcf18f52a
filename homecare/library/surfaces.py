"""Reads where a tissue lies on the body: a spindle of balls, or for a nerve a line, and the side it is seen from."""

from __future__ import annotations

import yaml

from homecare.core.pose import SIDES, Surface
from homecare.core.problems import did_you_mean
from homecare.figure.skeleton import FRAMES
from homecare.library.nodes import Fields, Reader, Reference
from homecare.library.reading import read_mark

PARTS = tuple(dict.fromkeys(name.partition("_")[2] if name.partition("_")[0] in SIDES else name for name in FRAMES))
"""The frames of the body without their side: `thigh` stands for the thigh of either."""
FARTHEST = 0.5
"""Metres from a frame's origin to a point on it at most: more than the longest segment is a slip of the pen."""
THINNEST, THICKEST = 0.004, 0.09
"""Radii of a spindle in metres: a tenth of a millimetre on paper, and the hip."""
_BALL = ("x", "y (outwards)", "z", "radius")
_SPOT = _BALL[:3]

Point = tuple[str, float, float, float, float]


def read_surface(fields: Fields, key: str) -> Surface:
    """The surface of the tissue `key`: `on` (balls) or `line` (points), `facing` and its source."""
    reader = fields.reader
    reader.references.append(Reference(reader.place(fields.node), key, ("tissues",)))
    points: list[Point] = []
    given = [name for name in ("on", "line") if fields.given(name)]
    if len(given) != 1:
        hint = "on: [[frame, x, y, z, radius], ...] or line: [[frame, x, y, z], ...]"
        reader.fault(fields.node, "surface", f"{key!r} needs one of 'on' (a spindle) and 'line' (a nerve)", hint)
    elif node := fields.node_of(given[0]):
        points = _points(reader, node, given[0])
    facing = _facing(fields)
    read_mark(fields)
    return Surface(key, tuple(points), facing, reader.place(fields.node))


def _points(reader: Reader, node: yaml.Node, name: str) -> list[Point]:
    """The points under `on` or `line`; a line's have the radius 0."""
    wanted = _BALL if name == "on" else _SPOT
    found: list[Point] = []
    items = reader.sequence(node)
    for item in items:
        place = _place(reader, item, f"a point of {name!r}", wanted)
        if place is not None:
            frame, (x, y, z, *rest) = place
            found.append((frame, x, y, z, rest[0] if rest else 0.0))
    if len(items) < 2:
        reader.fault(node, "surface", f"{name!r} needs at least two points")
    return found


def _place(
    reader: Reader, node: yaml.Node, what: str, wanted: tuple[str, ...], most: float = FARTHEST
) -> tuple[str, list[float]] | None:
    """A frame and its numbers, None with a problem noted."""
    shape = f"write it as [frame, {', '.join(wanted)}]"
    if not isinstance(node, yaml.SequenceNode) or not node.value:
        reader.fault(node, "point", f"{what} should be a list of a frame and {len(wanted)} numbers", shape)
        return None
    first, *rest = node.value
    frame = reader.scalar(first, f"the frame of {what}")
    if frame is not None and frame not in PARTS:
        plain = frame.partition("_")[2] if frame.partition("_")[0] in SIDES else ""
        hint = f"leave the side out: {plain}" if plain in PARTS else did_you_mean(frame, PARTS)
        reader.fault(first, "frame", f"{frame!r} is no frame of the body", hint)
        frame = None
    if len(rest) != len(wanted):
        reader.fault(node, "point", f"{what} has {len(rest)} numbers after its frame, not {len(wanted)}", shape)
        return None
    numbers = []
    for word, item in zip(wanted, rest, strict=True):
        low, high = (THINNEST, THICKEST) if word == "radius" else (-most, most)
        number = reader.number(item, f"{word} of {what}", low, high)
        if number is not None:
            numbers.append(number)
    return (frame, numbers) if frame is not None and len(numbers) == len(wanted) else None


def _facing(fields: Fields) -> tuple[str, float, float, float]:
    """The frame and the direction in it from which the tissue is seen; it has some length."""
    node = fields.need("facing")
    nowhere = ("pelvis", 1.0, 0.0, 0.0)
    if node is None:
        return nowhere
    place = _place(fields.reader, node, "'facing'", _SPOT, 1.0)
    if place is None:
        return nowhere
    frame, (x, y, z) = place
    if not any((x, y, z)):
        fields.reader.fault(node, "facing", "'facing' points nowhere: all its numbers are 0")
        return nowhere
    return frame, x, y, z
