"""The check-in table, line by line; halving; hand-set doses; markers that retire or fall back."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date, timedelta
from fractions import Fraction

import pytest

from homecare.core.atlas import Side
from homecare.core.check_in import Carried, carry_over, drills_to_keep
from homecare.core.dosing import dose
from homecare.core.drill import Rung
from homecare.core.findings import LastSheet, Marker, Response, SetDose
from homecare.core.last import LastDay, LastDrill, LastItem, LastMarker, LastPlan
from homecare.core.markers import marker_lines, retired_by_markers
from homecare.library.load import Library

START, DAYS = date(2026, 9, 7), 14
NEXT = START + timedelta(days=DAYS)


def plan_of(
    lib: Library,
    ladder: str,
    rung: int,
    drill: str = "soleus_wall_stretch",
    markers: Sequence[LastMarker] = (),
    **more: object,
) -> LastPlan:
    """A last plan of one drill, done once on each of 14 days at one rung."""
    rungs = lib.ladders[ladder].rungs
    one = LastDrill(drill, "left", "stretch", ("soleus",), 1, rung, ladder, False, 0, False, rungs)
    one = replace(one, **more)  # type: ignore[arg-type]
    item = LastItem(drill, "left", rung, rungs[rung].times)
    days = tuple(LastDay(START + timedelta(days=number), (item,)) for number in range(DAYS))
    return LastPlan(1, START, days, (one,), tuple(markers), "hash")


def carried(lib: Library, plan: LastPlan, done: int | None, response: Response | None) -> Carried:
    """What the check-in makes of the plan's one drill."""
    (key,) = [drill.id for drill in plan.drills]
    answers: Mapping[str, Response] = {key: response} if response else {}
    last = LastSheet("plan.json", {key: done} if done is not None else {}, answers, ())
    return carry_over(last, plan, NEXT, lib.ladders)[key]


@pytest.mark.parametrize(
    ("done", "response", "change", "rung"),
    [
        (14, "settled", "up", 2),
        (10, "settled", "up", 2),  # 71 %
        (9, "settled", "hold", 1),  # 64 %: too little to go up
        (14, "sore", "hold", 1),
        (14, "worse", "down", 0),
        (6, "settled", "hold", 1),  # under half
        (14, None, "hold", 1),
        (None, "settled", "hold", 1),
    ],
)
def test_the_first_line_that_holds(
    done: int | None, response: Response | None, change: str, rung: int, lib: Library
) -> None:
    one = carried(lib, plan_of(lib, "static_stretch", 1), done, response)
    assert (one.change, one.start_rung) == (change, rung)
    assert one.because


@pytest.mark.parametrize(
    ("done", "share", "change", "because"),
    [
        (7, Fraction(7, 10), "up", "one step up"),
        (6, Fraction(6, 10), "hold", "too little was done to go up"),
        (5, Fraction(5, 10), "hold", "too little was done to go up"),
        (4, Fraction(4, 10), "hold", "under half was done"),
        (13, Fraction(1), "up", "one step up"),  # more boxes ticked than printed
    ],
)
def test_seven_tenths_go_up_and_half_is_not_under_half(
    done: int, share: Fraction, change: str, because: str, lib: Library
) -> None:
    """From 70 % on a dose may rise (common practice); ten days of a box each."""
    plan = plan_of(lib, "static_stretch", 1)
    one = carried(lib, replace(plan, days=plan.days[:10]), done, "settled")
    assert (one.share, one.change) == (share, change)
    assert because in one.because
    assert drills_to_keep(dict.fromkeys("abcd", one), 4) == (2 if done < 5 else 4)


def test_days_from_the_next_visit_on_are_not_asked_for(lib: Library) -> None:
    """The athlete came back after a week: seven of seven boxes, though the leaf goes on for another week."""
    plan = plan_of(lib, "static_stretch", 1)
    last = LastSheet("plan.json", {"soleus_wall_stretch": 7}, {"soleus_wall_stretch": "settled"}, ())
    one = carry_over(last, plan, START + timedelta(days=7), lib.ladders)["soleus_wall_stretch"]
    assert (one.share, one.change, one.start_rung) == (Fraction(1), "up", 2)
    assert one.dates == tuple(START + timedelta(days=day) for day in range(7))


