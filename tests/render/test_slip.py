"""The slip of a change: quarter pages, what it says of each change, nothing small, lost or off the paper."""

from __future__ import annotations

import logging
import re
from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from io import BytesIO
from typing import Any

import pikepdf
import pypdfium2
import pytest

from homecare.core.sheet import Clinic, Day, Item, Sheet, SheetDrill
from homecare.core.slip import Slip, slip_lines
from homecare.render.links import sheet_link
from homecare.render.press import Paper
from homecare.render.slip_view import change_words, slip_html, slip_pdf
from tests.render.pages import MM, codes, collisions, letters, page_count, page_texts, size_of, squeeze
from tests.render.sheets import CLINIC, make_sheet

DAY = date(2026, 3, 8)
QUARTER = {"a4": (105.0, 148.0), "letter": (107.95, 139.7)}
HALF = {"a4": (148.0, 210.0), "letter": (139.7, 215.9)}
PAPERS: tuple[Paper, ...] = ("a4", "letter")
SIZES = [(paper, large) for paper in PAPERS for large in (False, True)]
GERMAN = "Schultergelenkbeweglichkeitsübungsanleitung"


@pytest.fixture(autouse=True)
def _no_warning_from_the_printer(caplog: pytest.LogCaptureFixture) -> Iterator[None]:
    """Whatever the printer or the font tools warn of is a fault of the slip."""
    with caplog.at_level(logging.WARNING):
        yield
    assert [record.getMessage() for record in caplog.records] == []


def without(day: Day, drill: str) -> Day:
    """A day with one drill less."""
    return replace(day, items=tuple(item for item in day.items if item.drill != drill))


def now_of(issued: Sheet, **changes: Any) -> Sheet:
    """What holds from the day of the change on."""
    left = replace(issued, start=DAY, days=tuple(day for day in issued.days if day.date >= DAY))
    left = replace(left, **changes)
    return replace(left, sheet_link=sheet_link(left.clinic.web, left))


def as_slip(issued: Sheet, now: Sheet, *dosed: str) -> Slip:
    """The slip between two sheets."""
    return Slip(issued, now, slip_lines(issued, now, frozenset(dosed)))


def off(issued: Sheet, number: int) -> Slip:
    """A drill off; the others keep their days."""
    gone = issued.drills[number - 1].id
    left = [without(day, gone) for day in issued.days if day.date >= DAY]
    drills = tuple(drill for drill in issued.drills if drill.id != gone)
    return as_slip(issued, now_of(issued, drills=drills, days=tuple(left)))


def swapped(issued: Sheet, **words: Any) -> Slip:
    """The last drill of a sheet is not on the leaf: it is new on the slip, and the first one is off."""
    new = replace(issued.drills[-1], text=replace(issued.drills[-1].text, **words))
    leaf = replace(
        issued, drills=issued.drills[:-1], days=tuple(without(day, issued.drills[-1].id) for day in issued.days)
    )
    left = tuple(without(day, issued.drills[0].id) for day in issued.days if day.date >= DAY)
    return as_slip(leaf, now_of(issued, drills=(*issued.drills[1:-1], new), days=left))


def dosed(issued: Sheet) -> Slip:
    """The first drill at another dose from the day on, its days the same."""
    drill = issued.drills[0]
    rungs = tuple(replace(rung, reps=rung.reps + 30, load="a very light band") for rung in drill.rungs)
    days = []
    for day in issued.days:
        items = tuple(replace(item, rung=0) if item.drill == drill.id else item for item in day.items)
        days.append(replace(day, items=items))
    left = tuple(day for day in days if day.date >= DAY)
    drills = (replace(drill, rungs=rungs, start_rung=0), *issued.drills[1:])
    return as_slip(issued, now_of(issued, drills=drills, days=left), drill.id)


def extreme() -> Slip:
    """Everything as long as it may be: 80 letters of name, words that fill a line, a drill with all its steps."""
    clinic = Clinic(
        name=f"Gemeinschaftspraxis {GERMAN}",
        phone="+49 7531 1234567 890",
        after_hours="+49 7531 7654321 098",
        web="https://bewegungstherapiezentrum-bodenseekreis.example",
    )
    issued = make_sheet(6, 14, clinic=clinic, athlete=(GERMAN * 2)[:80])
    steps = tuple(f"{GERMAN} und halte die {GERMAN} bis zum Ende jeder Wiederholung ganz ruhig." for _ in range(5))
    long = f"Ein Zug in der {GERMAN}, der nach drei Atemzügen nachlässt und nicht brennt."
    return swapped(
        issued,
        name="Schulterblattstützen",
        part=f"linkes {GERMAN}",
        steps=steps,
        feel=long,
        not_feel=long,
        stop_if=long,
        address="schulterblattstuetzen",
    )


