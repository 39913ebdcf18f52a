"""The arithmetic of the nerve bed on small hand-made beds, and what the library's drills come to."""

from __future__ import annotations

import pytest

from homecare.core.atlas import BedMotion
from homecare.core.nerve_bed import TENSION, glide_sort, nerve_load, worst_load
from homecare.library.load import Library

BED = {
    "wrist_extension": BedMotion(60, 0.6),
    "elbow_flexion": BedMotion(120, -0.4),
    "shoulder_abduction": BedMotion(90, 0.4),
}


def test_load_is_the_sum_of_shares_and_is_clamped() -> None:
    assert nerve_load(BED, {}) == 0
    assert nerve_load(BED, {"wrist_extension": 30}) == pytest.approx(0.3)
    assert nerve_load(BED, {"wrist_extension": 60, "elbow_flexion": 120}) == pytest.approx(0.2)
    assert nerve_load(BED, {"wrist_extension": 60, "shoulder_abduction": 180}) == 1
    assert nerve_load(BED, {"knee_flexion": 90}) == 0


def test_opposite_parts_slide_and_like_parts_pull() -> None:
    """A slider lengthens at one joint what it slackens at the next (Coppieters et al. 2009, JOSPT 39:164-71)."""
    bent = {"elbow_flexion": 120.0, "wrist_extension": 60.0}
    assert glide_sort(BED, bent, {}) == "slider"
    assert glide_sort(BED, {"elbow_flexion": 120.0}, {"wrist_extension": 60.0}) == "tensioner"
    assert glide_sort(BED, {}, {}) == "tensioner"  # what moves nothing is no slider


def test_straight_elbow_with_the_wrist_back_is_a_tensioner_whatever_it_is_called(lib: Library) -> None:
    bed = lib.atlas.tissues["median"].bed or {}
    start, end = {"elbow_flexion": 90.0}, {"wrist_extension": 60.0, "shoulder_abduction": 90.0}
    assert glide_sort(bed, start, end) == "tensioner"


def test_the_straight_knee_makes_a_hamstring_stretch_a_pull_on_the_nerve(lib: Library) -> None:
    straight = [
        one for one in lib.drills.values() if one.kind == "stretch" and worst_load(one, "sciatic", lib.atlas) >= TENSION
    ]
    assert straight
    for drill in straight:
        assert (drill.end or {}).get("knee_flexion", 0) < 30
        assert (drill.end or {})["hip_flexion"] >= 45
