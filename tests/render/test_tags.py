"""The PDF as an assistive reader gets it: language, title, order of headings, words for every figure and box."""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import lru_cache
from io import BytesIO
from itertools import pairwise
from tempfile import NamedTemporaryFile
from typing import Any

import pdfua
import pikepdf
import pytest

from homecare.library.load import Library
from homecare.render.press import Paper
from homecare.render.print_view import sheet_pdf
from tests.render.extremes import extreme
from tests.render.pages import attribute
from tests.render.sheets import fixtures

NAMES = ["five", "six", "three_28", "refer_now", "refer_soon", "nothing", "no_room"]


@lru_cache(maxsize=16)
def _bytes(name: str) -> bytes:
    return sheet_pdf(fixtures()[name])


@lru_cache(maxsize=16)
def _pdf(name: str) -> pikepdf.Pdf:
    return pikepdf.open(BytesIO(_bytes(name)))


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
    figures = [one for one in _all(name) if str(one.S) == "/Figure" and str(one.Alt) != "box to tick"]
    sheet = fixtures()[name]
    pictures = [picture for drill in sheet.drills if drill.drawing for picture in drill.drawing.pictures]
    codes = [figure for figure in figures if "lowgate.example" in str(figure.Alt)]
    assert len(codes) == (len(sheet.drills) + 1 if sheet.drills else 0)
    assert [str(figure.Alt) for figure in figures if figure not in codes] == [picture.alt for picture in pictures]
    for figure in figures:
        left, bottom, right, top = (float(value) for value in attribute(figure, "/BBox"))
        page = [float(value) for value in figure.Pg.MediaBox]
        assert 0 < left < right < page[2]
        assert 0 < bottom < top < page[3]
        if figure in codes:
            assert right - left == pytest.approx(top - bottom, abs=0.1)
    if figures:
        assert float(attribute(figures[0], "/BBox")[3]) > 700  # the sheet's own code stands at the head of the front


def test_weeks_have_header_cells_with_their_scope_and_boxes_are_read_out() -> None:
    elements = _all("five")
    heads = [one for one in elements if str(one.S) == "/TH"]
    assert sorted({str(attribute(one, "/Scope")) for one in heads}) == ["/Column", "/Row"]
    columns = 2 * (7 + 1)  # the days of two weeks, and each week's own name
    assert sum(str(attribute(one, "/Scope")) == "/Column" for one in heads) == columns
    assert sum(str(attribute(one, "/Scope")) == "/Row" for one in heads) == 10
    assert sum(str(one.S) == "/Table" for one in elements) == 2
    sheet = fixtures()["five"]
    ticks = sum(item.times for day in sheet.days for item in day.items)
    assert sum(str(one.get("/Alt", "")) == "box to tick" for one in elements) == ticks + 6


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


STANDARD = {"Document", "Sect", "Div", "NonStruct", "H1", "H2", "H3", "P", "L", "LI", "Lbl", "LBody", "Span", "Figure"}
STANDARD |= {"Table", "THead", "TBody", "TR", "TH", "TD"}
"""Standard structure types that the sheet uses (ISO 32000-1, 14.8.4, from memory)."""


def _told_by_the_second_judge(pdf: bytes) -> list[str]:
    """What pdfua finds, 16 of the rules of PDF/UA-1 that a machine can hold; it neither reads fonts nor order."""
    with NamedTemporaryFile(suffix=".pdf") as file:
        file.write(pdf)
        file.flush()
        report = pdfua.validate(file.name)
    return [f"{one.rule_id}: {one.message}" for one in report.findings]


@pytest.mark.parametrize("name", NAMES)
def test_a_second_judge_finds_nothing(name: str) -> None:
    assert _told_by_the_second_judge(_bytes(name)) == []


