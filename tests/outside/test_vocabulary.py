"""The words that visit files may use: all of them there, with the trade's synonyms, and fit for their sentences."""

from __future__ import annotations

import re

import pytest

from homecare.library.load import Library

WORDS = {
    "zones": """digit_1 digit_2 digit_3 digit_4 digit_5 thenar hypothenar palm_radial palm_ulnar hand_back_radial
        hand_back_ulnar lateral_forearm medial_forearm anterior_forearm posterior_forearm lateral_elbow lateral_arm
        medial_arm shoulder_top shoulder_blade neck buttock saddle groin anterior_thigh lateral_thigh medial_thigh
        posterior_thigh medial_knee medial_shin lateral_shin calf ankle_outer foot_top first_web_of_foot lateral_foot
        heel sole big_toe""",
    "worse_with": """wrist_extended wrist_flexed grip pressure_on_palm elbow_bent elbow_straight leaning_on_elbow
        forearm_turning resisted_turning carrying overhead neck_turned neck_extended neck_side_bent cough sitting slump
        leg_straight bent_forward standing squatting hip_extended knee_straight knee_bent ankle_up ankle_pointed
        foot_turned_in foot_turned_out walking running kneeling crossing_legs tight_clothing tight_shoes night""",
    "kit": "ball roller strap band stick dumbbell towel",
    "tests": """ulnt1 ulnt2a ulnt2b ulnt3 straight_leg_raise slump prone_knee_bend tap_elbow tap_wrist
        neck_compression strength touch reflex""",
    "cautions": """anticoagulant pregnant osteoporosis recent_fracture open_wound recent_surgery dvt_suspected
        hypermobile inflammatory_arthritis reduced_sensation fragile_skin varicose_veins active_cancer muscle_tear
        under_16 adjusted_neck""",
    "flags": """progressive_weakness bladder_or_bowel saddle_numbness both_sides unsteady_walking clumsy_hands
        night_pain fever_or_weight_loss recent_trauma dizziness_or_double_vision worst_headache calf_swelling
        chest_pain muscle_wasting bone_point_pain limb_numb cancer_history""",
    "outlook": "tight tender weak late stiff painful strained symptom",
    "firing_orders": "prone_hip_extension hip_abduction_side_lying shoulder_abduction neck_flexion",
    "markers": """knee_to_wall straight_leg_raise knee_extension_90_90 hip_internal_rotation modified_thomas
        wrist_extension neck_rotation heel_raises grip""",
}


def test_every_word_of_the_visit_file_is_known(lib: Library) -> None:
    known = {name: set(getattr(lib, name)) for name in WORDS if name != "zones"} | {"zones": set(lib.atlas.zones)}
    missing = {name: sorted(set(ids.split()) - known[name]) for name, ids in WORDS.items()}
    assert not {name: ids for name, ids in missing.items() if ids}


@pytest.mark.parametrize(
    ("vocabulary", "word", "key"),
    [
        ("zones", "dorsum_of_foot", "foot_top"),
        ("zones", "hypothenar_eminence", "hypothenar"),
        ("zones", "thenar_eminence", "thenar"),
        ("zones", "thumb", "digit_1"),
        ("zones", "index", "digit_2"),
        ("zones", "middle finger", "digit_3"),
        ("zones", "little_finger", "digit_5"),
        ("zones", "hallux", "big_toe"),
        ("zones", "medial malleolus", "medial_shin"),
        ("worse_with", "gripping", "grip"),
        ("worse_with", "wrist_flexion", "wrist_flexed"),
        ("worse_with", "elbow_flexion", "elbow_bent"),
        ("worse_with", "dorsiflexion", "ankle_up"),
        ("worse_with", "looking up", "neck_extended"),
        ("kit", "foam roller", "roller"),
        ("kit", "tennis_ball", "ball"),
        ("kit", "resistance band", "band"),
        ("tissues", "IT band", "iliotibial_band"),
        ("tissues", "calves", "calf"),
        ("tissues", "hamstring", "hamstrings"),
        ("tissues", "quads", "quadriceps"),
    ],
)
def test_words_of_the_trade_lead_to_the_same_record(lib: Library, vocabulary: str, word: str, key: str) -> None:
    assert lib.names.find(vocabulary, word) == key


def test_plain_words_fit_into_their_sentences(lib: Library) -> None:
    """'tingling in your left {plain}', 'worse with {plain}': small letters, no article, no full stop."""
    for zone in lib.atlas.zones.values():
        assert re.fullmatch(r"(?!the |a |an |your )[a-z][a-z -]+[a-z]", zone.plain), zone.id
    for word in lib.worse_with.values():
        assert re.fullmatch(r"[a-z][a-z -]+[a-z]", word.plain), word.id
    for caution in lib.cautions.values():
        assert re.match(r"(takes|is|has|had|may) ", caution.name), f"'the athlete {caution.name}'"
        assert re.fullmatch(r"[A-Z][^.]+\.", caution.because), caution.id


def test_the_athlete_is_told_how_soon(lib: Library) -> None:
    for flag in lib.flags.values():
        assert re.search(r"\b(now|today|this week|within two days)\b", flag.athlete), flag.id
        assert flag.ask.endswith("?"), flag.id
        assert not re.search(r"\byou have (a |an )?(clot|fracture|cancer|tumou?r)", flag.athlete), flag.id


def test_every_provocation_and_test_of_the_list_is_used_by_a_site(lib: Library) -> None:
    """A word that speaks for no place would be asked in vain; reflexes, strength and touch speak for roots."""
    used = {one for site in lib.atlas.sites.values() for one in site.worse_with}
    assert set(WORDS["worse_with"].split()) <= used
    tests = {one for site in lib.atlas.sites.values() for one in site.tests}
    assert set(WORDS["tests"].split()) <= tests


def test_habits_take_load_off_places_that_their_provocations_load(lib: Library) -> None:
    """A habit called up by a provocation must name a place which that provocation makes worse."""
    wrong = []
    for habit in lib.habits.values():
        for word in habit.worse_with:
            if not any(word in lib.atlas.sites[site].worse_with for site in habit.sites):
                wrong.append(f"{habit.id}: {word}")
    assert not wrong
    assert len(lib.habits) >= 12


def test_firing_orders_say_how_mixed_the_evidence_is(lib: Library) -> None:
    """Healthy people fire in varied order (Lehman GJ et al. 2004, BMC Musculoskelet Disord 5:3, from memory)."""
    for order in lib.firing_orders.values():
        assert re.search(r"var(y|ied)|close together", order.says), order.id
        assert "second sign" in order.says or "Healthy people vary" in order.says, order.id


SMALLEST = [
    # marker, least and most that the sources allow, source
    (
        "knee_to_wall",
        1.2,
        2.0,
        "4.6-4.7 degrees at about 3.6 degrees a cm (Bennell 1998, from memory); 1.5-2 cm notable",
    ),
    (
        "straight_leg_raise",
        4.1,
        6.0,
        "Boyd BS, Villa PS 2012, BMC Musculoskelet Disord 13:245: sides differ by 4.1 to 5.0",
    ),
    ("modified_thomas", 7.0, 20.0, "Peeler JD, Anderson JE 2008: standard error 7 degrees; times 2.77 is 19.4"),
    ("grip", 5.0, 6.5, "Bohannon RW 2019, J Phys Ther Sci 31:75-8 (from memory)"),
]


@pytest.mark.parametrize(("marker", "least", "most", "source"), SMALLEST)
def test_smallest_change_of_a_marker(lib: Library, marker: str, least: float, most: float, source: str) -> None:
    assert least <= lib.markers[marker].smallest_change <= most, source
