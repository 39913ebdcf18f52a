"""One pose as it is seen: its pieces, their outlines and the order in which they are painted."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from homecare.figure.cropping import Crop, is_hidden
from homecare.figure.hands import hand_frames
from homecare.figure.order import overlaps, paint_order
from homecare.figure.outline import Camera, Outlines, outlines
from homecare.figure.pieces import Ints, Mould, Piece, Stack, cast, joined, mould
from homecare.figure.scene import Posed
from homecare.figure.shapes import EYE_WAY, FRAME_INDEX, HAIR_WAY, body_pieces, patches
from homecare.figure.skeleton import Array, Skeleton
from homecare.figure.solids import Box, Solid
from homecare.figure.things import solid_pieces

_SHIRT_OVER_SHORTS = 80.0
"""Hip flexion in degrees above which the shorts' legs fold over the shirt's hem."""

_TRUNK = ("pelvis", "abdomen", "chest")
_NOT_ARM = ("thigh", "shorts", "shank", "shin", "foot")


@dataclass(frozen=True)
class Look:
    """What of the body is drawn, and how its head is seen: chosen once for all poses of a moving figure.

    A `moving` one has patches over its hips and shoulders, and is painted limb by limb.
    """

    from_behind: bool
    features: frozenset[str]
    crop: Crop
    moving: bool = False


@dataclass(frozen=True)
class Arranged:
    """A pose as seen. `order` is the order of painting, `rank` each piece's turn in it; `paper` the frames' places."""

    pieces: Sequence[Piece]
    solids: dict[str, Solid]
    stack: Stack
    shapes: Outlines
    order: list[int]
    rank: Ints
    pairs: Ints
    body: Skeleton
    join_places: Sequence[Array]
    paper: Array
    depth: Array


def look(body: Skeleton, view: Camera, crop: Crop, moving: bool = False) -> Look:
    """How the head is seen from here, and which of its features show."""

    def towards(frame: str, way: tuple[float, float, float]) -> float:
        found = body.vectors(frame, way)[0]
        return float(found @ view.near) / float(np.linalg.norm(found))

    features = set()
    for side, s in (("left", 1.0), ("right", -1.0)):
        if towards("head", (-0.2, s, 0)) > 0.25:
            features.add(f"{side}_ear")
        if towards("head", EYE_WAY[side]) > 0.2:
            features.add(f"{side}_eye")
    return Look(towards("head", HAIR_WAY) < -0.05, frozenset(features), crop, moving)


@lru_cache(maxsize=64)
def _outfit(seen: Look) -> tuple[tuple[Piece, ...], Mould]:
    crop = seen.crop
    pieces = []
    for piece in body_pieces(seen.from_behind, crop.fingers, crop.toes):
        feature = piece.name.endswith(("_ear", "_eye"))
        if not is_hidden(piece.name, crop.hidden) and (not feature or piece.name in seen.features):
            pieces.append(piece)
    if seen.moving:
        names = {piece.name for piece in pieces}
        pieces += [patch for patch in patches() if names.issuperset(patch.after)]
    return tuple(pieces), mould(pieces, FRAME_INDEX)


def arranged(posed: Posed, view: Camera, seen: Look, with_solids: bool = True) -> Arranged:
    """A pose's pieces with their outlines, in the order of painting."""
    body = posed.body
    pieces, form = _outfit(seen)
    extra_origins, extra_turns = hand_frames(body, posed.angles)
    origins = np.concatenate([body.origins[0], extra_origins, np.zeros((1, 3))])
    turns = np.concatenate([body.rotations[0], extra_turns, np.eye(3)[None]])
    stack = cast(form, origins, turns)
    things, owners = solid_pieces(posed.solids) if with_solids else ([], {})
    if things:
        stack = joined(stack, cast(mould(things, FRAME_INDEX), origins, turns))
    everything = [*pieces, *things]
    shapes = outlines(stack, view)
    number = {piece.name: i for i, piece in enumerate(everything)}
    first = [
        number[name]
        for name, solid in owners.items()
        if isinstance(solid, Box) and (solid.stuff in ("floor", "wall") or solid.name == "mat")
    ]
    trunk = [number[name] for name in _TRUNK if name in number]
    arms = np.array([piece.side != "" and not piece.name.endswith(_NOT_ARM) for piece in everything], bool)
    fixed = _fixed(everything, number, posed, view) | _on_top(stack, owners, number, view)
    groups = numbered([limb(piece) for piece in everything]) if seen.moving else None
    order = paint_order(stack, shapes, view, fixed, first, trunk, arms, groups)
    rank = np.empty(len(order), np.int64)
    rank[order] = np.arange(len(order))
    places = [
        np.array(
            [origins[FRAME_INDEX[j.frame]] + turns[FRAME_INDEX[j.frame]] @ np.asarray(j.at) for j in piece.joins]
        ).reshape(-1, 3)
        for piece in everything
    ]
    centres = np.add.reduceat(stack.centres @ view.near, stack.starts[:-1]) / np.diff(stack.starts)
    return Arranged(
        everything, owners, stack, shapes, order, rank, overlaps(shapes), body, places, view.paper(origins), centres
    )


