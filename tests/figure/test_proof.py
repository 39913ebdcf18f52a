"""What a pose proves: stretches, glides, releases and traits, each shown to hold and to fail."""

from __future__ import annotations

from typing import cast

import numpy as np
import pytest

from homecare.core.pose import Contact, Held, Stance, Surface
from homecare.core.problems import Source
from homecare.figure.implied import implied_traits
from homecare.figure.keep_out import KEEP_OUTS, Press, away, near_keep_outs, presses, release_faults
from homecare.figure.landmarks import names, on_skin
from homecare.figure.lengths import MuscleLength
from homecare.figure.motions import motions
from homecare.figure.movement_words import asked, greatest, happens_at, opposite, sayable
from homecare.figure.proof import first_faults, glide_faults, loads, stretch_faults
from homecare.figure.skeleton import skeleton
from homecare.library.load import Library

Pose = dict[str, float]
STANDING = skeleton({})


def _parts(lib: Library, muscle: str) -> list[MuscleLength]:
    return [one for one in lib.lengths.values() if one.muscle == muscle]


def _faults(lib: Library, muscle: str, pose: Pose, reach: str = "full", main: bool = True) -> list[str]:
    return stretch_faults(lib.atlas.tissues[muscle], _parts(lib, muscle), pose, reach, main)


@pytest.mark.parametrize(
    ("muscle", "reach", "pose"),
    [
        ("gastrocnemius", "full", {"ankle_dorsiflexion": 18}),
        ("soleus", "full", {"ankle_dorsiflexion": 20, "knee_flexion": 40}),
        ("semimembranosus", "full", {"hip_flexion": 75}),
        ("semimembranosus", "gentle", {"hip_flexion": 45, "knee_flexion": 10}),
        ("biceps_femoris_short_head", "full", {"hip_flexion": 75}),
        ("rectus_femoris", "full", {"hip_extension": 5, "knee_flexion": 115}),
        ("iliopsoas", "full", {"hip_extension": 15, "knee_flexion": 90}),
        ("piriformis", "full", {"hip_flexion": 95, "hip_adduction": 5, "hip_external_rotation": 40}),
        ("vastus_medialis", "full", {"knee_flexion": 115}),
        ("biceps_brachii", "full", {"shoulder_extension": 45, "pronation": 60}),
        ("triceps_brachii", "full", {"shoulder_flexion": 160, "elbow_flexion": 130}),
        ("extensor_carpi_radialis_brevis", "full", {"wrist_flexion": 65, "pronation": 75}),
        ("levator_scapulae", "full", {"neck_flexion": 35, "neck_turn_away": 40, "neck_bend_away": 20}),
        ("upper_trapezius", "gentle", {"neck_bend_away": 20}),
        ("quadratus_lumborum", "full", {"trunk_bend_away": 25}),
        ("plantar_fascia", "full", {"toe_extension": 45}),
        ("obturator_internus", "full", {"hip_internal_rotation": 30}),
    ],
)
def test_textbook_stretches_are_proved(lib: Library, muscle: str, reach: str, pose: Pose) -> None:
    assert _faults(lib, muscle, pose, reach) == []


