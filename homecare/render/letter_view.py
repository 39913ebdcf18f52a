"""The referral letter in words: what was measured, and the course of home care so far."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from homecare.core.atlas import Side
from homecare.core.course_types import Course, Given
from homecare.core.plain import listed
from homecare.core.sheet import MarkerLine, Sheet
from homecare.render.dose_words import MONTHS, day_words, range_words

RATINGS_A_ROW, LARGE_RATINGS_A_ROW = 10, 6
MOST_RATINGS = 20
"""Ratings that a letter of one page shows one by one, the latest (common practice)."""

CHANGE_WORDS: Mapping[str, str] = {"up": "one step up", "hold": "same step", "down": "one step down", "off": "stopped"}
RESPONSE_WORDS: Mapping[str, str] = {
    "settled": "settled",
    "sore": "sore, normal by the next morning",
    "worse": "worse",
    "": "response not told",
}


@dataclass(frozen=True)
class CourseWords:
    """The course as the letter shows it; `rating_rows` hold a date and a number for each rating."""

    since: str
    symptoms: tuple[str, ...]
    given: tuple[tuple[str, str], ...]
    ratings: str
    rating_rows: tuple[tuple[tuple[str, str], ...], ...]


@dataclass(frozen=True)
class Letter:
    """What the letter to the doctor says beyond the sheet's own lines."""

    markers: tuple[str, ...]
    course: CourseWords | None
    plan: str


def letter_view(sheet: Sheet, large: bool) -> Letter:
    """The letter of a sheet that refers."""
    width = LARGE_RATINGS_A_ROW if large else RATINGS_A_ROW
    course = None if sheet.course is None else _course(sheet.course, width)
    return Letter(tuple(map(_marker, sheet.markers)), course, _plan(sheet))


def _plan(sheet: Sheet) -> str:
    """What was given today."""
    if not sheet.drills or (sheet.refer is not None and sheet.refer.urgency == "now"):
        stopped = sheet.course is not None and bool(sheet.course.given)
        more = " Those above are stopped until a doctor has seen the athlete." if stopped else ""
        return f"No home drills were given.{more}"
    drills = listed([called(drill.text.name, drill.side) for drill in sheet.drills], joint="and")
    end = f" until {day_words(sheet.days[-1].date, weekday=False, year=True)}" if sheet.days else ""
    return f"Home drills given today{end}: {drills}. What the sign rules out was left off."


def called(name: str, side: Side) -> str:
    """A name with its side behind it in brackets."""
    return name if side == "none" else f"{name} ({'both sides' if side == 'both' else side})"


def _marker(one: MarkerLine) -> str:
    values = [
        f"{label} {value:g} {one.unit}".strip()
        for label, value in (
            ("last visit after treatment", one.last),
            ("today before treatment", one.before),
            ("after treatment", one.after),
        )
        if value is not None
    ]
    return f"{called(one.name, one.side)}: {', '.join(values) or 'not measured'}; {one.says}."


def _course(course: Course, width: int) -> CourseWords:
    return CourseWords(
        since=range_words(course.since, course.until, weekday=False),
        symptoms=course.symptoms,
        given=tuple((called(one.name, one.side), _given(one)) for one in course.given),
        ratings=ratings_words(course.ratings),
        rating_rows=rating_rows(course.ratings, width),
    )


def _given(one: Given) -> str:
    """What one drill was and did: dates, how much of it was done, how it responded, what became of it and why."""
    if one.first is None or one.last is None:
        return f"no day of it came before this visit; {CHANGE_WORDS[one.change]}"
    done = (
        f"done {one.done} of {one.boxes} times" if one.done is not None else f"{one.boxes} times asked, done not told"
    )
    because = f" ({one.because})" if one.because else ""
    return (
        f"{range_words(one.first, one.last, weekday=False)}, {done}; {RESPONSE_WORDS[one.response]}; "
        f"{CHANGE_WORDS[one.change]}{because}"
    )


def ratings_words(ratings: Sequence[tuple[date, float]]) -> str:
    """The ratings in a sentence: the first, the highest and the last, with their dates."""
    if not ratings:
        return ""
    if len(ratings) == 1:
        ((day, value),) = ratings
        return f"Rated {value:g} of 10 on {day_words(day, weekday=False)}."
    (first_day, first), (last_day, last) = ratings[0], ratings[-1]
    high_day, high = max(ratings, key=lambda one: one[1])
    shown = f"; the last {MOST_RATINGS} are shown" if len(ratings) > MOST_RATINGS else ""
    return (
        f"{len(ratings)} ratings from 0 to 10: {first:g} on {day_words(first_day, weekday=False)}, at most {high:g} on "
        f"{day_words(high_day, weekday=False)}, {last:g} on {day_words(last_day, weekday=False)}{shown}."
    )


def rating_rows(ratings: Sequence[tuple[date, float]], width: int) -> tuple[tuple[tuple[str, str], ...], ...]:
    """The latest of several ratings as rows of dates and numbers, at most `width` a row."""
    shown = ratings[-MOST_RATINGS:] if len(ratings) > 1 else ()
    return tuple(tuple((_short(day), f"{value:g}") for day, value in row) for row in _even(shown, width))


def _even(ratings: Sequence[tuple[date, float]], width: int) -> list[Sequence[tuple[date, float]]]:
    """Ratings in as few rows as hold them, all about as long."""
    if not ratings:
        return []
    long = -(-len(ratings) // -(-len(ratings) // width))
    return [ratings[at : at + long] for at in range(0, len(ratings), long)]


def _short(day: date) -> str:
    return f"{day.day} {MONTHS[day.month - 1][:3]}"
