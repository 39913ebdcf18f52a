"""Hands: the frames of fingers and thumb from the pose, and their pieces, a mitt or each finger on its own."""

from __future__ import annotations

import numpy as np

from homecare.core.pose import SIDES, Angles
from homecare.figure.pieces import BALL, Join, Piece, Prim
from homecare.figure.skeleton import INDEX, LENGTHS, Array, Skeleton

_PALM = LENGTHS["palm"]
FINGERS = ("index", "middle", "ring", "little")
_ROOT_X = np.array([0.033, 0.011, -0.011, -0.032])
_ROOT_Z = -_PALM * np.array([1.0, 1.02, 0.99, 0.93])
_SHARE = np.array([0.92, 1.0, 0.94, 0.74])
"""Length of each finger against the middle one."""
_FAN = np.array([3.0, 1.0, -1.5, -5.0])
_FAN_SPREAD = np.array([1.0, 0.15, -0.7, -1.5])
"""Degrees that each finger fans out at rest, and for each degree of spread."""
_BONES = (0.048, 0.029, 0.024)
_CURLS = (0.0, 1.0, 1.7)
_THUMB_REST = 24.0
"""Degrees that the thumb stands off the palm at rest."""

HAND_FRAMES = tuple(
    f"{side}_{part}"
    for side in SIDES
    for part in (
        "knuckles",
        "tips",
        *(f"{finger}_{bone}" for finger in FINGERS for bone in (1, 2, 3)),
        "thumb_1",
        "thumb_2",
        "thumb_3",
    )
)


def _turn(axis: int, degrees: Array | float) -> Array:
    """Rotations (..., 3, 3) about one axis."""
    angle = np.radians(np.asarray(degrees, float))
    found = np.zeros((*angle.shape, 3, 3))
    one, two = (axis + 1) % 3, (axis + 2) % 3
    found[..., axis, axis] = 1
    found[..., one, one] = found[..., two, two] = np.cos(angle)
    found[..., two, one] = np.sin(angle)
    found[..., one, two] = -found[..., two, one]
    return found


def hand_frames(body: Skeleton, angles: Angles) -> tuple[Array, Array]:
    """Origins (k, 3) and rotations (k, 3, 3) of `HAND_FRAMES` in one pose."""
    origins, rotations = [], []
    for side, s in (("left", 1), ("right", -1)):
        at = INDEX[f"{side}_hand"]
        origin, base = body.origins[0, at], body.rotations[0, at]
        flex, curl, spread, abd, fold = (
            angles.get(f"{side}_{name}", 0.0)
            for name in ("fingers.flex", "fingers.curl", "fingers.spread", "thumb.abd", "thumb.flex")
        )
        knuckles, tips = base @ _turn(0, -s * flex), base @ _turn(0, -s * (flex + curl))
        start = origin + base @ np.array([0, 0, -_PALM])
        origins += [start, start + knuckles @ np.array([0, 0, -0.045])]
        rotations += [knuckles, tips]
        fan = base @ _turn(1, -(_FAN + _FAN_SPREAD * spread))
        joint = origin + np.stack([_ROOT_X, np.zeros(4), _ROOT_Z], axis=1) @ base.T
        bones, joints = [], []
        for length, share in zip(_BONES, _CURLS, strict=True):
            turned = fan @ _turn(0, -s * (flex + share * curl))
            bones.append(turned)
            joints.append(joint)
            joint = joint - turned[:, :, 2] * (length * _SHARE)[:, None]
        origins += [joints[bone][finger] for finger in range(4) for bone in range(3)]
        rotations += [bones[bone][finger] for finger in range(4) for bone in range(3)]
        thumb = base @ _turn(1, -(_THUMB_REST + abd)) @ _turn(0, -s * (12 + fold))
        first = origin + base @ np.array([0.022, -s * 0.008, -0.02])
        second = first - thumb[:, 2] * 0.043
        middle = thumb @ _turn(1, 12.0) @ _turn(0, -s * 0.6 * fold)
        third = second - middle[:, 2] * 0.032
        origins += [first, second, third]
        rotations += [thumb, middle, middle @ _turn(1, 8.0) @ _turn(0, -s * 0.5 * fold)]
    return np.array(origins), np.array(rotations)


