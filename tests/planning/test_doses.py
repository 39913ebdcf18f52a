"""Rungs rise when their days were done and the minutes allow it, and each dose has its parts of the day."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest
from hypothesis import given, settings

from homecare.core.drill import PARTS, Part, Rung
from homecare.core.plan_types import PlanDrill
from homecare.core.planning import plan_days
from homecare.core.sheet import Training
from tests.planning.cases import START, Case, cases, plain_calendar, plain_drill
from tests.planning.rulebook import Dates, Rulebook, dates_of, reserved, spent

STEPS = (Rung(1, 10, tempo_s=5), Rung(1, 16, tempo_s=5), Rung(1, 22, tempo_s=5))
"""60 s, 90 s, 120 s."""


def rungs(drill: PlanDrill, **calendar: object) -> list[int | None]:
    """The rung of the drill on each day of two weeks; None where it is not planned."""
    plan = plan_days([drill], plain_calendar(14, **calendar))
    return [day.items[0].rung if day.items else None for day in plan.days]


def test_a_rung_rises_after_its_days_one_at_a_time_and_not_past_the_last() -> None:
    """Three days at each: 0 0 0 1 1 1 2 and on."""
    assert rungs(plain_drill("glide", rungs=STEPS)) == [0, 0, 0, 1, 1, 1, *[2] * 8]


def test_days_done_before_count_and_only_for_the_start_rung() -> None:
    assert rungs(plain_drill("glide", rungs=STEPS, done_at_rung=2))[:6] == [0, 1, 1, 1, 2, 2]
    assert rungs(plain_drill("glide", rungs=STEPS, start_rung=1, done_at_rung=3))[:2] == [2, 2]


def test_a_drill_that_may_not_climb_stays() -> None:
    assert set(rungs(plain_drill("glide", rungs=STEPS, may_climb=False))) == {0}


def test_no_climb_close_to_an_event() -> None:
    """Due on the fourth day; the event on the sixth holds it from the third to the seventh."""
    assert rungs(plain_drill("glide", rungs=STEPS), events=(START + timedelta(days=5),)) == [
        *[0] * 7,
        1,
        1,
        1,
        2,
        2,
        2,
        2,
    ]


def test_a_dose_too_long_for_the_day_of_the_event_waits_until_it_is_over() -> None:
    """From the fourth day 90 s would do, but the third step of 121 s is not for the event's day."""
    steps = (*STEPS[:2], replace(STEPS[2], setup_s=11))
    assert rungs(plain_drill("glide", rungs=steps), events=(START + timedelta(days=12),))[3:] == [1, 1, 1, *[1] * 8]
    assert rungs(plain_drill("glide", rungs=STEPS), events=(START + timedelta(days=12),))[6] == 2


def test_a_rung_rises_only_where_it_fits_on_every_later_day() -> None:
    """60 s on Sundays, 90 s on the other days: after the last Sunday there is nothing left of two whole weeks."""
    budget = (90, 90, 90, 90, 90, 90, 60)
    assert rungs(plain_drill("glide", rungs=STEPS), budget_s=budget) == [0] * 14
    assert rungs(plain_drill("glide", rungs=STEPS), budget_s=(90,) * 7)[3:] == [1] * 11


def test_the_minutes_left_go_to_the_first_in_priority() -> None:
    """Two drills of 60 s with one change of 15 s in 165 s: there is room for one to rise to 90 s."""
    both = [plain_drill("glide", name, rungs=STEPS) for name in ("first", "second")]
    last = plan_days(both, plain_calendar(7, budget_s=(165,) * 7)).days[-1]
    assert [item.rung for item in last.items] == [1, 0]
    assert last.planned_s == 165


