"""Joint angles to the frames of the body's segments in space, many poses in one array operation.

World in metres: x forward, y left, z up; stature 1.72 m. Each frame has its origin at its nearer joint; in the
anatomical stance every frame is parallel to the world. Lengths follow the segment proportions of Drillis and
Contini 1966 (Winter, Biomechanics and Motor Control of Human Movement; from memory); head, hand and foot are
slightly enlarged, so that they read at 40 mm.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

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


def _about(axis: int, degrees: Array) -> Array:
    """Rotations (n, 3, 3) about one axis of the frame."""
    turn = np.radians(degrees)
    cos, sin = np.cos(turn), np.sin(turn)
    found = np.zeros((len(turn), 3, 3))
    one, two = (axis + 1) % 3, (axis + 2) % 3
    found[:, axis, axis] = 1
    found[:, one, one] = found[:, two, two] = cos
    found[:, one, two], found[:, two, one] = -sin, sin
    return found


def _swing(x_degrees: Array, y_degrees: Array) -> Array:
    """Rotations (n, 3, 3) by the vector (x, y, 0) in degrees."""
    angle = np.radians(np.hypot(x_degrees, y_degrees))
    safe = np.where(angle > 1e-9, angle, 1.0)
    ux, uy = np.radians(x_degrees) / safe, np.radians(y_degrees) / safe
    cos, sin = np.cos(angle), np.sin(angle)
    rest = 1 - cos
    found = np.zeros((len(angle), 3, 3))
    found[:, 0, 0], found[:, 1, 1], found[:, 2, 2] = cos + rest * ux**2, cos + rest * uy**2, cos
    found[:, 0, 1] = found[:, 1, 0] = rest * ux * uy
    found[:, 0, 2], found[:, 2, 0] = sin * uy, -sin * uy
    found[:, 1, 2], found[:, 2, 1] = -sin * ux, sin * ux
    found[angle <= 1e-9] = np.eye(3)
    return found


_X, _Y, _Z = 0, 1, 2
_STANCE: Mapping[Stance, tuple[int, float]] = {
    "upright": (_X, 0),
    "supine": (_Y, -90),
    "prone": (_Y, 90),
    "left_side": (_X, -90),
    "right_side": (_X, 90),
}


class _Builder:
    """Fills the frames of n poses from the pelvis outwards."""

    def __init__(self, rows: Array) -> None:
        self.rows = rows
        self.origins = np.zeros((len(rows), len(FRAMES), 3))
        self.rotations = np.zeros((len(rows), len(FRAMES), 3, 3))

    def get(self, name: str) -> Array:
        column: Array = self.rows[:, COLUMN[name]]
        return column

    def put(self, frame: str, origin: Array, rotation: Array) -> None:
        self.origins[:, INDEX[frame]], self.rotations[:, INDEX[frame]] = origin, rotation

    def hang(self, frame: str, parent: str, local: Sequence[float] | Array, *turns: Array) -> Array:
        """Put a frame at a local point of its parent, turned in the order given; its rotation."""
        at = INDEX[parent]
        base = self.rotations[:, at]
        step = np.asarray(local, float)
        origin = self.origins[:, at] + (
            np.einsum("nij,nj->ni", base, step) if step.ndim == 2 else np.einsum("nij,j->ni", base, step)
        )
        for turn in turns:
            base = base @ turn
        self.put(frame, origin, base)
        return base

    def spine(self, joint: str, share: float = 1.0) -> tuple[Array, Array, Array]:
        flex, bend, turn = (self.get(f"{joint}.{axis}") * share for axis in ("flex", "bend", "turn"))
        return _about(_Y, flex), _about(_X, bend), _about(_Z, turn)

    def trunk(self, stance: Stance) -> None:
        axis, turn = _STANCE[stance]
        n = len(self.rows)
        base = _about(_Z, self.get("root.yaw")) @ _about(axis, np.full(n, float(turn)))
        base = base @ _about(_Z, self.get("root.twist")) @ _about(_Y, self.get("root.pitch"))
        base = base @ _about(_X, self.get("root.roll"))
        self.put("pelvis", np.stack([self.get(f"root.{one}") for one in "xyz"], axis=1), base)
        self.hang("lumbar", "pelvis", (-0.005, 0, LENGTHS["pelvis"]), *self.spine("lumbar"))
        self.hang("thorax_low", "lumbar", (0.008, 0, LENGTHS["lumbar"]), *self.spine("thoracic", 0.5))
        self.hang("thorax", "thorax_low", (-0.015, 0, LENGTHS["thorax_low"]), *self.spine("thoracic", 0.5))
        lean = np.full(n, 12.0)  # the neck leans forward of the trunk, and the head looks level again
        self.hang("neck", "thorax", (-0.015, 0, LENGTHS["thorax"]), _about(_Y, lean), *self.spine("neck"))
        self.hang("head", "neck", (0, 0, LENGTHS["neck"]), _about(_Y, -lean), *self.spine("head"))

    def arm(self, side: str, s: int) -> None:
        flex, abd, ir = (self.get(f"{side}_shoulder.{axis}") for axis in ("flex", "abd", "ir"))
        # The shoulder blade follows the arm above 50 degrees (scapulohumeral rhythm), eased in over 120.
        lift = 0.055 * np.clip((np.hypot(flex, abd) - 50) / 120, 0, 1)
        up, fore = self.get(f"{side}_girdle.elev") * GIRDLE_M + lift, self.get(f"{side}_girdle.prot") * GIRDLE_M
        out = s * (LENGTHS["shoulder_half_width"] - lift * 0.6 - np.abs(fore) * 0.25)
        at = np.stack([fore - 0.005, out, up + LENGTHS["shoulder_height"]], axis=1)
        self.hang(f"{side}_upper_arm", "thorax", at, _swing(s * abd, -flex), _about(_Z, -s * ir))
        elbow = _about(_Y, -self.get(f"{side}_elbow.flex"))
        self.hang(f"{side}_elbow", f"{side}_upper_arm", (0, 0, -LENGTHS["upper_arm"]), elbow)
        self.hang(f"{side}_forearm", f"{side}_elbow", (0, 0, 0), _about(_Z, -s * self.get(f"{side}_forearm.pron")))
        wrist = _about(_X, -s * self.get(f"{side}_wrist.flex")), _about(_Y, self.get(f"{side}_wrist.uln"))
        self.hang(f"{side}_hand", f"{side}_forearm", (0, 0, -LENGTHS["forearm"]), *wrist)

    def leg(self, side: str, s: int) -> None:
        hip = (
            _about(_Y, -self.get(f"{side}_hip.flex")),
            _about(_X, s * self.get(f"{side}_hip.abd")),
            _about(_Z, -s * self.get(f"{side}_hip.ir")),
        )
        self.hang(f"{side}_thigh", "pelvis", (0, s * LENGTHS["hip_half_width"], 0), *hip)
        knee = _about(_Y, self.get(f"{side}_knee.flex"))
        self.hang(f"{side}_shank", f"{side}_thigh", (0, 0, -LENGTHS["thigh"]), knee)
        ankle = _about(_Y, -self.get(f"{side}_ankle.df")), _about(_X, -s * self.get(f"{side}_foot.inv"))
        self.hang(f"{side}_foot", f"{side}_shank", (0, 0, -LENGTHS["shank"]), *ankle)
        self.hang(
            f"{side}_toes", f"{side}_foot", (LENGTHS["ball"], 0, -0.045), _about(_Y, self.get(f"{side}_toes.flex"))
        )


def skeletons(rows: Array, stance: Stance) -> Skeleton:
    """The frames of n poses given as rows (n, coordinates)."""
    build = _Builder(rows)
    build.trunk(stance)
    for side, s in (("left", 1), ("right", -1)):
        build.arm(side, s)
        build.leg(side, s)
    return Skeleton(build.origins, build.rotations)


def skeleton(angles: Angles, stance: Stance = "upright") -> Skeleton:
    """The frames of one pose (n is 1)."""
    return skeletons(as_row(angles)[None], stance)
