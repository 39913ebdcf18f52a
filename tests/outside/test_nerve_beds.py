"""The sign of each joint motion for each nerve bed, and every glide judged by arithmetic of its own."""

from __future__ import annotations

from collections.abc import Mapping

import pytest

from homecare.core.drill import Drill
from homecare.core.nerve_bed import glide_sort
from homecare.library.load import Library

NERVES = ("median", "ulnar", "radial", "tibial", "sural", "common_fibular", "femoral", "saphenous")
SIGNS: Mapping[str, tuple[int, ...]] = {
    # motion: +1 lengthens, -1 slackens, 0 not asserted; one column a nerve, as in NERVES.
    # Read where a test states the motion: ULNT2b, ULNT3 (Manvell 2015), straight leg raise tibial (Bueno-Gracia 2021)
    # and sural, prone knee bend; else from memory (Butler DS 2000, The Sensitive Nervous System).
    "neck_bend_away": (1, 1, 1, 0, 0, 0, 0, 0),
    "neck_flexion": (0, 0, 0, 1, 1, 1, 1, 1),
    "trunk_flexion": (0, 0, 0, 1, 1, 1, 1, 1),
    "scapula_depression": (1, 1, 1, 0, 0, 0, 0, 0),
    "shoulder_abduction": (1, 1, 0, 0, 0, 0, 0, 0),
    "shoulder_external_rotation": (1, 1, -1, 0, 0, 0, 0, 0),
    "shoulder_internal_rotation": (-1, -1, 1, 0, 0, 0, 0, 0),
    "elbow_flexion": (-1, 1, -1, 0, 0, 0, 0, 0),
    "supination": (1, 0, -1, 0, 0, 0, 0, 0),
    "pronation": (-1, 0, 1, 0, 0, 0, 0, 0),
    "wrist_extension": (1, 1, -1, 0, 0, 0, 0, 0),
    "wrist_flexion": (-1, -1, 1, 0, 0, 0, 0, 0),
    "ulnar_deviation": (0, 0, 1, 0, 0, 0, 0, 0),
    "finger_extension": (1, 1, -1, 0, 0, 0, 0, 0),
    "finger_flexion": (-1, -1, 1, 0, 0, 0, 0, 0),
    "hip_flexion": (0, 0, 0, 1, 1, 1, -1, -1),
    "hip_extension": (0, 0, 0, -1, -1, -1, 1, 1),
    "hip_adduction": (0, 0, 0, 1, 1, 1, 0, -1),
    "hip_internal_rotation": (0, 0, 0, 1, 1, 1, 0, -1),
    "knee_flexion": (0, 0, 0, -1, -1, -1, 1, -1),
    "ankle_dorsiflexion": (0, 0, 0, 1, 1, -1, 0, 1),
    "ankle_plantarflexion": (0, 0, 0, -1, -1, 1, 0, -1),
    "eversion": (0, 0, 0, 1, -1, -1, 0, 1),
    "inversion": (0, 0, 0, -1, 1, 1, 0, -1),
}
MUST_STAND = [
    # What the test of each nerve cannot do without: nerve, motion. Sources as above.
    ("median", "wrist_extension"),
    ("median", "elbow_flexion"),
    ("median", "shoulder_abduction"),
    ("ulnar", "elbow_flexion"),
    ("ulnar", "wrist_extension"),
    ("ulnar", "shoulder_abduction"),
    ("radial", "elbow_flexion"),
    ("radial", "wrist_flexion"),
    ("radial", "pronation"),
    ("tibial", "hip_flexion"),
    ("tibial", "knee_flexion"),
    ("tibial", "ankle_dorsiflexion"),
    ("tibial", "eversion"),
    ("sural", "ankle_dorsiflexion"),
    ("sural", "inversion"),
    ("common_fibular", "ankle_plantarflexion"),
    ("common_fibular", "inversion"),
    ("femoral", "knee_flexion"),
    ("femoral", "hip_extension"),
    ("saphenous", "hip_extension"),
    ("saphenous", "knee_flexion"),
]
SLIDER_MOST, TENSIONER_LEAST = 0.5, 0.75
"""Opposite motions offset each other in a slider (Coppieters MW, Alshami AM 2007, J Orthop Res 25:972-80)."""


