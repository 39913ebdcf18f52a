"""The calendar file: read back by another reader it gives exactly the plan's dates, and it says nothing of anybody."""

from __future__ import annotations

import base64
import os
import re
import time as clock
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta

import pytest
from dateutil.rrule import rruleset, rrulestr
from hypothesis import given, settings
from hypothesis import strategies as st
from icalendar import Calendar, Event

from homecare.core.drill import PARTS, Part
from homecare.core.planning import plan_days
from homecare.core.sheet import Clinic, Item, Sheet
from homecare.render.calendar_file import CLOCK, calendar_bytes, calendar_uri, rule
from tests.planning.cases import a_case, seeded
from tests.render.sheets import fixtures, make_sheet

PLANNED = [name for name, sheet in fixtures().items() if any(day.items for day in sheet.days)]
RRULE_PARTS = {"FREQ", "INTERVAL", "COUNT", "BYDAY"}


def planned_dates(sheet: Sheet) -> dict[Part, list[date]]:
    """The dates of each part of the day that the plan uses, straight from its items."""
    used = {part: [day.date for day in sheet.days if any(part in one.parts for one in day.items)] for part in PARTS}
    return {part: dates for part, dates in used.items() if dates}


def lines(content: bytes) -> list[str]:
    """The content lines, unfolded by hand (RFC 5545 3.1)."""
    return content.decode().replace("\r\n ", "").removesuffix("\r\n").split("\r\n")


def blocks(content: bytes) -> Iterator[dict[str, str]]:
    """Each event's lines by property, its parameters left in the name."""
    for block in "\n".join(lines(content)).split("BEGIN:VEVENT\n")[1:]:
        yield dict(line.split(":", 1) for line in block.split("\nEND:VEVENT")[0].split("\n"))


def timed(content: bytes) -> dict[time, list[datetime]]:
    """Every time of every event that is not of a whole day, expanded by python-dateutil from the lines alone."""
    found = {}
    for block in blocks(content):
        if "DTSTART" not in block:
            continue
        start = datetime.strptime(block["DTSTART"], "%Y%m%dT%H%M%S")  # noqa: DTZ007  (floating by purpose)
        times = [start]
        if "RRULE" in block:
            rules = "\n".join(f"{name}:{block[name]}" for name in ("DTSTART", "RRULE", "EXDATE") if name in block)
            expanded = rrulestr(rules, forceset=True)
            assert isinstance(expanded, rruleset)
            times = list(expanded)
        assert times[0] == start, "DTSTART is the first time (RFC 5545 3.8.5.3, from memory)"
        found[start.time()] = times
    return found


def assert_is_the_plan(sheet: Sheet) -> None:
    at = {part: time.fromisoformat(CLOCK[part]) for part in PARTS}
    want = {at[part]: [datetime.combine(day, at[part]) for day in days] for part, days in planned_dates(sheet).items()}
    assert timed(calendar_bytes(sheet)) == want


def assert_keeps_the_rules(content: bytes) -> None:
    """RFC 5545 3.1 and 3.3.10, as far as a plan can break them."""
    assert content.endswith(b"END:VCALENDAR\r\n")
    assert not re.search(rb"(?<!\r)\n|\r(?!\n)", content)
    assert max(map(len, content.split(b"\r\n"))) <= 75
    assert content.decode().isascii()
    names = [block["UID"] for block in blocks(content)]
    assert len(set(names)) == len(names) > 0
    for block in blocks(content):
        fields = [part.split("=")[0] for part in block.get("RRULE", "").split(";") if part]
        assert len(set(fields)) == len(fields)
        assert set(fields) <= RRULE_PARTS
        assert not fields or {"FREQ", "COUNT"} <= set(fields)
        assert re.fullmatch(r"|(.*;)?BYDAY=([A-Z]{2},)*[A-Z]{2}", block["RRULE"]) if "BYDAY" in fields else True
        assert not {"DTEND", "TZID", "RDATE", "ATTENDEE", "ORGANIZER", "LOCATION"} & {
            name.split(";")[0] for name in block
        }


@pytest.mark.parametrize("name", PLANNED)
def test_the_fixtures_come_back_as_planned(name: str) -> None:
    sheet = fixtures()[name]
    content = calendar_bytes(sheet)
    assert_is_the_plan(sheet)
    assert_keeps_the_rules(content)
    assert len(content) < 6000
    assert not any(event.errors for event in read(content))


