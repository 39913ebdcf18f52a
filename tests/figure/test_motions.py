"""Pose coordinates against the motion words of drills and nerve beds."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from homecare.core.drill import MOTIONS
from homecare.core.nerve_bed import nerve_load
from homecare.core.pose import COORDINATES, mirrored
from homecare.figure.motions import motions
from homecare.library.load import Library

POSES = st.dictionaries(st.sampled_from(COORDINATES), st.floats(-90, 90))


@pytest.mark.parametrize(
    ("angles", "words"),
    [
        ({"right_hip.flex": 30}, {"hip_flexion": 30}),
        ({"right_hip.flex": -10}, {"hip_extension": 10}),
        ({"left_hip.flex": 30}, {}),
        ({"right_hip.abd": -20, "right_hip.ir": -40}, {"hip_adduction": 20, "hip_external_rotation": 40}),
        ({"right_knee.flex": 0}, {}),
        ({"right_forearm.pron": -60, "right_wrist.flex": -40}, {"supination": 60, "wrist_extension": 40}),
        ({"right_wrist.uln": -5, "right_foot.inv": -5}, {"radial_deviation": 5, "eversion": 5}),
        ({"right_ankle.df": -30, "right_toes.flex": -45}, {"ankle_plantarflexion": 30, "toe_extension": 45}),
        ({"right_girdle.elev": -10, "right_girdle.prot": 15}, {"scapula_depression": 10, "scapula_protraction": 15}),
        ({"neck.flex": 25, "head.flex": 15}, {"neck_flexion": 40}),
        ({"neck.flex": -10, "head.flex": 10}, {}),
        ({"lumbar.flex": 20, "thoracic.flex": 10}, {"trunk_flexion": 30}),
        ({"neck.bend": 20, "head.bend": 5}, {"neck_bend_toward": 25}),
        ({"neck.turn": 30, "thoracic.turn": -10}, {"neck_turn_away": 30, "trunk_turn_toward": 10}),
        ({"right_fingers.flex": 90, "right_fingers.curl": 90}, {"finger_flexion": 90}),
        ({"right_fingers.flex": -25}, {"finger_extension": 25}),
        ({"right_fingers.spread": 10}, {"finger_abduction": 10}),
    ],
)
def test_words_for_the_right_side(angles: dict[str, float], words: dict[str, float]) -> None:
    assert motions(angles, "right") == pytest.approx(words)


@given(POSES)
def test_the_mirrored_pose_says_the_same_of_the_other_side(angles: dict[str, float]) -> None:
    assert motions(angles, "right") == pytest.approx(motions(mirrored(angles), "left"))


@given(POSES)
def test_words_are_known_above_zero_and_never_opposite(angles: dict[str, float]) -> None:
    found = motions(angles, "right")
    assert set(found) <= MOTIONS
    assert all(value > 0 for value in found.values())
    for one in found:
        for word, other in (("flexion", "extension"), ("away", "toward"), ("abduction", "adduction")):
            if one.endswith(word):
                assert one.removesuffix(word) + other not in found


def test_loads_of_a_glide_are_those_of_its_written_words(lib: Library) -> None:
    words = {"shoulder_abduction": 70.0, "elbow_flexion": 90.0, "supination": 45.0, "neck_bend_away": 25.0}
    reached = {"shoulder_abduction": 70.0, "elbow_flexion": 10.0, "supination": 45.0}
    reached |= {"wrist_extension": 40.0, "neck_bend_toward": 30.0}
    bed = lib.atlas.tissues["median"].bed or {}
    start = {"right_shoulder.abd": 70, "right_elbow.flex": 90, "right_forearm.pron": -45, "neck.bend": -25}
    end = {
        **{"right_shoulder.abd": 70, "right_elbow.flex": 10, "right_forearm.pron": -45},
        **{"right_wrist.flex": -40, "neck.bend": 20, "head.bend": 10},
    }
    assert nerve_load(bed, motions(start, "right")) == pytest.approx(nerve_load(bed, words))
    assert nerve_load(bed, motions(end, "right")) == pytest.approx(nerve_load(bed, reached))
