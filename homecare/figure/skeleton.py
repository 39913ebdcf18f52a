"""Joint angles to the frames of the body's segments in space, many poses in one array operation.

World in metres: x forward, y left, z up; stature 1.72 m. Each frame has its origin at its nearer joint; in the
anatomical stance every frame is parallel to the world. Lengths follow the segment proportions of Drillis and
Contini 1966 (Winter, Biomechanics and Motor Control of Human Movement; from memory); head, hand and foot are
slightly enlarged, so that they read at 40 mm.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import count

import numpy as np
from numpy.typing import NDArray

from homecare.core.pose import COORDINATES, SIDES, Angles, Stance

Array = NDArray[np.float64]
STATURE = 1.72
LENGTHS: Mapping[str, float] = {
    "pelvis": 0.085,
    "lumbar": 0.13,
    "thorax_low": 0.13,
    "thorax": 0.13,
    "neck": 0.09,
    "hip_half_width": 0.088,
    "shoulder_half_width": 0.172,
    "shoulder_height": 0.058,
    "upper_arm": 0.295,
    "forearm": 0.255,
    "palm": 0.095,
    "fingers": 0.092,
    "thigh": 0.425,
    "shank": 0.415,
    "ball": 0.125,
    "heel": 0.045,
    "ankle_height": 0.07,
}
"""Segment lengths in metres."""
GIRDLE_M = 0.0016
"""Metres that the shoulder moves for one degree of the shoulder girdle."""

FRAMES = (
    *("pelvis", "lumbar", "thorax_low", "thorax", "neck", "head"),
    *(
        f"{side}_{part}"
        for side in SIDES
        for part in ("upper_arm", "elbow", "forearm", "hand", "thigh", "shank", "foot", "toes")
    ),
)
"""Every frame. `elbow` is the forearm before it turns about its own length."""
INDEX = {name: number for number, name in enumerate(FRAMES)}
COLUMN = {name: number for number, name in enumerate(COORDINATES)}


@dataclass(frozen=True)
class Skeleton:
    """Frames of n poses: origins (n, frames, 3) in metres and rotations (n, frames, 3, 3)."""

    origins: Array
    rotations: Array

    def points(self, frame: str, local: Sequence[float] | Array) -> Array:
        """World points (n, 3) or (n, k, 3) of one local point (3,) or of k of them (k, 3)."""
        at = INDEX[frame]
        moved: Array = np.asarray(local) @ self.rotations[:, at].swapaxes(-1, -2)
        origin: Array = self.origins[:, at] if moved.ndim == 2 else self.origins[:, at, None]
        return moved + origin

    def vectors(self, frame: str, local: Sequence[float] | Array) -> Array:
        """World directions (n, 3) of one local direction."""
        turned: Array = np.einsum("nij,j->ni", self.rotations[:, INDEX[frame]], np.asarray(local, float))
        return turned


def as_row(angles: Angles) -> Array:
    """A pose as one row of numbers in the order of `COORDINATES`."""
    row = np.zeros(len(COORDINATES))
    for name, value in angles.items():
        row[COLUMN[name]] = value
    return row


_X, _Y, _Z = 0, 1, 2
_STANCE: Mapping[Stance, tuple[int, float]] = {
    "upright": (_X, 0),
    "supine": (_Y, -90),
    "prone": (_Y, 90),
    "left_side": (_X, -90),
    "right_side": (_X, 90),
}
_MIDDLE: tuple[tuple[str, int, float], ...] = (
    *(("root.yaw", _Z, 1.0), ("root.twist", _Z, 1.0), ("root.pitch", _Y, 1.0), ("root.roll", _X, 1.0)),
    *(
        (f"{joint}.{motion}", axis, share)
        for joint, share in (("lumbar", 1.0), ("thoracic", 0.5), ("neck", 1.0), ("head", 1.0))
        for motion, axis in (("flex", _Y), ("bend", _X), ("turn", _Z))
    ),
)
"""Turns of the trunk: a coordinate, the axis it turns about, and its share; the chest's two frames share its turns."""
_PAIRED: tuple[tuple[str, int, float, float], ...] = (
    ("shoulder.ir", _Z, -1, 1),
    ("elbow.flex", _Y, -1, -1),
    ("forearm.pron", _Z, -1, 1),
    ("wrist.flex", _X, -1, 1),
    ("wrist.uln", _Y, 1, 1),
    ("hip.flex", _Y, -1, -1),
    ("hip.abd", _X, 1, -1),
    ("hip.ir", _Z, -1, 1),
    ("knee.flex", _Y, 1, 1),
    ("ankle.df", _Y, -1, -1),
    ("foot.inv", _X, -1, 1),
    ("toes.flex", _Y, 1, 1),
)
"""Turns of the limbs: a coordinate, the axis it turns about, and its sense on the left and on the right."""
_TURNS = (
    *_MIDDLE,
    *(
        (f"{side}_{name}", axis, sense)
        for name, axis, *senses in _PAIRED
        for side, sense in zip(SIDES, senses, strict=True)
    ),
)
_AT: Mapping[str, int | slice] = {
    **{name: number for number, (name, _, _) in enumerate(_MIDDLE)},
    **{name: slice(at, at + 2) for at, (name, *_) in zip(count(len(_MIDDLE), 2), _PAIRED, strict=False)},
}
"""Where a turn stands among all, or the two of both sides."""
_COLUMNS = np.array([COLUMN[name] for name, _, _ in _TURNS])
_AXES = np.array([axis for _, axis, _ in _TURNS])
_SENSES = np.array([sense for _, _, sense in _TURNS])
_SIDE = np.array([1.0, -1.0])
"""Left and right, the way out to each."""
_HIPS = np.array([(0, LENGTHS["hip_half_width"], 0), (0, -LENGTHS["hip_half_width"], 0)])
_WHERE = {
    part: slice(INDEX[f"left_{part}"], INDEX[f"right_{part}"] + 1, INDEX[f"right_{part}"] - INDEX[f"left_{part}"])
    for part in ("upper_arm", "elbow", "forearm", "hand", "thigh", "shank", "foot", "toes")
}
"""Where the frames of both sides stand among all, the left first."""


