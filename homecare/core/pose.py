"""A posture of the body as clinical words and degrees, and the figure that a drill is drawn and proved by."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Literal

from homecare.core.problems import Source

SPINE = ("lumbar", "thoracic", "neck", "head")
SIDES = ("left", "right")

_SPINE_WORDS = {
    "flex": ("flex", 1),
    "ext": ("flex", -1),
    "bend_right": ("bend", 1),
    "bend_left": ("bend", -1),
    "turn_left": ("turn", 1),
    "turn_right": ("turn", -1),
}
_FLEX = {"flex": ("flex", 1), "ext": ("flex", -1)}
_BALL_JOINT = {**_FLEX, "abd": ("abd", 1), "add": ("abd", -1), "ir": ("ir", 1), "er": ("ir", -1)}
LIMB_WORDS: Mapping[str, Mapping[str, tuple[str, int]]] = {
    "girdle": {"elev": ("elev", 1), "depr": ("elev", -1), "prot": ("prot", 1), "retr": ("prot", -1)},
    "shoulder": _BALL_JOINT,
    "elbow": {"flex": ("flex", 1)},
    "forearm": {"pron": ("pron", 1), "sup": ("pron", -1)},
    "wrist": {**_FLEX, "uln": ("uln", 1), "rad": ("uln", -1)},
    "fingers": {**_FLEX, "curl": ("curl", 1), "spread": ("spread", 1)},
    "thumb": {**_FLEX, "abd": ("abd", 1)},
    "hip": _BALL_JOINT,
    "knee": {"flex": ("flex", 1)},
    "ankle": {"df": ("df", 1), "pf": ("df", -1)},
    "foot": {"inv": ("inv", 1), "ev": ("inv", -1)},
    "toes": _FLEX,
}
"""Joint of a limb to its words; each word is an axis with its sense. Zero is standing, arms down, palms in."""
ROOT_WORDS: Mapping[str, tuple[str, int]] = {
    "lean_forward": ("pitch", 1),
    "lean_back": ("pitch", -1),
    "lean_right": ("roll", 1),
    "lean_left": ("roll", -1),
    "turn_left": ("yaw", 1),
    "turn_right": ("yaw", -1),
    "twist_left": ("twist", 1),
    "twist_right": ("twist", -1),
}
"""The whole body against its posture: lean about its own hips, turn about the upright, twist about its length."""
JOINT_WORDS: Mapping[str, Mapping[str, tuple[str, int]]] = {
    **dict.fromkeys(SPINE, _SPINE_WORDS),
    **LIMB_WORDS,
    "root": ROOT_WORDS,
}


def _names() -> tuple[str, ...]:
    names = [f"root.{axis}" for axis in ("x", "y", "z", "pitch", "roll", "yaw", "twist")]
    names += [f"{joint}.{axis}" for joint in SPINE for axis in ("flex", "bend", "turn")]
    for side in SIDES:
        for joint, words in LIMB_WORDS.items():
            names += [f"{side}_{joint}.{axis}" for axis in dict.fromkeys(axis for axis, _ in words.values())]
    return tuple(names)


COORDINATES = _names()
"""Every coordinate of a pose, `right_hip.flex` and the like, in degrees; `root.x y z` in metres."""

Angles = Mapping[str, float]
"""Coordinate to value; one that is not named is zero."""

Stance = Literal["upright", "supine", "prone", "left_side", "right_side"]
STANCES: tuple[Stance, ...] = ("upright", "supine", "prone", "left_side", "right_side")
FREE = "free"
"""What a point touches that its posture put somewhere and the drill lifts off."""
Show = Literal["auto", "one", "two", "ghost"]


@dataclass(frozen=True)
class Contact:
    """A point of the body that touches a surface, a tool or another point; any of x, y, z (metres) fixes it in space.

    `tool` is a roller or ball between the point and `on`. `on` is empty when the point is only placed in space.
    A point that touches the same thing at start and end stays where it is, unless it `slides`.
    """

    point: str
    on: str
    tool: str = ""
    x: float | None = None
    y: float | None = None
    z: float | None = None
    slides: bool = False


@dataclass(frozen=True)
class Held:
    """A thing drawn along points of the body or of the room: a strap, band, stick, towel, weight or cushion."""

    thing: str
    points: tuple[str, ...]


@dataclass(frozen=True)
class Arrow:
    """An arrow at a point: along its `path` from start to end, or in a direction, one way or to and fro."""

    point: str
    way: str
    both_ways: bool = False


@dataclass(frozen=True)
class Posture:
    """A posture that drills start from: how the body lies, its angles and what it rests on."""

    id: str
    plain: str
    stance: Stance
    angles: Angles
    contacts: tuple[Contact, ...]
    where: Source


@dataclass(frozen=True)
class Figure:
    """How a drill is drawn, for its right side: the end pose, the start where it moves, and what is seen of it.

    As written it says only what differs from its posture; `over` lays the posture under it. `view` is azimuth and
    elevation in degrees: -90, 0 looks from the athlete's right. `crop` is a part of the body for a close-up. `free`
    are coordinates that the planting may move beyond its own choice; `surfaces` moves a surface (metres).
    """

    posture: str
    end: Angles
    where: Source
    start: Angles | None = None
    stance: Stance = "upright"
    contacts: tuple[Contact, ...] = ()
    start_contacts: tuple[Contact, ...] = ()
    held: tuple[Held, ...] = ()
    arrows: tuple[Arrow, ...] = ()
    view: tuple[float, float] = (-90.0, 0.0)
    crop: str = ""
    show: Show = "auto"
    free: tuple[str, ...] = ()
    surfaces: Mapping[str, float] = field(default_factory=dict)
    targets: tuple[str, ...] = ()

    def over(self, posture: Posture) -> Figure:
        """The same figure with the posture under it: its stance, its angles and contacts where nothing else is said."""
        return replace(
            self,
            stance=posture.stance,
            end={**posture.angles, **self.end},
            start=None if self.start is None else {**posture.angles, **self.start},
            contacts=_laid_over(posture.contacts, self.contacts),
            start_contacts=_laid_over(posture.contacts, self.start_contacts),
        )


def _laid_over(under: tuple[Contact, ...], over: tuple[Contact, ...]) -> tuple[Contact, ...]:
    """Contacts by point: the later one holds, and one that is free takes the point's contact away."""
    found = {one.point: one for one in (*under, *over)}
    return tuple(one for one in found.values() if one.on != FREE)


