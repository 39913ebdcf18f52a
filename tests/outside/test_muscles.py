"""Joints, actions, nerve and roots of the muscles, held to the anatomy books; and the pose each stretch must take.

Joints and actions are from memory (Moore KL et al., Clinically Oriented Anatomy 8e; Drake RL et al., Gray's Anatomy for
Students 4e). Nerve and roots carry their own mark; where books differ by a level, the set that they span is allowed.
"""

from __future__ import annotations

from dataclasses import dataclass

import pytest

from homecare.core.drill import Drill
from homecare.library.load import Library

SEG = "segmental innervation table of the upper limb (read)"
BOOKS = "Moore 8e; Gray's 4e (from memory)"
CARDS = "lower-limb anatomy tables (read), books (from memory)"


@dataclass(frozen=True)
class Row:
    """One muscle: joints it crosses (and may be said to), actions it must have, nerves and roots that are allowed."""

    muscle: str
    joints: str
    may_cross: str
    acts: str
    nerves: str
    roots: str
    source: str


TABLE = [
    Row("gastrocnemius", "knee ankle", "", "ankle_plantarflexion knee_flexion", "tibial", "s1 s2", CARDS),
    Row("soleus", "ankle", "", "ankle_plantarflexion", "tibial", "s1 s2", CARDS),
    Row("tibialis_posterior", "ankle", "", "inversion ankle_plantarflexion", "tibial", "l4 l5", CARDS),
    Row("flexor_hallucis_longus", "ankle big_toe", "", "toe_flexion ankle_plantarflexion", "tibial", "s2 s3", CARDS),
    Row("tibialis_anterior", "ankle", "", "ankle_dorsiflexion inversion", "deep_fibular", "l4 l5", CARDS),
    Row("fibularis_longus", "ankle", "", "eversion ankle_plantarflexion", "superficial_fibular", "l5 s1 s2", BOOKS),
    Row("biceps_femoris_long_head", "hip knee", "", "hip_extension knee_flexion", "sciatic tibial", "l5 s1 s2", BOOKS),
    Row("biceps_femoris_short_head", "knee", "", "knee_flexion", "sciatic common_fibular", "l5 s1 s2", BOOKS),
    Row("semitendinosus", "hip knee", "", "hip_extension knee_flexion", "sciatic tibial", "l5 s1 s2", BOOKS),
    Row("semimembranosus", "hip knee", "", "hip_extension knee_flexion", "sciatic tibial", "l5 s1 s2", BOOKS),
    Row("rectus_femoris", "hip knee", "", "hip_flexion knee_extension", "femoral", "l2 l3 l4", CARDS),
    Row("vastus_lateralis", "knee", "", "knee_extension", "femoral", "l2 l3 l4", CARDS),
    Row("vastus_medialis", "knee", "", "knee_extension", "femoral", "l2 l3 l4", CARDS),
    Row("vastus_intermedius", "knee", "", "knee_extension", "femoral", "l2 l3 l4", BOOKS),
    Row("iliopsoas", "hip", "lumbar_spine", "hip_flexion", "femoral", "l1 l2 l3 l4", CARDS),
    Row(
        "tensor_fasciae_latae",
        "hip",
        "knee",
        "hip_flexion hip_abduction hip_internal_rotation",
        "superior_gluteal",
        "l4 l5 s1",
        CARDS,
    ),
    Row("gluteus_maximus", "hip", "knee", "hip_extension hip_external_rotation", "inferior_gluteal", "l5 s1 s2", CARDS),
    Row("gluteus_medius", "hip", "", "hip_abduction", "superior_gluteal", "l4 l5 s1", CARDS),
    Row("piriformis", "hip", "sacroiliac", "hip_external_rotation hip_abduction", "", "l5 s1 s2", CARDS),
    Row("obturator_internus", "hip", "", "hip_external_rotation", "", "l5 s1 s2", CARDS),
    Row("quadratus_femoris", "hip", "", "hip_external_rotation", "", "l4 l5 s1", CARDS),
    Row("adductor_magnus", "hip", "", "hip_adduction hip_extension", "obturator", "l2 l3 l4", BOOKS),
    Row("adductor_longus", "hip", "", "hip_adduction", "obturator", "l2 l3 l4", CARDS),
    Row("quadratus_lumborum", "lumbar_spine", "", "trunk_bend_toward", "", "t12 l1 l2 l3 l4", BOOKS),
    Row("erector_spinae", "lumbar_spine", "thoracic_spine neck", "trunk_extension", "", "", BOOKS),
    Row(
        "latissimus_dorsi",
        "shoulder",
        "shoulder_blade thoracic_spine lumbar_spine sacroiliac",
        "shoulder_extension shoulder_adduction shoulder_internal_rotation",
        "thoracodorsal",
        "c6 c7 c8",
        SEG,
    ),
    Row(
        "pectoralis_major",
        "shoulder",
        "",
        "shoulder_adduction shoulder_internal_rotation",
        "",
        "c5 c6 c7 c8 t1",
        SEG,
    ),
    Row("pectoralis_minor", "shoulder_blade", "", "scapula_protraction scapula_depression", "", "c7 c8 t1", SEG),
    Row(
        "serratus_anterior",
        "shoulder_blade",
        "",
        "scapula_protraction scapula_upward_rotation",
        "long_thoracic",
        "c5 c6 c7",
        SEG,
    ),
    Row(
        "upper_trapezius",
        "neck shoulder_blade",
        "",
        "scapula_elevation scapula_upward_rotation neck_bend_toward neck_turn_away",
        "",
        "",
        SEG,
    ),
    Row(
        "levator_scapulae",
        "neck shoulder_blade",
        "",
        "scapula_elevation scapula_downward_rotation neck_bend_toward neck_turn_toward",
        "dorsal_scapular",
        "c5",
        SEG,
    ),
    Row("scalenes", "neck", "thoracic_spine", "neck_bend_toward neck_flexion", "", "c5 c6 c7 c8", f"{BOOKS} in part"),
    Row("sternocleidomastoid", "neck", "shoulder_blade", "neck_turn_away neck_bend_toward neck_flexion", "", "", BOOKS),
    Row("suboccipitals", "neck", "", "neck_extension neck_turn_toward", "", "", BOOKS),
    Row(
        "rhomboids",
        "shoulder_blade",
        "thoracic_spine",
        "scapula_retraction scapula_downward_rotation",
        "dorsal_scapular",
        "c5",
        SEG,
    ),
    Row("infraspinatus", "shoulder", "", "shoulder_external_rotation", "suprascapular", "c5 c6", SEG),
    Row("subscapularis", "shoulder", "", "shoulder_internal_rotation", "", "c5 c6 c7", SEG),
    Row("biceps_brachii", "shoulder elbow", "", "elbow_flexion supination", "musculocutaneous", "c5 c6", SEG),
    Row("triceps_brachii", "shoulder elbow", "", "elbow_extension", "radial", "c6 c7 c8", SEG),
    Row("flexor_carpi_ulnaris", "elbow wrist", "", "wrist_flexion ulnar_deviation", "ulnar", "c7 c8 t1", BOOKS),
    Row("flexor_carpi_radialis", "elbow wrist", "", "wrist_flexion radial_deviation", "median", "c6 c7", SEG),
    Row(
        "flexor_digitorum_superficialis",
        "elbow wrist hand",
        "",
        "finger_flexion wrist_flexion",
        "median",
        "c7 c8 t1",
        SEG,
    ),
    Row("pronator_teres", "elbow", "", "pronation elbow_flexion", "median", "c6 c7", SEG),
    Row(
        "extensor_carpi_radialis_brevis",
        "elbow wrist",
        "",
        "wrist_extension radial_deviation",
        "radial",
        "c6 c7 c8",
        SEG,
    ),
    Row("extensor_digitorum", "elbow wrist hand", "", "finger_extension wrist_extension", "radial", "c7 c8", SEG),
    Row("supinator", "elbow", "", "supination", "radial", "c6 c7 c8", SEG),
]
OPPOSITES = [
    ("flexion", "extension"),
    ("abduction", "adduction"),
    ("internal_rotation", "external_rotation"),
    ("dorsiflexion", "plantarflexion"),
    ("inversion", "eversion"),
    ("ulnar_deviation", "radial_deviation"),
    ("protraction", "retraction"),
    ("elevation", "depression"),
    ("upward_rotation", "downward_rotation"),
    ("bend_toward", "bend_away"),
    ("turn_toward", "turn_away"),
]
SPLIT = {"adductor_magnus": {"hip_flexion"}}
"""The adductor part bends the hip and the hamstring part straightens it: both may be said (freezingblue, read)."""


