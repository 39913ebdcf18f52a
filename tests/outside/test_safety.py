"""What cautions and flags must stop, by the published lists, judged by a matcher of its own."""

from __future__ import annotations

import re
from collections.abc import Iterable

import pytest

from homecare.core.atlas import ARM_REGIONS, LEG_REGIONS
from homecare.core.drill import Caution, Drill, Flag, Stops
from homecare.library.load import Library

TRUNK = {"neck", "upper_back", "low_back", "pelvis"}
NOTHING_FOUND: frozenset[str] = frozenset()
EVERYWHERE = frozenset(ARM_REGIONS | LEG_REGIONS | TRUNK)


def matches(stop: Stops, drill: Drill, found: Iterable[str]) -> bool:
    """Every filled field must match; `found` stands for the regions found."""
    regions = {one for part in stop.regions for one in (found if part == "found" else (part,))}
    by_kind = not stop.kinds or drill.kind in stop.kinds
    by_trait = not stop.traits or bool(set(stop.traits).intersection(drill.traits))
    by_region = not stop.regions or drill.region in regions
    return by_kind and by_trait and by_region


def survivors(record: Caution | Flag, drills: Iterable[Drill], found: Iterable[str] = NOTHING_FOUND) -> set[str]:
    """Ids of the drills that a caution or flag leaves on."""
    return {one.id for one in drills if not any(matches(stop, one, found) for stop in record.stops)}


def releases(lib: Library) -> list[Drill]:
    found = [one for one in lib.drills.values() if one.kind == "release"]
    assert found
    return found


def with_trait(lib: Library, trait: str, regions: Iterable[str] = EVERYWHERE) -> list[Drill]:
    found = [one for one in lib.drills.values() if trait in one.traits and one.region in set(regions)]
    assert found
    return found


BARTSCH = "Bartsch KM et al. 2021, J Clin Med 10:5360"


@pytest.mark.parametrize(
    ("caution", "source"),
    [
        ("recent_fracture", f"{BARTSCH}: bone fracture a contraindication for 84 % of 37 experts"),
        ("open_wound", f"{BARTSCH}: open wound a contraindication for 73 %"),
        ("dvt_suspected", f"{BARTSCH}: a caution for 97 %; a stop in massage practice, which is the safer reading"),
    ],
)
def test_no_release_survives_what_forbids_rolling(lib: Library, caution: str, source: str) -> None:
    assert survivors(lib.cautions[caution], releases(lib)) == set(), source


TRAIT_STOPS = [
    # caution, trait that must not survive, regions, source
    ("anticoagulant", "deep_pressure", EVERYWHERE, "common practice"),
    (
        "osteoporosis",
        "spine_flexion",
        EVERYWHERE,
        "Sinaki M, Mikkelsen BA 1984, Arch Phys Med Rehabil 65:593-6 (from memory)",
    ),
    ("osteoporosis", "spine_rotation", EVERYWHERE, "common practice"),
    (
        "osteoporosis",
        "deep_pressure",
        TRUNK,
        "Clark MA, Lucett SC 2011, NASM Essentials of Corrective Exercise Training",
    ),
    ("hypermobile", "end_range_joint", EVERYWHERE, "Kisner C, Colby LA, Therapeutic Exercise (from memory)"),
    ("hypermobile", "turned_out_shoulder", EVERYWHERE, "arm out and turned out avoided after dislocation: ULNT1 text"),
    ("hypermobile", "overhead", EVERYWHERE, "common practice"),
    ("adjusted_neck", "end_range_neck", EVERYWHERE, "common practice"),
    ("under_16", "high_load", EVERYWHERE, "common practice"),
    ("reduced_sensation", "deep_pressure", EVERYWHERE, "Clark and Lucett 2011: advanced diabetes"),
    ("varicose_veins", "deep_pressure", LEG_REGIONS - {"hip"}, "Clark and Lucett 2011: phlebitis"),
    ("inflammatory_arthritis", "deep_pressure", EVERYWHERE, f"{BARTSCH}: local inflammation, 97 %"),
    ("pregnant", "prone", EVERYWHERE, "common practice"),
    ("pregnant", "supine", EVERYWHERE, "ACOG Committee Opinion 804, 2020 (from memory)"),
    ("active_cancer", "deep_pressure", EVERYWHERE, "Clark and Lucett 2011: some cancer care"),
]