def mirrored(angles: Angles) -> dict[str, float]:
    """The same pose with left and right changed over."""
    flip = {"left": "right", "right": "left"}
    found = {}
    for name, value in angles.items():
        side, _, rest = name.partition("_")
        if side in flip:
            found[f"{flip[side]}_{rest}"] = value
        else:
            odd = name.rpartition(".")[2] in ("bend", "turn", "roll", "yaw", "twist", "y")
            found[name] = -value if odd else value
    return found


def between(start: Angles, end: Angles, share: float) -> dict[str, float]:
    """The pose a share (0 to 1) of the way from start to end, coordinate by coordinate."""
    names = dict.fromkeys((*start, *end))
    return {one: start.get(one, 0.0) * (1 - share) + end.get(one, 0.0) * share for one in names}


@dataclass(frozen=True)
class Surface:
    """Where a tissue lies on the body: points of frames without a side (`thigh`), y counting outwards, in metres.

    A muscle, tendon or joint is a spindle of balls (each with its radius); a nerve is a line (radii 0). `facing` is
    the frame and the direction from which it is seen.
    """

    id: str
    points: tuple[tuple[str, float, float, float, float], ...]
    facing: tuple[str, float, float, float]
    where: Source

    @property
    def is_line(self) -> bool:
        """Whether it is drawn as a dashed line, as nerves are."""
        return all(radius == 0 for *_, radius in self.points)
