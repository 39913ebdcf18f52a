"""Each rule by a small example worked out by hand, with the ground it stands on."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date, timedelta

import pytest

from homecare.core.atlas import Side
from homecare.core.drill import Kind, Rung
from homecare.core.findings import Depth
from homecare.core.plan_rules import share
from homecare.core.plan_types import LoadDay, PlanCalendar, PlanDrill, Treatment
from homecare.core.planning import plan_days
from tests.planning.cases import START, plain_calendar, plain_drill

MONDAY = START
WEEK = "Mo Tu We Th Fr Sa Su".split()


def on(day: int) -> date:
    """The date so many days after the first Monday."""
    return MONDAY + timedelta(days=day)


def planned(drills: Sequence[PlanDrill], calendar: PlanCalendar, number: int = 0) -> list[int]:
    """The days, counted from the start, on which one of the drills is planned."""
    plan = plan_days(drills, calendar)
    name = drills[number].id
    return [place for place, day in enumerate(plan.days) if any(item.drill == name for item in day.items)]


def noted(drills: Sequence[PlanDrill], calendar: PlanCalendar, day: int, number: int = 0) -> tuple[str, str]:
    """Rule and words of the note that a drill has on a day."""
    notes = plan_days(drills, calendar).days[day].notes
    return next((note.rule, note.because) for note in notes if note.drill == drills[number].id)


def test_hard_days_are_hard_and_easy_days_easy() -> None:
    """Tuesday and Thursday hard, Saturday long: loading is left Tuesday, Thursday and Sunday (common practice)."""
    calendar = plain_calendar(7, training=("easy", "hard", "easy", "hard", "rest", "long", "easy"))
    load = plain_drill("load", wanted_per_week=3, gap_days=2)
    assert [WEEK[day] for day in planned([load], calendar)] == ["Tu", "Th", "Su"]
    assert noted([load], calendar, 0) == ("hard-day", "no loading the day before a hard day")
    assert noted([load], calendar, 4) == ("hard-day", "no loading the day before a long day")
    assert noted([load], calendar, 5) == ("hard-day", "no loading on a long training day")


def test_the_week_of_training_goes_on_after_the_last_day() -> None:
    """A sheet that ends on a Monday, with Tuesday hard: no loading on that Monday either."""
    calendar = plain_calendar(1, training=("easy", "hard", "easy", "easy", "easy", "easy", "easy"))
    assert planned([plain_drill("load")], calendar) == []


def test_daily_tendon_loading_goes_on_every_day_twice() -> None:
    """Alfredson et al. 1998 (Am J Sports Med 26:360-6): twice a day, every day, no rest between, hard days or not."""
    tendon = plain_drill("load", gap_exempt=True, rungs=(Rung(3, 15, tempo_s=4, times=2),), least_per_week=7)
    calendar = plain_calendar(14, training=("hard", "hard", "long", "hard", "rest", "long", "easy"))
    plan = plan_days([tendon], calendar)
    assert planned([tendon], calendar) == list(range(14))
    assert {item.parts for day in plan.days for item in day.items} == {("morning", "evening")}


def test_loading_of_one_muscle_rests_48_hours() -> None:
    """Garber et al. 2011 (Med Sci Sports Exerc 43:1334-59, from memory): 48 h between sessions of one muscle group."""
    load = plain_drill("load", wanted_per_week=4)  # its own gap asks for no rest
    assert planned([load], plain_calendar(7)) == [0, 2, 4, 6]
    assert noted([load], plain_calendar(7), 1) == ("gap", "rest of 48 hours between loading days")


@pytest.mark.parametrize(
    ("one", "other", "meet"),
    [("left", "left", True), ("left", "right", False), ("both", "right", True), ("none", "left", True)],
)
def test_the_rest_holds_across_drills_that_share_a_muscle_and_a_side(one: Side, other: Side, meet: bool) -> None:
    first = plain_drill("load", "first", side=one, wanted_per_week=4, least_per_week=4)
    second = plain_drill("load", "second", side=other, muscles=frozenset({"soleus", "tibialis_posterior"}))
    both = [first, second]
    assert planned(both, plain_calendar(7)) == [0, 2, 4, 6]
    beside = {abs(a - b) for a in planned(both, plain_calendar(7)) for b in planned(both, plain_calendar(7), 1)}
    assert (1 in beside) == (not meet and len(planned(both, plain_calendar(7), 1)) < 4)
    if meet:
        assert planned(both, plain_calendar(7), 1) == [0, 2, 4, 6]


def test_the_rest_between_two_drills_is_free_when_the_muscle_differs_or_one_is_daily_tendon_loading() -> None:
    first = plain_drill("load", "first", wanted_per_week=4, least_per_week=4)
    elsewhere = plain_drill("load", "second", muscles=frozenset({"gluteus_medius"}), wanted_per_week=3)
    daily = plain_drill("load", "second", gap_exempt=True)
    calendar = plain_calendar(7, few=1)
    assert planned([first, elsewhere], calendar, 1) == [1, 3, 5]
    assert planned([first, daily], calendar, 1) == [1, 3, 5]


def test_an_earlier_sheet_is_seen_by_gap_and_rest() -> None:
    """Loaded on the Sunday before: not on Monday. A gap of three since Saturday: not before Tuesday."""
    load = plain_drill("load", wanted_per_week=7)
    before = plain_calendar(3, load_history=(LoadDay(on(-1), "soleus", "left"),))
    assert planned([load], before) == [1]
    assert noted([load], before, 0) == ("gap", "rest of 48 hours between loading days")
    other_side = plain_calendar(3, load_history=(LoadDay(on(-1), "soleus", "right"),))
    assert planned([load], other_side) == [0, 2]
    release = plain_drill("release", gap_days=3, history=(on(-2),))
    assert planned([release], plain_calendar(4)) == [1]
    assert noted([release], plain_calendar(4), 0) == ("gap", "2 days of rest between its days")
    other = plain_drill("release", gap_days=2, history=(on(-1),))
    assert noted([other], plain_calendar(4), 0) == ("gap", "a day of rest between its days")


@pytest.mark.parametrize(("depth", "left"), [("light", [0, 1, 2]), ("firm", [0, 2]), ("deep", [0])])
def test_no_release_on_a_tissue_just_treated_by_hand(depth: Depth, left: list[int]) -> None:
    """Firm treatment bars the day, deep the next as well, light nothing (common practice)."""
    calendar = plain_calendar(3, treatments=(Treatment(on(1), depth, frozenset({"soleus"})),))
    assert planned([plain_drill("release")], calendar) == left
    assert planned([plain_drill("stretch")], calendar) == [0, 1, 2]
    assert planned([plain_drill("release", muscles=frozenset({"piriformis"}))], calendar) == [0, 1, 2]


def test_treatment_of_every_tissue_and_from_before_the_start() -> None:
    calendar = plain_calendar(3, treatments=(Treatment(on(-1), "deep", None), Treatment(on(2), "firm", None)))
    release = plain_drill("release")
    assert planned([release], calendar) == [1]
    assert noted([release], calendar, 0) == ("hands-on", "treated by hand the day before")
    assert noted([release], calendar, 2) == ("hands-on", "treated by hand this day")


def test_no_end_range_of_the_neck_on_the_day_it_was_adjusted() -> None:
    neck = plain_drill("mobilise", end_range_neck=True)
    assert planned([neck], plain_calendar(3, neck_adjusted=True)) == [1, 2]
    assert noted([neck], plain_calendar(3, neck_adjusted=True), 0)[0] == "hands-on"
    assert planned([neck], plain_calendar(3)) == [0, 1, 2]
    assert planned([plain_drill("mobilise")], plain_calendar(3, neck_adjusted=True)) == [0, 1, 2]


@pytest.mark.parametrize(
    ("kind", "left"),
    [
        ("glide", list(range(14))),
        ("activate", [day for day in range(14) if day != 8]),
        ("mobilise", [day for day in range(14) if day != 7]),
        ("stretch", [day for day in range(14) if day not in (7, 8)]),
        ("release", [day for day in range(14) if day not in (7, 8)]),
    ],
)
def test_the_day_of_an_event_and_the_day_after(kind: Kind, left: list[int]) -> None:
    """On the day glides and activation, on the day after glides and mobilising (common practice)."""
    assert planned([plain_drill(kind)], plain_calendar(14, events=(on(7),))) == left


def test_on_the_day_of_an_event_nothing_takes_longer_than_two_minutes() -> None:
    calendar = plain_calendar(3, events=(on(1),))
    two = plain_drill("glide", rungs=(Rung(1, 11, tempo_s=10),))  # 10 s to set up and 110 s
    longer = plain_drill("glide", rungs=(Rung(1, 11, tempo_s=10, setup_s=11),))
    assert planned([two], calendar) == [0, 1, 2]
    assert planned([longer], calendar) == [0, 2]


def test_no_loading_close_to_an_event_and_heavy_lengthening_longer_off() -> None:
    """Three days before to the day after; for heavy lengthening seven before to three after (common practice)."""
    calendar = plain_calendar(21, events=(on(10),))
    tendon = plain_drill("load", gap_exempt=True)
    heavy = plain_drill("load", gap_exempt=True, heavy_lengthening=True)
    assert planned([tendon], calendar) == [day for day in range(21) if not 7 <= day <= 11]
    assert planned([heavy], calendar) == [day for day in range(21) if not 3 <= day <= 13]


def test_nothing_new_close_to_an_event() -> None:
    """A glide that is new waits until two days after; one that was done before the window, or last time, goes on."""
    calendar = plain_calendar(9, events=(on(3),))
    new = plain_drill("glide", carried=False)
    assert planned([new], calendar) == [5, 6, 7, 8]
    assert noted([new], calendar, 0) == ("event", "nothing new so close to the event")
    assert planned([plain_drill("glide")], calendar) == list(range(9))
    assert planned([new], plain_calendar(9, events=(on(4),))) == list(range(9))


def test_an_event_before_the_sheet_or_just_after_it_is_seen() -> None:
    tendon = plain_drill("load", gap_exempt=True)
    assert planned([tendon], plain_calendar(4, events=(on(6),))) == [0, 1, 2]
    assert planned([tendon], plain_calendar(4, events=(on(-1),))) == [1, 2, 3]


def test_the_minutes_count_items_and_the_changes_between_them() -> None:
    """Three drills of a minute, two changes of 15 s: three and a half minutes hold them, a second less does not."""
    three = [plain_drill("glide", name) for name in ("a", "b", "c")]
    plan = plan_days(three, plain_calendar(1, budget_s=(210,) * 7))
    assert (plan.days[0].planned_s, plan.planned) == (210, (1, 1, 1))
    assert plan_days(three, plain_calendar(1, budget_s=(209,) * 7)).planned == (1, 1, 0)
    assert noted(three, plain_calendar(1, budget_s=(180,) * 7), 0, 2) == ("budget", "the 3 minutes are full")


def test_a_drill_done_several_times_a_day_changes_as_often() -> None:
    """Twice a day, each of 60 s: 120 s and one change."""
    twice = plain_drill("glide", rungs=(Rung(1, 10, tempo_s=5, times=2),))
    assert plan_days([twice], plain_calendar(1, budget_s=(135,) * 7)).days[0].planned_s == 135
    assert planned([twice], plain_calendar(1, budget_s=(134,) * 7)) == []
    assert noted([twice], plain_calendar(1, budget_s=(60,) * 7), 0)[1] == "it is longer than the 1 minute of this day"


def test_a_drill_whose_seconds_fall_is_budgeted_by_its_longest_rung() -> None:
    """Heavier with fewer repetitions: 70 s, 40 s. A later rung of 100 s counts from the first day on."""
    falling = (Rung(1, 20, tempo_s=3), Rung(1, 10, tempo_s=3, load="6 kg"), Rung(1, 30, tempo_s=3, load="8 kg"))
    calendar = plain_calendar(2, budget_s=(99,) * 7)
    assert planned([plain_drill("glide", rungs=falling)], calendar) == []
    assert planned([plain_drill("glide", rungs=falling[:2])], calendar) == [0, 1]
    assert planned([plain_drill("glide", rungs=falling)], plain_calendar(2, budget_s=(100,) * 7)) == [0, 1]
    level = (falling[0], replace(falling[0], load="6 kg"), falling[2])
    assert planned([plain_drill("glide", rungs=level)], calendar) == [0, 1], "as long and heavier is no fall"


def test_at_most_three_drills_a_day_and_the_sheet_rotates_them() -> None:
    """Eckard et al. 2015 (Mil Med 180:186-91): four and more were followed less than two or fewer."""
    six = [plain_drill("glide", name) for name in "abcdef"]
    plan = plan_days(six, plain_calendar(14))
    assert max(len(day.items) for day in plan.days) == 3
    assert all(days >= 6 for days in plan.planned)
    assert noted(six, plain_calendar(14), 0, next(n for n in range(6) if 0 not in planned(six, plain_calendar(14), n)))[
        0
    ] in ("few", "wanted")


def test_a_cap_for_each_week_of_the_sheet() -> None:
    """The week is counted from the start, a Wednesday here: no more than the two days wanted in any seven."""
    calendar = plain_calendar(14, start=on(2))
    days = planned([plain_drill("release", wanted_per_week=2, least_per_week=1)], calendar)
    assert [sum(first <= day < first + 7 for day in days) for first in (0, 7)] == [2, 2]
    assert noted([plain_drill("release", wanted_per_week=0, least_per_week=0)], calendar, 0)[0] == "wanted"


@pytest.mark.parametrize(
    ("a_week", "length", "wanted", "least"),
    [(7, 7, 7, 7), (3, 7, 3, 3), (3, 2, 1, 0), (4, 2, 2, 1), (4, 5, 3, 2), (7, 1, 1, 1), (1, 6, 1, 0), (0, 7, 0, 0)],
)
def test_a_part_of_a_week_wants_its_share_rounded_up_and_needs_it_rounded_down(
    a_week: int, length: int, wanted: int, least: int
) -> None:
    """Four days a week over two days are 8 / 7: two wanted, one needed (common practice)."""
    assert (share(a_week, length, up=True), share(a_week, length, up=False)) == (wanted, least)
