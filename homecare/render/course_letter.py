"""The referral letter with the course over all visits, made from what was issued and what came back."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date
from itertools import groupby

from homecare.core.history import PastVisit, ratings_of
from homecare.core.plain import listed
from homecare.core.sheet import Clinic
from homecare.core.whole_course import DrillCourse, WholeCourse, whole_course
from homecare.render.assets import environment
from homecare.render.dose_words import day_words, range_words
from homecare.render.letter_view import RATINGS_A_ROW, RESPONSE_WORDS, called, rating_rows, ratings_words
from homecare.render.press import printed

MOST_DRILLS, MOST_DATES, MOST_TOLD = 8, 4, 3
"""Drills, dates of one measure, and responses of one drill that a letter of one page tells singly (common practice)."""


def course_letter_pdf(visits: Sequence[PastVisit], clinic: Clinic) -> bytes:
    """The letter of the last of the visits as PDF/UA-1, the same bytes for the same records; b"" where none is due.

    One page, set close where it must be; more where even that does not hold the course.
    """
    if not visits or visits[-1].sheet is None or visits[-1].sheet.plan.refer is None:
        return b""
    return printed(course_letter_html(visits, clinic), clinic.paper)


def course_letter_html(visits: Sequence[PastVisit], clinic: Clinic) -> str:
    """The same letter as HTML; raises ValueError where none is due."""
    sheet = visits[-1].sheet
    if sheet is None or sheet.plan.refer is None:
        raise ValueError("nothing is referred")
    plan, course = sheet.plan, whole_course(visits)
    ratings = ratings_of(visits)
    titled = (("Found and tested at this visit", plan.findings), ("Measured", tuple(_markers(visits))))
    return (
        environment()
        .get_template("print/course_letter.html")
        .render(
            clinic=clinic,
            logo=clinic.logo if clinic.logo.startswith("data:image/") else "",
            athlete=plan.athlete,
            prepared_by=plan.prepared_by,
            refer=plan.refer,
            created=plan.start.isoformat(),
            day=day_words(plan.start, weekday=False, year=True),
            parts_of_letter=[(title, lines) for title, lines in titled if lines],
            since=range_words(course.since, course.until, weekday=False) if course else "",
            drills=_drills(course) if course else (),
            ratings=ratings_words(ratings),
            rating_rows=rating_rows(ratings, RATINGS_A_ROW),
            plan=_plan(visits, course),
        )
    )


def _markers(visits: Sequence[PastVisit]) -> Iterable[str]:
    """Each measure by the dates on which it was taken."""
    year = visits[0].day.year != visits[-1].day.year
    lines = [(visit.day, one) for visit in visits if visit.sheet for one in visit.sheet.plan.markers]
    for test, side in dict.fromkeys((one.test, one.side) for _, one in lines):
        own = [(day, one) for day, one in lines if (one.test, one.side) == (test, side)]
        values = [
            f"{_day(day, year)} {' to '.join(f'{value:g}' for value in (one.before, one.after) if value is not None)}"
            for day, one in own
            if one.before is not None or one.after is not None
        ]
        if len(values) > MOST_DATES:
            values = [
                f"first {values[0]}",
                f"the latest of {len(values)}: {values[1 - MOST_DATES]}",
                *values[2 - MOST_DATES :],
            ]
        unit = f" ({own[-1][1].unit}, before to after treatment)"
        yield f"{called(own[-1][1].name, side)}: {'; '.join(values) or 'not measured'}{unit if values else ''}."


def _drills(course: WholeCourse) -> tuple[tuple[str, str], ...]:
    """The drills that were done last, in the order in which they were given; of those before, how many there were."""
    year = course.since.year != course.until.year
    latest = sorted(course.drills, key=lambda one: one.last)[-MOST_DRILLS:]
    said = [(called(one.drill.name, one.drill.side), _said(one, year)) for one in course.drills if one in latest]
    before = [one.last for one in course.drills if one not in latest]
    if before:
        others = f"{len(before)} other drill{'s' if len(before) > 1 else ''}, the last of them on"
        said.insert(0, ("Before", f"{others} {_day(max(before), year)}."))
    return tuple(said)


def _said(one: DrillCourse, year: bool) -> str:
    """What one drill was and did over all sheets; dates with their `year` where there is more than one."""
    done = f"{one.boxes} times asked, done not told"
    if one.done is not None:
        more = f", {one.boxes - one.told_boxes} more asked and not told" if one.boxes > one.told_boxes else ""
        done = f"done {one.done} of {one.told_boxes} times{more}"
    end = "goes on"
    if one.ended:
        day, because = one.ended
        end = f"stopped on {_day(day, year)} ({because})"
    return "; ".join((f"{range_words(one.first, one.last, weekday=False)}, {done}", _responses(one, year), end)) + "."


def _responses(one: DrillCourse, year: bool) -> str:
    """Few responses by their dates; many by how often each was told, and the last."""
    if not one.responses:
        return RESPONSE_WORDS[""]
    if len(one.responses) > MOST_TOLD:
        words = [word for _, word in one.responses]
        counts = listed(f"{word} {words.count(word)} times" for word in dict.fromkeys(words)).replace(
            " 1 times", " once"
        )
        day, word = one.responses[-1]
        return f"{counts}; the last, on {_day(day, year)}, {word}"
    return listed(
        f"{RESPONSE_WORDS[word]} by {listed(_day(day, year) for day, _ in told)}"
        for word, told in groupby(one.responses, key=lambda told: told[1])
    )


def _plan(visits: Sequence[PastVisit], course: WholeCourse | None) -> str:
    """What was given at the last visit."""
    sheet = visits[-1].sheet
    if sheet is None or not sheet.plan.drills:
        more = " Those above are stopped until a doctor has seen the athlete." if course else ""
        return f"No home drills were given.{more}"
    names = listed([called(one.name, one.side) for one in sheet.plan.drills], joint="and")
    until = day_words(sheet.plan.last, weekday=False, year=True)
    return f"Home drills given today until {until}: {names}. What the sign rules out was left off."


def _day(day: date, year: bool) -> str:
    return day_words(day, weekday=False, year=year)
