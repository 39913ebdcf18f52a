"""What is kept between prints changes nothing: neither pictures nor a side that is laid out alone."""

from __future__ import annotations

import hashlib
from base64 import b64encode

import pytest
from PIL import Image, ImageChops

from homecare.render import press, print_view
from homecare.render.codes import code_svg
from homecare.render.press import lay_out, written
from homecare.render.print_view import sheet_html, sheet_pdf, style_names
from tests.render.pages import page_texts, pictures
from tests.render.sheets import fixtures, make_sheet

STYLES = ("print/fonts.css", "print/tokens.css", "print/sheet.css")
SHAPES = (
    '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 40 20" width="40mm" height="20mm" fill="none"'
    ' stroke="#232c36" stroke-width="1.5"><path d="M2 3h12a5 5 0 0 1 3 9l-8 5z" fill="#a83119"/>'
    '<g transform="translate(22 2)"><circle cx="6" cy="7" r="5" stroke="none" fill="#555"/></g></svg>'
)


def _shown(svg: str) -> Image.Image:
    """A page that shows the picture, ten dots to the millimetre."""
    html = (
        '<!doctype html>\n<html lang="en"><head><title>x</title></head><body>'
        f'<img src="data:image/svg+xml;base64,{b64encode(svg.encode()).decode()}" alt="x"></body></html>'
    )
    (page,) = pictures(written(html, lay_out(html, STYLES)), 254)
    return page.convert("L")


@pytest.mark.parametrize("svg", [SHAPES, code_svg("HTTPS://HOMECARE.EXAMPLE/AG#1")], ids=["shapes", "code"])
def test_a_kept_picture_is_the_picture(svg: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """Beside WeasyPrint's own drawing of the same SVG in the same place."""
    kept = _shown(svg)
    monkeypatch.setattr(press, "_keep_pictures", lambda root: press._images.clear())
    own = _shown(svg)
    assert min(own.tobytes()) < 100
    assert max(ImageChops.difference(kept, own).tobytes()) < 24


def test_a_picture_that_is_more_than_shapes_is_refused() -> None:
    with pytest.raises(ValueError, match="plain shapes"):
        _shown(SHAPES.replace("<g ", '<g opacity="0.5" '))


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_a_side_laid_out_alone_is_as_it_is_in_the_whole(paper: print_view.Paper) -> None:
    """The rich sheet's front runs over and is set close: printed so from the start, it gives the same file."""
    sheet = fixtures()["midweek"] if paper == "letter" else make_sheet(4, 14, notes="Take it easy. " * 30)
    styles = style_names(sheet, paper, False)
    roomy = lay_out(sheet_html(sheet, paper, close=()), styles)
    html = sheet_html(sheet, paper, close=("back", "front"))
    whole = lay_out(html, styles)
    merged = print_view._with(roomy, lay_out(html, styles, {"front", "back"}))
    assert written(html, merged) == written(html, whole)
    front = print_view._with(roomy, lay_out(html, styles, {"front"}))
    assert page_texts(written(html, front))[1] == page_texts(written(html, roomy))[1]


def test_what_was_printed_before_does_not_show(monkeypatch: pytest.MonkeyPatch) -> None:
    """The same bytes with pictures kept, and with none."""
    first = sheet_pdf(fixtures()["five"])
    sheet_pdf(fixtures()["six"])
    again = sheet_pdf(fixtures()["five"])
    monkeypatch.setattr(press, "_MOST_IMAGES", -1)
    assert len({hashlib.sha256(pdf).digest() for pdf in (first, again, sheet_pdf(fixtures()["five"]))}) == 1


def test_characters_that_no_page_can_show_are_left_out() -> None:
    words = "<p>Ro\x07wan &amp; co</p>"
    html = f'<!doctype html>\n<html lang="en"><head><title>x</title></head><body>{words}</body></html>'
    assert page_texts(written(html, lay_out(html, STYLES))) == ["Rowan&co"]