def read(content: bytes) -> list[Event]:
    calendar = Calendar.from_ical(content)
    assert isinstance(calendar, Calendar)
    return [event for event in calendar.walk("VEVENT") if isinstance(event, Event)]


@st.composite
def sheets(draw: st.DrawFn) -> Sheet:
    """Plans of 1 to 84 days with anything in them, regular or not; the days of a week may repeat."""
    start = draw(st.dates(date(2024, 1, 1), date(2031, 12, 31)))
    length = draw(st.integers(1, 84))
    one_day = st.lists(st.tuples(st.sampled_from(PARTS), st.integers(0, 900)), max_size=4)
    pattern = draw(st.lists(one_day, min_size=1, max_size=draw(st.sampled_from((1, 2, 7, 84)))))
    bare = make_sheet(1, length, start=start)
    days = [
        replace(
            day,
            items=tuple(
                Item(f"d{place}", "none", 0, 1, 1, 0, 1, (part,), seconds)
                for place, (part, seconds) in enumerate(pattern[number % len(pattern)])
            ),
        )
        for number, day in enumerate(bare.days)
    ]
    return replace(bare, days=tuple(days))


@settings(max_examples=150, deadline=None)
@given(sheets())
def test_any_plan_comes_back_as_planned(sheet: Sheet) -> None:
    content = calendar_bytes(sheet)
    assert bool(content) == any(day.items for day in sheet.days)
    if content:
        assert_is_the_plan(sheet)
        assert_keeps_the_rules(content)


@pytest.mark.parametrize("days", [1, 2, 7, 10, 28, 84])
def test_the_planners_own_plans_come_back_and_are_small(days: int) -> None:
    checked = 0
    for seed in range(4):
        case = a_case(seeded(1000 * days + seed), days, 14 if days == 84 else 5)
        plan = plan_days(case.drills, case.calendar, node_limit=1)
        sheet = replace(make_sheet(1, days, start=case.calendar.start), days=plan.days)
        if any(day.items for day in plan.days):
            assert_is_the_plan(sheet)
            assert_keeps_the_rules(calendar_bytes(sheet))
            assert len(calendar_bytes(sheet)) < 6000
            checked += 1
    assert checked


def test_regular_dates_need_no_exceptions() -> None:
    monday = date(2026, 3, 2)
    third = rule([monday + timedelta(days=number) for number in range(0, 28, 3)])
    assert (third.fields, third.without) == ({"freq": "DAILY", "interval": 3, "count": 10}, ())
    twice = rule([monday + timedelta(days=number) for number in range(14) if number % 7 in (1, 4)])
    assert (twice.fields, twice.without) == ({"freq": "WEEKLY", "byday": ["TU", "FR"], "count": 4}, ())
    assert rule([monday]).fields == {}
    gap = rule([monday + timedelta(days=number) for number in range(14) if number != 5])
    assert (gap.fields["count"], gap.without) == (14, (date(2026, 3, 7),))


def test_the_time_is_as_long_as_the_longest_day_asks() -> None:
    sheet = make_sheet(1, 2)
    first, second = (
        replace(sheet.days[0].items[0], times=2, parts=("morning", "evening"), seconds=s) for s in (90, 370)
    )
    other = replace(first, drill="other", times=1, parts=("evening",), seconds=70)
    days = (replace(sheet.days[0], items=(first, other)), replace(sheet.days[1], items=(second,)))
    morning, evening = read(calendar_bytes(replace(sheet, days=days)))[:2]
    # 45 and 185 s in the morning; in the evening 45 + 70 and 15 to change, and 185
    assert (str(morning["SUMMARY"]), morning.duration) == ("Home care, 1 to 4 minutes", timedelta(minutes=4))
    assert (str(evening["SUMMARY"]), evening.duration) == ("Home care, 3 to 4 minutes", timedelta(minutes=4))


def test_the_clinics_clock_goes_before_the_usual_one() -> None:
    sheet = make_sheet(6, 7, clinic=Clinic(clock={"morning": "6:05"}))
    assert sorted(timed(calendar_bytes(sheet))) == [time(6, 5), time(18, 30), time(21)]


