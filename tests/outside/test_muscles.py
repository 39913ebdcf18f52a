"""Joints and actions of the muscles, held to the anatomy books; and the pose each stretch must take."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

import pytest
import yaml

from homecare.core.drill import Drill
from homecare.library.load import Library

BOOKS = "Moore 8e; Gray's 4e (from memory)"
ROWS: Mapping[str, Mapping[str, list[str]]] = yaml.safe_load(
    (Path(__file__).resolve().parents[1] / "data/muscle_actions.yaml").read_text(encoding="utf-8")
)["muscles"]
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


@pytest.mark.parametrize("muscle", ROWS)
def test_joints_and_actions(lib: Library, muscle: str) -> None:
    row, record = ROWS[muscle], lib.atlas.tissues[muscle]
    assert set(row["joints"]) <= set(record.crosses), BOOKS
    assert set(record.crosses) <= set(row["joints"]) | set(row["may"]), BOOKS
    assert set(row["acts"]) <= set(record.actions), BOOKS
    against = {opposite(one) for one in row["acts"]} - {""} - SPLIT.get(muscle, set())
    assert not against & set(record.actions), "an action and its opposite"


def test_every_muscle_of_the_atlas_has_a_row(lib: Library) -> None:
    assert {key for key, one in lib.atlas.tissues.items() if one.kind == "muscle"} == set(ROWS)


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
