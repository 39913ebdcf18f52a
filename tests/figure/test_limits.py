"""Joint ranges against the published totals, each with its source."""

from __future__ import annotations

import pytest

from homecare.core.pose import COORDINATES, mirrored
from homecare.figure.limits import ARM_RAISED, LIMITS, UNLOADED, beyond, stiffness


def _low(*names: str) -> float:
    return sum(LIMITS[name].low for name in names)


def _high(*names: str) -> float:
    return sum(LIMITS[name].high for name in names)


def test_every_joint_has_a_range_and_says_where_it_is_from() -> None:
    assert set(LIMITS) == {name for name in COORDINATES if not name.startswith("root.")}
    for limit in (*LIMITS.values(), ARM_RAISED):
        assert limit.low <= 0 <= limit.high
        assert limit.low < limit.high
        assert limit.source.kind == "common practice" or len(limit.source.cite) > 3


@pytest.mark.parametrize(
    ("joints", "low", "high"),
    [
        (("lumbar.flex", "thoracic.flex"), -40, 90),  # 38 CFR flexion; extension measured (Apti A 2023)
        (("lumbar.bend", "thoracic.bend"), -35, 35),  # AAOS
        (("lumbar.turn", "thoracic.turn"), -45, 45),  # AAOS
        (("neck.flex", "head.flex"), -63, 64),  # young men, meta-analysis
        (("neck.bend", "head.bend"), -49, 49),  # the same
        (("neck.turn", "head.turn"), -80, 80),  # 38 CFR
    ],
)
def test_joints_of_the_spine_add_up_to_the_published_whole(joints: tuple[str, ...], low: float, high: float) -> None:
    assert (_low(*joints), _high(*joints)) == (low, high)


@pytest.mark.parametrize(
    ("coordinate", "lows", "highs"),
    [
        ("shoulder.flex", (50, 60, 62), (167, 180)),
        ("shoulder.abd", (), (170, 180, 184)),
        ("shoulder.ir", (60, 90, 104), (69, 70, 80)),
        ("elbow.flex", (0,), (140, 143, 150)),
        ("forearm.pron", (80, 82, 85, 91), (76, 77, 80, 82)),
        ("wrist.flex", (60, 70, 75), (60, 76, 80)),
        ("wrist.uln", (20, 22), (30, 36)),
        ("fingers.flex", (30, 45), (90,)),
        ("hip.flex", (15, 18, 30), (120, 125, 130, 134)),
        ("hip.abd", (25, 30), (45,)),
        ("hip.ir", (45, 60), (40, 45)),
        ("knee.flex", (0,), (130, 135, 140, 142)),
        ("ankle.df", (45, 50, 62), (14, 20, 38)),
        ("foot.inv", (15, 25), (35,)),
        ("toes.flex", (70,), (45,)),
    ],
)
def test_where_publications_clash_the_wider_value_stands(
    coordinate: str, lows: tuple[float, ...], highs: tuple[float, ...]
) -> None:
    limit = LIMITS[f"right_{coordinate}"]
    assert all(-limit.low >= one for one in lows)
    assert all(limit.high >= one for one in highs)
    assert limit == LIMITS[f"left_{coordinate}"]
    if len(set(lows)) > 1 or len(set(highs)) > 1:
        assert limit.clash


def test_no_range_is_far_wider_than_any_publication() -> None:
    most = {"knee.flex": (0, 165), "hip.flex": (30, 134), "wrist.uln": (22, 36), "elbow.flex": (0, 150)}
    for coordinate, (low, high) in most.items():
        limit = LIMITS[f"right_{coordinate}"]
        assert -low <= limit.low
        assert limit.high <= high


def test_ranges_without_body_weight_lie_within_the_others() -> None:
    for coordinate, (low, high) in UNLOADED.items():
        limit = LIMITS[f"right_{coordinate}"]
        assert limit.low <= low < high <= limit.high
    assert UNLOADED["ankle.df"] == (-50, 20)


def test_what_lies_beyond_is_named_with_its_value_and_range() -> None:
    pose = {"right_knee.flex": 151.0, "left_hip.abd": -31.0, "neck.flex": 44.0, "root.pitch": 170.0}
    assert [(name, value) for name, value, _ in beyond(pose)] == [("left_hip.abd", -31.0), ("right_knee.flex", 151.0)]
    assert {name for name, _, _ in beyond(mirrored(pose))} == {"right_hip.abd", "left_knee.flex"}
    assert beyond({"right_knee.flex": 150.0, "right_ankle.df": 38.0}) == []


def test_an_arm_raised_forward_and_out_at_once_is_taken_as_one_turn() -> None:
    assert beyond({"right_shoulder.flex": 120, "right_shoulder.abd": 120}) == []
    assert [name for name, _, _ in beyond({"right_shoulder.flex": 160, "right_shoulder.abd": 120})] == [
        "right_shoulder.raised"
    ]


def test_the_spine_gives_way_last() -> None:
    assert (
        stiffness("lumbar.flex")
        > stiffness("right_girdle.elev")
        > stiffness("left_hip.ir")
        > stiffness("left_hip.flex")
    )
    assert stiffness("right_forearm.pron") == stiffness("right_knee.flex") == 1