def opposite(motion: str) -> str:
    """The motion word of the other direction, '' when there is none."""
    if motion in ("supination", "pronation"):
        return "pronation" if motion == "supination" else "supination"
    for one, other in OPPOSITES:
        for here, there in ((one, other), (other, one)):
            if motion.endswith("_" + here) or motion == here:
                return motion[: len(motion) - len(here)] + there
    return ""


@pytest.mark.parametrize("row", TABLE, ids=lambda row: row.muscle)
def test_joints_and_actions(lib: Library, row: Row) -> None:
    muscle = lib.atlas.tissues[row.muscle]
    assert set(row.joints.split()) <= set(muscle.crosses), BOOKS
    assert set(muscle.crosses) <= set(row.joints.split()) | set(row.may_cross.split()), BOOKS
    acts = set(row.acts.split())
    assert acts <= set(muscle.actions), BOOKS
    against = {opposite(one) for one in acts} - {""} - SPLIT.get(row.muscle, set())
    assert not against & set(muscle.actions), "an action and its opposite"


@pytest.mark.parametrize("row", TABLE, ids=lambda row: row.muscle)
def test_nerve_and_roots(lib: Library, row: Row) -> None:
    muscle = lib.atlas.tissues[row.muscle]
    assert set(muscle.nerves) <= set(row.nerves.split()), row.source
    in_atlas = {one for one in row.roots.split() if one in lib.atlas.tissues}
    assert set(muscle.roots) <= in_atlas, row.source
    assert bool(muscle.roots) == bool(in_atlas), row.source
    known = [one for one in row.nerves.split() if one in lib.atlas.tissues]
    assert muscle.nerves or not known, f"the atlas has {known}: {row.source}"


