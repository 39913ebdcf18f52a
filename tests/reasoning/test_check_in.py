"""The check-in table, line by line; halving; hand-set doses; markers that retire or fall back."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date, timedelta

import pytest

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


def test_under_half_done_asks_for_fewer_drills(lib: Library) -> None:
    one = carried(lib, plan_of(lib, "static_stretch", 1), 3, None)
    many = {str(number): replace(one) for number in range(5)}
    assert drills_to_keep(many, 6) == 2
    assert drills_to_keep({}, 6) == 6


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


def test_a_marker_that_fell_back_says_so(lib: Library) -> None:
    plan = plan_of(lib, "static_stretch", 1, markers=[LastMarker("knee_to_wall", "left", 6.0, 9.2)])
    (line,) = marker_lines([knee_to_wall(5.5, 9.5)], plan, lib.markers)
    assert line.last == 9.2
    assert "fell back" in line.says
    assert "better by 4 cm" in line.says