def _palm(side: str, s: int, fingers: tuple[Join, ...]) -> Piece:
    hand = f"{side}_hand"
    spots = ((0.012, 0, -0.005, 0.0215), (-0.012, 0, -0.005, 0.0205), (0.034, 0, -_PALM, 0.0135))
    rest = ((-0.034, 0, -_PALM * 0.92, 0.0125), (0.026, -0.006 * s, -0.045, 0.018))
    return Piece(
        f"{side}_palm",
        "skin",
        tuple(Prim(BALL, hand, (x, y, z), r) for x, y, z, r in (*spots, *rest)),
        hosts=(hand,),
        joins=(
            Join(f"{side}_forearm", hand, reach=0.055),
            Join(f"{side}_thumb", hand, (0.03, 0, -0.035), 0.032),
            *fingers,
        ),
        side=side,
    )


def _thumb(side: str, s: int) -> tuple[Piece, ...]:
    hand, one, two, three = (f"{side}_{name}" for name in ("hand", "thumb_1", "thumb_2", "thumb_3"))
    ball = Piece(
        f"{side}_thumb",
        "skin",
        (Prim(BALL, one, (0, 0, 0), 0.019), Prim(BALL, two, (0, 0, 0), 0.0135)),
        hosts=(hand,),
        joins=(Join(f"{side}_palm", hand, (0.02, 0, -0.03), 0.042), Join(f"{side}_thumb_tip", two, reach=0.022)),
        side=side,
    )
    tip = Piece(
        f"{side}_thumb_tip",
        "skin",
        (
            Prim(BALL, two, (0, 0, 0), 0.0135),
            Prim(BALL, three, (0, 0, 0), 0.0122),
            Prim(BALL, three, (0, 0, -0.024), 0.0098),
        ),
        hosts=(hand,),
        joins=(Join(f"{side}_thumb", two, reach=0.022),),
        side=side,
    )
    return ball, tip


def mitt(side: str, s: int) -> tuple[Piece, ...]:
    """A hand as it reads at 40 mm: palm, the fingers as one that bends in the middle, and a thumb."""
    hand, near, far = f"{side}_hand", f"{side}_knuckles", f"{side}_tips"
    root = ((0.032, 0, 0, 0.0135), (-0.032, 0, 0.005, 0.0125))
    bend = ((0.028, 0, -0.045, 0.012), (-0.027, 0, -0.036, 0.011))
    end = ((0.022, 0, -0.042, 0.010), (0.003, 0, -0.05, 0.010), (-0.022, 0, -0.03, 0.010))
    middle = tuple(Prim(BALL, near, (x, y, z), r) for x, y, z, r in bend)
    first = Piece(
        f"{side}_fingers",
        "skin",
        (*(Prim(BALL, near, (x, y, z), r) for x, y, z, r in root), *middle),
        hosts=(hand,),
        joins=(Join(f"{side}_palm", near), Join(f"{side}_fingertips", near)),
        side=side,
    )
    second = Piece(
        f"{side}_fingertips",
        "skin",
        (*middle, *(Prim(BALL, far, (x, y, z), r) for x, y, z, r in end)),
        hosts=(hand,),
        joins=(Join(f"{side}_fingers", near),),
        side=side,
    )
    return (_palm(side, s, (Join(f"{side}_fingers", near),)), first, second, *_thumb(side, s))


def fingered(side: str, s: int) -> tuple[Piece, ...]:
    """A hand for a close-up, each finger in three bones."""
    pieces: list[Piece] = []
    width = ((0.0128, 0.0112), (0.0112, 0.0100), (0.0100, 0.0086))
    for number, finger in enumerate(FINGERS):
        share = float(_SHARE[number])
        slim = 0.9 if finger == "little" else 1.0
        for bone in (1, 2, 3):
            frame, (near, far) = f"{side}_{finger}_{bone}", width[bone - 1]
            before = Join(
                f"{side}_{finger}_{bone - 1}" if bone > 1 else f"{side}_palm", frame, reach=0.018 if bone > 1 else 0.022
            )
            joins = (
                (before,)
                if bone == 3
                else (before, Join(f"{side}_{finger}_{bone + 1}", f"{side}_{finger}_{bone + 1}", reach=0.018))
            )
            tip = (0.0, 0.0, -_BONES[bone - 1] * share)
            prims = Prim(BALL, frame, (0, 0, 0), near * slim), Prim(BALL, frame, tip, far * slim)
            pieces.append(Piece(frame, "skin", prims, hosts=(f"{side}_hand",), joins=joins, side=side))
    roots = tuple(Join(f"{side}_{finger}_1", f"{side}_{finger}_1", reach=0.022) for finger in FINGERS)
    return (_palm(side, s, roots), *pieces, *_thumb(side, s))