@pytest.mark.parametrize(
    ("days", "done", "before", "change", "counted"),
    [
        (3, 3, 0, "hold", 3),  # of the 4 days that the calmest athlete needs
        (4, 4, 0, "up", 0),
        (3, 3, 1, "up", 0),  # one day at this step on the sheet before
        (4, 3, 0, "hold", 3),  # three quarters of four days
        (4, 3, 1, "up", 0),
    ],
)
def test_a_step_is_gone_up_after_its_days_and_those_of_the_sheet_before_count(
    days: int, done: int, before: int, change: str, counted: int, lib: Library
) -> None:
    plan = plan_of(lib, "static_stretch", 1, done_at_rung=before)
    one = carried(lib, replace(plan, days=plan.days[:days]), done, "settled")
    assert (one.change, one.done_at_rung) == (change, counted)


def test_days_at_the_step_before_count_for_that_step_alone(lib: Library) -> None:
    """Ten days before at the second step do not take a drill off the third after two days there."""
    plan = plan_of(lib, "static_stretch", 1, done_at_rung=10)
    item = LastItem("soleus_wall_stretch", "left", 2, 1)
    risen = plan.days[:-2] + tuple(replace(day, items=(item,)) for day in plan.days[-2:])
    assert carried(lib, replace(plan, days=risen), 14, "settled").done_at_rung == 2


def test_days_that_nobody_counted_are_not_taken_as_done(lib: Library) -> None:
    one = carried(lib, plan_of(lib, "static_stretch", 1, done_at_rung=2), None, "settled")
    assert (one.share, one.done_at_rung) == (None, 2)


def test_sore_and_worse_are_heard_before_the_boxes_are_counted(lib: Library) -> None:
    """What the tissue says comes before what was ticked (pain monitoring: Thomee 1997, from memory)."""
    plan = plan_of(lib, "static_stretch", 1)
    assert "sore" in carried(lib, plan, 2, "sore").because
    assert carried(lib, plan, 2, "worse").change == "down"
    halved = carried(lib, replace(plan, drills=(replace(plan.drills[0], halved=True),)), 6, "settled")
    assert (halved.change, halved.halved) == ("hold", True), "under half of a halved dose was done: not yet in full"


def test_the_lowest_step_is_halved_where_it_stands(lib: Library) -> None:
    one = carried(lib, plan_of(lib, "nerve_slide", 0, done_at_rung=3), 28, "worse")
    assert (one.change, one.start_rung, one.done_at_rung, one.worse_in_row) == ("down", 0, 0, 1)
    thrice = tuple(replace(rung, times=3) for rung in lib.ladders["nerve_slide"].rungs)
    often = carried(lib, plan_of(lib, "nerve_slide", 1, rungs=thrice), 28, "worse")
    assert {rung.times for rung in often.rungs} == {1}, "half of three times, never none"


def test_a_rung_whose_days_were_not_done_is_kept_with_its_count(lib: Library) -> None:
    plan = plan_of(lib, "static_stretch", 1)
    days = plan.days[:-2] + tuple(
        replace(day, items=(LastItem("soleus_wall_stretch", "left", 2, 1),)) for day in plan.days[-2:]
    )
    one = carried(lib, replace(plan, days=days), 14, "settled")
    assert (one.change, one.start_rung, one.done_at_rung) == ("hold", 2, 2)


def test_the_highest_step_stays(lib: Library) -> None:
    top = len(lib.ladders["static_stretch"].rungs) - 1
    one = carried(lib, plan_of(lib, "static_stretch", top), 14, "settled")
    assert (one.change, one.start_rung) == ("hold", top)


def test_worse_halves_the_times_and_twice_running_takes_off(lib: Library) -> None:
    once = carried(lib, plan_of(lib, "nerve_slide", 2), 28, "worse")
    assert once.halved
    assert {rung.times for rung in once.rungs} == {1}
    again = carried(lib, plan_of(lib, "nerve_slide", 1, halved=True, worse_in_row=1), 14, "worse")
    assert again.change == "off"


def test_a_good_answer_between_breaks_the_row(lib: Library) -> None:
    assert carried(lib, plan_of(lib, "nerve_slide", 1, worse_in_row=1), 28, "sore").worse_in_row == 0
    assert carried(lib, plan_of(lib, "nerve_slide", 1, worse_in_row=1), 28, None).worse_in_row == 1


def test_the_first_settled_restores_a_halved_dose_before_any_climb(lib: Library) -> None:
    halved = tuple(replace(rung, times=1) for rung in lib.ladders["nerve_slide"].rungs)
    one = carried(lib, plan_of(lib, "nerve_slide", 1, halved=True, rungs=halved), 14, "settled")
    assert (one.halved, one.start_rung) == (False, 1)
    assert one.rungs == lib.ladders["nerve_slide"].rungs


