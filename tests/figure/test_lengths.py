"""Muscle lengths against the neutral moment arms of the same model and pairs that every textbook knows.

tests/data/leg_moment_arms.csv: arms in mm at neutral, r = -dL/dq, Delp SL et al. 1990, IEEE Trans Biomed Eng
37:757-67 (CC BY 3.0), those on whose sign another model agrees.
"""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

from homecare.core.drill import MOTIONS
from homecare.figure.lengths import AXES, MuscleLength, change_mm, extremes, share_of_longest
from homecare.figure.movement_words import opposite
from homecare.library.load import Library

ARMS = Path(__file__).parents[1] / "data" / "leg_moment_arms.csv"
SIGN_FROM_MM = 1.0
"""Below this an arm is as good as none, and its sign says nothing."""


def _rows() -> list[tuple[str, str, float]]:
    with ARMS.open(encoding="utf-8", newline="") as stream:
        return [(row["muscle"], row["axis"], float(row["arm_mm"])) for row in csv.DictReader(stream)]


def _parts(lib: Library, muscle: str) -> list[MuscleLength]:
    return [one for one in lib.lengths.values() if one.muscle == muscle]


def _change(lib: Library, muscle: str, **pose: float) -> float:
    return change_mm(_parts(lib, muscle), pose)


def _share(lib: Library, muscle: str, **pose: float) -> float:
    return share_of_longest(_parts(lib, muscle), pose, lib.atlas.tissues[muscle].actions)


def test_the_table_of_arms_is_whole() -> None:
    rows = _rows()
    assert len(rows) == 76
    assert {axis for _, axis, _ in rows} == set(AXES)


@pytest.mark.parametrize(("muscle", "axis", "arm"), [row for row in _rows() if abs(row[2]) >= SIGN_FROM_MM])
def test_a_small_motion_changes_length_against_the_arm(lib: Library, muscle: str, axis: str, arm: float) -> None:
    up, down, _ = AXES[axis]
    part = [lib.lengths[muscle]]
    slope = change_mm(part, {up: 1.0}) - change_mm(part, {down: 1.0})
    assert slope * arm < 0


def test_standing_changes_nothing(lib: Library) -> None:
    assert all(change_mm([one], {}) == 0 for one in lib.lengths.values() if one.mm)


@pytest.mark.parametrize(
    ("muscle", "longer", "shorter"),
    [
        ("gastrocnemius", {"ankle_dorsiflexion": 20}, {"ankle_dorsiflexion": 20, "knee_flexion": 40}),
        ("soleus", {"ankle_dorsiflexion": 20}, {"ankle_plantarflexion": 20}),
        ("rectus_femoris", {"hip_extension": 10, "knee_flexion": 90}, {"hip_flexion": 90, "knee_flexion": 90}),
        ("semitendinosus", {"hip_flexion": 80}, {"hip_flexion": 80, "knee_flexion": 80}),
        ("biceps_femoris_short_head", {}, {"knee_flexion": 60}),
        ("iliopsoas", {"hip_extension": 15}, {"hip_flexion": 30}),
        ("piriformis", {"hip_flexion": 95, "hip_external_rotation": 40}, {"hip_external_rotation": 40}),
        ("piriformis", {"hip_internal_rotation": 30}, {"hip_external_rotation": 30}),
        ("adductor_longus", {"hip_flexion": 45, "hip_abduction": 35, "hip_external_rotation": 35}, {"hip_flexion": 45}),
        ("gluteus_maximus", {"hip_flexion": 110}, {"hip_extension": 15}),
        ("tibialis_anterior", {"ankle_plantarflexion": 40}, {"ankle_dorsiflexion": 15}),
        ("tibialis_posterior", {"eversion": 15}, {"inversion": 15}),
        ("fibularis_longus", {"inversion": 20}, {"eversion": 15}),
        ("flexor_hallucis_longus", {"toe_extension": 50, "ankle_dorsiflexion": 10}, {"toe_flexion": 30}),
        ("tensor_fasciae_latae", {"hip_extension": 10, "hip_adduction": 15}, {"hip_flexion": 60}),
    ],
)
def test_pairs_that_textbooks_know(
    lib: Library, muscle: str, longer: dict[str, float], shorter: dict[str, float]
) -> None:
    assert _change(lib, muscle, **longer) > _change(lib, muscle, **shorter) + 2


