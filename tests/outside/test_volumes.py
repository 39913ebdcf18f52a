"""Weekly volumes, dates and totals held to published programmes, to a calendar library, and to sums done by hand."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from dateutil.rrule import DAILY, WEEKLY, rrule

from homecare.core.drill import Rung
from homecare.core.planning import plan_days
from homecare.core.sheet import Clinic, Sheet
from homecare.library.load import Library
from homecare.workflow.assembling import build_sheet
from tests.helpers import visit_of
from tests.planning.cases import START, plain_calendar, plain_drill

GARBER = "Garber CE et al. 2011, Med Sci Sports Exerc 43:1334-59"
THOMAS = "Thomas E et al. 2018, Int J Sports Med 39:243-54: 5 minutes a week a muscle, on 5 days"
INGRAM = "Ingram LA et al. 2024, Sports Med: no more gain beyond about 10 minutes a week"
BEHM = "Behm DG et al. 2020, J Strength Cond Res 34:3301-8: 1 to 3 sets of 30 to 120 s"
ALFREDSON = "Alfredson H et al. 1998, Am J Sports Med 26:360-6"


def held_minutes(lib: Library, ladder: str) -> float:
    """Minutes a week that a stretch holds a muscle at the top of its ladder, on all its wanted days."""
    one = lib.ladders[ladder]
    top = one.rungs[-1]
    return one.wanted_per_week * top.times * top.sets * top.reps * top.hold_s / 60


@pytest.mark.parametrize(
    ("ladder", "minutes"),
    [
        ("static_stretch", 7.0),  # 2 x 30 s x 7 days
        ("static_stretch_older", 10.5),  # 2 x 45 s x 7 days
        ("static_stretch_dense", 10.0),  # 4 x 30 s x 5 days
        ("contract_relax", 7.5),  # 3 x 30 s x 5 days
    ],
)
def test_weekly_minutes_of_a_stretch_lie_between_what_lasts_and_where_gains_stop(
    lib: Library, ladder: str, minutes: float
) -> None:
    assert held_minutes(lib, ladder) == pytest.approx(minutes)
    assert 5 <= minutes <= 10.5, (THOMAS, INGRAM)
    assert lib.ladders[ladder].wanted_per_week >= 5, THOMAS


def test_a_roll_at_its_top_is_one_set_of_ninety_seconds(lib: Library) -> None:
    for ladder in ("roller_release", "stick_release"):
        top = lib.ladders[ladder].rungs[-1]
        assert top.sets * top.reps * top.tempo_s == 90, BEHM


def test_both_heel_drops_at_their_top_are_the_published_hundred_and_eighty_a_day(lib: Library) -> None:
    """3 x 15 with the knee straight and 3 x 15 with it bent, twice a day, on seven days."""
    straight, bent = lib.drills["eccentric_calf_drop"], lib.drills["eccentric_calf_bent"]
    total = 0
    for drill in (straight, bent):
        ladder = lib.ladders[drill.ladder]
        top = ladder.rungs[-1]
        total += top.times * top.sets * top.reps
        assert ladder.wanted_per_week == 7, ALFREDSON
        assert ladder.gap_exempt, ALFREDSON
    assert total == 180, ALFREDSON


def test_pain_cut_offs_stand_on_the_sheet(lib: Library) -> None:
    """Up to 5 of 10 and gone by morning is held, beyond it stepped back (Thomee 1997; Silbernagel et al. 2007)."""
    sheet = build_sheet(visit_of(lib, "{tissue: soleus, side: left, found: tight}"), lib, Clinic(), None)
    said = {answer: when for answer, when, _ in sheet.words.judge}
    assert "up to 5 out of 10" in said["Hold"]
    assert "by morning" in said["Hold"]
    assert "over 5 out of 10" in said["Step back"]


def planned(**drill: object) -> list[date]:
    """The dates of one drill alone over two easy weeks."""
    plan = plan_days([plain_drill(**drill)], plain_calendar(14))  # type: ignore[arg-type]
    return [day.date for day in plan.days if day.items]


def ruled(**rule: object) -> list[date]:
    """The dates of a recurrence rule from the start of the sheet (RFC 5545, by python-dateutil)."""
    return [one.date() for one in rrule(dtstart=START, **rule)]  # type: ignore[arg-type]


def test_daily_is_every_day() -> None:
    assert planned(kind="glide", wanted_per_week=7, gap_days=1) == ruled(freq=DAILY, count=14)


def test_every_other_day_is_an_interval_of_two() -> None:
    """48 h between: seven days of fourteen (Garber et al. 2011, from memory)."""
    dates = planned(kind="mobilise", wanted_per_week=4, least_per_week=1, gap_days=2)
    assert dates == ruled(freq=DAILY, interval=2, count=7)


def test_never_more_in_a_week_than_the_rule_of_that_week_allows() -> None:
    for wanted in range(1, 8):
        dates = planned(kind="glide", wanted_per_week=wanted, least_per_week=1, gap_days=1)
        for week in ruled(freq=WEEKLY, count=2):
            assert sum(week <= day < week + timedelta(days=7) for day in dates) == wanted


BY_HAND = [
    # findings; drill, its step in words, seconds by hand
    (
        "{tissue: soleus, side: left, found: tight}",
        {
            "calf_hand_release": 10 + 15 * 4,  # 15 slow strokes of 4 s, 10 s to get ready
            "soleus_wall_stretch": 10 + 2 * (4 + 30),  # two holds of 30 s, 4 s to get in
        },
        ["1", 78, 70 + 15 + 78],  # the visit's own day: no rubbing after hands-on; then both, a change of 15 s
        "2 to 5 minutes",
    ),
    (
        "{symptom: tingling, zones: [digit_1, digit_2, digit_3], side: right}",
        {"median_slider": 2 * (10 + 8 * 4)},
        ["1", 84 + 15, 84 + 15],
        "2 to 3 minutes",
    ),
    (
        "{tissue: gluteus_medius, side: left, found: weak}",
        {
            "standing_side_lift": 10 + 2 * 10 * 3 + 10,  # two sets of ten, 10 s of rest between
            "side_plank": 10 + 5 * (3 + 10),
        },
        ["1", 80 + 15 + 75, 80],
        "2 to 6 minutes",
    ),
]


def sheet_of(lib: Library, findings: str) -> Sheet:
    """The sheet of a visit with these findings and nothing else said."""
    return build_sheet(visit_of(lib, findings), lib, Clinic(), None)


@pytest.mark.parametrize(("findings", "seconds", "days", "amount"), BY_HAND)
def test_totals_of_a_sheet_are_those_done_by_hand(
    lib: Library, findings: str, seconds: dict[str, int], days: list[int], amount: str
) -> None:
    sheet = sheet_of(lib, findings)
    first: dict[str, int] = {}
    for day in sheet.days:
        for item in day.items:
            first.setdefault(item.drill, item.seconds)
    assert first == seconds
    assert [day.planned_s for day in sheet.days[:2]] == days[1:]
    assert sheet.words.amount == amount


def test_the_formula_itself_on_a_dose_done_by_hand() -> None:
    """3 sets of 8 at 4 s, held 5 s, 30 s of rest, both sides, twice a day: 2 x (10 + 2 x (3 x 8 x 9 + 60)) = 1124."""
    assert Rung(3, 8, hold_s=5, tempo_s=4, rest_s=30, setup_s=10, times=2).seconds("both") == 1124


def test_a_long_plan_keeps_one_rhythm(lib: Library) -> None:
    """Twelve weeks with one event: a drill's weeks look alike but for the first and those about the event."""
    tissues = ("soleus", "rectus_femoris", "piriformis", "upper_trapezius")
    findings = "\n".join(f"{{tissue: {one}, side: left, found: tight}}" for one in tissues)
    more = "days: 84\nminutes: {weekday: 10, weekend: 15}\nweek: {tue: hard, thu: hard, sat: long}\nevent: 2026-10-24\n"
    sheet = build_sheet(visit_of(lib, findings, more), lib, Clinic(), None)
    for drill in sheet.drills:
        weeks = [
            tuple(any(item.drill == drill.id for item in day.items) for day in sheet.days[first : first + 7])
            for first in range(0, 84, 7)
        ]
        usual = max(set(weeks), key=weeks.count)
        assert weeks.count(usual) >= 7, drill.id
        assert len(set(weeks)) <= 4, drill.id
