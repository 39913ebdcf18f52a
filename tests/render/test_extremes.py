"""No sheet that a clinic can make overflows, cuts, breaks a block or leaves a heading behind: by the PDF's geometry."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from homecare.core.sheet import Sheet
from homecare.library.load import Library
from homecare.render import press
from homecare.render.assets import read_asset
from homecare.render.print_view import sheet_pdf
from homecare.resources import resource_dir
from homecare.typeface import printable
from tests.render.extremes import Extreme, extreme
from tests.render.geometry import (
    Printed,
    broken_blocks,
    filled,
    off_the_margins,
    orphaned,
    overprinted,
    take_apart,
    too_small,
    unclear_codes,
    wrong_boxes,
)
from tests.render.pages import squeeze


def _said(sheet: Sheet) -> list[str]:
    """Everything that must stand in letters of 12 points."""
    words = sheet.words
    said = [words.for_, *words.ease_off, *words.cautions, sheet.notes, *(sheet.refer.athlete if sheet.refer else ())]
    if sheet.drills:
        said += [words.key, *(text for line in words.judge for text in line)]
    said += [*words.stop_if, words.emergency]
    for drill in sheet.drills:
        said += [*drill.text.steps, drill.text.feel, drill.text.not_feel, drill.text.stop_if]
    return [printable(sentence) for sentence in said if sentence]


def _faults(made: Extreme, printed: Printed) -> list[str]:
    sheet = made.sheet
    links = [drill.link for drill in sheet.drills] + ([sheet.sheet_link] if sheet.drills else [])
    found = off_the_margins(printed) + overprinted(printed) + unclear_codes(printed, links)
    found += too_small(printed, _said(sheet), made.large) + broken_blocks(printed, sheet)
    found += orphaned(printed, sheet) + wrong_boxes(printed, sheet) + _pages(made, printed)
    whole = "".join(printed.text(page) for page in range(len(printed.sizes)))
    clinic = sheet.clinic
    for name in (sheet.athlete, sheet.prepared_by, clinic.name, clinic.address, clinic.phone, clinic.after_hours):
        if squeeze(printable(name)) not in whole:
            found.append(f"not on paper whole: {name}")
    return found


def _pages(made: Extreme, printed: Printed) -> list[str]:
    """A leaf of plain words is two pages; none but the last is nearly empty. A letter begins its own page."""
    body = len(printed.sizes) - (made.sheet.refer is not None)
    leaf = len(made.sheet.drills) <= 6 and len(made.sheet.days) <= 14 and not made.large
    found = []
    if leaf and made.words == "plain" and body != 2 and sum(drill.photo is not None for drill in made.sheet.drills) < 2:
        found.append(f"{body} pages for a leaf of plain words")
    least = 0.3 if made.large else 0.5  # in large print a block takes up to two thirds of a page
    if body > 2 or not leaf:
        shares = list(enumerate(filled(printed)[: body - 1], 1))
        found += [f"page {at} is only {share:.0%} full" for at, share in shares if share < least]
    return found


@pytest.mark.parametrize("seed", range(7))
def test_no_sheet_breaks_a_rule_of_paper(seed: int, lib: Library) -> None:
    made = extreme(seed, lib)
    assert _faults(made, take_apart(sheet_pdf(made.sheet, made.paper, made.large))) == []


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(7, 34))
def test_many_more_sheets_break_no_rule_of_paper(seed: int, lib: Library) -> None:
    test_no_sheet_breaks_a_rule_of_paper(seed, lib)


PLANTED = {
    "off the margins": ".headwords h1 { white-space: nowrap; font-size: 60pt }",
    " over ": ".words li { margin-bottom: -3mm }",
    "clear edge": ".drill .side .code { margin-bottom: -5mm }",
    "too small for": ".feel { font-size: 11pt }",
    "under 10": ".caption, .address { font-size: 9pt }",
    "broken": ".drill, .drill * { break-inside: auto } .feel:last-child { break-before: page }",
    "last on page": ".judge { break-inside: auto } .judge .three { break-before: page }",
    "no row below": ".week tbody td * { display: none }",
    "boxes in the day plan": ".week .box { margin-left: 12mm }",
    "not on paper whole": ".stop li:first-child { display: none }",
    "full": ".rule { break-before: page; break-after: page }",
}
"""A style that breaks one rule, by what is told of it."""


@pytest.mark.slow
@pytest.mark.parametrize("told", PLANTED)
def test_each_rule_tells_a_sheet_that_breaks_it(told: str, lib: Library, monkeypatch: pytest.MonkeyPatch) -> None:
    def with_fault(address: str) -> tuple[bytes, str]:
        body, kind = read_asset(address)
        return body + PLANTED[told].encode() if address == "print/large.css" else body, kind

    made = extreme(54, lib)
    assert (made.large, len(made.sheet.drills)) == (True, 3)
    monkeypatch.setattr(press, "read_asset", with_fault)
    press._style.cache_clear()
    try:
        pdf = sheet_pdf(made.sheet, made.paper, made.large)
    finally:
        press._style.cache_clear()
    large = told != "under 10"
    assert any(told in fault for fault in _faults(replace(made, large=large), take_apart(pdf)))


def test_no_style_of_paper_hides_what_runs_over() -> None:
    for path in sorted((resource_dir("templates") / "print").glob("*.css")):
        assert not re.search(r"overflow\s*:|clip|ellipsis|visibility|max-lines", path.read_text()), path.name
