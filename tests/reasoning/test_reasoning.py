"""Candidate sites: evidence adds up in the open, ties stay ties, and what fits nothing says so."""

from __future__ import annotations

import pytest

from homecare.core.evidence import Knowledge
from homecare.core.findings import COVER_BAR
from homecare.core.reasoning import Reasoned, reason
from homecare.core.sheet import Clinic
from homecare.library.load import Library
from homecare.workflow.assembling import build_sheet
from tests.helpers import visit_of

LITTLE = "{symptom: tingling, zones: [digit_5, palm_ulnar], side: right}"
WEAK = "{tissue: %s, side: right, found: weak}"
TINGLE = "{symptom: tingling, zones: [digit_1, digit_2, digit_3], side: right%s}"


def reasoned(lib: Library, findings: str, more: str = "") -> Reasoned:
    """What a visit leads to."""
    knowledge = Knowledge(lib.atlas, lib.tests, lib.habits, lib.worse_with, lib.evidence)
    return reason(visit_of(lib, findings, more), knowledge)


def score(found: Reasoned, site: str) -> float:
    """The score of one site; 0 when it is no candidate."""
    return next((one.score for one in found.candidates if one.site == site), 0.0)


def test_thumb_to_middle_finger_leads_to_the_median_nerve(lib: Library) -> None:
    found = reasoned(lib, TINGLE % "")
    assert found.candidates[0].nerve == "median"
    assert score(found, "carpal_tunnel") >= COVER_BAR
    assert score(found, "cubital_tunnel") == 0


def test_without_more_the_sites_of_one_nerve_tie(lib: Library) -> None:
    found = reasoned(lib, TINGLE % "")
    scores = {one.score for one in found.candidates if one.nerve == "median"}
    assert len(scores) == 1


@pytest.mark.parametrize(
    ("key", "site", "extra", "more"),
    [
        ("muscle_weak", "carpal_tunnel", f"{TINGLE % ''}\n{WEAK % 'abductor_pollicis_brevis'}", ""),
        ("muscle_above", "carpal_tunnel", f"{TINGLE % ''}\n{WEAK % 'flexor_carpi_radialis'}", ""),
        ("provoked", "carpal_tunnel", TINGLE % ", worse_with: [wrist_flexed]", ""),
        ("test_positive", "ulnar_wrist_tunnel", f"{LITTLE}\n{{test: tap_wrist, side: right, result: positive}}", ""),
        ("test_negative", "ulnar_wrist_tunnel", f"{LITTLE}\n{{test: tap_wrist, side: right, result: negative}}", ""),
        (
            "tissue_found",
            "pronator_teres_heads",
            TINGLE % "" + "\n{tissue: pronator_teres, side: right, found: tight}",
            "",
        ),
        ("nerve_found", "carpal_tunnel", TINGLE % "" + "\n{tissue: median, side: right, found: tender}", ""),
        ("changed", "carpal_tunnel", TINGLE % "", 'changed: ["thicker oar handles"]\n'),
    ],
)
def test_each_piece_of_evidence_adds_its_weight(key: str, site: str, extra: str, more: str, lib: Library) -> None:
    first = extra.splitlines()[0].partition(", worse_with")[0]
    plain = reasoned(lib, first if first.endswith("}") else first + "}")
    test = lib.tests["tap_wrist"]
    factor = {"test_positive": test.if_positive, "test_negative": test.if_negative}.get(key, 1.0)
    added = score(reasoned(lib, extra, more), site) - score(plain, site)
    assert added == pytest.approx(lib.evidence[key].weight * factor, abs=0.0051)  # scores stand in hundredths


def test_an_ache_is_led_to_where_it_is_felt_and_a_tingling_there_is_not(lib: Library) -> None:
    """Pronator syndrome aches in the forearm, whose skin it does not serve (Preston and Shapiro, from memory)."""
    ache = "{symptom: %s, zones: [anterior_forearm], side: right}"
    weight = lib.evidence["zone_ache"].weight
    assert score(reasoned(lib, ache % "ache"), "pronator_teres_heads") == pytest.approx(weight)
    assert score(reasoned(lib, ache % "tingling"), "pronator_teres_heads") == 0


def test_a_test_that_speaks_against_a_site_tells_it_from_the_one_above(lib: Library) -> None:
    """A numb back of the hand points above the wrist: its branch leaves 5 to 8 cm above it (Preston and Shapiro)."""
    numb = f"{LITTLE}\n{{test: touch_hand_back_ulnar, side: right, result: positive}}"
    spared = numb.replace("positive", "negative")
    assert score(reasoned(lib, numb), "cubital_tunnel") > score(reasoned(lib, numb), "ulnar_wrist_tunnel")
    assert score(reasoned(lib, spared), "cubital_tunnel") < score(reasoned(lib, spared), "ulnar_wrist_tunnel")


def test_a_tie_is_said_with_the_tests_that_would_tell_it(lib: Library) -> None:
    found = reasoned(lib, "{symptom: tingling, zones: [digit_5], side: right}")
    (said,) = found.ties
    assert "eighth neck nerve root" in said
    assert lib.atlas.plain("ulnar") in said
    assert lib.tests["ring_finger_split"].name in said
    split = (
        "{symptom: tingling, zones: [digit_5], side: right}\n{test: ring_finger_split, side: right, result: positive}"
    )
    told = reasoned(lib, split)
    assert not told.ties
    assert told.candidates[0].nerve == "ulnar"


def test_the_pudendal_nerve_is_referred_and_asks_for_no_drill(lib: Library) -> None:
    sheet = build_sheet(visit_of(lib, "{symptom: ache, zones: [saddle], side: left}"), lib, Clinic(), None)
    assert sheet.refer is not None
    assert lib.atlas.tissues["pudendal"].refer in sheet.refer.because
    assert sheet.candidates
    assert sheet.drills == ()