def _about(axes: NDArray[np.intp], degrees: Array) -> Array:
    """Rotations (n, k, 3, 3) of k turns (n, k), each about its axis (k,) of the frame."""
    turn = np.radians(degrees)
    cos, sin = np.cos(turn), np.sin(turn)
    found = np.zeros((*turn.shape, 3, 3))
    each, one, two = np.arange(len(axes)), (axes + 1) % 3, (axes + 2) % 3
    found[:, each, axes, axes] = 1
    found[:, each, one, one] = found[:, each, two, two] = cos
    found[:, each, one, two], found[:, each, two, one] = -sin, sin
    return found


def _fixed(axis: int, degrees: float) -> Array:
    """The rotation (3, 3) of one turn that no coordinate moves."""
    found: Array = _about(np.array([axis]), np.array([[degrees]]))[0, 0]
    return found


def _swing(x_degrees: Array, y_degrees: Array) -> Array:
    """Rotations (..., 3, 3) by the vector (x, y, 0) in degrees."""
    angle = np.radians(np.hypot(x_degrees, y_degrees))
    safe = np.where(angle > 1e-9, angle, 1.0)
    ux, uy = np.radians(x_degrees) / safe, np.radians(y_degrees) / safe
    cos, sin = np.cos(angle), np.sin(angle)
    rest = 1 - cos
    found = np.zeros((*angle.shape, 3, 3))
    found[..., 0, 0], found[..., 1, 1], found[..., 2, 2] = cos + rest * ux**2, cos + rest * uy**2, cos
    found[..., 0, 1] = found[..., 1, 0] = rest * ux * uy
    found[..., 0, 2], found[..., 2, 0] = sin * uy, -sin * uy
    found[..., 1, 2], found[..., 2, 1] = -sin * ux, sin * ux
    found[angle <= 1e-9] = np.eye(3)
    return found


_STANDS = {stance: _fixed(*turn) for stance, turn in _STANCE.items()}
_LEAN, _LEVEL = _fixed(_Y, 12.0), _fixed(_Y, -12.0)
"""The neck leans forward of the trunk, and the head looks level again."""
Pair = tuple[Array, Array]
"""Origin and rotation of a frame: (n, 3) and (n, 3, 3), or of both sides' frames (n, 2, 3) and (n, 2, 3, 3)."""