def test_piriformis_lengthens_in_figure_four_though_turned_out(lib: Library) -> None:
    """Its neutral arm says outward rotation shortens it; with the hip bent it does not."""
    assert _change(lib, "piriformis", hip_flexion=95, hip_external_rotation=40) > 10
    assert _change(lib, "piriformis", hip_flexion=100) > _change(
        lib, "piriformis", hip_flexion=100, hip_internal_rotation=30
    )


def test_a_quadratic_worked_by_hand(lib: Library) -> None:
    """Soleus, ankle 30 up: 44.16 x 0.5236 - 5.66 x 0.2742 = 21.57."""
    assert _change(lib, "soleus", ankle_dorsiflexion=30) == pytest.approx(21.57, abs=0.01)


def test_parts_of_a_muscle_count_as_their_mean(lib: Library) -> None:
    pose = {"hip_adduction": 20.0}
    each = [change_mm([one], pose) for one in _parts(lib, "gluteus_medius")]
    assert len(each) == 3
    assert _change(lib, "gluteus_medius", **pose) == pytest.approx(sum(each) / 3)


def test_the_longest_lies_within_the_ranges(lib: Library) -> None:
    """Gastrocnemius: ankle 20 up, knee straight, by hand (15.43 + 15.64) / 2 = 15.53; the hamstrings end at 90."""
    assert extremes(_parts(lib, "gastrocnemius"), lib.atlas.tissues["gastrocnemius"].actions)[1] == pytest.approx(
        15.53, abs=0.01
    )
    assert _share(lib, "gastrocnemius", ankle_dorsiflexion=20) == pytest.approx(1)
    assert 0.95 < _share(lib, "semimembranosus", hip_flexion=90) <= 1
    assert _share(lib, "iliopsoas", hip_extension=20) == pytest.approx(1)


def test_a_muscle_at_its_longest_in_standing_counts_from_its_shortest(lib: Library) -> None:
    assert _share(lib, "biceps_femoris_short_head") == pytest.approx(1)
    assert _share(lib, "biceps_femoris_short_head", knee_flexion=140) == pytest.approx(0)
    assert 0.4 < _share(lib, "biceps_femoris_short_head", knee_flexion=65) < 0.6


@pytest.mark.parametrize(
    ("muscle", "pose", "least", "most"),
    [
        ("gastrocnemius", {"ankle_dorsiflexion": 18}, 0.85, 0.95),
        ("gastrocnemius", {"ankle_dorsiflexion": 20, "knee_flexion": 40}, -0.1, 0.05),
        ("semimembranosus", {"hip_flexion": 75}, 0.8, 0.95),
        ("rectus_femoris", {"hip_extension": 12, "knee_flexion": 52}, 0.4, 0.55),
        ("rectus_femoris", {"hip_extension": 5, "knee_flexion": 115}, 0.7, 0.85),
        ("piriformis", {"hip_flexion": 95, "hip_external_rotation": 40, "hip_adduction": 5}, 0.7, 0.9),
        ("piriformis", {"hip_flexion": 90, "hip_internal_rotation": 25}, 0.1, 0.35),
        ("iliopsoas", {"hip_extension": 15}, 0.65, 0.8),
    ],
)
def test_shares_of_textbook_poses(lib: Library, muscle: str, pose: dict[str, float], least: float, most: float) -> None:
    assert least <= _share(lib, muscle, **pose) <= most


def test_signs_are_known_motions_and_never_both_ways(lib: Library) -> None:
    signed = [one for one in lib.lengths.values() if one.shortened_by]
    assert len(signed) > 10
    for one in signed:
        assert set(one.shortened_by) <= MOTIONS
        assert not {opposite(motion) for motion in one.shortened_by} & set(one.shortened_by)


def test_actions_of_the_atlas_shorten_the_muscle_by_the_lengths_too(lib: Library) -> None:
    """Signs and sizes against the atlas: no action lengthens its muscle."""
    apart = {("gluteus_medius", "hip_internal_rotation")}  # its back part turns the hip out, and the three are averaged
    for muscle in {one.muscle for one in lib.lengths.values()}:
        parts = _parts(lib, muscle)
        for action in lib.atlas.tissues[muscle].actions:
            if (muscle, action) in apart:
                continue
            assert all(opposite(action) not in one.shortened_by for one in parts), (muscle, action)
            sized = [one for one in parts if one.mm]
            if sized and any(action in words for words in AXES.values()):
                assert change_mm(sized, {action: 5.0}) <= 0.05, (muscle, action)