def test_visits_after_the_start_and_the_review_are_whole_days() -> None:
    sheet = make_sheet(2, 14)
    first = replace(sheet.days[0], visit=True)
    events = read(calendar_bytes(replace(sheet, days=(first, *sheet.days[1:]))))
    whole = [event for event in events if not isinstance(event.start, datetime)]
    assert [(event.start, str(event["SUMMARY"])) for event in whole] == [
        (date(2026, 3, 5), "Clinic visit"),
        (date(2026, 3, 9), "Clinic visit"),
        (date(2026, 3, 12), "Home care: is it better?"),
    ]
    assert all(event["TRANSP"] == "TRANSPARENT" for event in whole)
    assert all(event.end - event.start == timedelta(days=1) for event in whole)
    said = "By today it should be clearly better. If it is not, call us."
    assert str(whole[-1]["DESCRIPTION"]) == f"{said} Our number is on your sheet."
    without = read(calendar_bytes(replace(sheet, clinic=replace(sheet.clinic, phone=""))))
    assert str(without[-1]["DESCRIPTION"]) == said


SAYS = re.compile(
    r"Home care( before training| after training)?, (\d+ to )?\d+ minutes?|Clinic visit|Home care: is it better\?|"
    r"Your drills are on your sheet or phone page\.|"
    r"By today it should be clearly better\. If it is not, call us\.( Our number is on your sheet\.)?"
)


@pytest.mark.parametrize("name", PLANNED)
def test_it_says_nothing_of_anybody(name: str) -> None:
    sheet = fixtures()[name]
    content = calendar_bytes(sheet)
    for event in read(content):
        assert set(event) <= {
            *("SUMMARY", "DESCRIPTION", "DTSTART", "DURATION", "RRULE", "EXDATE", "UID", "DTSTAMP", "CLASS", "TRANSP")
        }
        assert event["CLASS"] == "PRIVATE"
        assert SAYS.fullmatch(str(event["SUMMARY"]))
        assert SAYS.fullmatch(str(event.get("DESCRIPTION", "Clinic visit")))
    # Whoever it is for and whatever was found: the same plan is the same file, names of the events and all.
    other = replace(
        sheet,
        athlete="Somebody Else",
        prepared_by="Nobody",
        findings=("Left calf: tight.",),
        candidates=(),
        symptoms=(),
        refer=None,
        clinic=replace(sheet.clinic, name="Another", address="Elsewhere"),
        drills=tuple(replace(one, text=replace(one.text, name="X"), text_hash="f" * 64) for one in sheet.drills),
        words=replace(sheet.words, for_="Something."),
    )
    assert calendar_bytes(other) == content


@pytest.mark.parametrize("zone", ["UTC", "Pacific/Kiritimati", "Pacific/Pago_Pago", "America/New_York"])
def test_it_is_the_same_in_every_time_zone(zone: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """A date without a time zone stays that date, over the change of the clocks too (29 March 2026)."""
    here = calendar_bytes(make_sheet(5, 84))
    monkeypatch.setitem(os.environ, "TZ", zone)
    clock.tzset()
    try:
        assert calendar_bytes(make_sheet(5, 84)) == here
        events = read(here)
    finally:
        monkeypatch.undo()
        clock.tzset()
    assert {type(event.start) for event in events} == {date, datetime}
    for event in events:
        assert not isinstance(event.start, datetime) or event.start.tzinfo is None
        assert event.stamp == datetime(2026, 3, 2, tzinfo=UTC)
    assert b"TZID" not in here
    assert re.findall(rb"\d{6}Z", here) == [b"000000Z"] * len(events)


def test_other_days_have_other_names() -> None:
    names = [
        {block["UID"] for block in blocks(calendar_bytes(sheet))}
        for sheet in (make_sheet(5, 14), make_sheet(5, 13), make_sheet(5, 14, start=date(2026, 3, 3)))
    ]
    assert not names[0] & names[1]
    assert not names[0] & names[2]


@pytest.mark.parametrize("name", ["refer_now", "nothing", "no_room"])
def test_without_a_plan_there_is_none(name: str) -> None:
    assert calendar_bytes(fixtures()[name]) == b""
    assert calendar_uri(fixtures()[name]) == ""


def test_the_link_carries_the_file() -> None:
    sheet = make_sheet(5)
    head, _, content = calendar_uri(sheet).partition(",")
    assert head == "data:text/calendar;charset=utf-8;base64"
    assert base64.b64decode(content, validate=True) == calendar_bytes(sheet)