def test_once_a_day_halved_is_half_the_days_rounded_up(lib: Library) -> None:
    drill = lib.drills["wrist_back_stretch"]
    one = carried(lib, plan_of(lib, "static_stretch", 1), 14, "worse")
    dosing = dose(drill, "left", "adult", "low", lib.ladders, None, one)
    assert (dosing.wanted_per_week, dosing.least_per_week) == (4, 2)  # of 7 and 3
    assert dosing.start_rung == 0
    assert {rung.times for rung in dosing.rungs} == {1}, "once a day stays once on its days"


def test_twice_a_day_halved_is_once_on_as_many_days(lib: Library) -> None:
    drill, ladder = lib.drills["median_slider"], lib.ladders["nerve_slide"]
    one = carried(lib, plan_of(lib, "nerve_slide", 2, "median_slider"), 28, "worse")
    dosing = dose(drill, "left", "adult", "low", lib.ladders, None, one)
    assert dosing.halved
    assert (dosing.wanted_per_week, dosing.least_per_week) == (ladder.wanted_per_week, ladder.least_per_week)
    assert {rung.times for rung in dosing.rungs} == {1}


def test_under_half_done_asks_for_fewer_drills(lib: Library) -> None:
    one = carried(lib, plan_of(lib, "static_stretch", 1), 3, None)
    many = {str(number): replace(one) for number in range(5)}
    assert drills_to_keep(many, 6) == 2
    assert drills_to_keep({}, 6) == 6


@pytest.mark.parametrize(("asked", "under", "most", "kept"), [(5, 1, 6, 4), (8, 1, 6, 6), (8, 3, 6, 5), (3, 3, 6, 2)])
def test_as_many_drills_leave_as_were_left_undone(asked: int, under: int, most: int, kept: int, lib: Library) -> None:
    """Two stay however little was done (more drills, less adherence: Eckard et al. 2015, Mil Med 180:186-91)."""
    plan = plan_of(lib, "static_stretch", 1)
    answers = [carried(lib, plan, 3 if number < under else 14, None) for number in range(asked)]
    assert drills_to_keep({str(number): one for number, one in enumerate(answers)}, most) == kept


def test_a_dose_set_by_hand_is_where_the_ladder_climbs_from(lib: Library) -> None:
    drill = lib.drills["soleus_wall_stretch"]
    by_hand = SetDose(reps=2, hold_s=22)
    dosing = dose(drill, "left", "adult", "low", lib.ladders, by_hand, None)
    seconds = [rung.seconds("left") for rung in dosing.rungs]
    assert (dosing.start_rung, dosing.rungs[0].hold_s) == (0, 22)
    assert seconds == sorted(seconds)
    assert seconds[0] < seconds[1]


def test_older_athletes_hold_longer(lib: Library) -> None:
    """Older adults hold 30 to 60 s, adults 10 to 30 s (Garber et al. 2011, Med Sci Sports Exerc 43:1334-59)."""
    drill = lib.drills["soleus_wall_stretch"]
    adult = dose(drill, "left", "adult", "low", lib.ladders, None, None)
    older = dose(drill, "left", "older", "low", lib.ladders, None, None)
    assert all(10 <= rung.hold_s <= 30 for rung in adult.rungs)
    assert all(30 <= rung.hold_s <= 60 for rung in older.rungs)


def test_high_irritability_starts_lowest_and_climbs_slowest(lib: Library) -> None:
    for drill in lib.drills.values():
        low, high = (dose(drill, "left", "adult", grade, lib.ladders, None, None) for grade in ("low", "high"))
        assert high.start_rung == 0
        assert high.climb_days >= low.climb_days


def test_seconds_of_a_dose_by_hand() -> None:
    """3 sets of 15 at 4 s with 30 s between, 10 s to set up, twice a day, both sides: 2 x (10 + 2 x (180 + 60))."""
    assert Rung(sets=3, reps=15, tempo_s=4, rest_s=30, setup_s=10, times=2).seconds("both") == 980
    assert Rung(sets=1, reps=2, hold_s=30, tempo_s=4, setup_s=10).seconds("left") == 78


def knee_to_wall(before: float | None, after: float | None) -> Marker:
    return Marker("knee_to_wall", "left", before, after)


def test_a_marker_that_holds_over_two_visits_retires_its_drills(lib: Library) -> None:
    markers = [LastMarker("knee_to_wall", "left", 9.0, 9.2, 9.0)]
    plan = plan_of(lib, "static_stretch", 1, markers=markers)
    retired = retired_by_markers([knee_to_wall(9.1, 9.3)], plan, lib.markers, lib.atlas)
    assert set(retired) == {"soleus_wall_stretch"}


