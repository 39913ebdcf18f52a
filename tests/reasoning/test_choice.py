"""The choice: an exact cover against brute force, sides merged, each drill with its finding, nothing unexplained."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import combinations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from homecare.core.atlas import OneSide
from homecare.core.choosing import Chosen, choose
from homecare.core.cover import Option, Task, best_cover
from homecare.core.sheet import Clinic
from homecare.core.wishes import Wish, all_wishes
from homecare.library.load import Library
from homecare.workflow.assembling import build_sheet
from homecare.workflow.judging import judge
from tests.helpers import visit_of

SERVES = st.lists(st.frozensets(st.integers(0, 4), max_size=4), max_size=6)
SIDES: tuple[OneSide, ...] = ("left", "right", "none")


@st.composite
def tasks(draw: st.DrawFn) -> Task:
    """A small cover: five wishes, up to six options."""
    options = [
        Option(
            serves=serves,
            week_s=draw(st.integers(0, 9)),
            cost=draw(st.integers(1, 20)),
            rank=number,
            forced=draw(st.booleans()),
        )
        for number, serves in enumerate(draw(SERVES))
    ]
    weights = draw(st.lists(st.integers(1, 100), min_size=5, max_size=5))
    sides = draw(st.lists(st.sampled_from(SIDES), min_size=5, max_size=5))
    return Task(weights, sides, options, most=draw(st.integers(0, 4)), room_s=draw(st.integers(0, 30)))


def value(task: Task, chosen: Sequence[int]) -> tuple[int, ...]:
    """What is to be made large, in order: weight served, then few, even, cheap, and low of rank."""
    options = [task.options[one] for one in chosen]
    served = {wish for option in options for wish in option.serves}
    left = [
        sum(task.weights[wish] for wish in range(5) if task.sides[wish] == side and wish not in served)
        for side in ("left", "right")
    ]
    weight = sum(task.weights[one] for one in served)
    return weight, -len(options), -max(left), -sum(one.cost for one in options), -sum(one.rank for one in options)


@settings(max_examples=60, deadline=None)
@given(tasks())
def test_the_cover_is_the_best_of_all(task: Task) -> None:
    must = {number for number, one in enumerate(task.options) if one.forced}
    most, room = task.limits
    every = [
        sub
        for count in range(most + 1)
        for sub in combinations(range(len(task.options)), count)
        if must <= set(sub) and sum(task.options[one].week_s for one in sub) <= room
    ]
    found = best_cover(task)
    assert must <= set(found)
    assert tuple(found) in every
    assert value(task, found) == max(value(task, sub) for sub in every)


def test_left_and_right_merge_to_both(lib: Library) -> None:
    findings = "{tissue: soleus, side: left, found: tight}\n{tissue: soleus, side: right, found: tight}"
    sheet = build_sheet(visit_of(lib, findings), lib, Clinic(), None)
    assert len({drill.id for drill in sheet.drills}) == len(sheet.drills)
    assert {drill.side for drill in sheet.drills} == {"both"}


def test_each_drill_names_a_finding_and_each_wish_left_is_shown(lib: Library) -> None:
    tissues = (
        "soleus",
        "piriformis",
        "rectus_femoris",
        "upper_trapezius",
        "pectoralis_minor",
        "hamstrings",
        "iliopsoas",
    )
    findings = "\n".join(f"{{tissue: {one}, side: left, found: tight}}" for one in tissues)
    sheet = build_sheet(visit_of(lib, findings), lib, Clinic(), None)
    assert len(sheet.drills) == sheet.planner.max_drills
    assert all(drill.because for drill in sheet.drills)
    assert sheet.unserved
    assert all(line.because for line in sheet.unserved)


def test_a_departed_firing_order_wakes_the_late_muscle_and_asks_for_a_second_sign(lib: Library) -> None:
    firing = "{firing: prone_hip_extension, side: left, order: [hamstrings, gluteus_maximus]}"
    alone = build_sheet(visit_of(lib, firing), lib, Clinic(), None)
    assert [drill.kind for drill in alone.drills] == ["activate"]
    assert "second sign" in " ".join(alone.drills[0].because)
    weak = build_sheet(
        visit_of(lib, f"{firing}\n{{tissue: gluteus_maximus, side: left, found: weak}}"), lib, Clinic(), None
    )
    words = " ".join(words for drill in weak.drills for words in drill.because)
    assert "second sign" not in words
    assert "does the work of" in words


def test_the_expected_order_asks_for_nothing(lib: Library) -> None:
    firing = "{firing: prone_hip_extension, side: left, order: [gluteus_maximus, hamstrings]}"
    assert build_sheet(visit_of(lib, firing), lib, Clinic(), None).drills == ()


def test_a_drop_stays_off(lib: Library) -> None:
    findings = "{tissue: soleus, side: left, found: tight}"
    first = build_sheet(visit_of(lib, findings), lib, Clinic(), None)
    gone = first.drills[0].id
    second = build_sheet(visit_of(lib, findings, f"drop: [{gone}]\n"), lib, Clinic(), None)
    assert gone not in {drill.id for drill in second.drills}
    assert (gone, "drop") in {(line.id, line.rule) for line in second.left_out}


def test_a_muscle_found_late_is_woken_and_what_does_its_work_is_eased(lib: Library) -> None:
    sheet = build_sheet(visit_of(lib, "{tissue: gluteus_medius, side: left, found: late}"), lib, Clinic(), None)
    assert {drill.kind for drill in sheet.drills} == {"activate", "release"}
    (release,) = [drill for drill in sheet.drills if drill.kind == "release"]
    helpers = {"tensor_fasciae_latae", "quadratus_lumborum"}
    assert helpers & set(lib.atlas.members(release.tissues))
    assert "may do its work" in release.because[0]


def test_late_alone_is_no_second_sign(lib: Library) -> None:
    """Weak, tender or painful confirms a firing order; the same muscle found late says the same again."""
    findings = "{firing: prone_hip_extension, side: left, order: [hamstrings, gluteus_maximus]}"
    words = " ".join(
        words for drill in build_sheet(visit_of(lib, findings), lib, Clinic(), None).drills for words in drill.because
    )
    assert "second sign" in words
    late = f"{findings}\n{{tissue: gluteus_maximus, side: left, found: late}}"
    sheet = build_sheet(visit_of(lib, late), lib, Clinic(), None)
    assert not any("does the work of" in words for drill in sheet.drills for words in drill.because)


@pytest.mark.parametrize(
    ("symptom", "nerve"),
    [
        ("zones: [posterior_thigh, calf, sole], side: left, worse_with: [sitting, slump]", "sciatic"),
        ("zones: [foot_top], side: left, worse_with: [tight_shoes, foot_turned_in]", "superficial_fibular"),
        ("zones: [sole], side: left, worse_with: [standing, foot_turned_out]", "tibial"),
        ("zones: [lateral_foot, ankle_outer], side: left, worse_with: [tight_shoes]", "sural"),
    ],
)
def test_the_nerve_most_in_question_is_glided_itself_or_the_one_next_to_it(
    lib: Library, symptom: str, nerve: str
) -> None:
    sheet = build_sheet(visit_of(lib, f"{{symptom: tingling, {symptom}}}"), lib, Clinic(), None)
    assert sheet.candidates[0].nerve == nerve
    first = min((drill for drill in sheet.drills if drill.kind == "glide"), key=lambda drill: drill.priority)
    assert lib.atlas.nerves_apart(first.tissues[0], nerve) in (0, 1), first.id


def test_a_place_is_covered_by_what_serves_it_on_its_side_and_by_nothing_else(lib: Library) -> None:
    """A glide of its own nerve or a release of what forms it, on the side in question; a calf drill covers no elbow."""
    findings = (
        "{symptom: tingling, zones: [digit_5], side: right}\n"
        "{tissue: soleus, side: right, found: tight}\n{tissue: flexor_carpi_ulnaris, side: left, found: tight}"
    )
    kit = "kit: [ball, roller, strap, band]\n"
    sheet = build_sheet(visit_of(lib, findings, kit), lib, Clinic(), None)
    (elbow,) = [one for one in sheet.candidates if one.site == "cubital_tunnel"]
    by_drill = [one for one in elbow.covered_by if not one.startswith("habit:")]
    assert {lib.drills[one].tissues[0] for one in by_drill} == {"ulnar", "flexor_carpi_ulnaris"}
    assert "soleus" in {tissue for drill in sheet.drills for tissue in drill.tissues}
    assert {drill.side for drill in sheet.drills if drill.id in by_drill} <= {"right", "both"}


@pytest.mark.parametrize(
    ("places", "says"),
    [
        (1, "The nerve may be irritated at place 0."),
        (3, "The nerve may be irritated at place 0, place 1 and place 2."),
        (4, "The nerve may be irritated at place 0, place 1, place 2 and 1 other place."),
        (6, "The nerve may be irritated at place 0, place 1, place 2 and 3 other places."),
    ],
)
def test_beside_a_drill_three_places_are_named_and_the_rest_counted(places: int, says: str, lib: Library) -> None:
    """By weight, what was found first; the whole list stands with the candidates."""
    found = Wish("glide:ulnar:left", "", "tingling in the little finger", ("glide",), frozenset(), "left", 0.1, "low")
    sites = [
        replace(found, id=f"site:{number}", site=f"site {number}", place=f"place {number}", weight=0.9 - number / 10)
        for number in range(places)
    ]
    one = Chosen(lib.drills["ulnar_slider"], "left", (*sites[::-1], found))
    assert one.because() == ("Tingling in the little finger.", says)


def test_what_is_left_unserved_names_what_would_serve_it_and_is_not_on_the_sheet(lib: Library) -> None:
    """One drill at most: the heavier finding has it, the other is told with the drill that there was no room for."""
    findings = "{tissue: soleus, side: left, found: tight}\n{tissue: tibialis_anterior, side: right, found: weak}"
    sheet = build_sheet(visit_of(lib, findings, "kit: [band]\n"), lib, Clinic(max_drills=1), None)
    (drill,) = sheet.drills
    assert len(sheet.unserved) == 3
    for line in sheet.unserved:
        assert line.because.startswith("the sheet is full: other findings weigh more (")
        assert f"({drill.text.name} would serve it)" not in line.because
    passed = [one for chain in sheet.chains for asked in chain.asked for one in asked.passed]
    assert passed
    assert drill.id not in {one.id for one in passed}


@pytest.mark.parametrize("kept", ["calf_roller", "calf_hand_release", "seated_low_calf_stretch"])
def test_among_equals_what_was_on_the_last_sheet_stays(kept: str, lib: Library) -> None:
    """What is known is done more readily (common practice); without it another drill is liked better."""
    visit = visit_of(lib, "{tissue: soleus, side: left, found: tight}", "kit: [roller, stick]\n")
    judged = judge(visit, lib, Clinic(), None)
    asked = all_wishes(judged.by_finding), lib.drills.values(), judged.bars, (), judged.limits
    assert kept not in {one.drill.id for one in choose(*asked).chosen}
    stays = choose(*asked, frozenset({kept}))
    assert kept in {one.drill.id for one in stays.chosen}
    assert len(stays.chosen) == len(choose(*asked).chosen)