def parts(lib: Library, nerve: str, start: Mapping[str, float], end: Mapping[str, float]) -> list[float]:
    """What each motion adds to a nerve's bed from start to end; degrees in, shares of the full test out."""
    bed = lib.atlas.tissues[nerve].bed or {}
    changes = ((one, end.get(one, 0.0) - start.get(one, 0.0)) for one in bed)
    return [bed[one].share * change / bed[one].full for one, change in changes if change]


def cancelling(lib: Library, nerve: str, start: Mapping[str, float], end: Mapping[str, float]) -> float:
    """|net| / sum of |parts|: 0 where all cancels, 1 where all adds up."""
    found = parts(lib, nerve, start, end)
    assert found, f"the movement does nothing to {nerve}"
    return abs(sum(found)) / sum(abs(one) for one in found)


def glides(lib: Library) -> list[Drill]:
    return [one for one in lib.drills.values() if one.kind == "glide"]


def test_signs_of_every_bed(lib: Library) -> None:
    wrong = []
    for motion, row in SIGNS.items():
        for nerve, sign in zip(NERVES, row, strict=True):
            part = (lib.atlas.tissues[nerve].bed or {}).get(motion)
            if part is not None and sign and part.share * sign < 0:
                wrong.append(f"{motion} for {nerve}: {part.share}, the published sign is {sign:+d}")
    assert not wrong


@pytest.mark.parametrize(("nerve", "motion"), MUST_STAND)
def test_a_bed_knows_the_motions_of_its_own_test(lib: Library, nerve: str, motion: str) -> None:
    part = (lib.atlas.tissues[nerve].bed or {})[motion]
    assert part.share * SIGNS[motion][NERVES.index(nerve)] > 0


def test_sciatic_bed_has_the_signs_of_the_tibial_part(lib: Library) -> None:
    bed = lib.atlas.tissues["sciatic"].bed or {}
    assert bed["hip_flexion"].share > 0
    assert bed["knee_flexion"].share < 0
    for motion, row in SIGNS.items():
        both_parts_agree = row[NERVES.index("tibial")] == row[NERVES.index("common_fibular")]
        if motion in bed and row[NERVES.index("tibial")] and both_parts_agree:
            assert bed[motion].share * row[NERVES.index("tibial")] > 0, motion


def test_lateral_femoral_cutaneous_is_lengthened_by_the_hip_going_back(lib: Library) -> None:
    """eMedicine 1141848 (hip extension); the rest is from memory (Butler DS 2000)."""
    bed = lib.atlas.tissues["lateral_femoral_cutaneous"].bed or {}
    assert bed["hip_extension"].share > 0
    assert bed["hip_flexion"].share < 0


def test_the_lengthening_shares_of_a_bed_sum_to_its_full_test(lib: Library) -> None:
    for key, tissue in lib.atlas.tissues.items():
        if tissue.bed:
            assert sum(one.share for one in tissue.bed.values() if one.share > 0) == pytest.approx(1.0, abs=0.011), key


def test_every_glide_is_what_it_claims(lib: Library) -> None:
    assert glides(lib)
    wrong = []
    for drill in glides(lib):
        nerves = [one for one in drill.tissues if lib.atlas.tissues[one].kind == "nerve"]
        assert nerves, drill.id
        for nerve in nerves:
            share = cancelling(lib, nerve, drill.start or {}, drill.end or {})
            held = share <= SLIDER_MOST if drill.claims == "slider" else share >= TENSIONER_LEAST
            if not held:
                wrong.append(f"{drill.id} for {nerve} claims {drill.claims}: {share:.2f}")
    assert not wrong