def test_every_muscle_of_the_atlas_that_the_books_list_is_in_the_table(lib: Library) -> None:
    """Muscles beyond the table are few and named, so that a new one is checked or put here on purpose."""
    beyond = {key for key, one in lib.atlas.tissues.items() if one.kind == "muscle"} - {row.muscle for row in TABLE}
    assert beyond <= {"lower_trapezius", "middle_trapezius", "deep_neck_flexors", "multifidus", "gluteus_minimus"}


def stretches(lib: Library, muscle: str) -> list[Drill]:
    """Full stretches that name the muscle or a group that holds it."""
    full = [one for one in lib.drills.values() if one.kind == "stretch" and one.reach == "full"]
    return [one for one in full if muscle in lib.atlas.members(one.tissues)]


POSES = [
    # muscle, motion, least and most degrees at the end pose; each follows from the joints crossed and the actions
    ("gastrocnemius", "knee_flexion", 0, 10),
    ("gastrocnemius", "ankle_dorsiflexion", 5, 60),
    ("soleus", "knee_flexion", 20, 140),
    ("soleus", "ankle_dorsiflexion", 5, 60),
    ("rectus_femoris", "knee_flexion", 60, 150),
    ("rectus_femoris", "hip_flexion", 0, 5),
    ("vastus_lateralis", "knee_flexion", 60, 150),
    ("vastus_medialis", "knee_flexion", 60, 150),
    ("biceps_femoris_long_head", "hip_flexion", 40, 130),
    ("semitendinosus", "hip_flexion", 40, 130),
    ("semimembranosus", "hip_flexion", 40, 130),
    ("iliopsoas", "hip_extension", 5, 40),
    ("flexor_digitorum_superficialis", "wrist_extension", 30, 90),
    ("flexor_digitorum_superficialis", "elbow_flexion", 0, 15),
    ("flexor_carpi_ulnaris", "wrist_extension", 30, 90),
    ("flexor_carpi_radialis", "wrist_extension", 30, 90),
    ("extensor_carpi_radialis_brevis", "wrist_flexion", 30, 90),
    ("extensor_digitorum", "wrist_flexion", 20, 90),
    ("extensor_digitorum", "elbow_flexion", 0, 15),
    ("adductor_longus", "hip_abduction", 20, 60),
]


@pytest.mark.parametrize(("muscle", "motion", "least", "most"), POSES)
def test_a_stretch_moves_the_joint_against_the_action(
    lib: Library, muscle: str, motion: str, least: float, most: float
) -> None:
    found = stretches(lib, muscle)
    assert found, f"no stretch names {muscle}"
    for drill in found:
        assert least <= (drill.end or {}).get(motion, 0.0) <= most, drill.id


def test_no_stretch_moves_a_joint_along_the_only_action_of_a_one_joint_muscle(lib: Library) -> None:
    """A muscle that crosses one joint is lengthened there or not at all."""
    wrong = []
    for drill in lib.drills.values():
        target = lib.atlas.tissues[lib.atlas.members(drill.tissues[0])[0]]
        if drill.kind != "stretch" or target.kind != "muscle" or len(target.crosses) != 1 or len(target.actions) != 1:
            continue
        action = target.actions[0]
        end = drill.end or {}
        if end.get(action, 0.0) > 0 and not end.get(opposite(action), 0.0):
            wrong.append(f"{drill.id} shortens {target.id}")
    assert not wrong


@pytest.mark.parametrize(
    ("muscle", "pose"),
    [
        ("soleus", {"ankle_dorsiflexion": 20.0}),
        ("gastrocnemius", {"ankle_dorsiflexion": 20.0, "knee_flexion": 40.0}),
    ],
)
def test_the_usual_mistake_would_be_caught(muscle: str, pose: dict[str, float]) -> None:
    """A straight knee for the soleus, a bent one for the gastrocnemius: the rows above must refuse both."""
    rows = [row for row in POSES if row[0] == muscle]
    assert not all(least <= pose.get(motion, 0.0) <= most for _, motion, least, most in rows)
