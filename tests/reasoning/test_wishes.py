"""What each finding asks for, kind by kind, and which drill answers it; worked out by hand from the product's table."""

from __future__ import annotations

from dataclasses import replace

import pytest

from homecare.core.atlas import OneSide
from homecare.core.drill import Drill, Irritability
from homecare.core.reasoning import Reasoned
from homecare.core.sheet import Clinic
from homecare.core.wishes import Wish, all_wishes, max_irritability, serves, treated_tissues
from homecare.library.load import Library
from homecare.workflow.judging import judge
from tests.helpers import visit_of

LEG = "{symptom: tingling, zones: [posterior_thigh, calf], side: left, irritability: %s}"


def asked(lib: Library, findings: str, more: str = "") -> dict[str, Wish]:
    """The wishes of a short visit by id."""
    visit = visit_of(lib, findings, more)
    return {wish.id: wish for wish in all_wishes(judge(visit, lib, Clinic(), None).by_finding)}


TABLE = [
    # tissue, found, kinds with their weights, irritability, gentle
    ("soleus", "tight", {"release": 0.6, "stretch": 0.5}, "low", False),
    ("soleus", "tender", {"release": 0.5, "mobilise": 0.3}, "moderate", True),
    ("soleus", "weak", {"activate": 0.6, "load": 0.4}, "low", False),
    ("soleus", "late", {"activate": 0.6}, "low", False),
    ("soleus", "stiff", {"mobilise": 0.4, "stretch": 0.4}, "low", False),
    ("soleus", "painful", {"mobilise": 0.4}, "high", False),
    ("soleus", "strained", {"mobilise": 0.4, "release": 0.3}, "high", True),
    ("ankle", "tight", {"mobilise": 0.5}, "low", False),
    ("ankle", "tender", {"mobilise": 0.5}, "moderate", True),
    ("ankle", "stiff", {"mobilise": 0.6}, "low", False),
    ("achilles_tendon", "tight", {"stretch": 0.5}, "low", False),  # a tendon is never pressed
    ("achilles_tendon", "tender", {}, "", False),  # eased off, and loaded once it has settled
    ("achilles_tendon", "weak", {"activate": 0.6, "load": 0.4}, "low", False),
    ("achilles_tendon", "strained", {"mobilise": 0.4}, "high", True),
    ("median", "tight", {"glide": 0.6}, "moderate", False),
    ("c8", "tender", {"glide": 0.6}, "moderate", False),
]


@pytest.mark.parametrize(("tissue", "found", "kinds", "irritability", "gentle"), TABLE)
def test_what_a_tissue_asks_for(
    tissue: str, found: str, kinds: dict[str, float], irritability: str, gentle: bool, lib: Library
) -> None:
    """Weights: common practice; tendons: Cook and Purdam 2012 (from memory)."""
    wishes = asked(lib, f"{{tissue: {tissue}, side: left, found: {found}}}")
    assert {key: wish.weight for key, wish in wishes.items() if not key.startswith("stand-in")} == {
        f"{kind}:{tissue}:left": weight for kind, weight in kinds.items()
    }
    for wish in wishes.values():
        assert (wish.side, wish.irritability, wish.gentle) == ("left", irritability, gentle)
        assert wish.because.endswith(f"found {found}")


@pytest.mark.parametrize(
    ("tissue", "answered", "not_answered"),
    [
        ("median", "median_slider", "ulnar_slider"),
        ("c8", "ulnar_slider", "sciatic_slider_small"),
        ("c8", "median_slider", "sciatic_slider_small"),
        ("s1", "sciatic_slider_small", "median_slider"),
    ],
)
def test_a_nerve_is_glided_itself_and_a_root_by_the_nerves_that_it_feeds(
    tissue: str, answered: str, not_answered: str, lib: Library
) -> None:
    """C8 feeds the ulnar and the median nerve, S1 the sciatic (Gray's Anatomy, from memory)."""
    wish = asked(lib, f"{{tissue: {tissue}, side: left, found: tender}}")[f"glide:{tissue}:left"]
    assert serves(lib.drills[answered], wish, lib.atlas)
    assert not serves(lib.drills[not_answered], wish, lib.atlas)


def test_a_finding_of_both_sides_asks_on_each(lib: Library) -> None:
    wishes = asked(lib, "{tissue: soleus, side: both, found: late}")
    assert {"activate:soleus:left", "activate:soleus:right"} <= wishes.keys()


@pytest.mark.parametrize(("side", "waits"), [("left", True), ("right", False)])
def test_load_waits_until_the_nerve_of_a_weak_muscle_was_looked_at(side: str, waits: bool, lib: Library) -> None:
    """A weak muscle whose nerve is in question on its side is woken at half the weight (common practice)."""
    wishes = asked(lib, f"{{tissue: gastrocnemius, side: {side}, found: weak}}\n{LEG % 'low'}")
    activate = wishes[f"activate:gastrocnemius:{side}"]
    assert (f"load:gastrocnemius:{side}" in wishes) is not waits
    assert activate.weight == (0.3 if waits else 0.6)
    assert activate.because.endswith("(check its nerve first)") is waits


LATE = "{firing: prone_hip_extension, side: left, order: [hamstrings, gluteus_maximus, erector_spinae]}"