def test_no_slider_ever_stands_at_a_tension(lib: Library) -> None:
    """A slider keeps strain low: 0.8 against 6.8 % at the wrist (Coppieters and Butler 2008, Man Ther 13:213-21)."""
    wrong = []
    for drill in glides(lib):
        if drill.claims != "slider":
            continue
        for nerve in drill.tissues:
            for name, pose in (("start", drill.start), ("end", drill.end)):
                load = sum(parts(lib, nerve, {}, pose or {}))
                if load >= 0.5:
                    wrong.append(f"{drill.id}, {name}: {load:.2f} of the full test of {nerve}")
    assert not wrong


def test_claim_and_ladder_of_a_glide_agree(lib: Library) -> None:
    ladders = {"slider": {"nerve_slide", "nerve_slide_wide"}, "tensioner": {"nerve_tension"}}
    for drill in glides(lib):
        assert drill.claims is not None, drill.id
        assert drill.ladder in ladders[drill.claims], drill.id


def test_straight_elbow_and_wrist_back_at_once_is_no_median_slider(lib: Library) -> None:
    """The two moving joints change in the same sense, whatever it is called (Coppieters and Alshami 2007)."""
    start, end = {"elbow_flexion": 90.0, "wrist_flexion": 30.0}, {"elbow_flexion": 0.0, "wrist_extension": 60.0}
    assert cancelling(lib, "median", start, end) >= TENSIONER_LEAST
    assert glide_sort(lib.atlas.tissues["median"].bed or {}, start, end) == "tensioner"


def test_straightening_the_elbow_slackens_the_ulnar_nerve(lib: Library) -> None:
    """Elbow flexion is a part of the ulnar test (Manvell 2015): the usual mistake is to copy the median one."""
    assert sum(parts(lib, "ulnar", {"elbow_flexion": 120.0}, {"elbow_flexion": 10.0})) < 0
    together = cancelling(
        lib, "ulnar", {"elbow_flexion": 100.0, "wrist_flexion": 30.0}, {"elbow_flexion": 20.0, "wrist_extension": 40.0}
    )
    assert together <= SLIDER_MOST


def test_bending_the_knee_lengthens_the_femoral_and_slackens_the_sciatic(lib: Library) -> None:
    for nerve, sign in (("femoral", 1), ("sciatic", -1), ("tibial", -1), ("saphenous", -1)):
        assert sign * sum(parts(lib, nerve, {}, {"knee_flexion": 90.0})) > 0, nerve