@pytest.mark.parametrize(("caution", "trait", "regions", "source"), TRAIT_STOPS)
def test_a_caution_stops_its_trait(lib: Library, caution: str, trait: str, regions: Iterable[str], source: str) -> None:
    assert survivors(lib.cautions[caution], with_trait(lib, trait, regions)) == set(), source


def test_a_fresh_tear_stops_stretch_and_load_of_the_limb(lib: Library) -> None:
    """Acute muscle tear: Kisner C, Colby LA, Therapeutic Exercise (from memory)."""
    legs = [one for one in lib.drills.values() if one.kind in ("stretch", "load") and one.region in LEG_REGIONS]
    assert legs
    assert survivors(lib.cautions["muscle_tear"], legs, LEG_REGIONS) == set()


def test_every_caution_stops_something_and_not_everything(lib: Library) -> None:
    for caution in lib.cautions.values():
        left = survivors(caution, lib.drills.values(), EVERYWHERE)
        assert left < set(lib.drills), caution.id
        assert left or caution.id == "recent_fracture", f"{caution.id} leaves nothing at all"


def test_only_the_adjusted_neck_ends_with_the_day(lib: Library) -> None:
    assert {one.id for one in lib.cautions.values() if one.not_today} == {"adjusted_neck"}


def test_a_possible_clot_is_referred(lib: Library) -> None:
    """Stop and refer (design choice above the Delphi's caution, Bartsch 2021)."""
    assert lib.cautions["dvt_suspected"].raises == "calf_swelling"


URGENCY = [
    # flag, urgency, source
    ("saddle_numbness", "now", "BMJ Best Practice, Cauda equina syndrome: hospital within hours"),
    ("bladder_or_bowel", "now", "BMJ Best Practice, Cauda equina syndrome: hospital within hours"),
    ("dizziness_or_double_vision", "now", "Rushton A et al. 2023, JOSPT 53:7-22 (from memory)"),
    ("worst_headache", "now", "Rushton A et al. 2023, JOSPT 53:7-22 (from memory)"),
    ("chest_pain", "now", "common practice"),
    ("calf_swelling", "soon", "Wells PS et al. 2003, N Engl J Med 349:1227-35: to be assessed, the same day"),
    ("progressive_weakness", "soon", "AHCPR Clinical Practice Guideline 14, 1994"),
    ("night_pain", "soon", "AHCPR Clinical Practice Guideline 14, 1994"),
    ("fever_or_weight_loss", "soon", "AHCPR Clinical Practice Guideline 14, 1994"),
    ("cancer_history", "soon", "AHCPR Clinical Practice Guideline 14, 1994"),
    ("recent_trauma", "soon", "AHCPR Clinical Practice Guideline 14, 1994"),
    ("unsteady_walking", "soon", "Cook C et al. 2010, J Man Manip Ther 18:175-80"),
    ("clumsy_hands", "soon", "Cook C et al. 2010, J Man Manip Ther 18:175-80"),
    ("both_sides", "soon", "Nee RJ, Butler D 2006, Phys Ther Sport 7:36-49 (from memory)"),
    ("muscle_wasting", "soon", "Nee RJ, Butler D 2006 (from memory)"),
    ("limb_numb", "soon", "Nee RJ, Butler D 2006 (from memory)"),
    ("bone_point_pain", "soon", "common practice"),
]


@pytest.mark.parametrize(("flag", "urgency", "source"), URGENCY)
def test_urgency_of_a_flag(lib: Library, flag: str, urgency: str, source: str) -> None:
    assert lib.flags[flag].urgency == urgency, source


def test_an_urgent_flag_stops_every_drill(lib: Library) -> None:
    for flag in lib.flags.values():
        left = survivors(flag, lib.drills.values())
        assert (left == set()) == (flag.urgency == "now"), flag.id


def test_every_flag_stops_something_of_what_was_found(lib: Library) -> None:
    for flag in lib.flags.values():
        assert survivors(flag, lib.drills.values(), EVERYWHERE) < set(lib.drills), flag.id


def test_swollen_calf_stops_rolling_and_all_work_below_the_hip(lib: Library) -> None:
    """Wells PS et al. 2003; rolling over a clot: Bartsch 2021, 97 %."""
    left = survivors(lib.flags["calf_swelling"], lib.drills.values())
    for drill in lib.drills.values():
        if drill.kind == "release" or drill.region in {"thigh", "knee", "leg", "foot"}:
            assert drill.id not in left


