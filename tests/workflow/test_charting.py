"""The charts of a course: what is drawn, where it lies, and that words and tables say the same."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from itertools import pairwise
from xml.etree import ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as st

from homecare.core.charting import charts, neat_ticks
from homecare.core.drill import Rung
from homecare.core.findings import LastSheet
from homecare.core.history import (
    CameBack,
    PastDay,
    PastDrill,
    PastItem,
    PastPlan,
    PastSheet,
    PastSlip,
    PastVisit,
    dose_courses,
)
from homecare.core.sheet import Clinic, MarkerLine, Refer, SymptomLine
from homecare.core.whole_course import whole_course
from homecare.render.chart_svg import HEIGHT, INSET, LEFT, RIGHT, TOP, WIDTH, chart_view
from homecare.render.course_letter import course_letter_html, course_letter_pdf
from homecare.render.pdf_pages import count_pages

START = date(2026, 3, 2)
RUNGS = tuple(Rung(1, reps) for reps in (8, 10, 12))
AT = datetime(2026, 3, 2, 9, tzinfo=UTC)


def drill(id: str) -> PastDrill:
    return PastDrill(id, id.title(), "left", "stretch", RUNGS, 0, ("A finding.",))


def days(start: date, plan: dict[str, str]) -> tuple[PastDay, ...]:
    """`plan` gives each drill's rung for every day in turn, a dash for none."""
    count = max(map(len, plan.values()), default=0)
    return tuple(
        PastDay(
            start + timedelta(number),
            tuple(
                PastItem(id, int(rungs[number]), RUNGS[int(rungs[number])], 2)
                for id, rungs in plan.items()
                if rungs[number] != "-"
            ),
        )
        for number in range(count)
    )


def visit(number: int, start: date, plan: dict[str, str], now: float | None = None, **more: object) -> PastVisit:
    symptoms = (SymptomLine("tingling", ("digit_1",), "right", "moderate", now),) if now is not None else ()
    markers = (MarkerLine("knee_to_wall", "Knee to wall", "cm", "left", 7.0 + number, 9.0, None, "held"),)
    issued = PastPlan(
        start, start, "Solveig R.", (), symptoms, tuple(map(drill, plan)), days(start, plan), (), markers, None
    )
    return PastVisit(f"v{number}", start, "", (PastSheet(f"s{number}", AT, issued, **more),))  # type: ignore[arg-type]


def back(day: date, **told: object) -> CameBack:
    return CameBack(day, None, LastSheet("s", told.get("done", {}), told.get("response", {}), told.get("ratings", ())))  # type: ignore[arg-type]


def steps(visits: list[PastVisit]) -> dict[str, list[list[tuple[int, int, int]]]]:
    """Each drill's stretches as (first day, last day, rung), days counted from START."""
    return {
        one.drill.id: [
            [((step.first - START).days, (step.last - START).days, step.rung) for step in run] for run in one.stretches
        ]
        for one in dose_courses(visits)
    }


def test_a_dose_goes_on_over_sheets_and_breaks_where_one_is_without_it() -> None:
    visits = [
        visit(0, START, {"calf": "00-11", "arm": "0-0-0"}),
        visit(1, START + timedelta(3), {"calf": "112"}),
        visit(2, START + timedelta(6), {"arm": "1"}),
    ]
    # The first sheet holds until the second begins, on day 3.
    assert steps(visits) == {"calf": [[(0, 1, 1), (3, 4, 2), (5, 5, 3)]], "arm": [[(0, 2, 1)], [(6, 6, 2)]]}


def test_a_slip_holds_from_its_day_on() -> None:
    slip = PastSlip("p", START + timedelta(2), AT, (), (drill("arm"),), days(START + timedelta(2), {"arm": "22"}))
    assert steps([visit(0, START, {"calf": "0000"}, slips=(slip,))]) == {"calf": [[(0, 1, 1)]], "arm": [[(2, 3, 3)]]}


def test_every_chart_is_drawn_with_words_and_a_table_that_say_the_same() -> None:
    told = back(START + timedelta(2), ratings=((START, 5.0), (START + timedelta(1), 2.0)))
    visits = [visit(0, START, {"calf": "00-11"}, 6, back=(told,)), visit(1, START + timedelta(5), {"calf": "1"}, 3)]
    felt, marker, dose = map(chart_view, charts(visits))
    assert felt.rows == (
        ("2 March", "5", "6"),
        ("3 March", "2", "–"),
        ("7 March", "–", "3"),
    )
    assert "5 on 2 March then 2 on 3 March" in felt.says
    assert marker.title == "Knee to wall, left"
    assert marker.says == "2 March: before 7 cm, after 9 cm. 7 March: before 8 cm, after 9 cm."
    assert dose.says == "Step 1 from 2 March then step 2 from 5 March, last planned on 7 March."
    assert dose.rows == (("1", "8 times", "2 March", "3 March"), ("2", "10 times", "5 March", "7 March"))
    for one in (felt, marker, dose):
        root = ElementTree.fromstring(str(one.svg))
        assert root.attrib["aria-label"] == f"{one.title}. {one.says}"
        assert "style" not in str(one.svg)
        colours = {part.attrib[key] for part in root.iter() for key in ("fill", "stroke") if key in part.attrib}
        assert colours <= {"currentColor", "none"}


