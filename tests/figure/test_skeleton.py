"""The skeleton against cases worked by hand, published proportions, and the mirror."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from homecare.core.pose import COORDINATES, STANCES, mirrored
from homecare.figure.limits import LIMITS
from homecare.figure.skeleton import FRAMES, INDEX, LENGTHS, STATURE, Skeleton, skeleton

THIGH, SHANK, HIP = 0.425, 0.415, 0.088


def origin(body: Skeleton, frame: str) -> list[float]:
    return [round(float(one), 6) for one in body.origins[0, INDEX[frame]]]


def test_standing_is_parallel_to_the_world() -> None:
    body = skeleton({})
    legs = [name for name in FRAMES if name not in ("neck",)]
    assert all(np.allclose(body.rotations[0, INDEX[name]], np.eye(3)) for name in legs)
    assert origin(body, "left_foot") == [0, HIP, -(THIGH + SHANK)]


def test_hip_and_knee_at_a_right_angle() -> None:
    """Sitting: the thigh goes straight ahead, the shank straight down."""
    body = skeleton({"right_hip.flex": 90, "right_knee.flex": 90})
    assert origin(body, "right_shank") == [THIGH, -HIP, 0]
    assert origin(body, "right_foot") == [THIGH, -HIP, -SHANK]


def test_hip_abduction_turns_the_leg_outwards_on_either_side() -> None:
    body = skeleton({"right_hip.abd": 30, "left_hip.abd": 30})
    out = THIGH * 0.5
    assert origin(body, "right_shank") == pytest.approx([0, -HIP - out, -THIGH * 3**0.5 / 2], abs=1e-6)
    assert origin(body, "left_shank") == pytest.approx([0, HIP + out, -THIGH * 3**0.5 / 2], abs=1e-6)


def test_internal_rotation_swings_the_bent_shank_outwards() -> None:
    """Hip and knee at 90: turning the thigh in carries the foot out, as in the seated test of hip rotation."""
    body = skeleton({"right_hip.flex": 90, "right_knee.flex": 90, "right_hip.ir": 30})
    assert origin(body, "right_foot")[1] == pytest.approx(-HIP - SHANK / 2, abs=1e-6)


def test_elbow_brings_the_hand_forward_and_pronation_turns_the_palm_down() -> None:
    body = skeleton({"right_elbow.flex": 90, "right_forearm.pron": 80})
    elbow, wrist = origin(body, "right_elbow"), origin(body, "right_hand")
    assert wrist == pytest.approx([elbow[0] + LENGTHS["forearm"], elbow[1], elbow[2]], abs=1e-6)
    palm = body.vectors("right_hand", (0, 1, 0))[0]
    assert palm[2] == pytest.approx(-np.sin(np.radians(80)), abs=1e-6)


def test_external_rotation_carries_the_forearm_out() -> None:
    body = skeleton({"right_elbow.flex": 90, "right_shoulder.ir": -40})
    assert origin(body, "right_hand")[1] < origin(body, "right_elbow")[1] - 0.1


def test_wrist_and_ankle_and_spine_turn_the_way_they_are_called() -> None:
    body = skeleton({"right_wrist.flex": 60, "right_wrist.uln": 0, "left_wrist.uln": 30, "right_ankle.df": 20})
    fingers = body.points("right_hand", (0, 0, -0.18))[0] - body.origins[0, INDEX["right_hand"]]
    assert fingers[1] > 0.1  # the right palm faces left
    little = body.points("left_hand", (0, 0, -0.18))[0] - body.origins[0, INDEX["left_hand"]]
    assert little[0] < -0.05  # the thumb points forward, the little finger's side back
    toes = body.origins[0, INDEX["right_toes"]] - body.origins[0, INDEX["right_foot"]]
    assert toes[2] > -0.01
    bent = skeleton({"lumbar.bend": 20, "neck.turn": 50, "thoracic.flex": 30})
    assert origin(bent, "neck")[1] < -0.08
    assert origin(bent, "neck")[0] > 0.03
    assert bent.vectors("head", (1, 0, 0))[0][1] > 0.3


def test_inversion_turns_the_sole_inwards() -> None:
    sole = skeleton({"right_foot.inv": 30, "left_foot.inv": 30})
    assert sole.vectors("right_foot", (0, 0, -1))[0][1] > 0.4
    assert sole.vectors("left_foot", (0, 0, -1))[0][1] < -0.4


@pytest.mark.parametrize(
    ("segment", "share"),
    [("thigh", 0.245), ("shank", 0.246), ("upper_arm", 0.186), ("forearm", 0.146), ("ankle_height", 0.039)],
)
def test_lengths_near_the_published_shares_of_stature(segment: str, share: float) -> None:
    """Drillis and Contini 1966, as printed in Winter, Biomechanics and Motor Control (from memory): within 9 %."""
    assert LENGTHS[segment] == pytest.approx(share * STATURE, rel=0.09)


def test_a_stander_is_as_tall_as_said() -> None:
    """Crown to sole, from the drawn skull and foot, is the stature within 4 % (the trunk is drawn a little short)."""
    body = skeleton({})
    crown = body.points("head", (-0.004, 0, 0.085 + 0.098))[0][2]
    sole = body.origins[0, INDEX["right_foot"]][2] - LENGTHS["ankle_height"]
    assert crown - sole == pytest.approx(STATURE, rel=0.04)


angles = st.fixed_dictionaries(
    {name: st.floats(limit.low, limit.high) for name, limit in LIMITS.items() if name in COORDINATES}
)


@given(angles, st.sampled_from(STANCES))
@settings(max_examples=60, deadline=None)
def test_the_mirror_of_a_pose_is_the_mirror_of_its_skeleton(pose: dict[str, float], stance: str) -> None:
    other = {"left_side": "right_side", "right_side": "left_side"}.get(stance, stance)
    one, two = skeleton(pose, stance), skeleton(mirrored(pose), other)  # type: ignore[arg-type]
    assert np.isfinite(one.origins).all()
    for frame in FRAMES:
        side, _, rest = frame.partition("_")
        twin = f"{ {'left': 'right', 'right': 'left'}[side] }_{rest}" if side in ("left", "right") else frame
        assert np.allclose(one.origins[0, INDEX[frame]] * (1, -1, 1), two.origins[0, INDEX[twin]], atol=1e-9)
    assert np.allclose(np.linalg.det(one.rotations[0]), 1)