def limb(piece: Piece) -> str:
    """The part of the body that a moving figure outlines as one; a piece of its own kind by its name."""
    if piece.kind != "body":
        return piece.name
    if piece.name in ("abdomen", "chest"):
        return "trunk"
    if piece.name in ("head", "hair", "nape", "nose"):
        return "head"
    side, _, rest = piece.name.partition("_")
    if rest.startswith(("upper_arm", "sleeve", "forearm", "palm", "fingers", "fingertips", "thumb")):
        return f"{side} arm"
    if rest in ("thigh", "shorts", "shank", "shin", "foot", "toes"):
        return f"{side} leg"
    return piece.name if rest.startswith("toes") or not piece.side else piece.name.rstrip("_123")


def numbered(names: Sequence[str]) -> Ints:
    """A number for each name, the same for the same."""
    first = {name: i for i, name in reversed(list(enumerate(names)))}
    return np.array([first[name] for name in names], np.int64)


def _fixed(pieces: Sequence[Piece], number: dict[str, int], posed: Posed, view: Camera) -> set[tuple[int, int]]:
    """Pairs (earlier, later) that hold whatever their depth."""
    found = {(number[early], i) for i, piece in enumerate(pieces) for early in piece.after if early in number}
    body, more = posed.body, []
    if float(body.vectors("thorax", (1, 0, 0))[0] @ view.near) > -0.3:
        more.append(("chest", "neck"))
    if float(body.vectors("head", (1, 0, 0.3))[0] @ view.near) < -0.3:
        more.append(("head", "neck"))
    elif float(body.vectors("head", (0, 0, 1))[0] @ view.near) > -0.8:
        more.append(("neck", "head"))
    forward = float(body.vectors("head", (1, 0, 0))[0] @ view.near)
    more.append(("head", "nose") if forward > -0.25 else ("nose", "head"))
    more += [("head", "nape"), ("neck", "nape")] if forward < 0.5 else [("nape", "head"), ("nape", "neck")]
    if max(posed.angles.get(f"{side}_hip.flex", 0.0) for side in ("left", "right")) < _SHIRT_OVER_SHORTS:
        more += [("left_shorts", "abdomen"), ("right_shorts", "abdomen")]
        more += [("left_hip_patch", "abdomen"), ("right_hip_patch", "abdomen")]
    found |= {(number[a], number[b]) for a, b in more if a in number and b in number}
    return found


def _on_top(stack: Stack, owners: dict[str, Solid], number: dict[str, int], view: Camera) -> set[tuple[int, int]]:
    """Pairs (box, what lies wholly above its top): seen from above, a bed or seat hides nothing that is on it."""
    if view.near[2] <= 0:
        return set()
    lowest = np.minimum.reduceat(stack.centres[:, 2], stack.starts[:-1])
    boxes = [(number[name], solid.high[2]) for name, solid in owners.items() if isinstance(solid, Box)]
    return {(box, int(i)) for box, top in boxes for i in np.flatnonzero(lowest >= top) if int(i) != box}
