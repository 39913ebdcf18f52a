"""Where each outline is stroked: dropped inside joined pieces painted earlier, and where later pieces cover it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from homecare.figure.outline import WAYS, Outlines, along, inside
from homecare.figure.pieces import Ints, Piece
from homecare.figure.skeleton import Array

Flags = NDArray[np.bool_]
MELT_M = 0.0012
"""How far inside a joined piece a stroke must run to be dropped; less in a close-up."""


@dataclass(frozen=True)
class Samples:
    """Outlines as dense points: piece i owns rows starts[i] up to starts[i + 1].

    `arcs` is the number of the primitive whose ball a point and its successor lie on, or below -1 the number of a
    straight edge. `hems` are points on an edge between flat discs, which are always stroked. `turns` is the direction
    (of 96) that a point belongs to.
    """

    paper: Array
    world: Array
    arcs: Ints
    radii: Array
    hems: Flags
    turns: Ints
    starts: Ints


def sampled(shapes: Outlines, flat: Flags, step: float) -> Samples:
    """Outlines with their long edges divided into steps (metres); `flat` flags the primitives that are discs."""
    following = np.roll(shapes.paper, -1, axis=1)
    length = np.linalg.norm(following - shapes.paper, axis=2)
    prims, after = shapes.prims, np.roll(shapes.prims, -1, axis=1)
    same = (prims == after) & (shapes.arcs > 0)
    counts = np.maximum(1, np.ceil(length / step)).astype(np.int64)
    flat_counts = counts.ravel()
    edge = np.repeat(np.arange(flat_counts.size), flat_counts)
    first = np.concatenate([[0], np.cumsum(flat_counts)[:-1]])
    number = np.arange(len(edge)) - first[edge]
    share = (number / flat_counts[edge])[:, None]
    paper, world = shapes.paper.reshape(-1, 2), shapes.world.reshape(-1, 3)
    next_paper, next_world = following.reshape(-1, 2), np.roll(shapes.world, -1, axis=1).reshape(-1, 3)
    arcs = np.where(same.ravel()[edge], prims.ravel()[edge], -2 - edge)
    hems = (flat[prims] & flat[after]).ravel()[edge]
    return Samples(
        paper[edge] + (next_paper - paper)[edge] * share,
        world[edge] + (next_world - world)[edge] * share,
        arcs,
        shapes.arcs.ravel()[edge],
        hems,
        edge % shapes.paper.shape[1],
        np.concatenate([[0], np.cumsum(counts.sum(axis=1))]).astype(np.int64),
    )


def _spans(starts: Ints, pieces: Ints) -> tuple[Ints, Ints]:
    """Sample numbers of a list of pieces, with the place in the list that each belongs to."""
    counts = starts[pieces + 1] - starts[pieces]
    row = np.repeat(np.arange(len(pieces)), counts)
    offset = np.arange(len(row)) - np.repeat(np.cumsum(counts) - counts, counts)
    return starts[pieces][row] + offset, row


def _hide(keep: Flags, samples: Samples, shapes: Outlines, pairs: Ints, margin: float) -> None:
    """Drop the samples of each pair's first piece that lie inside its second."""
    if not len(pairs):
        return
    at, row = _spans(samples.starts, pairs[:, 0])
    other = pairs[row, 1]
    place = samples.paper[at]
    near = (place > shapes.low[other]).all(axis=1) & (place < shapes.high[other]).all(axis=1) & keep[at]
    at, other = at[near], other[near]
    coarse = (along(samples.paper[at], _COARSE) - shapes.support[other][:, ::4]).max(axis=1) <= -margin
    at, other = at[coarse], other[coarse]
    keep[at[inside(samples.paper[at], shapes, other, margin)]] = False


def _restore(
    keep: Flags,
    over: Ints,
    pieces: Sequence[Piece],
    number: dict[str, int],
    samples: Samples,
    shapes: Outlines,
    rank: Ints,
    covers: Ints,
) -> None:
    """Keep a dropped stroke after all where another piece, not joined, lies between it and what it melts into.

    `over` is the rank of the piece that each dropped sample melts into.
    """
    kin = {(i, number[name]) for i, piece in enumerate(pieces) for name in _kin(piece) if name in number}
    strangers = [
        (i, k)
        for k, i in covers.tolist()
        if (i, k) not in kin and (pieces[i].kind, pieces[i].tint) != (pieces[k].kind, pieces[k].tint)
    ]
    if not strangers:
        return
    pairs = np.array(strangers, np.int64)
    at, row = _spans(samples.starts, pairs[:, 0])
    other = pairs[row, 1]
    between = (over[at] >= 0) & (rank[other] > over[at])
    at, other = at[between], other[between]
    keep[at[inside(samples.paper[at], shapes, other, MELT_M)]] = True


def _kin(piece: Piece) -> tuple[str, ...]:
    return (*piece.after, *(join.other for join in piece.joins))


_COARSE = WAYS[::4]


def stroked(
    pieces: Sequence[Piece],
    places: Sequence[Array],
    shapes: Outlines,
    samples: Samples,
    rank: Ints,
    covers: Ints,
    melt: float,
) -> tuple[Flags, Flags]:
    """Which samples are stroked, and which of the others melt into a joined piece.

    `places` are the world points (joins, 3) of each piece's joins; `rank` is each piece's turn in the painting;
    `covers` are pairs (piece, later piece) that overlap. A stroke melts when it runs `melt` metres inside.
    """
    number = {piece.name: i for i, piece in enumerate(pieces)}
    keep = np.ones(len(samples.paper), bool)
    rows, points, reach = [], [], []
    for i, piece in enumerate(pieces):
        for join, place in zip(piece.joins, places[i], strict=True):
            j = number.get(join.other)
            if j is not None and rank[j] < rank[i]:
                rows.append((i, j))
                points.append(place)
                reach.append(join.reach)
    if rows:
        pairs = np.array(rows, np.int64)
        at, row = _spans(samples.starts, pairs[:, 0])
        away = ((samples.world[at] - np.array(points)[row]) ** 2).sum(axis=1)
        near = (away <= np.array(reach)[row] ** 2) & ~samples.hems[at]
        at, other = at[near], pairs[row[near], 1]
        melts = inside(samples.paper[at], shapes, other, melt)
        at, other = at[melts], other[melts]
        over = np.full(len(keep), -1, np.int64)
        np.maximum.at(over, at, rank[other])
        keep[at] = False
        _restore(keep, over, pieces, number, samples, shapes, rank, covers)
    melted = ~keep
    _hide(keep, samples, shapes, covers, 0.0)
    return keep, melted
