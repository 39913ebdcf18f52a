"""No sheet that a clinic can make overflows, cuts, breaks a block or leaves a heading behind: by the PDF's geometry."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from homecare.core.sheet import Sheet
from homecare.library.load import Library
from homecare.render import press
from homecare.render.print_view import sheet_pdf
from homecare.resources import resource_dir
from homecare.typeface import printable
from tests.render.extremes import Extreme, extreme
from tests.render.geometry import (
    broken_blocks,
    filled,
    off_the_margins,
    orphaned,
    overprinted,
    too_small,
    unclear_codes,
    wrong_boxes,
)
from tests.render.pages import squeeze
from tests.render.taken_apart import Printed, take_apart


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
    links = links if sheet.clinic.web else []  # a code that opens nothing is not printed
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
    "off the margins": ("front.typ", "tracking: -0.2pt, words", "size: 90pt, words"),
    " over ": ("back.typ", "spacing: air(s, 0.3mm, 0mm, 0.6mm)", "spacing: -4mm"),
    "clear edge": ("back.typ", "pad(right: -2.3mm, drawing(kid))", "pad(right: -2.3mm, bottom: -5mm, drawing(kid))"),
    "too small for": ("back.typ", "feels.enumerate() { part(", "feels.enumerate() { set text(size: 11pt); part("),
    "under 10": ("back.typ", "face(16pt, 1.18) } else { face(10pt, 1.1)", "face(9pt, 1.1) } else { face(10pt, 1.1)"),
    "broken": ("back.typ", "kept(s, 0mm, 0mm, stroke", "v(150mm) + part(0mm, 0mm, stroke"),
    "last on page": ("front.typ", "if s.large { for cell in", "v(250mm); if s.large { for cell in"),
    "no row below": ("front.typ", "if cell.children.len() > 0 { week-cell(cell, s) }", "{ }"),
    "boxes in the day plan": ("front.typ", "boxes.map(_ =>", "boxes.slice(1).map(_ =>"),
    "out of its day": ("front.typ", "par(boxes.map(_ =>", "par(h(-12mm) + boxes.map(_ =>"),
    "no square to tick": ("front.typ", "let edge = if s.large { 5.1mm }", "let edge = if s.large { 4.2mm }"),
    "not on paper whole": ("kit.typ", "kids(item-list)", "kids(item-list).slice(1)"),
    "full": ("back.typ", "par(words(rule, s)))", "par(words(rule, s))); pagebreak(); v(1mm); pagebreak()"),
}
"""A fault in paper's style that breaks one rule, by what is told of it: file, what stands there, what instead."""


@pytest.mark.slow
@pytest.mark.parametrize("told", PLANTED)
def test_each_rule_tells_a_sheet_that_breaks_it(told: str, lib: Library, monkeypatch: pytest.MonkeyPatch) -> None:
    name, there, instead = PLANTED[told]
    files = dict(press.styles())
    style = files[f"print/{name}"].decode()
    assert there in style
    files[f"print/{name}"] = style.replace(there, instead).encode()
    made = extreme(54, lib)
    assert (made.large, len(made.sheet.drills)) == (True, 3)
    monkeypatch.setattr(press, "styles", lambda: files)
    pdf = sheet_pdf(made.sheet, made.paper, made.large)
    large = told != "under 10"
    assert any(told in fault for fault in _faults(replace(made, large=large), take_apart(pdf)))


@pytest.mark.slow
def test_a_drill_that_begins_low_on_a_page_goes_to_the_next_whole(
    lib: Library, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What the planted "broken" does but for the rule that keeps a drill whole."""
    files = dict(press.styles())
    style = files["print/back.typ"].decode()
    kept = "kept(s, 0mm, 0mm, stroke"
    files["print/back.typ"] = style.replace(kept, f"v(150mm) + {kept}").encode()
    made = extreme(54, lib)
    monkeypatch.setattr(press, "styles", lambda: files)
    printed = take_apart(sheet_pdf(made.sheet, made.paper, made.large))
    assert broken_blocks(printed, made.sheet) == []


def test_no_style_of_paper_hides_what_runs_over() -> None:
    for path in sorted((resource_dir("templates") / "print").glob("*.typ")):
        if path.name != "contact.typ":
            assert not re.search(r"clip\s*:|hide\(", path.read_text()), path.name
