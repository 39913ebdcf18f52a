"""Skin, roots, nerves and places, held to the published maps; each row names its source."""

from __future__ import annotations

import pytest

from homecare.core.evidence import Knowledge
from homecare.core.findings import COVER_BAR
from homecare.core.reasoning import Reasoned, reason
from homecare.library.load import Library
from homecare.library.visit import parse_visit

ISNCSCI = "ASIA, International Standards for Neurological Classification of Spinal Cord Injury, key sensory points"
KEY_POINTS = [
    # words of the key point, the atlas's zone there, root, whether read or from memory
    ("over the acromioclavicular joint", "shoulder_top", "c4", "read"),
    ("lateral antecubital fossa, just proximal to the elbow", "lateral_elbow", "c5", "read"),
    ("dorsum of the proximal phalanx of the thumb", "digit_1", "c6", "read"),
    ("dorsum of the proximal phalanx of the middle finger", "digit_3", "c7", "read"),
    ("dorsum of the proximal phalanx of the little finger", "digit_5", "c8", "read"),
    ("medial antecubital fossa, just proximal to the medial epicondyle", "medial_arm", "t1", "read"),
    ("apex of the axilla", "armpit", "t2", "read"),
    ("midway between the key points of T12 and L2, just below the groin", "groin", "l1", "from memory"),
    ("mid anterior-medial thigh", "anterior_thigh", "l2", "from memory"),
    ("medial femoral condyle above the knee", "medial_knee", "l3", "from memory"),
    ("medial malleolus", "medial_shin", "l4", "from memory"),
    ("dorsum of the foot at the third metatarsophalangeal joint", "foot_top", "l5", "from memory"),
    ("lateral heel", "heel", "s1", "from memory"),
    ("mid point of the popliteal fossa", "posterior_knee", "s2", "from memory"),
]
SHARED_CORE = {"anterior_thigh"}
"""L2 and L3 divide the front of the thigh, one zone of the atlas; every other key point belongs to one root's core."""

AUTONOMOUS = [
    # zone, nerve, source
    ("digit_2", "median", "Epomedicine, Autonomous sensory zones: tip of the index finger"),
    ("digit_5", "ulnar", "Epomedicine: tip of the little finger"),
    ("hand_back_radial", "radial", "Epomedicine: first dorsal web of the hand"),
    ("first_web_of_foot", "deep_fibular", "Epomedicine: first web of the foot"),
    ("sole", "tibial", "Epomedicine: sole"),
    ("foot_top", "superficial_fibular", "OpenAnesthesia, Lower extremity nerves: dorsum of the foot but the first web"),
    ("lateral_foot", "sural", "OpenAnesthesia: lateral foot to the fifth toe"),
    ("medial_shin", "saphenous", "OpenAnesthesia: medial leg"),
    ("lateral_arm", "axillary", "Moore 8e: the patch over the deltoid (from memory)"),
    ("lateral_forearm", "musculocutaneous", "Moore 8e: lateral cutaneous nerve of the forearm (from memory)"),
    ("medial_thigh", "obturator", "Moore 8e: inner thigh (from memory); it varies widely"),
    ("lateral_thigh", "lateral_femoral_cutaneous", "OpenAnesthesia: lateral thigh"),
]

