"""The printed sheet: pages, sizes, codes that read back, the same bytes each time, and nothing lost or overprinted."""

from __future__ import annotations

import hashlib
import logging
import os
import re
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import replace
from functools import lru_cache

import pytest
import zxingcpp
from PIL import ImageFilter, ImageOps

from homecare.core.sheet import Clinic
from homecare.render.press import Paper
from homecare.render.print_view import sheet_html, sheet_pdf
from tests.render.pages import MM, codes, collisions, letters, page_count, page_texts, pictures, size_of, squeeze
from tests.render.sheets import WORDS, fixtures, make_sheet

PAPERS: tuple[Paper, ...] = ("a4", "letter")
WIDTH_MM = {"a4": 210.0, "letter": 215.9}
CASES = [(name, paper, False) for name in fixtures() for paper in PAPERS if name != "fourteen_84"]
CASES += [
    ("fourteen_84", "a4", False),
    ("five", "a4", True),
    ("five", "letter", True),
    ("refer_soon", "a4", True),
    ("refer_now", "a4", True),
]


@lru_cache(maxsize=64)
def _pdf(name: str, paper: Paper = "a4", large: bool = False) -> bytes:
    return sheet_pdf(fixtures()[name], paper, large)


@pytest.fixture(autouse=True)
def _no_warning_from_the_printer() -> Iterator[None]:
    """Whatever the font tools warn of is a fault of the sheet; the printer's own warnings stop it."""
    heard: list[str] = []

    class Ear(logging.Handler):
        def emit(self, record: logging.LogRecord) -> None:
            heard.append(record.getMessage())

    loggers = [logging.getLogger(name) for name in ("fontTools",)]
    ear = Ear(logging.WARNING)
    for logger in loggers:
        logger.addHandler(ear)
    yield
    for logger in loggers:
        logger.removeHandler(ear)
    assert heard == []


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("name", ["five", "six", "rich", "many_steps", "midweek", "bare", "no_room"])
def test_up_to_six_drills_and_14_days_are_one_leaf(name: str, paper: Paper) -> None:
    assert page_count(_pdf(name, paper)) == 2


def test_longer_sheets_flow_on_and_count_their_pages() -> None:
    for name, most in (("three_28", 3), ("fourteen_84", 13)):
        pages = page_texts(_pdf(name))
        assert 1 < len(pages) <= most
        assert all(f"page{number}of{len(pages)}" in text for number, text in enumerate(pages, 1))
    assert page_count(_pdf("nothing")) == 1


def test_words_too_long_for_a_leaf_take_another_page_and_lose_nothing() -> None:
    stop = tuple(f"sign number {number} of a long list of things to look out for" for number in range(40))
    pdf = sheet_pdf(make_sheet(6, 14, words=replace(WORDS, stop_if=stop)))
    pages = page_texts(pdf)
    assert len(pages) > 2
    assert all(squeeze(sign) in "".join(pages) for sign in stop)


@pytest.mark.parametrize(("name", "paper", "large"), CASES)
def test_every_code_reads_back_from_paper(name: str, paper: Paper, large: bool) -> None:
    sheet = fixtures()[name]
    wanted = sorted(
        [drill.link for drill in sheet.drills] + ([sheet.sheet_link] if sheet.sheet_link and sheet.drills else [])
    )
    assert sorted(code.text for code in codes(_pdf(name, paper, large), 150)) == wanted


@pytest.mark.parametrize("paper", PAPERS)
def test_codes_are_as_large_as_they_must_be(paper: Paper) -> None:
    sheet = fixtures()["six"]
    found = codes(_pdf("six", paper), 400)
    assert len(found) == 7
    for code in found:
        assert code.width_mm == pytest.approx(28 if code.text == sheet.sheet_link else 22, abs=0.35)


def test_codes_survive_a_poor_copy() -> None:
    read = set()
    for picture in pictures(_pdf("six"), 150):
        copy = ImageOps.grayscale(picture).rotate(2, fillcolor=255, expand=True).filter(ImageFilter.GaussianBlur(1))
        read |= {code.text for code in zxingcpp.read_barcodes(copy.point(lambda value: min(255, value + 30)))}
    assert len(read) == 7