SEQUENCES: Mapping[str, tuple[str, Mapping[str, float]]] = {
    # test: the nerve it is for, and its end position in degrees as far as the joints of the sources go. Read: ULNT1,
    # ULNT2b, ULNT3 (Manvell 2015), tibial (Bueno-Gracia 2021), sural and the prone knee bend (Chiropr Man Therap 2019);
    # from memory: ULNT2a, slump, saphenous, lateral femoral cutaneous (Butler DS 2000; Shacklock M 2005).
    "ulnt1": (
        "median",
        {
            "scapula_depression": 15,
            "shoulder_abduction": 110,
            "supination": 80,
            "wrist_extension": 70,
            "finger_extension": 30,
            "shoulder_external_rotation": 90,
            "neck_bend_away": 40,
        },
    ),
    "ulnt2a": (
        "median",
        {
            "scapula_depression": 15,
            "shoulder_abduction": 40,
            "shoulder_external_rotation": 60,
            "supination": 80,
            "wrist_extension": 70,
            "finger_extension": 30,
        },
    ),
    "ulnt2b": (
        "radial",
        {
            "scapula_depression": 15,
            "shoulder_internal_rotation": 70,
            "pronation": 80,
            "wrist_flexion": 70,
            "ulnar_deviation": 25,
            "finger_flexion": 80,
            "neck_bend_away": 40,
        },
    ),
    "ulnt3": (
        "ulnar",
        {
            "scapula_depression": 15,
            "shoulder_abduction": 110,
            "shoulder_external_rotation": 90,
            "elbow_flexion": 130,
            "pronation": 80,
            "wrist_extension": 70,
            "finger_extension": 30,
        },
    ),
    "straight_leg_raise": (
        "sciatic",
        {"hip_flexion": 75, "hip_adduction": 10, "hip_internal_rotation": 15, "neck_flexion": 40},
    ),
    "straight_leg_raise_tibial": ("tibial", {"hip_flexion": 75, "ankle_dorsiflexion": 20, "eversion": 15}),
    "straight_leg_raise_sural": ("sural", {"hip_flexion": 75, "ankle_dorsiflexion": 20, "inversion": 20}),
    "straight_leg_raise_fibular": ("common_fibular", {"hip_flexion": 75, "ankle_plantarflexion": 40, "inversion": 25}),
    "slump": (
        "sciatic",
        {"hip_flexion": 90, "trunk_flexion": 50, "neck_flexion": 40, "ankle_dorsiflexion": 20},
    ),
    "prone_knee_bend": ("femoral", {"knee_flexion": 115}),
    "femoral_slump": ("femoral", {"hip_extension": 15, "knee_flexion": 90, "trunk_flexion": 40, "neck_flexion": 40}),
    "saphenous": (
        "saphenous",
        {
            "hip_extension": 15,
            "hip_abduction": 20,
            "hip_external_rotation": 20,
            "ankle_dorsiflexion": 20,
            "eversion": 15,
        },
    ),
    "lateral_femoral_cutaneous": (
        "lateral_femoral_cutaneous",
        {"hip_extension": 15, "hip_adduction": 15, "knee_flexion": 60},
    ),
}
TENSION_SEQUENCES = sorted(set(SEQUENCES) - {"prone_knee_bend"})
"""The prone knee bend by itself is the first half of the femoral test; the hip goes back to make it a tension."""


def pull(lib: Library, nerve: str, test: str) -> float:
    """How far a test's end position lengthens a nerve's bed, as a share of its full test."""
    return sum(parts(lib, nerve, {}, SEQUENCES[test][1]))


@pytest.mark.parametrize("test", SEQUENCES)
def test_a_published_sequence_lengthens_its_nerve(lib: Library, test: str) -> None:
    nerve = SEQUENCES[test][0]
    assert pull(lib, nerve, test) > 0
    if test in TENSION_SEQUENCES:
        assert pull(lib, nerve, test) >= 0.5


@pytest.mark.parametrize("nerve", sorted({nerve for nerve, _ in SEQUENCES.values()}))
def test_no_other_sequence_does_better_for_a_nerve(lib: Library, nerve: str) -> None:
    """The test that is named for a nerve lengthens it more than the test of any other nerve does.

    The fibular and sural straight leg raises pull on the trunk above them as hard as its own test: they share the hip,
    so that a nerve is held against the sequences of nerves that it neither continues nor is continued by.
    """
    family = set(lib.atlas.nerve_family(nerve))
    own = max(pull(lib, nerve, test) for test, (of, _) in SEQUENCES.items() if of == nerve)
    others = {test: pull(lib, nerve, test) for test, (of, _) in SEQUENCES.items() if of not in family}
    assert others
    assert own > max(others.values()), others


@pytest.mark.parametrize(
    ("nerve", "rival"),
    [("tibial", "common_fibular"), ("common_fibular", "tibial"), ("sural", "tibial"), ("sural", "common_fibular")],
)
def test_the_foot_tells_the_nerves_of_the_leg_apart(lib: Library, nerve: str, rival: str) -> None:
    """Foot up and out, up and in, down and in: each for its own nerve (clinic tests as above)."""
    (own,) = [test for test, (of, _) in SEQUENCES.items() if of == nerve]
    (other,) = [test for test, (of, _) in SEQUENCES.items() if of == rival]
    assert pull(lib, nerve, own) > pull(lib, nerve, other)