ROOTS = [
    # nerve, roots every source names, roots some source adds, source
    ("ulnar", "c8 t1", "c6 c7", "StatPearls, Ulnar neuropathy (C8-T1); other texts add C7 or C6 (from memory)"),
    ("median", "c6 c7 c8 t1", "c5", "Gray's Anatomy for Students 4e (from memory)"),
    ("axillary", "c5 c6", "", "segmental innervation table of the upper limb"),
    ("suprascapular", "c5 c6", "c4", "segmental innervation table of the upper limb"),
    ("long_thoracic", "c5 c6 c7", "", "segmental innervation table of the upper limb"),
    ("dorsal_scapular", "c5", "c4", "segmental innervation table of the upper limb (C4-C5)"),
    ("thoracodorsal", "c6 c7 c8", "", "segmental innervation table of the upper limb"),
    ("musculocutaneous", "c5 c6", "c7", "Gray's Anatomy for Students 4e; Moore 8e (C5-C7, from memory)"),
    ("obturator", "l2 l3 l4", "", "OpenAnesthesia (L2-L4)"),
    ("superior_gluteal", "l5 s1", "l4", "Wheeless, superior gluteal nerve (L4-S1)"),
    ("inferior_gluteal", "l5 s1 s2", "", "Wheeless, inferior gluteal nerve (L5-S2)"),
    ("posterior_femoral_cutaneous", "s1 s2 s3", "", "OpenAnesthesia (S1-S3)"),
    ("radial", "c6 c7 c8", "c5 t1", "Front Neurol 2019, 10:216 (C5-T1); eMedicine 1244110 (C6-C8, sometimes T1)"),
    ("sciatic", "l4 l5 s1 s2", "s3", "StatPearls, Sciatic nerve (L4-S3)"),
    ("tibial", "l4 l5 s1 s2", "s3", "Congress of Neurological Surgeons (L4-S3)"),
    ("common_fibular", "l4 l5 s1 s2", "", "Congress of Neurological Surgeons (L4-S2)"),
    ("femoral", "l2 l3 l4", "", "OpenAnesthesia (L2-L4)"),
    ("saphenous", "l3 l4", "", "Moore, Clinically Oriented Anatomy 8e (from memory)"),
    ("lateral_femoral_cutaneous", "l2", "l3 l4", "OpenAnesthesia (L2-L3); others L2, or L2-L4"),
    ("sural", "s1 s2", "", "OpenAnesthesia (S1-S2)"),
]

ORDER = [
    # nerve, sites from the spine outward, source
    (
        "ulnar",
        "arcade_of_struthers cubital_tunnel flexor_carpi_ulnaris_heads ulnar_wrist_tunnel",
        "Orthobullets, Ulnar nerve anatomy",
    ),
    (
        "ulnar",
        "interscalene_triangle costoclavicular_space pectoralis_minor_space arcade_of_struthers",
        "Sanders RJ 2007, J Vasc Surg 46:601-4 (from memory)",
    ),
    (
        "median",
        "ligament_of_struthers lacertus_fibrosus pronator_teres_heads flexor_superficialis_arch carpal_tunnel",
        "MedLink Neurology, Median neuropathy",
    ),
    (
        "radial",
        "spiral_groove lateral_intermuscular_septum superficial_radial_wrist",
        "Front Neurol 2019, 10:216",
    ),
    (
        "posterior_interosseous",
        "extensor_carpi_radialis_brevis_edge arcade_of_frohse supinator_exit",
        "Front Neurol 2019, 10:216",
    ),
    ("sciatic", "deep_gluteal_space ischial_tunnel", "Martin HD 2015, J Hip Preserv Surg 2:99-107 (from memory)"),
    (
        "tibial",
        "popliteal_fossa soleal_sling tarsal_tunnel",
        "Ditki, Tibial nerve; sling: Williams EH 2009, Foot Ankle Int (from memory)",
    ),
    ("sural", "sural_calf_exit sural_ankle", "Ditki, Lower extremity nerves"),
    (
        "saphenous",
        "adductor_canal infrapatellar_branch",
        "Preston DC, Shapiro BE, Electromyography and Neuromuscular Disorders (from memory)",
    ),
]