@pytest.mark.parametrize(("name", "paper", "large"), CASES)
def test_no_letter_is_smaller_than_it_may_be_or_off_the_paper_or_overprinted(
    name: str, paper: Paper, large: bool
) -> None:
    pdf = _pdf(name, paper, large)
    found = letters(pdf)
    assert min(letter.size for letter in found) >= (16 if large else 10) - 0.01
    assert min(letter.left for letter in found) >= 11 * MM
    assert max(letter.right for letter in found) <= (WIDTH_MM[paper] - 7) * MM
    assert collisions(pdf) == []


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("name", ["five", "six", "rich"])
def test_what_is_to_be_done_and_judged_is_at_least_12_points(name: str, paper: Paper) -> None:
    sheet = fixtures()[name]
    words = sheet.words
    said = [words.for_, *words.ease_off, *words.cautions, words.key, *words.stop_if, words.emergency, sheet.notes]
    said += [text for line in words.judge for text in line]
    for drill in sheet.drills:
        said += [*drill.text.steps[1:], drill.text.feel, drill.text.not_feel, drill.text.stop_if]
    pdf = _pdf(name, paper)
    for sentence in said:
        if sentence:
            assert size_of(pdf, sentence) >= 11.99, sentence


@pytest.mark.parametrize(("name", "paper", "large"), CASES)
def test_a_block_is_never_broken_over_two_pages(name: str, paper: Paper, large: bool) -> None:
    pages = page_texts(_pdf(name, paper, large))
    for drill in fixtures()[name].drills:
        first, last = squeeze(drill.text.steps[0]), squeeze(drill.text.stop_if)
        assert any(first in page and last in page for page in pages), drill.text.name


def test_the_large_sheet_says_the_same() -> None:
    plain, large = "".join(page_texts(_pdf("five"))), "".join(page_texts(_pdf("five", "a4", True)))
    sheet = fixtures()["five"]
    for drill in sheet.drills:
        for sentence in (*drill.text.steps, drill.text.feel, drill.text.not_feel, drill.text.stop_if):
            assert squeeze(sentence) in plain
            assert squeeze(sentence) in large
    for said in ("step2,notbefore7March", "ByThursday12March", "01632960119", "lowgate.example/armglide"):
        assert said in plain
        assert said in large


def test_large_print_tells_when_to_stop_before_its_days_as_every_sheet_of_more_leaves() -> None:
    for large, before in ((True, "Stopandcall"), (False, "Week1")):
        whole = "".join(page_texts(_pdf("five", "a4", large)))
        assert before == min("Stopandcall", "Week1", key=whole.index)


@pytest.mark.parametrize("name", ["Top shoulder squeeze", "Long back-hand reach"])
def test_the_longest_names_stand_on_one_line(name: str) -> None:
    sheet = make_sheet(6, 14)
    first = replace(sheet.drills[0], text=replace(sheet.drills[0].text, name=name))
    found = letters(sheet_pdf(replace(sheet, drills=(first, *sheet.drills[1:]))))
    whole = "".join(letter.text for letter in found)
    places = [match.start() for match in re.finditer(re.escape(name.replace(" ", "")), whole)]
    assert len(places) == 3  # in both weeks and above its figure
    for at in places:
        line = found[at : at + len(name.replace(" ", ""))]
        assert max(one.bottom for one in line) - min(one.bottom for one in line) < 8


def test_a_step_has_its_earliest_day_and_a_box_and_no_date_forces_it() -> None:
    front, back = page_texts(_pdf("five"))
    assert "step1from2March8slow,2aday" in back
    assert "step2,notbefore7March10slow,2aday" in back
    assert "step3,notbefore12March10slow,3aday" in back
    assert "Goupasteponlywhenyoucancarryon;itsdateistheearliestday." in back
    week = front.split("Week1")[1].split("Week2")[0]
    assert week.count("3×20seconds") == 2
    assert week.count("step2") == 1  # the doorway's second dose starts on the last day, whose column cannot hold it
    html = sheet_html(fixtures()["five"])
    assert html.count('class="when"><span class="box">') == html.count("not before") == 6


