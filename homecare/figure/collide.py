"""Where parts of the body run into each other: balls along limbs against balls of the trunk and of the other limbs."""

from __future__ import annotations

from collections.abc import Collection, Mapping

import numpy as np

from homecare.core.pose import SIDES
from homecare.figure.landmarks import landmark
from homecare.figure.skeleton import INDEX, Array, Skeleton

SOFT, MOST_THROUGH = 0.012, 0.03
"""Flesh gives 12 mm before the planting pushes back; more than 30 mm is a limb through the body (common practice)."""
PUSH = 0.5

_Ball = tuple[str, str, tuple[float, float, float], float]
"""Part, frame, centre in the frame, radius."""

_TRUNK: tuple[_Ball, ...] = (
    *(("pelvis", "pelvis", (-0.01, y, z), 0.085) for y in (-0.07, 0.07) for z in (0.0, 0.06)),
    *(("belly", "lumbar", (0.0, y, z), 0.083) for y in (-0.055, 0.055) for z in (0.0, 0.07)),
    *(("chest", "thorax_low", (0.01, y, 0.06), 0.09) for y in (-0.062, 0.062)),
    *(("chest", "thorax", (0.0, y, 0.02), 0.085) for y in (-0.07, 0.07)),
    ("neck", "neck", (0.0, 0.0, 0.03), 0.046),
    ("head", "head", (0.0, 0.0, 0.085), 0.09),
    ("head", "head", (0.04, 0.0, 0.0), 0.05),
)


_LIMB: Mapping[str, tuple[str, tuple[tuple[tuple[float, float, float], float], ...]]] = {
    "forearm": ("forearm", (((0.0, 0.0, -0.06), 0.04), ((0.0, 0.0, -0.15), 0.036))),
    "hand": ("hand", (((0.0, 0.0, 0.0), 0.026), ((0.0, 0.0, -0.07), 0.018), ((0.0, 0.0, -0.15), 0.012))),
    "thigh": ("thigh", (((0.0, 0.0, -0.2), 0.075), ((0.0, 0.0, -0.32), 0.064), ((0.0, 0.0, -0.425), 0.054))),
    "shin": ("shank", (((-0.006, 0.0, -0.12), 0.052), ((-0.006, 0.0, -0.25), 0.044), ((-0.006, 0.0, -0.36), 0.036))),
    "foot": ("foot", (((0.0, 0.0, -0.01), 0.034), ((0.1, 0.0, -0.04), 0.024))),
}


def _limb(side: str) -> tuple[_Ball, ...]:
    return tuple(
        (f"{side} {part}", f"{side}_{frame}", centre, radius)
        for part, (frame, balls) in _LIMB.items()
        for centre, radius in balls
    )


_ALL = (*_TRUNK, *_limb("left"), *_limb("right"))
_FRAME_AT = np.array([INDEX[ball[1]] for ball in _ALL])
_CENTRES = np.array([ball[2] for ball in _ALL])
_RADII = np.array([ball[3] for ball in _ALL])
_KIN = ({"thigh", "shin", "foot"}, {"forearm", "hand"})


def _may_touch(one: str, two: str) -> bool:
    """Whether two parts are joined, so that nearness says nothing."""
    if one in ("pelvis", "belly", "chest", "neck", "head") and two in ("pelvis", "belly", "chest", "neck", "head"):
        return True
    (side, _, part), (other, _, rest) = one.partition(" "), two.partition(" ")
    if part and rest and side == other:
        return any(part in kin and rest in kin for kin in _KIN)
    trunk, limb = (one, rest) if rest else (two, part)
    return limb == "thigh" and trunk == "pelvis"


_PAIRS = np.array(
    [(i, j) for i in range(len(_ALL)) for j in range(i) if not _may_touch(_ALL[i][0], _ALL[j][0])], dtype=int
)
_PARTS = [frozenset((_ALL[i][0], _ALL[j][0])) for i, j in _PAIRS]
_FOLD = 0.045
"""A bent hip folds the belly: a thigh may press 45 mm into it."""


def _fold(one: str, two: str) -> float:
    return _FOLD if {"belly", "chest"} & {one, two} and "thigh" in one + two else 0.0


_ROOM = np.array([_fold(_ALL[i][0], _ALL[j][0]) for i, j in _PAIRS])


def _part(point: str) -> str:
    frame = landmark(point).frame
    side, _, rest = frame.partition("_")
    names = {"shank": "shin", "toes": "foot", "elbow": "forearm", "upper_arm": "forearm"}
    if side in SIDES:
        return f"{side} {names.get(rest, rest)}"
    return {"lumbar": "belly", "thorax": "chest", "thorax_low": "chest"}.get(frame, frame)


def _exempt(contacts: Collection[tuple[str, str]]) -> set[frozenset[str]]:
    found = set()
    for point, on in contacts:
        try:
            found.add(frozenset((_part(point), _part(on))))
        except KeyError:  # it touches a surface, not the body
            continue
    return found


class Clearance:
    """The pairs of balls that must stay apart, those of parts that are meant to touch left out."""

    def __init__(self, contacts: Collection[tuple[str, str]]) -> None:
        free = _exempt(contacts)
        keep = [parts not in free for parts in _PARTS]
        self.one, self.two = np.ascontiguousarray(_PAIRS[keep].T)
        self.reach = _RADII[self.one] + _RADII[self.two] - SOFT - _ROOM[keep]

    def depths(self, body: Skeleton) -> Array:
        """How deep (n, pairs) each pair overlaps, in metres, the softness taken off."""
        at = body.origins[:, _FRAME_AT] + np.einsum("nbij,bj->nbi", body.rotations[:, _FRAME_AT], _CENTRES)
        square = np.einsum("nbi,nbi->nb", at, at)
        dots = (at @ at.swapaxes(1, 2)).reshape(len(at), -1)
        # One array is worked on in place: at a planting's size new ones cost more than the arithmetic.
        gap = square.take(self.one, axis=1)
        gap += square.take(self.two, axis=1)
        gap -= 2 * dots.take(self.one * len(_ALL) + self.two, axis=1)
        np.sqrt(np.maximum(gap, 0.0, out=gap), out=gap)
        deep: Array = np.maximum(np.subtract(self.reach, gap, out=gap), 0.0, out=gap)
        return deep

    def push(self, body: Skeleton) -> Array:
        """One residual (n,) that grows as parts of the body run into each other."""
        deep = self.depths(body)
        pushed: Array = np.sqrt(np.einsum("np,np->n", deep, deep) + 1e-12) * PUSH
        return pushed

    def overlaps(self, body: Skeleton) -> tuple[tuple[str, str, float], ...]:
        """Parts that run more than 30 mm into each other, deepest first (n is 1)."""
        worst: dict[tuple[str, str], float] = {}
        deep = self.depths(body)[0]
        for at in np.flatnonzero(deep > MOST_THROUGH):
            pair = _ALL[self.one[at]][0], _ALL[self.two[at]][0]
            worst[pair] = max(worst.get(pair, 0.0), float(deep[at]))
        return tuple(sorted(((one, two, depth) for (one, two), depth in worst.items()), key=lambda item: -item[2]))
