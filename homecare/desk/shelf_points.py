"""The words that the rows of a pose offer: points of the body, the room, what is held and the ways of an arrow."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from homecare.core.pose import COORDINATES, FREE, JOINT_WORDS, SIDES
from homecare.desk.shelf_pose import GROUPS, Move
from homecare.desk.vocabulary import Option
from homecare.figure.landmarks import landmark, names
from homecare.figure.point_words import point_in_words, surface_in_words, thing_in_words, tool_in_words
from homecare.figure.room import HEIGHTS, REACHES, SURFACES, THINGS, TOOLS, WALLS
from homecare.figure.scene import WAYS

BOTH = "both"
PLACE = "place"
"""How a point may be kept: at a place of the room, touching nothing."""
ROOM = "at"
"""A place of the room among the points that something is held by."""
ONWARD = "on"
"""Stands for the thing of a row that leads on what the row above holds."""
_PARTS: Mapping[str, tuple[str, ...]] = {
    "hand": ("hand",),
    "arm": ("forearm", "elbow", "upper_arm"),
    "foot": ("foot", "toes"),
    "leg": ("shank", "thigh"),
    "hip": ("pelvis",),
    "trunk": ("lumbar", "thorax_low", "thorax"),
    "head and neck": ("head", "neck"),
}
"""The groups of the list of points, by the frames that carry them."""
_SAID = {
    **{"palm": "palm", "wrist_palm": "palm side of the wrist", "thumb_side": "thumb side of the hand"},
    **{"sitting_bone": "sitting bone", "back_pocket": "upper buttock", "ball": "ball of the foot"},
    **{"shoulder": "outer shoulder", "crown": "crown of the head", "sole": "sole of the foot"},
    **{"blade_top": "top of the shoulder blade", "fingertips": "fingertips", "hips": "middle of the hips"},
    **{"mat": "a mat", "wall": "the wall in front", "corner": "a corner of two walls"},
}
"""Words where those for an athlete would be the same for two of a list, or not say which is meant."""
_WAYS = {
    "path": "its way, start to end",
    "back": "backward",
    "left": "to the left",
    "right": "to the right",
}


@dataclass(frozen=True)
class Point(Option):
    """A point of the body without its side; `middle` has none, of a `limb` it is said how far down."""

    middle: bool = False
    limb: bool = False

    @property
    def sort(self) -> str:
        """What the page has to know of it: mid, limb, or nothing."""
        return "mid" if self.middle else "limb" if self.limb else ""


def _points() -> dict[str, Point]:
    found: dict[str, Point] = {}
    for name in names():
        side, _, rest = name.partition("_")
        key = rest if side in SIDES else name
        limb = key.rpartition("_")[0] in ("thigh", "shank", "upper_arm", "forearm")
        words = _SAID.get(key) or point_in_words(key).strip()
        found.setdefault(key, Point(key, words, side not in SIDES, limb))
    return found


POINTS: Mapping[str, Point] = _points()
"""Every point by its name without a side."""


def _grouped() -> tuple[tuple[str, tuple[Point, ...]], ...]:
    def part(point: Point) -> str:
        frame = landmark(point.value if point.middle else f"right_{point.value}").frame.removeprefix("right_")
        return next(title for title, frames in _PARTS.items() if frame in frames)

    return tuple((title, tuple(one for one in POINTS.values() if part(one) == title)) for title in _PARTS)


def _room() -> tuple[Option, ...]:
    found = [Option(name, f"{_surface(name)}: height") for name in HEIGHTS]
    found += [Option(name, f"{_surface(name)}: how far away") for name in WALLS]
    return (*found, *(Option(name, f"the {name.partition('_')[0]}: how far it goes on") for name in REACHES))


def _surface(name: str) -> str:
    return _SAID.get(name) or surface_in_words(name)


def _joints() -> Mapping[str, tuple[Option, ...]]:
    """What may be left to meet the contacts, by side: each joint with both ways that it goes."""
    found: dict[str, list[Option]] = {GROUPS[side] or "trunk": [] for side in ("right", "left", "")}
    for coordinate in COORDINATES:
        joint, _, axis = coordinate.partition(".")
        side, _, rest = joint.partition("_")
        group, joint = (side, rest) if side in SIDES else ("", joint)
        moves = [Move(group, joint, word) for word, way in JOINT_WORDS[joint].items() if way[0] == axis]
        if moves:
            first, *others = (move.words for move in moves)
            part = f"{first.partition(', ')[0]}, "
            words = " or ".join((first, *(one.removeprefix(part).lower() for one in others)))
            found[GROUPS[group] or "trunk"].append(Option(coordinate, words))
    return {title: tuple(options) for title, options in found.items()}


JOINTS = _joints()


@dataclass(frozen=True)
class Offered:
    """Every list of the rows, in the order in which it is offered."""

    points: tuple[tuple[str, tuple[Point, ...]], ...] = field(default_factory=_grouped)
    sides: tuple[Option, ...] = tuple(Option(side, side) for side in ("right", "left", BOTH))
    sides_one: tuple[Option, ...] = tuple(Option(side, side) for side in ("right", "left"))
    sides_on: tuple[Option, ...] = tuple(Option(side, f"of the {side}") for side in ("right", "left"))
    when: tuple[Option, ...] = (Option("", "all through"), Option("start", "at the start"), Option("end", "at the end"))
    how: tuple[Option, ...] = (
        Option("", "touches"),
        *(Option(tool, f"is on {tool_in_words(tool)}, on") for tool in TOOLS),
        Option(FREE, "is lifted off"),
        Option(PLACE, "is kept at a place"),
    )
    surfaces: tuple[Option, ...] = field(default_factory=lambda: tuple(Option(one, _surface(one)) for one in SURFACES))
    things: tuple[Option, ...] = (
        *(Option(thing, thing_in_words(thing, ()).removeprefix("with ")) for thing in THINGS),
        Option(ONWARD, "and on to"),
    )
    ways: tuple[Option, ...] = tuple(Option(way, _WAYS.get(way, way.replace("_", " and "))) for way in WAYS)
    room: tuple[Option, ...] = field(default_factory=_room)
    joints: Mapping[str, tuple[Option, ...]] = field(default_factory=lambda: JOINTS)


OFFERED = Offered()