@pytest.mark.parametrize("name", ["five", "refer_now", "refer_soon"])
@pytest.mark.parametrize(("paper", "large"), [("letter", False), ("a4", True)])
def test_nor_on_other_paper_or_in_large_print(name: str, paper: Paper, large: bool) -> None:
    assert _told_by_the_second_judge(sheet_pdf(fixtures()[name], paper, large)) == []


def test_nor_on_a_sheet_of_extremes(lib: Library) -> None:
    made = extreme(1, lib)
    assert _told_by_the_second_judge(sheet_pdf(made.sheet, made.paper, made.large)) == []


def test_the_second_judge_tells_what_is_taken_away() -> None:
    pdf = pikepdf.open(BytesIO(_bytes("nothing")))
    del pdf.Root.Lang
    stream = BytesIO()
    pdf.save(stream)
    assert any("Lang" in told for told in _told_by_the_second_judge(stream.getvalue()))


@pytest.mark.parametrize("name", NAMES)
def test_lists_tables_and_figures_are_built_as_the_standard_has_them(name: str) -> None:
    for one in _all(name):
        kind, kids = str(one.S)[1:], [str(kid.S)[1:] for kid in _kids(one)]
        assert kind in STANDARD
        if kind == "L":
            assert kids
            assert set(kids) == {"LI"}
        elif kind == "LI":
            assert "LBody" in kids
            assert set(kids) <= {"Lbl", "LBody"}
        elif kind == "Table":
            rows = [row for part in _kids(one) for row in (_kids(part) if str(part.S) != "/TR" else [part])]
            assert len({len(_kids(row)) for row in rows}) == 1
        elif kind == "TR":
            assert set(kids) <= {"TH", "TD"}
        elif kind == "TH":
            assert str(attribute(one, "/Scope")) in ("/Row", "/Column")
        elif kind == "Figure":
            assert str(one.Alt).strip()
            assert "/K" in one
        elif re.fullmatch(r"H\d", kind):
            assert "/K" in one


def _kids(one: Any) -> list[Any]:
    kids = one.get("/K")
    return [kid for kid in (kids if isinstance(kids, pikepdf.Array) else [kids]) if _is_element(kid)]


def _is_element(kid: Any) -> bool:
    return isinstance(kid, pikepdf.Dictionary) and "/S" in kid


@pytest.mark.parametrize("name", NAMES)
def test_every_piece_of_content_leads_to_its_element(name: str) -> None:
    """Each number in a page's content stands in the parent tree, and its element in the tree of structure."""
    pdf = _pdf(name)
    numbers = pdf.Root.StructTreeRoot.ParentTree.Nums
    tree = {int(numbers[at]): numbers[at + 1] for at in range(0, len(numbers), 2)}
    known = {one.objgen for one in _all(name)}
    for page in pdf.pages:
        parents = tree[int(page.StructParents)]
        used = [
            int(instruction.operands[1]["/MCID"])
            for instruction in pikepdf.parse_content_stream(page)
            if str(instruction.operator) == "BDC" and "/MCID" in instruction.operands[1]
        ]
        assert sorted(used) == [at for at, parent in enumerate(parents) if parent is not None]
        assert {parents[at].objgen for at in used} <= known
        assert page.Tabs == "/S"


def test_the_number_of_a_page_is_decoration() -> None:
    told = [
        str(instruction.operands[1].get("/Type"))
        for page in _pdf("three_28").pages
        for instruction in pikepdf.parse_content_stream(page)
        if str(instruction.operator) == "BDC" and str(instruction.operands[0]) == "/Artifact"
    ]
    assert [kind for kind in told if kind == "/Pagination"] == ["/Pagination"] * len(_pdf("three_28").pages)


@pytest.mark.parametrize("name", NAMES)
def test_every_letter_has_its_meaning(name: str) -> None:
    for page in _pdf(name).pages:
        assert all("/ToUnicode" in font for font in page.Resources.Font.values())
    assert not _pdf(name).Root.MarkInfo.get("/Suspects", False)
    assert str(_pdf(name).docinfo["/Title"]) in str(_pdf(name).open_metadata()["dc:title"])
