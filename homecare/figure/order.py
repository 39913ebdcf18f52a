"""The order in which pieces are painted: far before near where they overlap, with some pairs fixed beforehand."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np
from numpy.typing import NDArray

from homecare.figure.outline import DIRECTIONS, WAYS, Camera, Outlines, along, support
from homecare.figure.pieces import Ints, Stack
from homecare.figure.skeleton import Array

Flags = NDArray[np.bool_]
GRID = 5
"""Samples across the shared part of two outlines, each way."""
SAME_DEPTH_M = 0.002
_MINORITY = 0.3
"""Share of depth below which some pieces of a limb follow the others in lying before or behind another limb."""
_TILTS = ((0.0, 1), (22.0, 6), (45.0, 10), (68.0, 14))
"""Angle off the line of sight, and how many directions around it, in which depths are probed."""


def _probes() -> Array:
    """Directions (m, 3) towards the eye, as paper x, y and depth."""
    found = []
    for tilt, count in _TILTS:
        turn = 2 * np.pi * (np.arange(count) + 0.5 * (tilt > 40)) / count
        off, deep = np.sin(np.radians(tilt)), np.cos(np.radians(tilt))
        found.append(np.stack([off * np.cos(turn), off * np.sin(turn), np.full(count, deep)], axis=1))
    return np.concatenate(found)


_PROBES = _probes()
_COARSE = slice(None, None, 4)


def overlaps(shapes: Outlines) -> Ints:
    """Pairs (k, 2) of pieces, first number lower, whose outlines overlap on paper."""
    low, high = shapes.low, shapes.high
    apart = (low[:, None] >= high[None]).any(axis=2)
    first, second = np.nonzero(np.triu(~(apart | apart.T), 1))
    turned = np.roll(shapes.support, DIRECTIONS // 2, axis=1)
    meet = (shapes.support[first] + turned[second]).min(axis=1) > 1e-4
    return np.stack([first[meet], second[meet]], axis=1)


def nearer(stack: Stack, shapes: Outlines, view: Camera, pairs: Ints) -> tuple[Array, Ints]:
    """By how many metres the first of each pair lies nearer to the eye, summed over samples, and their number."""
    if not len(pairs):
        return np.zeros(0), np.zeros(0, np.int64)
    one, two = pairs[:, 0], pairs[:, 1]
    low = np.maximum(shapes.low[one], shapes.low[two])
    high = np.minimum(shapes.high[one], shapes.high[two])
    steps = (np.arange(GRID) + 0.5) / GRID
    grid = np.stack(np.meshgrid(steps, steps), axis=-1).reshape(-1, 2)
    spots = low[:, None] + grid[None] * (high - low)[:, None]
    across = along(spots, WAYS[_COARSE])
    coarse = shapes.support[:, _COARSE]
    both = np.minimum(coarse[one], coarse[two])
    kept = (across <= both[:, None]).all(axis=2)
    pair, _ = np.nonzero(kept)
    points = spots[kept]
    world = _PROBES[:, :1] * view.right - _PROBES[:, 1:2] * view.up + _PROBES[:, 2:] * view.near
    reach = support(stack, world) / _PROBES[:, 2]
    shift = along(points, _PROBES[:, :2] / _PROBES[:, 2:])
    depths = (reach[one[pair]] - shift).min(axis=1) - (reach[two[pair]] - shift).min(axis=1)
    total: Array = np.bincount(pair, depths, len(pairs)).astype(np.float64)
    return total, np.bincount(pair, minlength=len(pairs)).astype(np.int64)


def _agreed(total: Array, count: Ints, pairs: Ints, whole: Ints, limbs: Flags) -> Array:
    """Mean depth by pair; a limb lies before or behind the `whole` (several pieces) at once, not before some of it."""
    share: Array = total / np.maximum(count, 1)
    in_whole = np.isin(pairs, whole)
    for limb in np.flatnonzero(limbs):
        first = (pairs[:, 0] == limb) & in_whole[:, 1]
        second = (pairs[:, 1] == limb) & in_whole[:, 0]
        both = first | second
        if both.any():
            mean = (total[first].sum() - total[second].sum()) / max(1, int(count[both].sum()))
            share[first], share[second] = mean, -mean
    return share


def _of_one_mind(gap: Array, total: Array, pairs: Ints, groups: Ints) -> Array:
    """Mean depth by pair, where of two groups one mostly lies before the other: then it does so wholly."""
    one, two = groups[pairs[:, 0]], groups[pairs[:, 1]]
    sign = np.where(one < two, 1.0, -1.0)
    size = int(groups.max()) + 1
    key = np.minimum(one, two) * size + np.maximum(one, two)
    forward = np.bincount(key, np.maximum(total * sign, 0), size * size)[key]
    backward = np.bincount(key, np.maximum(-total * sign, 0), size * size)[key]
    most = np.where(forward >= backward, sign, -sign)
    clear = (np.minimum(forward, backward) < _MINORITY * np.maximum(forward, backward)) & (one != two)
    found: Array = np.where(clear, most * np.abs(gap), gap)
    return found


def paint_order(
    stack: Stack,
    shapes: Outlines,
    view: Camera,
    fixed: Iterable[tuple[int, int]],
    first: Sequence[int],
    whole: Sequence[int] = (),
    limbs: Flags | None = None,
    groups: Ints | None = None,
) -> list[int]:
    """Piece numbers in the order of painting.

    `fixed` are pairs (earlier, later) that hold whatever their depth; `first` are pieces painted before all others.
    The pieces flagged in `limbs` lie before or behind the pieces of `whole` all at once. Pieces of one number in
    `groups` follow each other where they can.
    """
    count = len(stack.starts) - 1
    pairs = overlaps(shapes)
    total, samples = nearer(stack, shapes, view, pairs)
    gap = _agreed(total, samples, pairs, np.array(whole, np.int64), np.zeros(count, bool) if limbs is None else limbs)
    if groups is not None:
        gap = _of_one_mind(gap, total, pairs, groups)
    before = np.zeros((count, count), bool)
    clear = np.abs(gap) >= SAME_DEPTH_M
    front = np.where(gap > 0, pairs[:, 0], pairs[:, 1])[clear]
    behind = np.where(gap > 0, pairs[:, 1], pairs[:, 0])[clear]
    before[front, behind] = True
    hard = np.zeros((count, count), bool)
    for early, late in fixed:
        hard[late, early] = True
        before[early, late] = False
    for early in first:
        hard[:, early] = True
    for early in first:
        hard[early] = False
        before[early] = False
    # What is fixed holds along its chains too: thigh, shorts, shirt.
    chain = hard
    for _ in range(3):
        chain = chain | ((chain.astype(np.uint8) @ chain.astype(np.uint8)) > 0)
    before &= ~chain.T
    sums = np.add.reduceat(stack.centres @ view.near, stack.starts[:-1])
    apart = np.arange(count) if groups is None else groups
    return _sorted(before | hard, hard, sums / np.diff(stack.starts), apart)


def _going_on(ready: Ints, before: Flags, left: Flags, groups: Ints, last: int) -> Ints:
    """Of the pieces that may follow, those of the last one's group; else those whose group can be painted whole."""
    alike = ready[groups[ready] == groups[last]] if last >= 0 else ready[:0]
    if len(alike) or len(ready) < 2:
        return alike if len(alike) else ready
    free = []
    for one in ready.tolist():
        members = left & (groups == groups[one])
        if not before[members][:, left & ~members].any():
            free.append(one)
    return np.array(free, np.int64) if free else ready


def _sorted(before: Flags, hard: Flags, depth: Array, groups: Ints) -> list[int]:
    """A topological order; row i of `before` flags what is painted earlier than i. A cycle frees its farthest piece."""
    count = len(depth)
    grouped = len(np.unique(groups)) < count
    waits = before.sum(axis=1).astype(np.int64)
    hard_waits = hard.sum(axis=1).astype(np.int64)
    left = np.ones(count, bool)
    found: list[int] = []
    for _ in range(count):
        ready = np.flatnonzero(left & (waits == 0))
        if grouped:
            ready = _going_on(ready, before, left, groups, found[-1] if found else -1)
        if len(ready):
            pick = int(ready[np.argmin(depth[ready])])
        else:
            ready = np.flatnonzero(left & (hard_waits == 0))
            ready = ready if len(ready) else np.flatnonzero(left)
            pick = int(ready[np.lexsort((depth[ready], waits[ready]))[0]])
        found.append(pick)
        left[pick] = False
        waits -= before[:, pick]
        hard_waits -= hard[:, pick]
    return found