@pytest.mark.parametrize(
    ("muscle", "reach", "pose", "says"),
    [
        ("gastrocnemius", "full", {"ankle_dorsiflexion": 20, "knee_flexion": 40}, "the knee is bent 40 degrees, which"),
        ("gastrocnemius", "full", {"ankle_dorsiflexion": 20, "knee_flexion": 40}, "straighten the knee"),
        ("gastrocnemius", "full", {}, "pull the foot up"),
        ("gastrocnemius", "full", {"ankle_dorsiflexion": 6}, "0.30 of its longest"),
        ("gastrocnemius", "gentle", {"ankle_dorsiflexion": 19}, "too far for a gentle stretch"),
        ("semimembranosus", "gentle", {"hip_flexion": 8}, "even a gentle stretch"),
        ("rectus_femoris", "full", {"hip_flexion": 60, "knee_flexion": 110}, "the hip is bent 60 degrees"),
        ("biceps_femoris_short_head", "full", {"knee_flexion": 45}, "straighten the knee"),
        ("piriformis", "full", {"hip_flexion": 90, "hip_internal_rotation": 25}, "turn the hip out"),
        (
            "biceps_brachii",
            "full",
            {"shoulder_extension": 45, "elbow_flexion": 60},
            "the elbow is bent 60 degrees, which slackens it",
        ),
        ("biceps_brachii", "full", {"pronation": 60}, "nothing at the shoulder moves against it"),
        ("extensor_carpi_radialis_brevis", "full", {"wrist_flexion": 65, "elbow_flexion": 60}, "the elbow is bent 60"),
        ("levator_scapulae", "full", {"scapula_depression": 9}, "nothing at the neck moves against it"),
        ("levator_scapulae", "full", {"neck_flexion": 35, "scapula_elevation": 20}, "the shoulder blade is raised 20"),
        ("quadratus_lumborum", "full", {"trunk_bend_away": 12}, "a full stretch needs"),
        ("upper_trapezius", "gentle", {"neck_bend_away": 45}, "too far for a gentle stretch"),
        ("upper_trapezius", "gentle", {"neck_bend_away": 9}, "a gentle stretch needs"),
    ],
)
def test_poses_that_do_not_stretch_are_told_why(lib: Library, muscle: str, reach: str, pose: Pose, says: str) -> None:
    (fault,) = _faults(lib, muscle, pose, reach)
    assert says in fault
    assert fault.startswith(lib.atlas.tissues[muscle].name.lower())


def test_a_helper_need_only_lengthen(lib: Library) -> None:
    pose = {"ankle_dorsiflexion": 6.0}
    assert _faults(lib, "gastrocnemius", pose, main=False) == []
    assert _faults(lib, "gastrocnemius", pose) != []
    assert _faults(lib, "gastrocnemius", {"ankle_plantarflexion": 10.0}, main=False) != []


def test_a_soleus_stretch_with_a_straight_knee_is_one_of_the_gastrocnemius(lib: Library) -> None:
    tissues = lib.atlas.tissues
    others = [(tissues["gastrocnemius"], _parts(lib, "gastrocnemius"))]
    straight: Pose = {"ankle_dorsiflexion": 20}
    (fault,) = first_faults(tissues["soleus"], _parts(lib, "soleus"), others, straight)
    assert fault == "soleus: the gastrocnemius is drawn out before it; bend the knee"
    bent = {**straight, "knee_flexion": 40.0}
    assert first_faults(tissues["soleus"], _parts(lib, "soleus"), others, bent) == []
    toes_at_rest = [(tissues["flexor_hallucis_longus"], _parts(lib, "flexor_hallucis_longus"))]
    turned: Pose = {"ankle_dorsiflexion": 18, "eversion": 15, "knee_flexion": 80}
    posterior = tissues["tibialis_posterior"], _parts(lib, "tibialis_posterior")
    assert first_faults(*posterior, toes_at_rest, turned) == []
    assert first_faults(*posterior, toes_at_rest, {**turned, "toe_extension": 40.0}) != []
    backward = [(tissues["soleus"], _parts(lib, "soleus"))]
    assert first_faults(tissues["gastrocnemius"], _parts(lib, "gastrocnemius"), backward, straight) == []


def test_glides_are_sorted_and_told(lib: Library) -> None:
    bed = lib.atlas.tissues["median"].bed or {}
    start = motions({"right_elbow.flex": 100, "right_wrist.flex": -40}, "right")
    slides = motions({"right_elbow.flex": 20, "right_wrist.flex": 30}, "right")
    pulls = motions({"right_elbow.flex": 20, "right_wrist.flex": -70}, "right")
    assert glide_faults("slider", {"median": bed}, start, slides) == []
    assert glide_faults("tensioner", {"median": bed}, start, pulls) == []
    (fault,) = glide_faults("slider", {"median": bed}, start, pulls)
    assert "a slider of the median nerve" in fault
    assert "a tensioner" in fault
    assert "elbow flexion +0.29" in fault


def test_loads_of_every_nerve(lib: Library) -> None:
    beds = {one: tissue.bed for one, tissue in lib.atlas.tissues.items() if tissue.bed}
    leg_raised = loads(beds, motions({"right_hip.flex": 80}, "right"))
    assert leg_raised["sciatic"] == pytest.approx(0.58)
    assert leg_raised["femoral"] < 0
    assert leg_raised["median"] == 0
    assert loads(beds, motions({"left_hip.flex": 80}, "right"))["sciatic"] == 0