TESTS = [
    # test, what it must load, what it must not be said to load, source
    ("ulnt1", "median", "ulnar radial", "Butler DS 2000, The Sensitive Nervous System (from memory)"),
    ("ulnt2a", "median", "ulnar radial", "Butler DS 2000 (from memory)"),
    ("ulnt2b", "radial", "median ulnar", "Butler DS 2000 (from memory)"),
    ("ulnt3", "ulnar", "radial", "Manvell N et al. 2015, Phys Ther 95:891-900"),
    (
        "straight_leg_raise",
        "sciatic tibial common_fibular sural",
        "femoral saphenous",
        "Bueno-Gracia E 2021 (tibial); Butler DS 2000 (from memory)",
    ),
    ("slump", "sciatic", "femoral", "Butler DS 2000 (from memory)"),
    ("prone_knee_bend", "femoral", "sciatic tibial", "Chiropr Man Therap 2019, 27:42, table 1"),
    ("tap_elbow", "ulnar", "sciatic", "Preston DC, Shapiro BE (from memory)"),
    ("tap_wrist", "median", "sciatic", "Preston DC, Shapiro BE (from memory)"),
]


def reasoned(lib: Library, *zones: str) -> Reasoned:
    """What the tool makes of numbness on the left in some zones, with nothing else found."""
    text = f"""
athlete: Invented
start: 2026-03-02
findings:
  - {{symptom: numbness, zones: [{", ".join(zones)}], side: left}}
"""
    visit = parse_visit(text, "visit.yaml", lib)
    return reason(visit, Knowledge(lib.atlas, lib.tests, lib.habits, lib.worse_with, lib.evidence))


@pytest.mark.parametrize(("words", "zone", "root", "mark"), KEY_POINTS)
def test_key_point_lies_in_the_core_of_its_root(lib: Library, words: str, zone: str, root: str, mark: str) -> None:
    owners = {key for key, one in lib.atlas.tissues.items() if one.kind == "root" and zone in one.core}
    assert root in owners, f"{words} ({ISNCSCI}, {mark})"
    if zone not in SHARED_CORE:
        assert owners == {root}, f"{words} is the key point of {root} alone ({ISNCSCI}, {mark})"


@pytest.mark.parametrize(("words", "zone", "root", "mark"), KEY_POINTS)
def test_symptom_at_a_key_point_leads_to_its_root(lib: Library, words: str, zone: str, root: str, mark: str) -> None:
    scores = {one.nerve: one.score for one in reasoned(lib, zone).candidates if one.site.endswith("_foramen")}
    assert scores.get(root, 0) >= COVER_BAR, f"{words} ({ISNCSCI}, {mark}): {scores}"
    assert scores[root] == max(scores.values())


@pytest.mark.parametrize(("zone", "nerve", "source"), AUTONOMOUS)
def test_autonomous_zone_lies_in_the_core_of_its_nerve_alone(lib: Library, zone: str, nerve: str, source: str) -> None:
    atlas = lib.atlas
    owners = {key for key, one in atlas.tissues.items() if one.kind == "nerve" and zone in one.core}
    assert nerve in owners, source
    assert owners <= set(atlas.trunk_line(nerve)), f"only {nerve} and the trunk above it: {source}"


@pytest.mark.parametrize(("zone", "nerve", "source"), AUTONOMOUS)
def test_symptom_in_an_autonomous_zone_leads_to_its_nerve(lib: Library, zone: str, nerve: str, source: str) -> None:
    sites = [one for one in reasoned(lib, zone).candidates if one.nerve == nerve]
    on_line = set(lib.atlas.trunk_line(nerve))
    if not lib.atlas.sites_of(nerve):
        sites = [one for one in reasoned(lib, zone).candidates if one.nerve in on_line]
    assert sites, source
    assert max(one.score for one in sites) >= COVER_BAR, source