def test_minutes_that_a_heavier_rung_frees_are_kept_for_who_holds_the_lighter_one() -> None:
    """A date never forces a climb: 100 s stay set aside for the loading, though its next rung takes 60 s."""
    falling = plain_drill("load", "falling", gap_exempt=True, rungs=(Rung(1, 30, tempo_s=3), Rung(1, 10, tempo_s=5)))
    other = plain_drill("glide", "other", rungs=STEPS, climb_days=5)
    tight = plan_days([falling, other], plain_calendar(14, budget_s=(175,) * 7)).days[-1]
    roomy = plan_days([falling, other], plain_calendar(14, budget_s=(205,) * 7)).days[-1]
    assert [item.rung for item in tight.items] == [1, 0]
    assert [item.rung for item in roomy.items] == [1, 1]


@settings(max_examples=150, deadline=None)
@given(cases())
def test_every_dose_keeps_the_rules_of_climbing(case: Case) -> None:
    book, plan = Rulebook(case), plan_days(case.drills, case.calendar)
    for drill, dates in zip(case.drills, dates_of(case, plan), strict=True):
        rung, done = drill.start_rung, drill.done_at_rung
        for day in plan.days:
            item = next((item for item in day.items if item.drill == drill.id), None)
            if item is None:
                continue
            assert day.date in dates
            if item.rung != rung:
                assert item.rung == rung + 1
                assert drill.may_climb
                assert done >= drill.climb_days
                assert not book.near_event(day.date)
                rung, done = item.rung, 0
            done += 1
            dose = drill.rungs[rung]
            assert (item.sets, item.reps, item.hold_s, item.times) == (dose.sets, dose.reps, dose.hold_s, dose.times)
            assert item.seconds == dose.seconds(drill.side)
            assert item.seconds <= 120 or not day.event
    for day in plan.days:
        changes = max(0, sum(item.times for item in day.items) - 1) * case.calendar.transition_s
        assert day.planned_s == sum(item.seconds for item in day.items) + changes
        assert day.planned_s <= day.budget_s


def expected_rungs(case: Case, dates: Dates) -> dict[tuple[int, date], int]:
    """The rung of each drill on each of its days, climbed by hand: by priority, from the minutes left."""
    calendar, book = case.calendar, Rulebook(case)
    takes = {(n, day): reserved(case.drills[n], calendar) for n, own in enumerate(dates) for day in own}
    found = {}
    for number, drill in enumerate(case.drills):
        rung, done = drill.start_rung, drill.done_at_rung
        for day in sorted(dates[number]):
            higher = drill.rungs[rung + 1] if rung + 1 < len(drill.rungs) else None
            if higher and drill.may_climb and done >= drill.climb_days and not book.near_event(day):
                later = {
                    other: max(takes[number, other], spent(drill, higher, calendar))
                    for other in dates[number]
                    if other >= day
                }
                fits = all(
                    sum(seconds for (n, when), seconds in takes.items() if when == other and n != number) + seconds
                    <= calendar.budget_s[other.weekday()] + calendar.transition_s
                    and not (other in calendar.events and higher.seconds(drill.side) > 120)
                    for other, seconds in later.items()
                )
                if fits:
                    rung, done = rung + 1, 0
                    takes.update({(number, other): seconds for other, seconds in later.items()})
            found[number, day] = rung
            done += 1
    return found


@settings(max_examples=150, deadline=None)
@given(cases())
def test_every_rung_rises_as_soon_as_it_may(case: Case) -> None:
    plan = plan_days(case.drills, case.calendar)
    numbers = {drill.id: number for number, drill in enumerate(case.drills)}
    rungs = {(numbers[item.drill], day.date): item.rung for day in plan.days for item in day.items}
    assert rungs == expected_rungs(case, dates_of(case, plan))