@pytest.mark.parametrize("flag", ["progressive_weakness", "muscle_wasting", "limb_numb"])
def test_loss_of_power_or_feeling_stops_ball_stretch_glide_and_load_of_that_limb(lib: Library, flag: str) -> None:
    """Any new motor loss, wasting or spreading numbness (Butler DS 2000; Nee and Butler 2006, both from memory)."""
    left = survivors(lib.flags[flag], lib.drills.values(), ARM_REGIONS)
    arm = [one for one in lib.drills.values() if one.region in ARM_REGIONS]
    stopped = [one for one in arm if one.kind in ("release", "stretch", "glide", "load")]
    assert stopped
    assert not left & {one.id for one in stopped}
    legs = {one.id for one in lib.drills.values() if one.region in LEG_REGIONS}
    assert legs <= left, "the legs go on"


@pytest.mark.parametrize("flag", ["both_sides", "unsteady_walking", "clumsy_hands"])
def test_signs_of_the_cord_stop_glides_and_neck_and_back(lib: Library, flag: str) -> None:
    """Cord signs bar nerve drills (Butler DS 2000, from memory; Cook C et al. 2010)."""
    left = survivors(lib.flags[flag], lib.drills.values())
    for drill in lib.drills.values():
        if drill.kind == "glide" or drill.region in {"neck", "upper_back", "low_back"}:
            assert drill.id not in left


def test_saddle_and_both_sided_symptoms_raise_their_flags(lib: Library) -> None:
    """BMJ Best Practice, Cauda equina syndrome; Nee and Butler 2006 (from memory)."""
    saddle, both = lib.flags["saddle_numbness"], lib.flags["both_sides"]
    assert saddle.zones == ("saddle",)
    assert {"numbness", "tingling"} <= set(saddle.symptoms)
    assert not saddle.both_sides
    assert both.both_sides
    ends = {key for key, zone in lib.atlas.zones.items() if zone.region in ("hand", "foot")}
    assert set(both.zones) == ends


def test_a_tool_pressed_in_is_called_deep_pressure(lib: Library) -> None:
    """Else a blood thinner would let it pass."""
    wrong = [
        one.id
        for one in releases(lib)
        if set(one.kit) & {"ball", "roller", "stick"} and "deep_pressure" not in one.traits
    ]
    assert not wrong


POSE_TRAITS = [
    # motions at the end pose, degrees from which they count, trait, source
    (("neck_bend_away", "neck_bend_toward"), 35, "end_range_neck", "AAOS 1965: 45 degrees of side bend (from memory)"),
    (("trunk_flexion",), 35, "spine_flexion", "common practice: nearly half of 80 degrees (AAOS, from memory)"),
    (("trunk_turn_away", "trunk_turn_toward"), 30, "spine_rotation", "AAOS: 45 degrees of turning (from memory)"),
    (("shoulder_flexion", "shoulder_abduction"), 130, "overhead", "common practice"),
]


def reaching(lib: Library, motions: Iterable[str], degrees: float) -> list[Drill]:
    """The drills whose end pose has one of the motions by so much."""
    ends = [(one, one.end or {}) for one in lib.drills.values()]
    return [one for one, end in ends if max(end.get(motion, 0.0) for motion in motions) >= degrees]


@pytest.mark.parametrize(("motions", "degrees", "trait", "source"), POSE_TRAITS)
def test_an_end_pose_carries_its_trait(
    lib: Library, motions: tuple[str, ...], degrees: float, trait: str, source: str
) -> None:
    found = reaching(lib, motions, degrees)
    assert found, "a bound that no drill reaches holds nothing"
    assert not [one.id for one in found if trait not in one.traits], source


@pytest.mark.parametrize(
    ("motion", "degrees"), [("neck_turn_away", 45), ("neck_turn_toward", 45), ("neck_extension", 30)]
)
def test_no_drill_turns_or_bends_the_neck_back_as_far_as_it_goes(lib: Library, motion: str, degrees: float) -> None:
    """Of 60 degrees of turning and 45 of bending back (AAOS 1965, from memory): at the end of its range the neck's
    arteries are stretched too (Rushton A et al. 2023, JOSPT 53:7-22, from memory)."""
    assert not [one.id for one in reaching(lib, (motion,), degrees)]