def test_the_other_side_counts_for_nothing(lib: Library) -> None:
    plain = reasoned(lib, TINGLE % "")
    other = reasoned(lib, TINGLE % "" + "\n{tissue: pronator_teres, side: left, found: tight}")
    assert score(other, "pronator_teres_heads") == score(plain, "pronator_teres_heads")


def test_a_test_not_done_is_shown_and_counts_neither_way(lib: Library) -> None:
    (tunnel,) = [one for one in reasoned(lib, TINGLE % "").candidates if one.site == "carpal_tunnel"]
    site = lib.atlas.sites["carpal_tunnel"]
    assert len(tunnel.not_tested) == len(site.tests) + len(site.tests_against)
    assert not tunnel.against


def test_three_provocations_count_as_two(lib: Library) -> None:
    two = reasoned(lib, TINGLE % ", worse_with: [grip, wrist_flexed]")
    three = reasoned(lib, TINGLE % ", worse_with: [grip, wrist_flexed, wrist_extended]")
    assert score(three, "carpal_tunnel") == score(two, "carpal_tunnel")


def test_a_zone_outside_the_territory_speaks_against(lib: Library) -> None:
    found = reasoned(lib, "{symptom: tingling, zones: [digit_1, digit_2, lateral_foot], side: right}")
    (tunnel,) = [one for one in found.candidates if one.site == "carpal_tunnel"]
    assert any("outside" in words for words in tunnel.against)


def test_what_fits_nothing_asks_for_referral_thinking(lib: Library) -> None:
    found = reasoned(lib, "{symptom: burning, zones: [digit_1, lateral_foot, medial_knee, neck, heel], side: left}")
    assert len(found.no_fit) == 1
    assert "referral" in found.no_fit[0]


def test_both_sides_are_reasoned_apart(lib: Library) -> None:
    findings = (
        "{symptom: tingling, zones: [digit_5], side: both}\n{tissue: flexor_carpi_ulnaris, side: left, found: tight}"
    )
    found = reasoned(lib, findings)
    by_side = {one.side: one.score for one in found.candidates if one.site == "flexor_carpi_ulnaris_heads"}
    assert by_side["left"] > by_side["right"] > 0


def test_a_trunk_nerve_has_the_zones_of_its_branches(lib: Library) -> None:
    found = reasoned(lib, "{symptom: tingling, zones: [posterior_thigh, calf, sole], side: left}")
    assert found.candidates[0].nerve == "sciatic"
    assert ("tibial", "left") in found.irritable


def test_a_site_below_the_bar_can_be_covered_by_hand(lib: Library) -> None:
    found = reasoned(
        lib, "{symptom: tingling, zones: [digit_5, digit_1, digit_2, heel], side: left}", "cover: [c8_foramen]\n"
    )
    assert "c8_foramen" in {one.site for one in found.candidates}
    assert ("ulnar", "left") in found.irritable


def test_a_site_that_no_symptom_leads_to_can_be_covered_by_hand(lib: Library) -> None:
    found = reasoned(lib, "{tissue: soleus, side: left, found: tight}", "cover: [tarsal_tunnel]\n")
    assert [(one.site, one.side) for one in found.candidates] == [("tarsal_tunnel", "left"), ("tarsal_tunnel", "right")]


def test_a_branch_is_not_troubled_below_the_place_where_it_leaves(lib: Library) -> None:
    """The sural nerve leaves the tibial behind the knee, above the tarsal tunnel (Moore, from memory)."""
    found = reasoned(lib, "{symptom: tingling, zones: [lateral_foot, lateral_shin], side: left}")
    assert score(found, "popliteal_fossa") > score(found, "tarsal_tunnel")
    assert score(found, "sural_calf_exit") > score(found, "tarsal_tunnel")


def test_at_the_edge_of_an_area_one_provocation_counts(lib: Library) -> None:
    """Thumb, index and middle finger lie at the edge of the radial nerve's skin: grip and bend do not make it up."""
    one = reasoned(lib, TINGLE % ", worse_with: [grip]")
    two = reasoned(lib, TINGLE % ", worse_with: [grip, wrist_flexed]")
    assert score(two, "superficial_radial_wrist") == score(one, "superficial_radial_wrist") > 0
    assert score(two, "carpal_tunnel") > score(one, "carpal_tunnel")


def test_a_weak_muscle_of_the_root_that_the_nerve_does_not_serve_speaks_for_the_root(lib: Library) -> None:
    """A weak side hip muscle beside a numb outer shin: L5 rather than the fibular nerve (Preston and Shapiro)."""
    numb = "{symptom: numbness, zones: [lateral_shin, foot_top], side: right}"
    plain, weak = reasoned(lib, numb), reasoned(lib, f"{numb}\n{WEAK % 'gluteus_medius'}")
    added = score(weak, "fibular_neck") - score(plain, "fibular_neck")
    assert added == pytest.approx(lib.evidence["muscle_elsewhere"].weight)
    assert score(weak, "l5_foramen") > score(plain, "l5_foramen")


def test_a_place_that_explains_two_symptoms_stands_above_one_that_explains_one(lib: Library) -> None:
    two = (
        "{symptom: ache, zones: [shoulder_blade, medial_forearm], side: right}\n"
        "{symptom: tingling, zones: [digit_5], side: right}"
    )
    one = two.splitlines()[0]
    added = score(reasoned(lib, two), "c8_foramen") - score(reasoned(lib, one), "c8_foramen")
    assert added >= lib.evidence["explains_too"].weight - 0.0051
    assert score(reasoned(lib, two), "c8_foramen") > score(reasoned(lib, two), "t1_foramen")