APART = [
    # what is felt and tested, the site above, the site below, source: told apart by what leaves the nerve between
    (
        "zones: [digit_5, hand_back_ulnar]",
        "",
        "cubital_tunnel",
        "ulnar_wrist_tunnel",
        "dorsal branch leaves 5 to 8 cm above the wrist (Preston and Shapiro, from memory)",
    ),
    (
        "zones: [digit_5, medial_forearm]",
        "",
        "t1_foramen",
        "cubital_tunnel",
        "medial cutaneous nerve of the forearm comes from the medial cord (Preston and Shapiro, from memory)",
    ),
    (
        "zones: [digit_5, medial_forearm]",
        "",
        "interscalene_triangle",
        "cubital_tunnel",
        "the same, for the plexus",
    ),
    (
        "zones: [digit_2, digit_3, thenar]",
        "",
        "pronator_teres_heads",
        "carpal_tunnel",
        "palmar branch leaves 5 cm above the wrist (Preston and Shapiro, from memory)",
    ),
    (
        "zones: [digit_5, digit_4_ulnar]",
        "ring_finger_split",
        "cubital_tunnel",
        "c8_foramen",
        "ring-finger splitting favours the nerve over the root (Preston and Shapiro, from memory)",
    ),
    (
        "zones: [posterior_forearm, hand_back_radial]",
        "",
        "spiral_groove",
        "superficial_radial_wrist",
        "posterior cutaneous nerve of the forearm leaves in the groove (Moore 8e, from memory)",
    ),
]


@pytest.mark.parametrize(("felt", "positive", "likely", "less", "source"), APART)
def test_a_branch_that_leaves_between_tells_two_places_apart(
    lib: Library, felt: str, positive: str, likely: str, less: str, source: str
) -> None:
    test = f"  - {{test: {positive}, side: left, result: positive}}\n" if positive else ""
    text = f"athlete: Invented\nstart: 2026-03-02\nfindings:\n  - {{symptom: numbness, {felt}, side: left}}\n{test}"
    visit = parse_visit(text, "visit.yaml", lib)
    found = reason(visit, Knowledge(lib.atlas, lib.tests, lib.habits, lib.worse_with, lib.evidence))
    scores = {one.site: one.score for one in found.candidates}
    assert scores.get(likely, 0) > scores.get(less, 0), source


@pytest.mark.parametrize(("nerve", "always", "sometimes", "source"), ROOTS)
def test_roots_of_a_nerve(lib: Library, nerve: str, always: str, sometimes: str, source: str) -> None:
    roots = set(lib.atlas.tissues[nerve].roots)
    assert set(always.split()) <= roots <= set(always.split()) | set(sometimes.split()), source


@pytest.mark.parametrize(("nerve", "sites", "source"), ORDER)
def test_sites_run_from_the_spine_outward(lib: Library, nerve: str, sites: str, source: str) -> None:
    wanted = sites.split()
    path = [site.id for site in lib.atlas.sites_of(nerve)]
    assert [one for one in path if one in wanted] == wanted, source


def test_no_two_sites_of_a_nerve_share_a_place_in_the_order(lib: Library) -> None:
    for nerve in lib.atlas.tissues:
        orders = [site.order for site in lib.atlas.sites_of(nerve)]
        assert len(orders) == len(set(orders)), nerve


@pytest.mark.parametrize(("test", "loads", "not_loads", "source"), TESTS)
def test_a_test_speaks_for_its_nerve(lib: Library, test: str, loads: str, not_loads: str, source: str) -> None:
    nerves = set(lib.tests[test].nerves)
    assert set(loads.split()) <= nerves, source
    assert not set(not_loads.split()) & nerves, source


def test_every_site_names_only_tests_of_its_own_nerve_or_root(lib: Library) -> None:
    wrong = []
    for site in lib.atlas.sites.values():
        of = lib.atlas.tissues[site.of]
        line = {site.of} if of.kind == "root" else set(lib.atlas.trunk_line(site.of))
        for test in site.tests:
            record = lib.tests[test]
            speaks = set(record.roots) if of.kind == "root" else set(record.nerves)
            if not speaks & line:
                wrong.append(f"{site.id}: {test}")
    assert not wrong


def test_the_foramina_of_arm_roots_are_spoken_for_by_neck_compression(lib: Library) -> None:
    """Spurling's test is of the neck's roots (common practice)."""
    for root in ("c5", "c6", "c7", "c8", "t1"):
        assert "neck_compression" in lib.atlas.sites[f"{root}_foramen"].tests
