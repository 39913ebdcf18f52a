"""What body and props are drawn from: convex hulls of balls, discs and caps on frames, and many of them stacked."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from homecare.figure.skeleton import Array

Ints = NDArray[np.int64]
Local = tuple[float, float, float]
BALL, DISC, CAP = 0, 1, 2
EVERYWHERE = 9.0
"""A join's reach when two pieces melt into each other wherever they meet."""
WORLD = "world"


@dataclass(frozen=True)
class Prim:
    """A ball, a flat disc or a cap (the part of a ball beyond `height` along its normal), on a frame, in metres."""

    kind: int
    frame: str
    centre: Local
    radius: float
    normal: Local = (0.0, 0.0, 1.0)
    height: float = 0.0


@dataclass(frozen=True)
class Join:
    """Within `reach` metres of a point the outline of a piece is dropped where it runs inside `other`."""

    other: str
    frame: str
    at: Local = (0.0, 0.0, 0.0)
    reach: float = EVERYWHERE


@dataclass(frozen=True)
class Piece:
    """A convex hull of primitives with one fill; `hosts` are the frames whose targets show on it.

    `after` names pieces that are always painted earlier.
    """

    name: str
    tint: str
    prims: tuple[Prim, ...]
    hosts: tuple[str, ...] = ()
    joins: tuple[Join, ...] = ()
    after: tuple[str, ...] = ()
    side: str = ""
    outlined: bool = True
    kind: Literal["body", "box", "rod", "ball", "cord"] = "body"


@dataclass(frozen=True)
class Stack:
    """All primitives of all pieces in world metres: piece i owns rows starts[i] up to starts[i + 1]."""

    kinds: Ints
    centres: Array
    normals: Array
    radii: Array
    heights: Array
    starts: Ints


@dataclass(frozen=True)
class Mould:
    """Primitives of pieces, still on their frames, ready to be put into any pose."""

    kinds: Ints
    frames: Ints
    centres: Array
    normals: Array
    radii: Array
    heights: Array
    starts: Ints


def mould(pieces: Sequence[Piece], index: dict[str, int]) -> Mould:
    """The primitives of pieces as arrays; `index` gives each frame's number."""
    prims = [prim for piece in pieces for prim in piece.prims]
    counts = [len(piece.prims) for piece in pieces]
    normals = np.array([prim.normal for prim in prims], float).reshape(-1, 3)
    return Mould(
        np.array([prim.kind for prim in prims], np.int64),
        np.array([index[prim.frame] for prim in prims], np.int64),
        np.array([prim.centre for prim in prims], float).reshape(-1, 3),
        normals / np.linalg.norm(normals, axis=1, keepdims=True),
        np.array([prim.radius for prim in prims], float),
        np.array([prim.height for prim in prims], float),
        np.concatenate([[0], np.cumsum(counts)]).astype(np.int64),
    )


def cast(form: Mould, origins: Array, rotations: Array) -> Stack:
    """The primitives in the world, from origins (frames, 3) and rotations (frames, 3, 3)."""
    turn = rotations[form.frames]
    centres = np.einsum("pij,pj->pi", turn, form.centres) + origins[form.frames]
    normals = np.einsum("pij,pj->pi", turn, form.normals)
    return Stack(form.kinds, centres, normals, form.radii, form.heights, form.starts)


def joined(one: Stack, two: Stack) -> Stack:
    """Two stacks as one, the second's pieces after the first's."""
    return Stack(
        np.concatenate([one.kinds, two.kinds]),
        np.concatenate([one.centres, two.centres]),
        np.concatenate([one.normals, two.normals]),
        np.concatenate([one.radii, two.radii]),
        np.concatenate([one.heights, two.heights]),
        np.concatenate([one.starts, two.starts[1:] + one.starts[-1]]),
    )