@pytest.mark.parametrize(
    ("drill", "training", "parts"),
    [
        (plain_drill("activate", parts=("before", "morning")), "hard", ("before",)),
        (plain_drill("activate", parts=("before", "morning")), "rest", ("morning",)),
        (plain_drill("activate", parts=("before",)), "rest", ("evening",)),
        (plain_drill("release", parts=("after", "evening")), "easy", ("after",)),
        (plain_drill("release", parts=("after", "evening")), "rest", ("evening",)),
        (plain_drill("load", parts=("evening", "morning")), "easy", ("after",)),
        (plain_drill("load", parts=("morning", "evening")), "rest", ("morning",)),
        (plain_drill("load", parts=("morning",), gap_exempt=True), "hard", ("morning",)),
        (plain_drill("load", rungs=(Rung(1, 5, tempo_s=3, times=2),)), "easy", ("after", "after")),
        (plain_drill("glide", rungs=(Rung(1, 5, tempo_s=3, times=2),)), "easy", ("morning", "evening")),
        (plain_drill("glide", rungs=(Rung(1, 5, tempo_s=3, times=3),)), "easy", ("morning", "after", "evening")),
        (plain_drill("glide", rungs=(Rung(1, 5, tempo_s=3, times=3),)), "rest", ("morning", "evening", "evening")),
    ],
)
def test_parts_of_the_day(drill: PlanDrill, training: Training, parts: tuple[Part, ...]) -> None:
    """Activation before training, loading after it, glides spread over the day; a rest day has no training in it."""
    plan = plan_days([drill], plain_calendar(1, training=(training,) + ("easy",) * 6))
    assert plan.days[0].items[0].parts == parts


@pytest.mark.parametrize(("hold_s", "part"), [(19, "before"), (20, "morning"), (30, "morning")])
def test_a_minute_held_is_never_before_training(hold_s: int, part: Part) -> None:
    """Behm et al. 2016 (Appl Physiol Nutr Metab 41:1-11): holds of 60 s and more per muscle cost strength."""
    stretch = plain_drill("stretch", rungs=(Rung(1, 3, hold_s=hold_s),), parts=("before", "morning"))
    assert plan_days([stretch], plain_calendar(1)).days[0].items[0].parts == (part,)


def test_holds_before_training_add_up_by_muscle_and_side() -> None:
    """Two stretches of 40 s before training are 80 s for the muscle they share; other muscles and sides stay free."""
    held = {"rungs": (Rung(1, 2, hold_s=20),), "parts": ("before", "evening")}
    first = plain_drill("stretch", "first", **held)
    again = plain_drill("stretch", "again", **held)
    right = plain_drill("stretch", "right", side="right", **held)
    elsewhere = plain_drill("stretch", "elsewhere", muscles=frozenset({"piriformis"}), **held)
    day = plan_days([first, again, right, elsewhere], plain_calendar(1, few=4)).days[0]
    assert [item.parts for item in day.items] == [("before",), ("evening",), ("before",), ("before",)]
    late = plain_drill("stretch", "late", rungs=held["rungs"], parts=("evening",))
    day = plan_days([late, first], plain_calendar(1)).days[0]
    assert [item.parts for item in day.items] == [("evening",), ("before",)], (
        "what is held in the evening costs nothing"
    )


@settings(max_examples=150, deadline=None)
@given(cases())
def test_parts_keep_their_rules(case: Case) -> None:
    book, plan = Rulebook(case), plan_days(case.drills, case.calendar)
    by_id = {drill.id: number for number, drill in enumerate(case.drills)}
    for day in plan.days:
        held: dict[tuple[str, str], int] = {}
        for item in day.items:
            number = by_id[item.drill]
            assert len(item.parts) == item.times
            assert list(item.parts) == sorted(item.parts, key=PARTS.index)
            if day.training == "rest":
                assert set(item.parts) <= {"morning", "evening"}
            elif book.rests(number):
                assert set(item.parts) == {"after"}
            for muscle in case.drills[number].muscles if "before" in item.parts else ():
                for side in ("left", "right") if item.side in ("both", "none") else (item.side,):
                    held[muscle, side] = held.get((muscle, side), 0) + item.sets * item.reps * item.hold_s
        assert all(seconds == 0 or seconds < 60 for seconds in held.values())


def test_visits_and_events_are_marked_on_their_days() -> None:
    later = START + timedelta(days=2)
    plan = plan_days([plain_drill("glide")], plain_calendar(3, visits=(START,), events=(later,)))
    assert [(day.visit, day.event) for day in plan.days] == [(True, False), (False, False), (False, True)]
    assert [day.training for day in plan.days] == ["easy"] * 3
