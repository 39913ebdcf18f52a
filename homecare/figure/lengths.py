"""How much longer a pose makes a muscle, and how near that comes to the longest the joints allow."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import product

import numpy as np

from homecare.core.atlas import Mark
from homecare.core.problems import Source
from homecare.figure.limits import LIMITS, UNLOADED
from homecare.figure.skeleton import Array

Term = tuple[str, ...]
AXES: Mapping[str, tuple[str, str, str]] = {
    "hip_flexion": ("hip_flexion", "hip_extension", "hip.flex"),
    "hip_adduction": ("hip_adduction", "hip_abduction", "hip.abd"),
    "hip_internal_rotation": ("hip_internal_rotation", "hip_external_rotation", "hip.ir"),
    "knee_flexion": ("knee_flexion", "knee_extension", "knee.flex"),
    "ankle_dorsiflexion": ("ankle_dorsiflexion", "ankle_plantarflexion", "ankle.df"),
    "subtalar_inversion": ("inversion", "eversion", "foot.inv"),
    "mtp_extension": ("toe_extension", "toe_flexion", "toes.flex"),
}
"""Axis of a length to its motion words above and below zero, and the coordinate of a pose it is measured on."""
HIP_BACK, STRAIGHT_LEG = 20.0, 90.0
"""Degrees at the longest: the hip back, between Merck 15, Soucie 18 and AAOS 30; and how much more the hip
than the knee is bent when the hamstrings end it (both common practice)."""
STEPS = 29
LONGEST_AT_REST = 5.0
"""A muscle that no pose lengthens by this many mm stands at its longest (biceps femoris short head)."""


@dataclass(frozen=True)
class MuscleLength:
    """Length of a part of a muscle: `mm`, a quadratic of `AXES` in radians, or `shortened_by`, motions that do so."""

    id: str
    muscle: str
    mm: Mapping[Term, float]
    shortened_by: tuple[str, ...]
    source: Mark
    where: Source


def change_mm(parts: Sequence[MuscleLength], motions: Mapping[str, float]) -> float:
    """Millimetres that a pose in motion words lengthens a muscle against standing: the mean of its parts."""
    at = {axis: np.array(motions.get(up, 0.0) - motions.get(down, 0.0)) for axis, (up, down, _) in AXES.items()}
    return float(_mean(_terms(parts), at))


def share_of_longest(parts: Sequence[MuscleLength], motions: Mapping[str, float], actions: Sequence[str]) -> float:
    """The change as a share of the greatest that the joints allow along the muscle's actions: 1 is the longest.

    The greatest is sought on a grid over the ranges without body weight, the hip 20 back and at most 90 more bent than
    the knee. Only the axes of the muscle's `actions` (motion words, both ways) are moved: a corner of every axis at
    once is a pose that no one takes. So a pose off those axes, or under body weight, may come out above 1. A muscle at
    its longest in standing counts from its shortest, so that standing is 1.
    """
    shortest, longest = extremes(parts, actions)
    change = change_mm(parts, motions)
    if longest < LONGEST_AT_REST:
        return 1 + (change - longest) / (longest - shortest)
    return change / longest


def extremes(parts: Sequence[MuscleLength], actions: Sequence[str]) -> tuple[float, float]:
    """The least and the greatest change in mm over the joint ranges along the muscle's actions."""
    return _extremes(_terms(parts), _axes(parts, actions))


def _axes(parts: Sequence[MuscleLength], actions: Sequence[str]) -> tuple[str, ...]:
    used = {axis for part in parts for term in part.mm for axis in term}
    acting = tuple(axis for axis, (up, down, _) in AXES.items() if axis in used and {up, down} & set(actions))
    return acting or tuple(sorted(used))


def _terms(parts: Sequence[MuscleLength]) -> tuple[tuple[tuple[Term, float], ...], ...]:
    return tuple(tuple(part.mm.items()) for part in parts if part.mm)


def _mean(parts: Sequence[Sequence[tuple[Term, float]]], at: Mapping[str, Array]) -> Array:
    """Change in mm at axes given in degrees (arrays of one shape)."""
    total: Array = sum(
        (size * np.prod([np.radians(at[axis]) for axis in term], axis=0) for part in parts for term, size in part),
        start=np.zeros(()),
    )
    return total / len(parts)


@lru_cache(maxsize=256)
def _extremes(parts: Sequence[Sequence[tuple[Term, float]]], axes: tuple[str, ...]) -> tuple[float, float]:
    grid = np.array(
        [one for one in product(*(np.linspace(*_range(axis), STEPS) for axis in axes)) if _taken(axes, one)]
    )
    at = {axis: grid[:, axes.index(axis)] if axis in axes else np.zeros(len(grid)) for axis in AXES}
    change = _mean(parts, at)
    return float(change.min()), float(change.max())


def _range(axis: str) -> tuple[float, float]:
    coordinate = AXES[axis][2]
    limit = LIMITS[f"right_{coordinate}"]
    low, high = UNLOADED.get(coordinate, (limit.low, limit.high))
    if axis == "hip_flexion":
        return -HIP_BACK, high
    return (-high, -low) if axis in ("hip_adduction", "mtp_extension") else (low, high)


def _taken(axes: Sequence[str], degrees: Sequence[float]) -> bool:
    """Whether a hip is not bent beyond what the hamstrings let it with that knee."""
    at = dict(zip(axes, degrees, strict=True))
    return "knee_flexion" not in at or at.get("hip_flexion", 0.0) - at["knee_flexion"] <= STRAIGHT_LEG