# releases

CALF = Surface(
    "calf", (("shank", -0.03, 0, -0.08, 0.03), ("shank", -0.03, 0, -0.2, 0.03)), ("shank", -1, 0, 0), Source("")
)


def test_what_a_release_presses() -> None:
    contacts = [
        Contact("right_shank_back@0.4", "mat", "roller"),
        Contact("left_palm", "right_thigh_front"),
        Contact("right_thigh_outer", "left_fingertips"),
        Contact("right_palm", "mat"),
        Contact("left_heel", "mat"),
    ]
    held = [
        Held("stick", ("right_palm", "left_palm")),
        Held("strap", ("right_palm", "right_ball")),
    ]
    on_hands = [what for what, _ in presses(STANDING, contacts[1:], held)]
    assert on_hands == ["front of the right thigh", "right outer thigh", "under the stick"]
    assert [what for what, _ in presses(STANDING, contacts)] == ["right calf"]  # the hands only rest


def _on_skin(*points: str) -> list[Press]:
    return [(point, on_skin(STANDING, point)) for point in points]


def test_a_release_lies_over_its_tissue() -> None:
    calf = [("calf", CALF)]
    assert release_faults(STANDING, _on_skin("right_shank_back@0.35"), calf, "right") == []
    (fault,) = release_faults(STANDING, _on_skin("right_thigh_back@0.3"), calf, "right")
    assert "mm away from the calf" in fault
    assert release_faults(STANDING, [], calf, "right") == [
        "nothing touches the tissue: no tool, stick or hand is on it"
    ]
    assert release_faults(STANDING, _on_skin("left_shank_back@0.35"), calf, "right") != []
    assert release_faults(STANDING, _on_skin("left_shank_back@0.35"), calf, "left") == []


def test_a_stick_presses_where_it_comes_nearest() -> None:
    """Between hands before and behind the knee's level it runs past the calf; held high it does not."""
    low = skeleton({"right_hip.flex": 90, "right_knee.flex": 80, "lumbar.flex": 40, "thoracic.flex": 30})
    across = np.linspace((0.5, 0.2, -0.2), (0.35, -0.4, -0.2), 25)
    assert release_faults(low, [("under the stick", across)], [("calf", CALF)], "right") == []
    (fault,) = release_faults(low, [("under the stick", across + np.array((0, 0, 0.5)))], [("calf", CALF)], "right")
    assert "away from the calf" in fault


def test_distance_to_a_spindle_is_measured_between_its_balls_too() -> None:
    """The calf's skin half-way: 0.065 m behind the axis less 0.03 and the ball's 0.03 leaves under 0.02 m."""
    assert away(STANDING, on_skin(STANDING, "right_shank_back@0.34"), CALF, "right")[0] < 0.02


@pytest.mark.parametrize(
    ("point", "place"),
    [
        ("right_knee_back", "the back of the knee"),
        ("left_wrist_palm", "the front of the wrist"),
        ("left_neck_side", "the side of the neck"),
        ("low_back", "the knobs of the spine"),
        ("neck_back", "the knobs of the spine"),
        ("right_elbow_inner", "the groove behind the inner elbow"),
        ("right_shank_outer@0.13", "the neck of the fibula"),
        ("right_forearm_front@0", "the crease of the elbow"),
    ],
)
def test_keep_outs_are_told(point: str, place: str) -> None:
    assert place in near_keep_outs(STANDING, on_skin(STANDING, point))
    assert any(place in fault for fault in release_faults(STANDING, _on_skin(point), [], "right"))


@pytest.mark.parametrize(
    "point",
    [
        *(
            "right_shank_back@0.35",
            "right_thigh_front",
            "right_thigh_outer@0.6",
            "right_thigh_inner@0.45",
            "right_buttock",
        ),
        *("right_sole", "right_shoulder_blade", "right_chest_side", "right_shoulder_top", "right_low_back_side"),
        *(
            "right_forearm_outer@0.3",
            "right_forearm_inner@0.35",
            "right_upper_arm_back",
            "skull_base",
            "right_hip_front",
        ),
        *("right_shank_outer@0.4", "right_shank_inner@0.5", "right_ribs"),
    ],
)
def test_usual_places_of_release_are_free(point: str) -> None:
    assert near_keep_outs(STANDING, on_skin(STANDING, point)) == ()


