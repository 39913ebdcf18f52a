"""The letter to a doctor: one page, what was found, the course so far by its numbers, and no diagnosis."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import pytest

from homecare.core.course import course_so_far
from homecare.core.course_types import Course, Given
from homecare.core.sheet import MarkerLine, Refer, Sheet
from homecare.library.load import Library
from homecare.render.letter_view import MOST_RATINGS, letter_view
from homecare.render.plan_json import plan_bytes
from homecare.render.plan_read import read_plan
from homecare.render.press import Paper
from homecare.render.print_view import sheet_html, sheet_pdf
from homecare.workflow.assembling import build_sheet
from tests.helpers import visit_of
from tests.render.pages import collisions, letters, page_texts, squeeze
from tests.render.sheets import CLINIC, REFER_NOW, REFER_SOON, START, make_sheet

PAPERS: tuple[Paper, ...] = ("a4", "letter")
MONDAY = date(2026, 9, 7)
"""The day of the short visits."""
FIRST = "{symptom: tingling, zones: [digit_5], side: left}\n{tissue: soleus, side: right, found: tight}"
TOLD = (
    "last: {plan: plan.json, done: {ulnar_slider: 9}, response: {ulnar_slider: worse, bent_knee_raise: settled}, "
    "ratings: [[2026-09-08, 4], [2026-09-10, 6.5], [2026-09-13, 3]]}\n"
)


def given(number: int, **changes: Any) -> Given:
    """An invented drill of the last sheet."""
    one = Given(
        drill=f"drill_{number}",
        name=f"Calf on the step {number}",
        side="left",
        first=START - timedelta(days=14),
        last=START - timedelta(days=1),
        days=10,
        boxes=20,
        done=15,
        response="sore",
        change="hold",
        because="sore but back to normal by next morning, so the dose stays",
    )
    return replace(one, **changes)


def course(drills: int, ratings: int) -> Course:
    """An invented course with so many drills and ratings, the highest rating in the middle."""
    days = [START - timedelta(days=ratings - number) for number in range(ratings)]
    values = [4.0 + (number == ratings // 2) * 3 for number in range(ratings)]
    return Course(
        since=START - timedelta(days=14),
        until=START,
        symptoms=("tingling, right: thumb and index finger",),
        given=tuple(given(number) for number in range(drills)),
        ratings=tuple(zip(days, values, strict=True)),
    )


def referred(refer: Refer, told: Course | None, **changes: Any) -> Sheet:
    """A sheet that refers, with a course."""
    if refer.urgency == "now":
        changes |= {"days": (), "drills": (), "sheet_link": ""}
    return replace(make_sheet(4, 14, refer=refer), course=told, **changes)


def letter_of(sheet: Sheet, paper: Paper = "a4") -> list[str]:
    """The pages of the letter, squeezed."""
    pages = page_texts(sheet_pdf(sheet, paper))
    first = next(number for number, page in enumerate(pages) if "Referral:" in page)
    return pages[first:]


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("refer", [REFER_NOW, REFER_SOON], ids=["now", "soon"])
def test_the_letter_is_the_last_page_and_tells_the_course(refer: Refer, paper: Paper) -> None:
    sheet = referred(refer, course(4, 9))
    pages = page_texts(sheet_pdf(sheet, paper))
    assert len(pages) == (2 if refer.urgency == "now" else 3)
    (letter,) = letter_of(sheet, paper)
    assert "Homecaresofar,16Februaryto2March2026" in letter
    assert "Calfonthestep0(left):16Februaryto1March2026,done15of20times;sore" in letter
    assert "samestep(sorebutbacktonormalbynextmorning,sothedosestays)" in letter
    assert "9ratingsfrom0to10:4on21February,atmost7on25February,4on1March." in letter
    assert "Atthestart:tingling,right:thumbandindexfinger" in letter
    assert all(squeeze(line) in letter for line in (*sheet.findings, *refer.because))
    assert "itisnotadiagnosis" in letter
    assert "M.Okafor,LowgateClinic" in letter.partition("notadiagnosis")[2]


def test_who_should_be_seen_soon_has_a_letter_without_a_last_sheet_too() -> None:
    (letter,) = letter_of(referred(REFER_SOON, None))
    assert "Homecaresofar" not in letter
    assert squeeze(REFER_SOON.because[0]) in letter
    assert "Homedrillsgiventoday" in letter


def test_every_rating_stands_in_the_table_with_its_day() -> None:
    html = sheet_html(referred(REFER_SOON, course(1, 13)))
    tables = re.findall(r'<table class="ratings">.*?</table>', html, re.DOTALL)
    heads = [head for table in tables for head in re.findall(r'<th scope="col">([^<]+)<', table)]
    values = [value for table in tables for value in re.findall(r"<td>([\d.]+)</td>", table)]
    ratings = course(1, 13).ratings
    assert heads == [f"{day.day} {day:%b}" for day, _ in ratings]
    assert values == [f"{value:g}" for _, value in ratings]
    assert len(tables) == 2


def test_of_many_ratings_the_last_are_shown_and_that_is_said() -> None:
    words = letter_view(referred(REFER_SOON, course(1, 60)), False).course
    assert words is not None
    assert sum(len(row) for row in words.rating_rows) == MOST_RATINGS
    assert words.ratings.startswith("60 ratings")
    assert f"the last {MOST_RATINGS} are shown" in words.ratings
    alone = letter_view(referred(REFER_SOON, course(1, 1)), False).course
    assert alone is not None
    assert (alone.ratings, alone.rating_rows) == ("Rated 7 of 10 on 1 March.", ())


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("refer", [REFER_NOW, REFER_SOON], ids=["now", "soon"])
def test_a_long_course_stays_on_one_page_with_less_air(refer: Refer, paper: Paper) -> None:
    markers = tuple(
        MarkerLine("m", f"Knee to wall {number}", "cm", "left", 7.5, 9.0, 8.0, "better by 1.5 cm after treatment")
        for number in range(4)
    )
    findings = tuple(f"Right finger-bending muscle of the forearm found tight and tender {n}." for n in range(12))
    sheet = referred(refer, course(6, 30), markers=markers, findings=findings)
    (letter,) = letter_of(sheet, paper)
    assert squeeze(findings[-1]) in letter
    assert "lastvisitaftertreatment8cm,todaybeforetreatment7.5cm,aftertreatment9cm" in letter
    pdf = sheet_pdf(sheet, paper)
    assert min(one.size for one in letters(pdf)) >= 9.99
    assert collisions(pdf) == []


def test_large_print_is_large_in_the_letter_too() -> None:
    pdf = sheet_pdf(referred(REFER_NOW, course(4, 13)), "a4", True)
    assert min(one.size for one in letters(pdf)) >= 15.99
    assert collisions(pdf) == []


def second(lib: Library, screen: str) -> Sheet:
    """A second visit a week on, of an invented skater, that refers."""
    first = build_sheet(visit_of(lib, FIRST), lib, CLINIC, None)
    plan = read_plan(plan_bytes(first), "plan.json")
    visit = visit_of(lib, FIRST, TOLD + screen)
    return build_sheet(replace(visit, start=MONDAY + timedelta(days=7)), lib, CLINIC, plan)


def test_the_course_comes_from_what_was_planned_and_told(lib: Library) -> None:
    first = build_sheet(visit_of(lib, FIRST), lib, CLINIC, None)
    sheet = second(lib, "")
    assert sheet.course is not None
    assert (sheet.course.since, sheet.course.until) == (MONDAY, MONDAY + timedelta(days=7))
    assert [one.drill for one in sheet.course.given] == [drill.id for drill in first.drills]
    (glide,) = [one for one in sheet.course.given if one.drill == "ulnar_slider"]
    days = [day for day in first.days[:7] if any(item.drill == "ulnar_slider" for item in day.items)]
    assert (glide.first, glide.last, glide.days) == (days[0].date, days[-1].date, len(days))
    assert glide.boxes == sum(item.times for day in days for item in day.items if item.drill == "ulnar_slider")
    assert (glide.done, glide.response, glide.change) == (9, "worse", "down")
    assert glide.because == "it got worse: one step back and half as often"
    assert glide.name == lib.drills["ulnar_slider"].name
    assert sheet.course.ratings[1] == (date(2026, 9, 10), 6.5)
    assert sheet.course.symptoms == ("tingling, left: little finger",)


def test_what_a_sign_stops_is_told_so_and_an_urgent_one_stops_all(lib: Library) -> None:
    soon = second(lib, "screen: {flags: [progressive_weakness], decision: refer}\n")
    assert soon.course is not None
    because = {one.drill: one.because for one in soon.course.given}
    assert because["ulnar_slider"] == "the sign that is referred rules it out"
    now = second(lib, "screen: {flags: [saddle_numbness], decision: refer}\n")
    assert now.course is not None
    assert all(one.stopped for one in now.course.given)
    (letter,) = letter_of(now)
    assert "Thoseabovearestoppeduntiladoctorhasseentheathlete." in letter


def test_without_a_last_sheet_there_is_no_course(lib: Library) -> None:
    visit = visit_of(lib, FIRST)
    assert course_so_far(visit, None, (), (), None, {}, lib.atlas.zones) is None
    assert build_sheet(visit, lib, CLINIC, None).course is None


def test_a_drill_that_the_library_has_no_more_is_told_by_its_id(lib: Library) -> None:
    plan = read_plan(plan_bytes(build_sheet(visit_of(lib, FIRST), lib, CLINIC, None)), "plan.json")
    told = course_so_far(visit_of(lib, FIRST, TOLD), plan, (), (), None, {}, {})
    assert told is not None
    assert "ulnar slider" in [one.name for one in told.given]
    assert all(one.first is None for one in told.given)  # the visit is on the plan's first day
    assert told.symptoms == ("tingling, left: digit_5",)
