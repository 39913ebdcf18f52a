"""The PDF as an assistive reader gets it: language, title, order of headings, words for every figure and box."""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import lru_cache
from io import BytesIO
from itertools import pairwise
from typing import Any

import pikepdf
import pytest

from homecare.render.print_view import sheet_pdf
from tests.render.sheets import fixtures

NAMES = ["five", "six", "three_28", "refer_now", "refer_soon", "nothing", "no_room"]


@lru_cache(maxsize=16)
def _pdf(name: str) -> pikepdf.Pdf:
    return pikepdf.open(BytesIO(sheet_pdf(fixtures()[name])))


def _elements(node: Any) -> Iterator[Any]:
    """Every structure element below a node, in reading order."""
    kids = node.get("/K")
    for kid in kids if isinstance(kids, pikepdf.Array) else [kids]:
        if isinstance(kid, pikepdf.Dictionary) and "/S" in kid:
            yield kid
            yield from _elements(kid)


def _all(name: str) -> list[Any]:
    return list(_elements(_pdf(name).Root.StructTreeRoot))


@pytest.mark.parametrize("name", NAMES)
def test_the_document_says_what_it_is(name: str) -> None:
    pdf = _pdf(name)
    assert str(pdf.Root.Lang) == "en"
    assert bool(pdf.Root.MarkInfo.Marked)
    assert bool(pdf.Root.ViewerPreferences.DisplayDocTitle)
    with pdf.open_metadata() as meta:
        assert str(meta["pdfuaid:part"]) == "1"
        assert "Rowan K." in str(meta["dc:title"])
        assert str(meta["xmp:CreateDate"]).startswith("2026-03-02")
    assert "Lowgate Clinic" in str(pdf.docinfo["/Author"])


@pytest.mark.parametrize("name", NAMES)
def test_headings_start_at_one_and_skip_no_level(name: str) -> None:
    levels = [int(str(one.S)[2:]) for one in _all(name) if re.fullmatch(r"/H\d", str(one.S))]
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert all(after <= before + 1 for before, after in pairwise(levels))


@pytest.mark.parametrize("name", NAMES)
def test_every_figure_has_words_and_a_box_on_its_page(name: str) -> None:
    figures = [one for one in _all(name) if str(one.S) == "/Figure"]
    sheet = fixtures()[name]
    pictures = [picture for drill in sheet.drills if drill.drawing for picture in drill.drawing.pictures]
    codes = [figure for figure in figures if "homecare.example" in str(figure.Alt)]
    assert len(codes) == (len(sheet.drills) + 1 if sheet.drills else 0)
    assert [str(figure.Alt) for figure in figures if figure not in codes] == [picture.alt for picture in pictures]
    for figure in figures:
        left, bottom, right, top = (float(value) for value in figure.A.BBox)
        page = [float(value) for value in figure.Pg.MediaBox]
        assert 0 < left < right < page[2]
        assert 0 < bottom < top < page[3]
        if figure in codes:
            assert right - left == pytest.approx(top - bottom, abs=0.1)
    if figures:
        assert float(figures[0].A.BBox[3]) > 700  # the sheet's own code stands at the head of the front


def test_weeks_have_header_cells_with_their_scope_and_boxes_are_read_out() -> None:
    elements = _all("five")
    heads = [one for one in elements if str(one.S) == "/TH"]
    assert sorted({str(one.A.Scope) for one in heads}) == ["/Column", "/Row"]
    assert sum(str(one.A.Scope) == "/Column" for one in heads) == 14
    assert sum(str(one.A.Scope) == "/Row" for one in heads) == 10
    assert sum(str(one.S) == "/Table" for one in elements) == 2
    sheet = fixtures()["five"]
    ticks = sum(item.times for day in sheet.days for item in day.items)
    assert sum(str(one.get("/ActualText", "")) == "box to tick" for one in elements) == ticks + 6


@pytest.mark.parametrize("name", NAMES)
def test_every_font_is_embedded_and_of_the_one_family(name: str) -> None:
    fonts = {}
    for page in _pdf(name).pages:
        for font in page.Resources.Font.values():
            descriptor = font.DescendantFonts[0].FontDescriptor if "/DescendantFonts" in font else font.FontDescriptor
            fonts[str(font.BaseFont)] = any(key in descriptor for key in ("/FontFile", "/FontFile2", "/FontFile3"))
    assert fonts
    assert all(fonts.values()), fonts
    assert all("Source-Sans-Pro" in font or "SourceSansPro" in font for font in fonts), fonts


@pytest.mark.parametrize("name", NAMES)
def test_every_mark_on_the_page_is_content_or_decoration(name: str) -> None:
    painting = {"f", "F", "f*", "B", "B*", "b", "b*", "S", "s", "Tj", "TJ", "Do", "sh"}
    for page in _pdf(name).pages:
        depth = 0
        for instruction in pikepdf.parse_content_stream(page):
            operator = str(instruction.operator)
            depth += operator in ("BMC", "BDC")
            depth -= operator == "EMC"
            assert not (operator in painting and depth == 0), instruction
        assert depth == 0