def test_steps_of_dose_stand_side_by_side_in_as_many_words_as_fit() -> None:
    back = page_texts(_pdf("many_steps"))[1]
    six = "step1,2Mar8slowstep2,4Mar10slowstep3,6Mar15slowstep4,8Mar8slow,2adaystep5,10Mar10slow,2aday"
    assert six in back
    assert "step1from2March3×20secondsstep2,notbefore4March3×30seconds" in back


def test_a_box_stands_for_each_time_and_a_dash_for_a_day_off() -> None:
    sheet = fixtures()["five"]
    html = sheet_html(sheet)
    grid = html[html.index('<table class="week') : html.rindex("</table>")]
    assert grid.count('class="box"') == sum(item.times for day in sheet.days for item in day.items)
    off = sum(len(sheet.drills) - len(day.items) for day in sheet.days)
    assert grid.count('class="off">–<') == off
    assert grid.count(">visit<") == 2
    assert grid.count(">event<") == 1


def test_who_must_see_a_doctor_now_gets_plain_words_and_a_letter_and_no_drills() -> None:
    sheet = replace(fixtures()["refer_now"], drills=make_sheet(2).drills)
    assert sheet.refer is not None
    plain, letter = page_texts(sheet_pdf(sheet))
    assert plain.index("Pleaseseeadoctornow") < plain.index(squeeze(sheet.refer.athlete[0]))
    assert squeeze(sheet.refer.because[0]) in letter
    assert "notadiagnosis" in letter
    assert "M.Okafor" in letter
    assert "Armglide" not in plain + letter


def test_who_should_see_a_doctor_soon_is_told_first() -> None:
    sheet = fixtures()["refer_soon"]
    front = page_texts(_pdf("refer_soon"))[0]
    assert sheet.refer is not None
    assert (
        front.index("First:seeadoctorsoon")
        < front.index(squeeze(sheet.refer.athlete[1]))
        < front.index("Whatthisisfor")
    )


def test_hostile_words_stay_words() -> None:
    sheet = make_sheet(1, 7, athlete='<script>alert(1)</script>"&', notes="</p><img src=http://x.example/a.png>")
    html = sheet_html(sheet)
    assert "<script" not in html
    assert "<img src=http" not in html
    assert "<script>alert(1)</script>" in page_texts(sheet_pdf(sheet))[0]


def test_what_is_laid_out_has_no_style_of_its_own_and_names_nothing_outside() -> None:
    html = sheet_html(fixtures()["five"])
    assert "style" not in html.partition("<body")[0]
    assert re.findall(r'style=|<script|src="(?!data:)|<link', html) == []


def test_a_logo_is_printed_only_from_within_the_sheet() -> None:
    dot = (
        "data:image/png;base64,iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAYAAAAfFcSJAAAADUlEQVR42mNk+M/wHwAEBgIApD5fRAAAAABJRU5E"
        "rkJggg=="
    )
    assert dot in sheet_html(make_sheet(1, 7, clinic=Clinic(name="A", logo=dot)))
    assert "secret" not in sheet_html(make_sheet(1, 7, clinic=Clinic(name="A", logo="/secret.png")))


def test_the_same_sheet_gives_the_same_bytes_now_and_in_another_process() -> None:
    again = sheet_pdf(fixtures()["five"])
    assert again == _pdf("five")
    code = (
        "import sys, hashlib; from tests.render.sheets import fixtures;"
        "from homecare.render.print_view import sheet_pdf;"
        "print(hashlib.sha256(sheet_pdf(fixtures()['five'])).hexdigest())"
    )
    seen = set()
    for seed, zone in (("1", "UTC"), ("2", "Pacific/Auckland")):
        surroundings = {**os.environ, "PYTHONHASHSEED": seed, "TZ": zone}
        seen.add(
            subprocess.run(
                [sys.executable, "-c", code], env=surroundings, capture_output=True, text=True, check=True
            ).stdout.strip()
        )
    assert seen == {hashlib.sha256(again).hexdigest()}
