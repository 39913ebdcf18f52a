"""The printed sheet: HTML from the templates, then a tagged PDF whose bytes depend on the sheet alone."""

from __future__ import annotations

import base64
from collections.abc import Collection, Sequence
from threading import Lock
from typing import Any, Literal

from homecare.core.sheet import Picture, Sheet
from homecare.render import sheet_view
from homecare.render.assets import environment
from homecare.render.codes import DRILL_MM, SHEET_MM, code_svg
from homecare.render.dose_words import day_words, range_words
from homecare.render.letter_view import letter_view
from homecare.render.links import SheetDays, link_fragment, read_sheet, web_host
from homecare.render.photos import paper_uri
from homecare.render.press import lay_out, written

Paper = Literal["a4", "letter"]
Page = Literal["front", "back", "letter"]
_SIDES: tuple[Page, ...] = ("front", "back", "letter")

_printing = Lock()
"""WeasyPrint draws with fonts and pictures that are shared, so one print at a time."""

_CLOSE_DRILLS = 5
"""As many drills with their figures seldom fit a back with its usual air: it is set close at once."""
_ROOMY_ROWS = 10
"""More rows of boxes than this seldom fit a front with its usual air: such a front is set close at once."""


def sheet_pdf(sheet: Sheet, paper: Paper = "a4", large: bool = False) -> bytes:
    """The sheet as PDF/UA-1; the same bytes for the same sheet, paper and size of print, on any day."""
    with _printing:
        if sheet_view.is_leaf(sheet) and not large:
            html, document = _leaf(sheet, paper)
        else:
            close: tuple[Page, ...] = ("back",) if len(sheet.drills) == sheet_view.LEAF_DRILLS and not large else ()
            html = sheet_html(sheet, paper, large, close=close)
            document = lay_out(html, style_names(sheet, paper, large))
            if not large and "letter" in _overfull(document):
                html = sheet_html(sheet, paper, large, close=(*close, "letter"))
                document = lay_out(html, style_names(sheet, paper, large))
        return written(html, document)


def page_pdf(html: str, styles: Sequence[str]) -> bytes:
    """Any other page of ours as PDF/UA-1, by the addresses of its style sheets; the same bytes for the same HTML."""
    with _printing:
        return written(html, lay_out(html, styles))


def sheet_html(
    sheet: Sheet, paper: Paper = "a4", large: bool = False, *, close: Collection[Page] = (), assets: str = ""
) -> str:
    """The same sheet as HTML, with neither script nor style attribute.

    `assets` is the address under which `read_asset` is served, for a page that is shown (empty: no style sheets are
    named); the pages of the leaf in `close` are set with less air.
    """
    names = style_names(sheet, paper, large) if assets else ()
    roomy = sheet_view.is_leaf(sheet) and not large and len(sheet.drills) < sheet_view.LEAF_DRILLS
    return (
        environment()
        .get_template("print/sheet.html")
        .render(
            _context(sheet),
            large=large,
            letter=letter_view(sheet, large) if sheet.refer else None,
            few=len(sheet.drills) if roomy else 0,
            close=close,
            style_hrefs=[f"{assets}{name}" for name in names],
        )
    )


def style_names(sheet: Sheet, paper: Paper, large: bool) -> tuple[str, ...]:
    """The addresses of the style sheets that apply, in order."""
    flows = large or (bool(sheet.drills) and not sheet_view.is_leaf(sheet))
    wanted = {
        "fonts": True,
        "tokens": True,
        "sheet": True,
        "close": True,
        "letter": paper == "letter",
        "flow": flows,
        "referral": sheet.refer is not None,
        "large": large,
    }
    return tuple(f"print/{name}.css" for name, here in wanted.items() if here)


def _leaf(sheet: Sheet, paper: Paper) -> tuple[str, Any]:
    """The leaf, with less air on a side that runs over; where even that is too long, with its pages counted."""
    styles = style_names(sheet, paper, False)
    close: set[Page] = set()
    if sum(len(week.rows) for week in sheet_view.weeks(sheet)) > _ROOMY_ROWS:
        close.add("front")
    if len(sheet.drills) >= _CLOSE_DRILLS:
        close.add("back")
    html = sheet_html(sheet, paper, close=sorted(close))
    document = lay_out(html, styles)
    long = _overfull(document)
    if long - close:
        html = sheet_html(sheet, paper, close=sorted(close | long))
        document = _with(document, lay_out(html, styles, long - close))
        long = _overfull(document)
    if long - {"letter"}:
        html = sheet_html(sheet, paper, close=_SIDES)
        document = lay_out(html, (*styles, "print/flow.css"))
    return html, document


def _with(document: Any, changed: Any) -> Any:
    """A leaf, the sides in `changed` in the place of its own."""
    pages = {side: [page for page in document.pages if _side(page) == side] for side in _SIDES}
    pages |= {side: found for side in _SIDES if (found := [page for page in changed.pages if _side(page) == side])}
    return document.copy([page for side in _SIDES for page in pages[side]])


def _side(page: Any) -> str:
    """The side of the leaf that a page belongs to, from the name of its kind in the style sheet."""
    name: str = page._page_box.page_type.name
    return name.partition("_")[0]


def _overfull(document: Any) -> set[Page]:
    """The sides of the leaf, and the letter, that take more than one page."""
    names = [_side(page) for page in document.pages]
    return {name for name in _SIDES if names.count(name) > 1}


def code_uri(link: str, size_mm: float) -> str:
    """A code as an address that stands in an <img>."""
    return "data:image/svg+xml;base64," + base64.b64encode(code_svg(link, size_mm).encode()).decode()


def picture_uri(picture: Picture) -> str:
    """A panel of a figure as an address that stands in an <img>."""
    return "data:image/svg+xml;base64," + base64.b64encode(picture.svg.encode()).decode()


def _context(sheet: Sheet) -> dict[str, Any]:
    last = sheet.days[-1].date if sheet.days else sheet.start
    logo = sheet.clinic.logo if sheet.clinic.logo.startswith("data:image/") else ""
    return {
        "sheet": sheet,
        "clinic": sheet.clinic,
        "words": sheet.words,
        "logo": logo,
        "leaf": sheet_view.is_leaf(sheet),
        "weeks": sheet_view.weeks(sheet) if any(day.items for day in sheet.days) else (),
        "blocks": sheet_view.blocks(sheet),
        "dates": range_words(sheet.start, last) if sheet.days else day_words(sheet.start, year=True),
        "dates_short": range_words(sheet.start, last, weekday=False),
        "start_words": day_words(sheet.start, weekday=False, year=True),
        "review_words": day_words(sheet.review_by),
        "created": sheet.start.isoformat(),
        "host": web_host(sheet.clinic.web),
        "lengthy": sheet_view.is_lengthy(sheet.athlete),
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
