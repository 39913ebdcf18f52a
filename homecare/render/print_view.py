"""The printed sheet: HTML from the templates, then a tagged PDF whose bytes depend on the sheet alone."""

from __future__ import annotations

import base64
from typing import Any

from homecare.core.sheet import Picture, Sheet
from homecare.render import sheet_view
from homecare.render.assets import environment
from homecare.render.codes import DRILL_MM, SHEET_MM, code_svg
from homecare.render.dose_words import day_words, range_words
from homecare.render.letter_view import letter_view
from homecare.render.links import SheetDays, link_fragment, read_sheet, web_host
from homecare.render.photos import paper_uri
from homecare.render.press import Paper, printed


def sheet_pdf(sheet: Sheet, paper: Paper = "a4", large: bool = False) -> bytes:
    """The sheet as PDF/UA-1; the same bytes for the same sheet, paper and size of print, on any day."""
    return printed(sheet_html(sheet, large), paper, large)


def sheet_html(sheet: Sheet, large: bool = False) -> str:
    """The same sheet as HTML, with neither script nor style: what is laid out on paper."""
    letter = letter_view(sheet, large) if sheet.refer else None
    return environment().get_template("print/sheet.html").render(_context(sheet, large), letter=letter)


def code_uri(link: str, size_mm: float) -> str:
    """A code as an address that stands in an <img>."""
    return "data:image/svg+xml;base64," + base64.b64encode(code_svg(link, size_mm).encode()).decode()


def picture_uri(picture: Picture) -> str:
    """A panel of a figure as an address that stands in an <img>."""
    return "data:image/svg+xml;base64," + base64.b64encode(picture.svg.encode()).decode()


def _context(sheet: Sheet, large: bool) -> dict[str, Any]:
    last = sheet.days[-1].date if sheet.days else sheet.start
    blocks = sheet_view.blocks(sheet)
    logo = sheet.clinic.logo if sheet.clinic.logo.startswith("data:image/") else ""
    return {
        "sheet": sheet,
        "clinic": sheet.clinic,
        "words": sheet.words,
        "logo": logo,
        "leaf": sheet_view.is_leaf(sheet) and not large,
        "climbs": any(step.box for block in blocks for step in block.steps),
        "weeks": sheet_view.weeks(sheet) if any(day.items for day in sheet.days) else (),
        "blocks": blocks,
        "dates": range_words(sheet.start, last) if sheet.days else day_words(sheet.start, year=True),
        "dates_short": range_words(sheet.start, last, weekday=False),
        "start_words": day_words(sheet.start, weekday=False, year=True),
        "review_words": day_words(sheet.review_by),
        "created": sheet.start.isoformat(),
        "host": web_host(sheet.clinic.web),
        "lengthy": sheet_view.is_lengthy(sheet.athlete),
        "sheet_code": sheet_view.opened(sheet.clinic, sheet.sheet_link),
        "days_on_code": days_on_code(sheet),
        "sentences": sheet_view.sentences,
        "stop_columns": sheet_view.split_even(sheet.words.stop_if),
        "code": code_uri,
        "picture_uri": picture_uri,
        "photo_uri": paper_uri,
        "DRILL_MM": DRILL_MM,
        "SHEET_MM": SHEET_MM,
    }


def days_on_code(sheet: Sheet) -> bool:
    """Whether the sheet's own code carries the days, or they are on paper alone."""
    carried = read_sheet(link_fragment(sheet.sheet_link))
    return isinstance(carried, SheetDays) and carried.level == "days"
