"""What nobody said is not printed: a training week that was not told, and codes with no web address to open."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest

from homecare.core.sheet import Clinic, Sheet
from homecare.library.load import Library
from homecare.render.calendar_file import calendar_bytes
from homecare.render.past_read import read_past_plan
from homecare.render.phone_file import phone_html
from homecare.render.plan_json import plan_bytes
from homecare.render.print_view import sheet_html, sheet_pdf
from homecare.render.slip_view import slip_html, slip_pdf
from homecare.workflow import visit_sheet
from tests.render.pages import codes, letters, page_texts, squeeze
from tests.render.sheets import CLINIC, make_sheet
from tests.render.test_slip import cases, swapped

VISIT = "{athlete: Rowan K., start: 2026-03-02, findings: [{tissue: calf, side: left, found: tight}]}"
NO_WEB = replace(CLINIC, web="")


def _untold() -> Sheet:
    """Fourteen days of which nobody said what is trained: easy, as `week` among the defaults says."""
    sheet = make_sheet(5, 14)
    days = tuple(replace(day, training="easy") for day in sheet.days)
    return replace(sheet, days=days, defaults={"week": "easy"})


def test_a_week_that_nobody_told_is_no_easy_one() -> None:
    untold = _untold()
    assert "easy" in sheet_html(replace(untold, defaults={}))
    assert "an easy day" in phone_html(replace(untold, defaults={}))
    assert "easy" not in sheet_html(untold)
    assert "easy day" not in phone_html(untold)
    assert b"easy" not in calendar_bytes(untold)
    assert sheet_html(untold).count(">visit<") == 2
    assert ">event<" in sheet_html(untold)
    assert {day["training"] for day in json.loads(plan_bytes(untold))["days"]} == {"easy"}


def test_days_without_training_stand_on_one_line_with_their_week() -> None:
    bare = replace(_untold(), days=tuple(replace(day, visit=False, event=False) for day in _untold().days))
    front = [letter for letter in letters(sheet_pdf(bare)) if letter.page == 0]
    at = "".join(letter.text for letter in front).index("Week1Mon2Tue3")
    week, day = front[at + 3], front[at + 5 + 2]  # the k and the n stand on the line
    assert week.text == "k"
    assert day.text == "n"
    assert week.bottom == pytest.approx(day.bottom, abs=0.3)


def test_without_a_web_address_no_code_is_printed_and_nothing_else_is_lost() -> None:
    with_codes, without = (make_sheet(6, 14, clinic=clinic) for clinic in (CLINIC, NO_WEB))
    for large in (False, True):
        pdf = sheet_pdf(without, large=large)
        text = "".join(page_texts(pdf))
        assert codes(pdf, 150) == []
        for word in ("homecare", "Onaphone", "scan"):
            assert word not in text
        for drill in with_codes.drills:
            for sentence in (drill.text.name, drill.text.part, *drill.text.steps, drill.text.stop_if):
                assert squeeze(sentence) in text
    assert len(page_texts(sheet_pdf(without))) == 2
    assert len(codes(sheet_pdf(with_codes), 150)) == 7


def test_where_only_the_clinic_has_the_pages_the_words_say_so() -> None:
    local = make_sheet(6, 14, clinic=replace(CLINIC, web=Clinic.web))
    pdf = sheet_pdf(local)
    text = page_texts(pdf)[0]
    assert len(codes(pdf, 150)) == 7
    assert "Onaphone,intheclinic:" in text
    assert "intheclinic" not in page_texts(sheet_pdf(make_sheet(6, 14)))[0]


def test_the_command_s_codes_open_in_the_clinic_where_nothing_else_is_said(lib: Library) -> None:
    files = visit_sheet(VISIT, "visit", lib, Clinic(), lambda last: ())
    read = codes(files.pdf, 150)
    assert len(read) == 1 + len(files.sheet.drills)
    assert all(code.text.startswith(f"{Clinic.web.upper()}/") for code in read)


def test_a_slip_without_a_web_address_says_whom_to_ask() -> None:
    slip = swapped(make_sheet(5, 14, clinic=NO_WEB))
    html = slip_html(slip)
    assert 'class="code"' not in html
    assert "scan" not in html
    assert "homecare" not in html
    assert "Ifyouusethephonepage,askusforthenewone." in page_texts(slip_pdf(slip))[0]
    assert "ask us for the new one" not in slip_html(cases()["new"])


def test_an_issued_sheet_without_a_web_address_has_no_link() -> None:
    assert read_past_plan(plan_bytes(make_sheet(2, 7, clinic=NO_WEB))).link == ""
    assert read_past_plan(plan_bytes(make_sheet(2, 7))).link.startswith("HTTPS://")