class _Builder:
    """Fills the frames of n poses from the pelvis outwards, those of both sides at once."""

    def __init__(self, rows: Array) -> None:
        self.rows = rows
        self.origins = np.zeros((len(rows), len(FRAMES), 3))
        self.rotations = np.zeros((len(rows), len(FRAMES), 3, 3))
        self.turns = _about(_AXES, rows[:, _COLUMNS] * _SENSES)

    def turn(self, name: str) -> Array:
        """The rotation of a coordinate of the trunk (n, 3, 3), or of one that both sides have (n, 2, 3, 3)."""
        found: Array = self.turns[:, _AT[name]]
        return found

    def both(self, name: str) -> Array:
        """A coordinate of the left and of the right (n, 2)."""
        left, right = (self.rows[:, COLUMN[f"{side}_{name}"]] for side in SIDES)
        return np.stack([left, right], axis=1)

    def hang(self, frame: str, parent: Pair, local: Sequence[float] | Array, *turns: str | Array) -> Pair:
        """Put a frame, or the frames of both sides, at a local point of the parent, turned in the order given."""
        origin, base = parent
        origin = origin + np.einsum("...ij,...j->...i", base, np.asarray(local, float))
        for turn in turns:
            base = base @ (self.turn(turn) if isinstance(turn, str) else turn)
        where = _WHERE[frame] if frame in _WHERE else INDEX[frame]
        self.origins[:, where], self.rotations[:, where] = origin, base
        return origin, base

    def spine(self, frame: str, parent: Pair, local: Sequence[float], joint: str, *first: Array) -> Pair:
        return self.hang(frame, parent, local, *first, f"{joint}.flex", f"{joint}.bend", f"{joint}.turn")

    def trunk(self, stance: Stance) -> tuple[Pair, Pair]:
        """Fill the trunk; gives the pelvis and the chest, on which the limbs hang."""
        base = self.turn("root.yaw") @ _STANDS[stance]
        for one in ("twist", "pitch", "roll"):
            base = base @ self.turn(f"root.{one}")
        origin = self.rows[:, [COLUMN[f"root.{one}"] for one in "xyz"]]
        self.origins[:, INDEX["pelvis"]], self.rotations[:, INDEX["pelvis"]] = origin, base
        lumbar = self.spine("lumbar", (origin, base), (-0.005, 0, LENGTHS["pelvis"]), "lumbar")
        low = self.spine("thorax_low", lumbar, (0.008, 0, LENGTHS["lumbar"]), "thoracic")
        chest = self.spine("thorax", low, (-0.015, 0, LENGTHS["thorax_low"]), "thoracic")
        neck = self.spine("neck", chest, (-0.015, 0, LENGTHS["thorax"]), "neck", _LEAN)
        self.spine("head", neck, (0, 0, LENGTHS["neck"]), "head", _LEVEL)
        return (origin, base), chest

    def arms(self, chest: Pair) -> None:
        flex, abd = self.both("shoulder.flex"), self.both("shoulder.abd")
        # The shoulder blade follows the arm above 50 degrees (scapulohumeral rhythm), eased in over 120.
        lift = 0.055 * np.clip((np.hypot(flex, abd) - 50) / 120, 0, 1)
        up, fore = self.both("girdle.elev") * GIRDLE_M + lift, self.both("girdle.prot") * GIRDLE_M
        out = _SIDE * (LENGTHS["shoulder_half_width"] - lift * 0.6 - np.abs(fore) * 0.25)
        at = np.stack([fore - 0.005, out, up + LENGTHS["shoulder_height"]], axis=-1)
        arm = self.hang("upper_arm", _for_both(chest), at, _swing(_SIDE * abd, -flex), "shoulder.ir")
        elbow = self.hang("elbow", arm, (0, 0, -LENGTHS["upper_arm"]), "elbow.flex")
        forearm = self.hang("forearm", elbow, (0, 0, 0), "forearm.pron")
        self.hang("hand", forearm, (0, 0, -LENGTHS["forearm"]), "wrist.flex", "wrist.uln")

    def legs(self, pelvis: Pair) -> None:
        thigh = self.hang("thigh", _for_both(pelvis), _HIPS, "hip.flex", "hip.abd", "hip.ir")
        shank = self.hang("shank", thigh, (0, 0, -LENGTHS["thigh"]), "knee.flex")
        foot = self.hang("foot", shank, (0, 0, -LENGTHS["shank"]), "ankle.df", "foot.inv")
        self.hang("toes", foot, (LENGTHS["ball"], 0, -0.045), "toes.flex")


def _for_both(parent: Pair) -> Pair:
    return parent[0][:, None], parent[1][:, None]


def skeletons(rows: Array, stance: Stance) -> Skeleton:
    """The frames of n poses given as rows (n, coordinates)."""
    build = _Builder(rows)
    pelvis, chest = build.trunk(stance)
    build.arms(chest)
    build.legs(pelvis)
    return Skeleton(build.origins, build.rotations)


def skeleton(angles: Angles, stance: Stance = "upright") -> Skeleton:
    """The frames of one pose (n is 1)."""
    return skeletons(as_row(angles)[None], stance)