def test_every_keep_out_stays_with_its_limb_when_the_body_moves() -> None:
    body = skeleton({"right_knee.flex": 100, "right_hip.flex": 90, "lumbar.flex": 40, "right_elbow.flex": 90})
    assert "the back of the knee" in near_keep_outs(body, on_skin(body, "right_knee_back"))
    assert near_keep_outs(body, on_skin(body, "right_shank_back@0.35")) == ()
    assert len({place.plain for place in KEEP_OUTS}) == 10
    assert any(near_keep_outs(STANDING, on_skin(STANDING, name)) for name in names())


# traits


def _on(*points: str, surface: str = "mat") -> list[Contact]:
    return [Contact(point, surface) for point in points]


@pytest.mark.parametrize(
    ("angles", "stance", "contacts", "traits"),
    [
        ({}, "upright", _on("right_heel", "left_heel", surface="floor"), set()),
        ({}, "upright", _on("right_heel", "right_ball", surface="floor"), {"balance"}),
        ({}, "upright", [*_on("right_heel", surface="floor"), *_on("left_sole", surface="step")], set()),
        ({}, "upright", [*_on("right_heel", surface="floor"), *_on("left_sitting_bone", surface="chair")], set()),
        ({}, "supine", _on("sacrum", "upper_back", "right_heel"), {"supine", "floor"}),
        ({}, "supine", _on("sacrum", "upper_back", surface="bed"), {"supine"}),
        ({}, "prone", _on("chest", "pelvis_front", "right_knee"), {"prone", "floor"}),
        ({"right_hip.flex": 88}, "prone", _on("right_knee", "right_palm"), {"kneeling", "weight_on_hand", "floor"}),
        ({}, "upright", _on("right_knee", "left_sole"), {"kneeling", "floor"}),
        ({}, "upright", _on("right_sitting_bone", "right_palm"), {"floor"}),
        ({}, "upright", _on("right_palm", "left_palm", surface="wall"), set()),
        ({"right_shoulder.flex": 160}, "upright", [], {"overhead"}),
        ({"right_shoulder.flex": 110}, "upright", [], set()),
        ({"left_shoulder.abd": 90, "left_shoulder.ir": -75}, "upright", [], {"turned_out_shoulder"}),
        ({"right_shoulder.ir": -75}, "upright", [], set()),
        ({"neck.turn": 40, "head.turn": 30}, "upright", [], {"end_range_neck"}),
        ({"neck.flex": -30, "head.flex": -22}, "upright", [], {"end_range_neck"}),
        ({"neck.bend": -38}, "upright", [], set()),
        ({"lumbar.flex": 50}, "upright", [], {"spine_flexion"}),
        ({"lumbar.flex": 20, "thoracic.flex": 20}, "upright", [], set()),
        ({"lumbar.turn": 8, "thoracic.turn": 30}, "upright", [], {"spine_rotation"}),
        ({"lumbar.flex": -15, "thoracic.flex": -8}, "upright", [], {"spine_extension"}),
    ],
)
def test_traits_that_a_pose_plainly_has(
    lib: Library, angles: Pose, stance: str, contacts: list[Contact], traits: set[str]
) -> None:
    found = implied_traits(angles, cast(Stance, stance), contacts)
    assert found == traits
    assert found <= set(lib.traits)


# words of motions


def test_every_motion_that_is_said_has_an_opposite_a_joint_and_a_range(lib: Library) -> None:
    joints = [one for one, tissue in lib.atlas.tissues.items() if tissue.kind == "joint"]
    assert not sayable("finger_abduction")  # no muscle of the atlas has it as an action
    for motion in set(greatest()) - {"finger_abduction"}:
        assert opposite(opposite(motion)) == motion
        assert sayable(motion)
        assert asked(motion)
        assert any(happens_at(motion, joint) for joint in joints)
    assert greatest()["neck_flexion"] == 64
    assert greatest()["neck_turn_away"] == 80
    assert greatest()["finger_extension"] == 45
    assert not happens_at("knee_flexion", "hip")