def test_marks_lie_where_their_values_are() -> None:
    (chart,) = [
        one for one in charts([visit(0, START, {}, 0), visit(1, START + timedelta(10), {}, 10)]) if one.kind == "rating"
    ]
    svg = str(chart_view(chart).svg)
    squares = re.findall(r'<rect class="hole" x="([\d.]+)" y="([\d.]+)" width="([\d.]+)"', svg)
    middles = [(float(x) + float(side) / 2, float(y) + float(side) / 2) for x, y, side in squares]
    bottom = HEIGHT - 24
    assert middles == [(LEFT + INSET, bottom), (WIDTH - RIGHT - INSET, TOP)]


def test_nothing_told_draws_nothing() -> None:
    assert charts([]) == ()
    assert [one.kind for one in charts([visit(0, START, {})])] == ["marker"]


@given(st.floats(-500, 500), st.floats(0, 400))
def test_ticks_hold_the_values_and_are_few_and_even(low: float, wide: float) -> None:
    ticks = neat_ticks(low, low + wide)
    assert ticks[0] <= low + 1e-6
    assert ticks[-1] >= low + wide - 1e-6
    assert 2 <= len(ticks) <= 5
    gaps = {round(after - before, 6) for before, after in pairwise(ticks)}
    assert len(gaps) == 1


@pytest.mark.parametrize(
    ("low", "high", "ticks"),
    [(7, 10, (7, 8, 9, 10)), (42, 58, (40, 45, 50, 55, 60)), (9, 9, (8, 8.5, 9, 9.5, 10)), (0, 0, (0, 0.2, 0.4, 0.6))],
)
def test_ticks_are_round(low: float, high: float, ticks: tuple[float, ...]) -> None:
    assert neat_ticks(low, high) == ticks


def test_the_whole_course_counts_what_was_told_and_says_how_each_drill_ended() -> None:
    first = back(START + timedelta(5), done={"calf": 3, "arm": 9}, response={"calf": "sore"})
    second = back(START + timedelta(10), done={"calf": 2}, response={"calf": "settled"})
    visits = [
        visit(0, START, {"calf": "00000", "arm": "00000"}, back=(first,)),
        visit(1, START + timedelta(5), {"calf": "11111"}, back=(second,)),
        visit(2, START + timedelta(10), {"calf": "2"}),
    ]
    course = whole_course(visits)
    assert course is not None
    calf, arm = course.drills
    assert (calf.done, calf.told_boxes, calf.boxes, calf.ended) == (5, 20, 20, None)
    assert [word for _, word in calf.responses] == ["sore", "settled"]
    assert (arm.done, arm.boxes) == (9, 10)
    assert arm.ended == (START + timedelta(5), "taken off")
    assert whole_course(visits[:1]) is None


def test_a_long_course_stays_a_letter_of_one_page() -> None:
    told = {f"d{number}": "settled" for number in range(3)}
    visits = [
        visit(
            number,
            START + timedelta(7 * number),
            {f"d{(number + more) % 14}": "0011222" for more in range(4)} | {"d0": "0011222"},
            back=(back(START + timedelta(7 * number + 6), done={"d0": 3}, response=told),),
        )
        for number in range(30)
    ]
    sheet = visits[-1].sheets[0]
    refer = Refer("soon", ("Constant night pain.",), ())
    visits[-1] = replace(visits[-1], sheets=(replace(sheet, plan=replace(sheet.plan, refer=refer)),))
    html = course_letter_html(visits, Clinic(name="Brook Lane"))
    assert "<b>Before:</b> 6 other drills, the last of them on" in html
    assert "first 2 March 7 to 9; the latest of 30: " in html
    assert "settled 29 times; the last, on" in html
    assert count_pages(course_letter_pdf(visits, Clinic())) == 1


def test_a_chart_spans_all_its_visits() -> None:
    visits = [visit(0, START, {"calf": "0"}), visit(1, START + timedelta(30), {"arm": "0"})]
    assert {one.span[0] for one in charts(visits)} == {START}
    assert all(one.span[1] >= visits[1].day for one in charts(visits))
