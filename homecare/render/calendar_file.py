"""The plan's times as a calendar file (RFC 5545) that says nothing of the athlete, the findings or the drills."""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from math import gcd

from icalendar import Calendar, Event

from homecare.core.drill import PARTS, Part
from homecare.core.plain import minutes_words
from homecare.core.sheet import Day, Sheet

CLOCK: Mapping[Part, str] = {"morning": "07:30", "before": "17:00", "after": "18:30", "evening": "21:00"}
"""When a part of the day begins where the clinic's own clock does not say (common practice)."""

PRODUCT = "-//Home care//Plan of a sheet//EN"
SUMMARY: Mapping[Part, str] = {
    "morning": "Home care",
    "before": "Home care before training",
    "after": "Home care after training",
    "evening": "Home care",
}
WHERE = "Your drills are on your sheet or phone page."
VISIT = "Clinic visit"
REVIEW = "Home care: is it better?"
REVIEW_WORDS = "By today it should be clearly better. If it is not, call us."
NUMBER = "Our number is on your sheet."
_WEEKDAYS = ("MO", "TU", "WE", "TH", "FR", "SA", "SU")


@dataclass(frozen=True)
class Series:
    """One part of the day over the whole sheet: its dates in order, and the seconds that it takes on each."""

    part: Part
    dates: tuple[date, ...]
    seconds: tuple[int, ...]


@dataclass(frozen=True)
class Rule:
    """A recurrence: `fields` as RRULE has them (none for a single date), and the dates that it makes too many."""

    fields: Mapping[str, object]
    without: tuple[date, ...]


def calendar_bytes(sheet: Sheet) -> bytes:
    """The calendar file of a sheet, its times floating: the clinic's clock wherever the athlete is; b"" without a plan.

    Each part of the day is one event that repeats, so that moving it once moves it for good.
    """
    found = tuple(series(sheet))
    if not found:
        return b""
    visits = tuple(day.date for day in sheet.days if day.visit and day.date > sheet.start)
    events = [_part_event(one, sheet) for one in found]
    events += [_whole_day(one, VISIT) for one in visits]
    review = (REVIEW_WORDS, NUMBER) if sheet.clinic.phone else (REVIEW_WORDS,)
    events.append(_whole_day(sheet.review_by, REVIEW, " ".join(review)))
    # The name of an event is a hash of nothing but what the calendar says anyway.
    said = b"".join(event.to_ical() for event in events)
    calendar = Calendar({"prodid": PRODUCT, "version": "2.0"})
    for number, event in enumerate(events, 1):
        event.add("uid", f"{hashlib.sha256(said).hexdigest()[:32]}-{number}")
        event.add("dtstamp", datetime.combine(sheet.start, time(), UTC))
        event.add("class", "PRIVATE")
        calendar.add_component(event)
    content: bytes = calendar.to_ical()
    return content


def calendar_uri(sheet: Sheet) -> str:
    """The calendar file as an address that a link can carry; '' without a plan."""
    content = calendar_bytes(sheet)
    return f"data:text/calendar;charset=utf-8;base64,{base64.b64encode(content).decode()}" if content else ""


def series(sheet: Sheet) -> Iterable[Series]:
    """The parts of the day that the plan uses, in their order."""
    for part in PARTS:
        takes = {day.date: _seconds(day, part, sheet.planner.transition_s) for day in sheet.days}
        dates = tuple(day for day, seconds in takes.items() if seconds)
        if dates:
            yield Series(part, dates, tuple(takes[day] for day in dates))


def rule(dates: Sequence[date]) -> Rule:
    """The recurrence with the fewest exceptions that makes these dates (in order): every so many days, or weekly.

    No list of RDATE: a calendar program in wide use drops an event that has one without an RRULE.
    """
    first, last = dates[0], dates[-1]
    if first == last:
        return Rule({}, ())
    span = [first + timedelta(days=number) for number in range((last - first).days + 1)]
    step = gcd(*((one - first).days for one in dates))
    weekdays = sorted({one.weekday() for one in dates})
    daily: dict[str, object] = {"freq": "DAILY"} | ({"interval": step} if step > 1 else {})
    weekly: dict[str, object] = {"freq": "WEEKLY", "byday": [_WEEKDAYS[one] for one in weekdays]}
    made = ((daily, span[::step]), (weekly, [one for one in span if one.weekday() in weekdays]))
    fields, every = min(made, key=lambda one: len(one[1]))
    return Rule(fields | {"count": len(every)}, tuple(one for one in every if one not in set(dates)))


def _seconds(day: Day, part: Part, transition_s: int) -> int:
    """What a part of a day takes, changes from drill to drill included, at least 1; 0 when it has nothing to do."""
    times = sum(item.parts.count(part) for item in day.items)
    work = sum(item.seconds * item.parts.count(part) // item.times for item in day.items)
    return max(1, work + (times - 1) * transition_s) if times else 0


def _part_event(one: Series, sheet: Sheet) -> Event:
    clock = sheet.clinic.clock or {}
    hour, minute = (clock.get(one.part) or CLOCK[one.part]).split(":")
    at = time(int(hour), int(minute))
    recurs = rule(one.dates)
    event = Event()
    event.add("summary", f"{SUMMARY[one.part]}, {minutes_words(one.seconds)}")
    event.add("description", WHERE)
    event.add("dtstart", datetime.combine(one.dates[0], at))
    event.add("duration", timedelta(minutes=-(-max(one.seconds) // 60)))
    if recurs.fields:
        event.add("rrule", recurs.fields)
    if recurs.without:
        event.add("exdate", [datetime.combine(day, at) for day in recurs.without])
    return event


def _whole_day(day: date, summary: str, description: str = "") -> Event:
    """A day's mark that takes no time of it (a DATE without an end is that one day, RFC 5545 3.6.1)."""
    event = Event()
    event.add("summary", summary)
    if description:
        event.add("description", description)
    event.add("dtstart", day)
    event.add("transp", "TRANSPARENT")
    return event
