"""What a figure shows of the body: the pieces that set its extent and those left out of a close-up."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from homecare.figure.outline import Outlines
from homecare.figure.pieces import Piece
from homecare.figure.skeleton import INDEX, Array, Skeleton

_HAND = ("palm", "finger", "thumb", "index", "middle", "ring", "little")
_ARM = ("upper_arm", "sleeve", "forearm", *_HAND)
_LEG = ("thigh", "shorts", "shank", "shin", "foot", "toes")
_TRUNK = ("pelvis", "abdomen", "chest")
_HEAD = ("neck", "head", "hair", "nape", "nose", "left_ear", "right_ear", "left_eye", "right_eye")
LARGEST: dict[str, float] = {
    "": 30.0,
    "upper_body": 46.0,
    "lower_body": 46.0,
    "head": 80.0,
    "hand": 190.0,
    "foot": 150.0,
}
"""Millimetres on paper for one metre, at most."""
NEAR_HAND_M = 0.2
"""How near the other hand must be to a close-up to be part of it."""


@dataclass(frozen=True)
class Crop:
    """A close-up: names of pieces left out, and the sides whose fingers or toes are drawn one by one."""

    name: str
    hidden: frozenset[str] = frozenset()
    fingers: frozenset[str] = frozenset()
    toes: frozenset[str] = frozenset()

    @property
    def part(self) -> str:
        """The part of the body without its side: hand, foot, arm, leg, head, upper_body, lower_body or nothing."""
        side, _, rest = self.name.partition("_")
        return rest if side in ("left", "right") else self.name

    @property
    def largest(self) -> float:
        """Millimetres on paper for one metre, at most."""
        return LARGEST.get(self.part, 60.0)


def _of(side: str, parts: Sequence[str]) -> set[str]:
    return {f"{side}_{part}" for part in parts}


def crop(name: str, bodies: Sequence[Skeleton]) -> Crop:
    """The close-up of a name, as its poses need it: another hand that reaches in is kept."""
    side, _, part = name.partition("_")
    if side not in ("left", "right"):
        hidden = (
            {one for s in ("left", "right") for one in _of(s, ("shank", "shin", "foot", "toes"))}
            if name == "head"
            else set()
        )
        return Crop(name, frozenset(hidden))
    other = "left" if side == "right" else "right"
    target = {"hand": f"{side}_hand", "foot": f"{side}_foot", "arm": f"{side}_elbow", "leg": f"{side}_shank"}[part]
    reach = NEAR_HAND_M if part in ("hand", "foot") else 0.32
    helps = any(_apart(body, f"{other}_hand", target) < reach for body in bodies)
    own_hand = any(_apart(body, f"{side}_hand", target) < reach for body in bodies)
    if part == "hand":
        hidden = {
            *_TRUNK,
            *_HEAD,
            *_of(side, (*_LEG, "upper_arm", "sleeve")),
            *_of(other, (*_LEG, "upper_arm", "sleeve")),
        }
        hidden |= set() if helps else _of(other, _ARM)
        return Crop(name, frozenset(hidden), frozenset((side, other) if helps else (side,)))
    if part == "foot":
        hidden = {
            *_TRUNK,
            *_HEAD,
            *_of(side, ("thigh", "shorts", "upper_arm", "sleeve")),
            *_of(other, (*_LEG, "upper_arm", "sleeve")),
        }
        hidden |= (set() if helps else _of(other, _ARM)) | (set() if own_hand else _of(side, _ARM))
        return Crop(name, frozenset(hidden), toes=frozenset((side,)))
    if part == "arm":
        return Crop(name, frozenset(set() if helps else _of(other, ("upper_arm", "forearm", *_HAND))))
    return Crop(name)


def is_hidden(piece: str, hidden: frozenset[str]) -> bool:
    """Whether a piece is left out; a finger or toe goes with its hand or foot."""
    return piece.startswith(tuple(hidden))


def _apart(body: Skeleton, one: str, two: str) -> float:
    return float(np.linalg.norm(body.origins[0, INDEX[one]] - body.origins[0, INDEX[two]]))


def _matters(piece: Piece, shown: Crop) -> bool:
    side, _, rest = piece.name.partition("_")
    paired = side in ("left", "right")
    if shown.part == "":
        return True
    if shown.part == "upper_body":
        return piece.name in (*_TRUNK, *_HEAD) or (paired and rest.startswith(_ARM))
    if shown.part == "lower_body":
        return piece.name == "pelvis" or (paired and rest.startswith(_LEG))
    if shown.part == "head":
        return piece.name in _HEAD
    own = shown.name.partition("_")[0]
    if not paired:
        return piece.name == "pelvis" and shown.part == "leg"
    if side != own:
        return rest.startswith(_HAND) and shown.part in ("hand", "foot")
    parts = {"hand": _HAND, "foot": ("foot", "toes"), "arm": _ARM, "leg": _LEG}[shown.part]
    return rest.startswith(parts)


def extent(shown: Crop, pieces: Sequence[Piece], shapes: Outlines, body: Skeleton, paper: Array) -> tuple[Array, Array]:
    """Least and greatest place on paper (metres) of what must be seen; `paper` are the places of the body's frames."""
    rows = [i for i, piece in enumerate(pieces) if piece.kind == "body" and _matters(piece, shown)]
    low, high = shapes.low[rows].min(axis=0), shapes.high[rows].max(axis=0)
    side = shown.name.partition("_")[0]
    more: list[tuple[Array, float]] = []
    if shown.part == "hand":
        more.append((paper[INDEX[f"{side}_elbow"]] * 0.45 + paper[INDEX[f"{side}_hand"]] * 0.55, 0.042))
    elif shown.part == "foot":
        more.append((paper[INDEX[f"{side}_shank"]] * 0.5 + paper[INDEX[f"{side}_foot"]] * 0.5, 0.05))
    elif shown.part == "head":
        more += [(paper[INDEX[f"{one}_upper_arm"]], 0.07) for one in ("left", "right")]
        more.append((paper[INDEX["thorax"]], 0.06))
    elif shown.part == "arm":
        more.append((paper[INDEX["thorax"]], 0.09))
    elif shown.part == "upper_body":
        more += [
            (paper[INDEX[f"{one}_thigh"]] * 0.8 + paper[INDEX[f"{one}_shank"]] * 0.2, 0.07) for one in ("left", "right")
        ]
    elif shown.part == "lower_body":
        more.append((paper[INDEX["lumbar"]], 0.06))
    for place, radius in more:
        low, high = np.minimum(low, place - radius), np.maximum(high, place + radius)
    return low, high