@pytest.mark.parametrize(
    ("sign", "confirmed"),
    [
        ("", False),
        ("{tissue: gluteus_maximus, side: left, found: weak}", True),
        ("{tissue: gluteus_maximus, side: left, found: tender}", True),
        ("{tissue: gluteus_maximus, side: both, found: painful}", True),
        ("{tissue: gluteus_maximus, side: left, found: tight}", False),
        ("{tissue: gluteus_maximus, side: right, found: weak}", False),
        ("{tissue: gluteus_medius, side: left, found: weak}", False),
    ],
)
def test_a_muscle_that_fired_late_counts_in_full_with_a_second_sign_on_its_side(
    sign: str, confirmed: bool, lib: Library
) -> None:
    """And only then is its helper eased: orders of firing vary among healthy people (common practice)."""
    visit = visit_of(lib, f"{LATE}\n{sign}")
    by_finding = judge(visit, lib, Clinic(), None).by_finding
    (firing,) = [found for words, found in by_finding if " then " in words]
    wishes = {wish.id: wish for wish in firing}
    late = wishes["activate:gluteus_maximus:left"]
    assert late.weight == (0.6 if confirmed else 0.3)
    assert late.because.endswith("(confirm with a second sign)") is not confirmed
    assert set(wishes) - {late.id} == ({"release:hamstrings:left"} if confirmed else set())


def test_the_greater_weight_of_a_wish_asked_for_twice_holds(lib: Library) -> None:
    findings = [
        "{tissue: hamstrings, side: left, found: tight}",
        f"{{tissue: gluteus_maximus, side: left, found: weak}}\n{LATE}",
    ]
    for order in (findings, findings[::-1]):
        assert asked(lib, "\n".join(order))["release:hamstrings:left"].weight == 0.6


def test_a_place_covered_by_hand_weighs_little_and_one_that_was_found_its_score(lib: Library) -> None:
    wishes = asked(lib, "{tissue: soleus, side: left, found: tight}", "cover: [tarsal_tunnel]\n")
    assert wishes["site:tarsal_tunnel:left"].weight == 0.1
    visit = visit_of(lib, LEG % "low")
    judged = judge(visit, lib, Clinic(), None)
    score = {one.site: one.score for one in judged.reasoned.candidates}
    found = {wish.site: wish.weight for wish in all_wishes(judged.by_finding) if wish.site}
    assert found
    assert found == {site: score[site] for site in found}


def drill_with(lib: Library, kind: str, tissue: str, **asked: object) -> Drill:
    """A drill of a kind for a tissue, changed as asked."""
    found = [one for one in lib.drills.values() if one.kind == kind and tissue in lib.atlas.members(one.tissues)]
    return replace(found[0], **asked)  # type: ignore[arg-type]


def test_a_tender_tissue_is_released_by_a_gentle_drill_alone(lib: Library) -> None:
    tender = asked(lib, "{tissue: soleus, side: left, found: tender}")["release:soleus:left"]
    tight = asked(lib, "{tissue: soleus, side: left, found: tight}")["release:soleus:left"]
    full, gentle = (drill_with(lib, "release", "soleus", reach=reach) for reach in ("full", "gentle"))
    assert [serves(one, tender, lib.atlas) for one in (full, gentle)] == [False, True]
    assert [serves(one, tight, lib.atlas) for one in (full, gentle)] == [True, True]
    assert not serves(replace(full, kind="stretch"), tight, lib.atlas)
    assert not serves(replace(full, tissues=("tibialis_anterior",)), tight, lib.atlas)


@pytest.mark.parametrize(("grade", "pressed"), [("low", True), ("moderate", False), ("high", False)])
def test_an_irritable_place_on_a_nerve_is_not_covered_by_pressing_deep(grade: str, pressed: bool, lib: Library) -> None:
    """Common practice: pressure on a nerve that is easily stirred up stirs it up."""
    site = asked(lib, LEG % grade)["site:deep_gluteal_space:left"]
    deep = drill_with(lib, "release", "piriformis", traits=("deep_pressure",), strains=())
    assert serves(deep, site, lib.atlas) is pressed
    assert serves(replace(deep, traits=()), site, lib.atlas)
    assert not serves(replace(deep, traits=(), strains=("deep_gluteal_space",)), site, lib.atlas), "it loads the place"
    assert not serves(replace(deep, traits=(), kind="stretch"), site, lib.atlas)
    glide = lib.drills["sciatic_slider_small"]
    assert serves(glide, site, lib.atlas)
    assert not serves(replace(glide, tissues=("median",)), site, lib.atlas)


def test_what_was_treated_by_hand_is_what_was_said_or_else_all_that_was_found_firmly(lib: Library) -> None:
    findings = "{tissue: calf, side: left, found: tight}"
    calf = dict.fromkeys(lib.atlas.members("calf"), "firm")
    assert treated_tissues(visit_of(lib, findings), lib.atlas) == calf
    said = treated_tissues(visit_of(lib, findings, "treated: {soleus: deep}\n"), lib.atlas)
    assert said == {"soleus": "deep"}
    assert treated_tissues(visit_of(lib, findings, "treated: {}\n"), lib.atlas) == {}


def test_of_several_nerves_the_most_irritable_speaks(lib: Library) -> None:
    grades: dict[tuple[str, OneSide], Irritability] = {("ulnar", "left"): "moderate", ("median", "left"): "high"}
    reasoned = Reasoned((), {**grades, ("radial", "left"): "low"}, ())
    assert max_irritability(reasoned, ("radial", "ulnar", "median"), "left") == "high"
    assert max_irritability(reasoned, ("radial", "ulnar"), "left") == "moderate"
    assert max_irritability(reasoned, ("ulnar", "median"), "right") == "low"
    assert max_irritability(reasoned, (), "left") == "low"