def cases() -> dict[str, Slip]:
    """Every slip that is looked at."""
    five = make_sheet(5, 14)
    return {
        "off": off(five, 2),
        "dose": dosed(five),
        "new": swapped(five),
        "bare": off(make_sheet(3, 7, clinic=Clinic(web=CLINIC.web), prepared_by=""), 1),
        "long": swapped(make_sheet(4, 84, spread=20)),
        "extreme": extreme(),
    }


CASES = cases()


@pytest.mark.parametrize(("paper", "large"), SIZES)
@pytest.mark.parametrize("name", list(CASES))
def test_every_page_is_a_quarter_of_the_paper_and_nothing_is_off_it(name: str, paper: Paper, large: bool) -> None:
    pdf = slip_pdf(CASES[name], paper, large)
    wide, high = (HALF if large else QUARTER)[paper]
    for page in pypdfium2.PdfDocument(pdf):
        assert page.get_size() == pytest.approx((wide * MM, high * MM), abs=0.1)
    found = letters(pdf)
    assert min(letter.left for letter in found) >= 6 * MM
    assert max(letter.right for letter in found) <= (wide - 6) * MM
    assert min(letter.bottom for letter in found) >= 2 * MM
    assert max(letter.top for letter in found) <= (high - 4) * MM
    assert min(letter.size for letter in found) >= (16 if large else 10) - 0.01
    assert collisions(pdf) == []


@pytest.mark.parametrize("name", list(CASES))
def test_what_is_to_be_done_is_at_least_12_points_and_nothing_is_lost(name: str) -> None:
    slip = CASES[name]
    pdf = slip_pdf(slip)
    said = [sign for sign in re.findall(r"<p>([^<]+)</p>", slip_html(slip)) if "&" not in sign]
    for drill in slip.new:
        said += [*drill.text.steps, drill.text.feel, drill.text.not_feel, drill.text.stop_if]
    assert said
    for sentence in said:
        assert size_of(pdf, sentence) >= 11.99, sentence


def test_a_drill_off_tells_its_row_and_fits_one_quarter() -> None:
    slip = CASES["off"]
    (page,) = page_texts(slip_pdf(slip))
    name = squeeze(slip.issued.drills[1].text.name)
    assert f"row2{name}" in page
    assert "Stopthisdrill.Crossitoutinrow2." in page
    for words in ("AchangefromSunday8March", "LowgateClinic", "01632960114", "Thisgoeswithyoursheetof", "2March2026"):
        assert words in page
    assert "Keepitwithyoursheet." in page
    assert "Stopandcalluson01632960114" in page
    assert page.index(squeeze(slip.issued.athlete)) < page.index("row2")


def test_another_dose_is_told_with_its_row_and_no_other_drill_is() -> None:
    slip = CASES["dose"]
    assert [(line.change, line.number) for line in slip.lines] == [("dose", 1)]
    drill = slip.lines[0].drill
    (page,) = page_texts(slip_pdf(slip))
    assert f"Newdose:{drill.rungs[0].reps}" in page
    assert "averylightband" in page
    assert "Crossoutitsolddoseinrow1." in page


@pytest.mark.parametrize(("paper", "large"), SIZES)
def test_a_new_drill_brings_its_figure_steps_feelings_dose_and_code(paper: Paper, large: bool) -> None:
    slip = CASES["new"]
    (drill,) = slip.new
    pdf = slip_pdf(slip, paper, large)
    text = "".join(page_texts(pdf))
    for sentence in (*drill.text.steps, drill.text.feel, drill.text.not_feel, drill.text.stop_if):
        assert squeeze(sentence) in text
    assert sorted(code.text for code in codes(pdf, 200)) == sorted([drill.link, slip.now.sheet_link])
    html = slip_html(slip)
    assert drill.drawing is not None
    assert html.count('class="figure"') == len(drill.drawing.pictures) > 0
    boxes = sum(item.times for day in slip.now.days for item in day.items if item.drill == drill.id)
    assert html.split(">new<")[1].split("</section>")[0].count('class="box"') == boxes > 0


def test_the_new_drill_is_the_back_of_the_slip() -> None:
    front, back = page_texts(slip_pdf(CASES["new"]))
    assert "Turnovertoseehowitisdone." in front
    assert squeeze(CASES["new"].new[0].text.steps[0]) in back
    assert front.endswith("page1of2")


def test_the_same_slip_gives_the_same_bytes_and_another_gives_others() -> None:
    again = slip_pdf(off(make_sheet(5, 14), 2))
    assert again == slip_pdf(CASES["off"])
    assert again != slip_pdf(off(make_sheet(5, 14), 3))


