"""Where each outline is stroked: dropped inside joined pieces painted earlier, and where later pieces cover it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from homecare.figure.outline import Outlines, inside
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


def sampled(shapes: Outlines, flat: Flags, wanted: Flags, step: float) -> Samples:
    """Outlines of the wanted pieces as points about a step (metres) apart.

    Long edges are divided, and of the many directions of a small ball only some are kept; `flat` flags the primitives
    that are discs.
    """
    directions = shapes.paper.shape[1]
    following = np.roll(shapes.paper, -1, axis=1)
    length = np.sqrt(((following - shapes.paper) ** 2).sum(axis=2))
    prims, after = shapes.prims, np.roll(shapes.prims, -1, axis=1)
    same = (prims == after) & (shapes.arcs > 0)
    stride = 2 ** np.clip(np.floor(np.log2(step / np.maximum(length, 1e-9))), 0, 3).astype(np.int64)
    turn = np.arange(directions)
    needed = ~(same & np.roll(same, 1, axis=1)) | (turn % stride == 0)
    needed &= (length > 1e-7) & wanted[:, None]
    counts = np.where(needed, np.maximum(1, np.ceil(length / step)), 0).astype(np.int64)
    flat_counts = counts.ravel()
    edge = np.repeat(np.arange(flat_counts.size), flat_counts)
    first = np.cumsum(flat_counts) - flat_counts
    share = ((np.arange(len(edge)) - first[edge]) / flat_counts[edge])[:, None]
    begin = np.concatenate([shapes.paper, shapes.world], axis=2)
    way = (np.roll(begin, -1, axis=1) - begin).reshape(-1, 5)
    places = begin.reshape(-1, 5)[edge] + way[edge] * share
    return Samples(
        places[:, :2],
        places[:, 2:],
        np.where(same.ravel()[edge], prims.ravel()[edge], -2 - edge),
        shapes.arcs.ravel()[edge],
        (flat[prims] & flat[after]).ravel()[edge],
        edge % directions,
        np.concatenate([[0], np.cumsum(counts.sum(axis=1))]).astype(np.int64),
    )


def _spans(starts: Ints, pieces: Ints) -> tuple[Ints, Ints]:
    """Sample numbers of a list of pieces, with the place in the list that each belongs to."""
    counts = starts[pieces + 1] - starts[pieces]
    row = np.repeat(np.arange(len(pieces)), counts)
    offset = np.arange(len(row)) - np.repeat(np.cumsum(counts) - counts, counts)
    return starts[pieces][row] + offset, row


def _hide(keep: Flags, behind: Ints, samples: Samples, shapes: Outlines, pairs: Ints) -> None:
    """Drop the samples of each pair's first piece that lie inside its second, and note behind which."""
    if not len(pairs):
        return
    at, row = _spans(samples.starts, pairs[:, 0])
    other = pairs[row, 1]
    still = keep[at]
    at, other = at[still], other[still]
    hidden = inside(samples.paper[at], shapes, other)
    keep[at[hidden]] = False
    behind[at[hidden]] = other[hidden]


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


def stroked(
    pieces: Sequence[Piece],
    places: Sequence[Array],
    shapes: Outlines,
    samples: Samples,
    rank: Ints,
    covers: Ints,
    melt: float,
) -> tuple[Flags, Flags, Ints]:
    """Which samples are stroked, which of the others melt into a joined piece, and what each lies in, or -1.

    That is a later piece which covers it, or an earlier one of the same side and tint with which it melts.

    `places` are the world points (joins, 3) of each piece's joins; `rank` is each piece's turn in the painting;
    `covers` are pairs (piece, later piece) that overlap. A stroke melts when it runs `melt` metres inside.
    """
    number = {piece.name: i for i, piece in enumerate(pieces)}
    keep = np.ones(len(samples.paper), bool)
    behind = np.full(len(keep), -1, np.int64)
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
        like = np.array([pieces[i].tint == pieces[j].tint and pieces[i].side == pieces[j].side for i, j in rows], bool)
        alike = like[row[near]][melts]
        behind[at[alike]] = other[alike]
        _restore(keep, over, pieces, number, samples, shapes, rank, covers)
        behind[keep] = -1
    melted = ~keep
    _hide(keep, behind, samples, shapes, covers)
    return keep, melted, behind


def needless(behind: Ints, starts: Ints) -> Flags:
    """Which samples the fill of a piece can do without: those between others behind the same piece.

    Both pieces are convex, so that what a straight line cuts off lies behind that piece too.
    """
    after, before = np.arange(1, len(behind) + 1), np.arange(-1, len(behind) - 1)
    first, last = starts[:-1][np.diff(starts) > 0], starts[1:][np.diff(starts) > 0] - 1
    after[last], before[first] = first, last
    found: Flags = (behind >= 0) & (behind[after] == behind) & (behind[before] == behind)
    return found