@pytest.mark.parametrize(("then", "now"), [(None, 9.1), (9.0, 5.0), (14.0, 9.1)])
def test_one_visit_or_a_fall_back_retires_nothing(then: float | None, now: float, lib: Library) -> None:
    plan = plan_of(lib, "static_stretch", 1, markers=[LastMarker("knee_to_wall", "left", 9.0, 9.2, then)])
    assert retired_by_markers([knee_to_wall(now, None)], plan, lib.markers, lib.atlas) == {}


@pytest.mark.parametrize(
    ("test", "then", "now", "held"),
    [
        ("knee_to_wall", 9.0, 7.2, True),  # centimetres, more is better; 1.9 is the least that counts
        ("knee_to_wall", 9.0, 7.1, False),
        ("knee_extension_90_90", 20.0, 27.0, True),  # degrees that are missing, fewer are better; 8 count
        ("knee_extension_90_90", 20.0, 28.0, False),
        ("knee_extension_90_90", 20.0, 10.0, True),
    ],
)
def test_a_measure_holds_until_it_loses_the_least_change_that_counts(
    test: str, then: float, now: float, held: bool, lib: Library
) -> None:
    """The smallest changes are those of the library, each with its source there."""
    plan = plan_of(lib, "static_stretch", 1, markers=[LastMarker(test, "left", then, then)])
    (line,) = marker_lines([Marker(test, "left", now, None)], plan, lib.markers)
    assert line.says == f"{'held' if held else 'fell back'} since last time ({then:g} {lib.markers[test].unit} then)"


def test_a_measure_is_held_beside_its_own_of_last_time(lib: Library) -> None:
    """Neither beside another measure of that side, nor beside the same one of the other side."""
    markers = [
        LastMarker("grip", "left", 30.0, 30.0),
        LastMarker("knee_to_wall", "right", 4.0, 4.0),
        LastMarker("knee_to_wall", "left", 9.0, 9.2),
    ]
    plan = plan_of(lib, "static_stretch", 1, markers=markers)
    assert [line.last for line in marker_lines([knee_to_wall(9.0, None)], plan, lib.markers)] == [9.2]
    neck = [Marker("neck_rotation", "left", 70.0, None)]
    assert [line.last for line in marker_lines(neck, plan, lib.markers)] == [None]


@pytest.mark.parametrize(
    ("test", "before", "after", "says"),
    [
        ("knee_to_wall", 9.0, 10.9, "better by 1.9 cm after treatment"),
        ("knee_to_wall", 9.0, 10.8, "no change that counts after treatment"),
        ("knee_to_wall", 9.0, 6.0, "worse by 3 cm after treatment"),
        ("knee_extension_90_90", 30.0, 22.0, "better by 8 degrees after treatment"),
        ("knee_extension_90_90", 22.0, 30.0, "worse by 8 degrees after treatment"),
        ("knee_to_wall", None, 9.0, "measured once so far"),
    ],
)
def test_what_treatment_changed_is_said_where_it_counts(
    test: str, before: float | None, after: float | None, says: str, lib: Library
) -> None:
    (line,) = marker_lines([Marker(test, "left", before, after)], None, lib.markers)
    assert (line.says, line.last) == (says, None)


@pytest.mark.parametrize(
    ("marker_side", "drill_side", "retires"),
    [("left", "right", False), ("left", "both", True), ("both", "left", True), ("none", "left", True)],
)
def test_a_marker_judges_the_drills_of_its_own_side_and_tissue(
    marker_side: Side, drill_side: Side, retires: bool, lib: Library
) -> None:
    markers = [LastMarker("knee_to_wall", marker_side, 9.0, 9.2, 9.0), LastMarker("grip", "left", 30.0, 30.0, 30.0)]
    plan = plan_of(lib, "static_stretch", 1, markers=markers, side=drill_side)
    now = [Marker("knee_to_wall", marker_side, 9.1, 9.3)]
    assert retired_by_markers(now, plan, lib.markers, lib.atlas).keys() == (
        {"soleus_wall_stretch"} if retires else set()
    )
    assert retired_by_markers([Marker("grip", "left", 30.0, None)], plan, lib.markers, lib.atlas) == {}


def test_a_marker_that_fell_back_says_so(lib: Library) -> None:
    plan = plan_of(lib, "static_stretch", 1, markers=[LastMarker("knee_to_wall", "left", 6.0, 9.2)])
    (line,) = marker_lines([knee_to_wall(5.5, 9.5)], plan, lib.markers)
    assert line.last == 9.2
    assert "fell back" in line.says
    assert "better by 4 cm" in line.says
