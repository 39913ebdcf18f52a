"""Poses set down on their contacts: met to the millimetre, limits held, and loud where it cannot be done."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from homecare.core.pose import Contact
from homecare.figure.landmarks import centres, landmark, names, on_skin
from homecare.figure.limits import LIMITS
from homecare.figure.planting import MOST_DRIFT, MOST_MISS, plant
from homecare.figure.skeleton import skeleton
from homecare.library.load import Library, load_library


@pytest.fixture(scope="module")
def library() -> Library:
    return load_library()


def feet() -> list[Contact]:
    return [Contact(f"{side}_{part}", "floor") for side in ("left", "right") for part in ("heel", "ball")]


def test_feet_stand_on_the_floor() -> None:
    planted = plant("upright", {"right_hip.flex": 20, "right_knee.flex": 30}, feet())
    assert not planted.misses
    for contact in feet():
        mark = landmark(contact.point)
        assert centres(planted.body, contact.point)[0][2] == pytest.approx(mark.radius, abs=MOST_MISS)


def test_a_point_out_of_reach_is_told_by_how_much() -> None:
    """The hand cannot be 3 m up while the feet stand: the miss is what is left."""
    planted = plant("upright", {}, [*feet(), Contact("right_palm", "", z=3.0)])
    missed = {contact.point: metres for contact, metres in planted.misses}
    assert missed["right_palm"] > 0.3


def test_contacts_that_contradict_each_other_are_told() -> None:
    """An elbow at head height and its wrist on the floor are farther apart than a forearm is long."""
    planted = plant("upright", {}, [*feet(), Contact("right_wrist", "floor"), Contact("right_elbow", "", z=1.6)])
    assert {contact.point for contact, _ in planted.misses} & {"right_wrist", "right_elbow"}


def test_a_joint_far_from_what_is_written_is_told() -> None:
    """Written straight, the knee has to bend for the hips to come down to a chair."""
    planted = plant(
        "upright", {}, [*feet(), Contact("left_sitting_bone", "chair"), Contact("right_sitting_bone", "chair")]
    )
    assert planted.drifts
    assert all(abs(degrees) > MOST_DRIFT for _, degrees in planted.drifts)


def test_a_hand_lies_on_the_other_arm() -> None:
    contact = Contact("left_palm", "right_forearm_back@0.4")
    pose = {"right_elbow.flex": 90.0, "left_shoulder.flex": 50.0, "left_shoulder.ir": 60.0, "left_elbow.flex": 80.0}
    planted = plant("upright", pose, [contact])
    assert not planted.misses
    gap = centres(planted.body, "left_palm")[0] - on_skin(planted.body, "right_forearm_back@0.4")[0]
    assert np.linalg.norm(gap) == pytest.approx(landmark("left_palm").radius, abs=MOST_MISS)


def test_a_leg_through_the_other_is_told() -> None:
    planted = plant("upright", {"right_hip.abd": -25, "left_hip.abd": -25}, [])
    assert any({"left", "right"} == {one.split()[0], two.split()[0]} for one, two, _ in planted.through)


def test_a_hand_through_the_belly_is_told() -> None:
    planted = plant("upright", {"right_elbow.flex": 90, "right_shoulder.ir": 70, "right_shoulder.abd": 5}, [])
    assert any("belly" in pair or "chest" in pair for pair in planted.through)


@given(
    st.floats(0, 60),
    st.floats(0, 60),
    st.floats(-30, 30),
    st.sampled_from(["floor", "step", "chair"]),
    st.floats(0, 40),
)
@settings(max_examples=40, deadline=None)
def test_limits_are_held_and_what_is_not_told_is_met(
    hip: float, knee: float, ankle: float, under: str, lean: float
) -> None:
    contacts = [Contact("left_heel", "floor"), Contact("left_ball", "floor"), Contact("right_ball", under)]
    pose = {"right_hip.flex": hip, "right_knee.flex": knee, "right_ankle.df": ankle, "root.pitch": lean}
    planted = plant("upright", pose, contacts)
    for name, value in planted.angles.items():
        if name in LIMITS:
            assert LIMITS[name].low - 0.06 <= value <= LIMITS[name].high + 0.06
    told = {contact.point for contact, _ in planted.misses}
    heights = {"floor": 0.0, "step": 0.18, "chair": 0.45}
    for contact in contacts:
        off = centres(planted.body, contact.point)[0][2] - landmark(contact.point).radius - heights[contact.on]
        assert (contact.point in told) == (abs(off) > MOST_MISS)
    assert np.isfinite(planted.body.origins).all()


def test_every_posture_of_the_library_stands_without_a_fault(library: Library) -> None:
    assert len(library.postures) >= 13
    for posture in library.postures.values():
        planted = plant(posture.stance, posture.angles, posture.contacts)
        assert not planted.misses, posture.id
        assert not planted.through, posture.id
        assert not planted.drifts, posture.id


def test_every_named_point_is_on_the_body() -> None:
    """No point is farther than 12 cm from the bone of its frame, and left and right mirror each other."""
    body = skeleton({})
    for name in names():
        place = on_skin(body, name)[0]
        assert np.isfinite(place).all()
        if name.startswith("left_"):
            other = on_skin(body, name.replace("left_", "right_", 1))[0]
            assert np.allclose(place * (1, -1, 1), other)


@pytest.mark.parametrize("name", ["left_nose", "knee", "right_thigh_front@2", "right_thigh_front@x", "tail"])
def test_what_is_no_point_is_refused(name: str) -> None:
    with pytest.raises(KeyError):
        landmark(name)