def test_arm_out_and_turned_out_carries_its_trait(lib: Library) -> None:
    """Abduction with external rotation is avoided after a dislocation (text on ULNT1)."""
    out = reaching(lib, ("shoulder_abduction",), 70)
    found = [one for one in out if one in reaching(lib, ("shoulder_external_rotation",), 60)]
    assert found
    assert not [one.id for one in found if "turned_out_shoulder" not in one.traits]


KEEP_OUT = {
    "sternocleidomastoid": "the front of the neck",
    "scalenes": "the side of the neck",
    "deep_neck_flexors": "the front of the neck",
}


def test_no_tool_presses_where_vessels_and_nerves_lie_bare(lib: Library) -> None:
    """Front and side of the neck: left out of rolling in the trade (common practice)."""
    for drill in releases(lib):
        hard = "deep_pressure" in drill.traits
        for tissue in lib.atlas.members(drill.tissues):
            assert not (hard and tissue in KEEP_OUT), f"{drill.id} presses {KEEP_OUT.get(tissue)}"


NEAR = {"adductor_longus": "groin", "gastrocnemius": "knee", "fibularis_longus": "knee"}
"""A muscle that reaches a place where vessels or a nerve lie bare, and the word that must warn of it."""


def test_a_tool_near_such_a_place_says_to_keep_off_it(lib: Library) -> None:
    """Groin, back of the knee and neck of the fibula: left out of rolling in the trade (common practice)."""
    wrong = []
    for drill in with_trait(lib, "deep_pressure"):
        words = " ".join([*drill.steps, *drill.mistakes, drill.not_feel, drill.stop_if])
        for place in {NEAR[one] for one in lib.atlas.members(drill.tissues) if one in NEAR}:
            warning = rf"\b(off|below|clear of|away from|behind|back of|up to|in) (the |your )?([a-z]+ )*{place}"
            if not re.search(warning, words):
                wrong.append(f"{drill.id}: {place}")
    assert not wrong


SAID = [
    # words of a step, the trait a caution must be able to see
    (r"face down", "prone"),
    (r"\bon your back\b", "supine"),
    (r"\bkneel", "kneeling"),
    (r"\bon one leg\b|\bon your \{side\} leg\b", "balance"),
    (r"\blie on the floor\b|\bhands and knees\b", "floor"),
    (r"\bhands and knees\b", "weight_on_hand"),
]


@pytest.mark.parametrize(("words", "trait"), SAID)
def test_what_the_steps_say_is_among_the_traits(lib: Library, words: str, trait: str) -> None:
    found = [one for one in lib.drills.values() if re.search(words, " ".join(one.steps), re.IGNORECASE)]
    assert found
    assert not [one.id for one in found if trait not in one.traits]


STRAINS = [
    # motion, degrees held, site whose nerve it loads, source
    ("wrist_extension", 40, "carpal_tunnel", "Gelberman RH et al. 1981, J Bone Joint Surg Am 63:380-3 (from memory)"),
    ("wrist_flexion", 40, "carpal_tunnel", "Gelberman RH et al. 1981, J Bone Joint Surg Am 63:380-3 (from memory)"),
    ("elbow_flexion", 110, "cubital_tunnel", "Gelberman RH et al. 1998, J Bone Joint Surg Am 80:492-501 (from memory)"),
]


@pytest.mark.parametrize(("motion", "degrees", "site", "source"), STRAINS)
def test_a_held_stretch_that_loads_a_tunnel_never_counts_as_covering_it(
    lib: Library, motion: str, degrees: float, site: str, source: str
) -> None:
    """Of the arm's own stretches: a hand that leans on a wall while the calf is stretched is counted by its load."""
    stretches = [
        one for one in reaching(lib, (motion,), degrees) if one.kind == "stretch" and one.region in ARM_REGIONS
    ]
    assert stretches
    assert not [one.id for one in stretches if site not in one.strains], source


CLAIMS = {
    "cubital_tunnel": ("uncertain", "Basson A et al. 2017, J Orthop Sports Phys Ther 47:593-615"),
}


@pytest.mark.parametrize("site", CLAIMS)
def test_a_place_where_benefit_is_uncertain_says_so(lib: Library, site: str) -> None:
    word, source = CLAIMS[site]
    assert word in lib.atlas.sites[site].evidence.lower(), source
