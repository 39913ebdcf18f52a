"""How far a pose lengthens the bed of a nerve, and whether a glide slides or pulls it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Literal

from homecare.core.atlas import Atlas, BedMotion
from homecare.core.drill import Drill

Pose = Mapping[str, float]
TENSION = 0.5
"""From this share of a nerve's full test sequence on, a pose counts as a tension (common practice)."""

SLIDER_MOST, TENSIONER_LEAST = 0.5, 0.75
"""|net| / sum of |parts|: opposite parts cancel in a slider (Coppieters et al. 2009, JOSPT 39:164-71)."""


def bed_parts(bed: Mapping[str, BedMotion], start: Pose, end: Pose) -> dict[str, float]:
    """What each joint motion from start to end (degrees) adds to the bed, as a share of the full test."""
    parts = {}
    for motion, part in bed.items():
        change = part.share * (end.get(motion, 0.0) - start.get(motion, 0.0)) / part.full
        if change:
            parts[motion] = change
    return parts


def nerve_load(bed: Mapping[str, BedMotion], pose: Pose) -> float:
    """Net lengthening of a nerve's bed at a pose: -1 to 1 of its full test, 0 in the anatomical stance."""
    return max(-1.0, min(1.0, sum(bed_parts(bed, {}, pose).values())))


def end_loads(drill: Drill, atlas: Atlas) -> dict[str, float]:
    """The load on each nerve at a drill's end pose, in hundredths, nerves that it leaves alone not named."""
    found = {}
    for nerve, tissue in sorted(atlas.tissues.items()):
        if tissue.bed and (load := round(nerve_load(tissue.bed, drill.end or {}), 2)):
            found[nerve] = load
    return found


def worst_load(drill: Drill, nerve: str, atlas: Atlas) -> float:
    """The larger load of a drill's start and end pose on one nerve."""
    bed = atlas.tissues[nerve].bed or {}
    return max(nerve_load(bed, drill.start or {}), nerve_load(bed, drill.end or {}))


def glide_sort(bed: Mapping[str, BedMotion], start: Pose, end: Pose) -> Literal["slider", "tensioner", "between"]:
    """What a movement is for a nerve: a slider where its parts cancel, a tensioner where they add up."""
    parts = bed_parts(bed, start, end).values()
    total = sum(abs(part) for part in parts)
    share = abs(sum(parts)) / total if total else 1.0
    return "slider" if share <= SLIDER_MOST else "tensioner" if share >= TENSIONER_LEAST else "between"