@pytest.mark.parametrize("name", list(CASES))
def test_it_is_tagged(name: str) -> None:
    """Language, title, no heading level left out, words for every figure and box (ISO 14289-1, from memory)."""
    slip = CASES[name]
    pdf = pikepdf.open(BytesIO(slip_pdf(slip)))
    assert str(pdf.Root.Lang) == "en"
    with pdf.open_metadata() as meta:
        assert str(meta["pdfuaid:part"]) == "1"
        assert slip.issued.athlete in str(meta["dc:title"])
    tags = [one for one in pdf.objects if isinstance(one, pikepdf.Dictionary) and one.get("/Type") == "/StructElem"]
    levels = [int(str(tag.S)[2:]) for tag in tags if re.fullmatch(r"/H\d", str(tag.S))]
    assert sorted(set(levels)) == [1, 2]
    figures = [tag for tag in tags if tag.S == "/Figure"]
    assert figures
    assert all(str(tag.Alt) for tag in figures)
    boxes = [tag for tag in tags if str(tag.get("/Alt", "")) == "box to tick"]
    assert len(boxes) == slip_html(slip).count('class="box"')


def test_a_drill_whose_days_move_gets_boxes_of_its_own() -> None:
    issued = make_sheet(2, 14)
    drill = issued.drills[0]
    last = next(day for day in reversed(issued.days) if any(item.drill == drill.id for item in day.items))
    left = tuple(without(day, drill.id) if day is last else day for day in issued.days if day.date >= DAY)
    (line,) = slip_lines(issued, now_of(issued, days=left), ())
    assert (line.change, line.number) == ("days", 1)
    assert line.days is not None
    assert last.date not in {one.day for one in line.days}
    assert "Tick here, no more in row 1:" in slip_html(as_slip(issued, now_of(issued, days=left)))
    wanted = [day.date for day in left if any(item.drill == drill.id for item in day.items)]
    assert [one.day for one in line.days] == wanted


def test_a_drill_without_a_day_left_is_crossed_out() -> None:
    issued = make_sheet(2, 14)
    left = tuple(without(day, issued.drills[1].id) for day in issued.days if day.date >= DAY)
    (line,) = slip_lines(issued, now_of(issued, days=left), ())
    assert line.days == ()
    assert change_words(line, DAY).endswith("It has no more days. Cross it out in row 2.")


def test_a_step_that_comes_later_or_not_at_all_is_told() -> None:
    issued = make_sheet(1, 14)
    drill = issued.drills[0]
    ahead = sorted({item.rung for day in issued.days if day.date >= DAY for item in day.items})
    here = max(item.rung for day in issued.days if day.date < DAY for item in day.items)
    assert ahead[-1] > here
    left = tuple(_at(day, drill, here) for day in issued.days if day.date >= DAY)
    (line,) = slip_lines(issued, now_of(issued, days=left), ())
    assert line.days is None
    assert set(line.gone) == {rung for rung in ahead if rung > here}
    assert "Leave out step" in change_words(line, DAY)


def _at(day: Day, drill: SheetDrill, rung: int) -> Day:
    items: tuple[Item, ...] = tuple(replace(item, rung=rung) for item in day.items)
    return replace(day, items=items)


def test_nothing_that_stays_is_told() -> None:
    issued = make_sheet(5, 14)
    assert slip_lines(issued, now_of(issued), ()) == ()


@pytest.mark.parametrize(("paper", "large"), SIZES)
def test_the_longest_words_take_few_pages(paper: Paper, large: bool) -> None:
    assert page_count(slip_pdf(CASES["extreme"], paper, large)) <= 4


@pytest.mark.parametrize(("paper", "large"), SIZES)
def test_a_daily_drill_of_eleven_weeks_is_a_row_a_week(paper: Paper, large: bool) -> None:
    """78 days to tick, from Sunday 8 March to 24 May, in the leaf's own columns; each box is on the paper."""
    slip = CASES["long"]
    pdf = slip_pdf(slip, paper, large)
    assert page_count(pdf) <= 3
    text = "".join(page_texts(pdf))
    assert "weekofMonTueWedThuFriSatSun2Mar––––––9Mar16Mar23Mar" in text
    rows = re.findall(r"<tr><th>[^<]+</th>(.*?)</tr>", slip_html(slip))[1:]
    counted = [[cell.count('class="box"') for cell in re.findall(r"<td>(.*?)</td>", row)] for row in rows]
    assert counted == [[0] * 6 + [1], *([[1] * 7] * 11)]


def test_a_slip_after_slips_names_them_and_where_a_drill_stands_by_then() -> None:
    """A drill off that stands in row 2 with its dose on one slip and its boxes on a later one; one that has no row."""
    slip = off(make_sheet(5, 14), 2)
    (line,) = slip.lines
    there = replace(line, dose_on=date(2026, 3, 4), days_on=date(2026, 3, 6))
    places = "in row 2, on the slip from Wednesday 4 March and on the slip from Friday 6 March."
    assert f"Cross it out {places}" in change_words(there, DAY)
    nowhere = replace(line, number=None, dose_on=date(2026, 3, 4))
    again = replace(slip, lines=(nowhere,), earlier=(date(2026, 3, 4),))
    text = "".join(page_texts(slip_pdf(again)))
    assert "CrossitoutontheslipfromWednesday4March." in text
    assert "andyourslipfromWednesday4March" in text
    assert "oranearlierslip" in text
    assert "row2" not in text
