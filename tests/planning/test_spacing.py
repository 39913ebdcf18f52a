"""The days of each drill are as even as they can be, by trying every other set of days."""

from __future__ import annotations

from datetime import date, timedelta
from itertools import combinations, pairwise, product

import pytest

from homecare.core.plan_types import PlanCalendar
from homecare.core.planning import plan_days
from tests.planning.cases import a_case, plain_calendar, plain_drill, seeded
from tests.planning.rulebook import all_dates, dates_of, faults, vector, weeks


def unevenness(calendar: PlanCalendar, days: frozenset[date] | set[date]) -> int:
    """The sum of squared gaps, with a post the day before the first day and one the day after the last."""
    one = timedelta(days=1)
    posts = [calendar.start - one, *sorted(days), calendar.start + calendar.days * one]
    return sum((later - earlier).days ** 2 for earlier, later in pairwise(posts))


@pytest.mark.parametrize("seed", range(36))
def test_no_drill_alone_can_be_more_even_or_as_even_and_earlier(seed: int) -> None:
    """Every set of as many days that keeps the rules and the least days is tried in place of the drill's own."""
    case = a_case(seeded(4000 + seed), *((10, 4), (7, 6), (12, 2))[seed % 3])
    dates = dates_of(case, plan_days(case.drills, case.calendar))
    best = vector(case, dates)
    for number, own in enumerate(dates):
        mine = (unevenness(case.calendar, own), sorted(own))
        for days in combinations(all_dates(case.calendar), len(own)):
            if (unevenness(case.calendar, set(days)), list(days)) < mine:
                others = [set(days) if which == number else its for which, its in enumerate(dates)]
                assert faults(case, others) or vector(case, others) < best


def test_three_days_of_a_week_are_spread_over_it() -> None:
    """Gaps of 2, 2, 2, 2 between posts and days: Tuesday, Thursday, Saturday."""
    plan = plan_days([plain_drill("release", wanted_per_week=3)], plain_calendar(7))
    assert [place for place, day in enumerate(plan.days) if day.items] == [1, 3, 5]


def test_of_equally_even_sets_the_earliest() -> None:
    """One day in a week of four: the second and the third are as even."""
    plan = plan_days([plain_drill("release", wanted_per_week=1, least_per_week=0)], plain_calendar(4))
    assert [place for place, day in enumerate(plan.days) if day.items] == [1]


def test_the_spacing_keeps_the_least_days_of_each_week() -> None:
    """Four days over two weeks, two a week at least and at most: each week keeps its two."""
    plan = plan_days([plain_drill("release", wanted_per_week=2, least_per_week=2)], plain_calendar(14))
    days = [place for place, day in enumerate(plan.days) if day.items]
    assert [day // 7 for day in days] == [0, 0, 1, 1]
    assert days == [2, 5, 8, 11]


@pytest.mark.parametrize("seed", range(24))
def test_no_two_drills_can_trade_days_of_a_week_and_be_more_even_together(seed: int) -> None:
    """Every trade of a day for a day within a week is tried."""
    case = a_case(seeded(4500 + seed), *((14, 4), (10, 6))[seed % 2])
    dates = dates_of(case, plan_days(case.drills, case.calendar))
    for (one, mine), (other, theirs) in combinations(enumerate(dates), 2):
        together = unevenness(case.calendar, mine) + unevenness(case.calendar, theirs)
        for week in weeks(case.calendar):
            for given, taken in product((mine - theirs) & set(week), (theirs - mine) & set(week)):
                first, second = mine - {given} | {taken}, theirs - {taken} | {given}
                if unevenness(case.calendar, first) + unevenness(case.calendar, second) < together:
                    assert faults(case, [{one: first, other: second}.get(n, own) for n, own in enumerate(dates)])
