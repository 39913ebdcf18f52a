"""HTML to PDF by WeasyPrint, with all that a process can keep: styles parsed once, pictures drawn once."""

from __future__ import annotations

import base64
import hashlib
import re
import zlib
from collections.abc import Collection, Sequence
from functools import lru_cache
from typing import Any
from xml.etree import ElementTree

import cssselect2
import pydyf
from weasyprint import CSS, HTML
from weasyprint.html import UA
from weasyprint.images import SVGImage
from weasyprint.pdf.stream import Stream
from weasyprint.text.fonts import FontConfiguration
from weasyprint.urls import FatalURLFetchingError, URLFetcher, URLFetcherResponse

from homecare.core.problems import InputFault, Problem, Source
from homecare.render.assets import read_asset
from homecare.render.pdf_tags import mend_tags
from homecare.typeface import LETTERS_HINT, printable, strangers

_BASE = "https://assets.invalid/"
"""A host that cannot exist (RFC 2606): the fetcher answers for it from the project's own files, for nothing else."""

_fonts = FontConfiguration()
_images: dict[str, Any] = {}
_marks: dict[str, Any] = {}
"""Fonts, pictures by their address, and those of the style sheets among them, for the life of the process."""

_MOST_IMAGES = 500
_SVG = "data:image/svg+xml;base64,"
_VOID = re.compile(r"<((?:br|img|link|meta|wbr)\b[^>]*?)/?>")
"""Elements that HTML leaves open; the templates escape every > in what they are given."""
_UNPRINTABLE = re.compile("[\0-\x08\x0b\x0c\x0e-\x1f\ufffe\uffff\ud800-\udfff]")
"""Characters that XML may not hold (XML 1.0, 2.2, from memory); none of them shows on paper."""


def lay_out(html: str, styles: Sequence[str], only: Collection[str] = ()) -> Any:
    """The pages of one of our own templates, as a WeasyPrint document; one thread at a time.

    `styles` are addresses of style sheets; with `only`, of the body just the parts that bear one of these classes.
    Letters that the typeface has not give way to near ones; InputFault names those that have none, for an empty box
    would say nothing.
    """
    unknown = strangers(html)
    if unknown:
        raise InputFault([Problem(Source("the sheet"), "letters", f"no letters for {' '.join(unknown)}", LETTERS_HINT)])
    parsed = [_style(name) for name in styles]
    page = _Page(printable(html), only)
    _keep_pictures(page.etree_element)
    return page.render(font_config=_fonts, stylesheets=parsed, pdf_variant="pdf/ua-1", cache=_images)


def written(html: str, document: Any) -> bytes:
    """A document as PDF/UA-1, named by the HTML it came from."""
    identifier = hashlib.sha256(html.encode()).hexdigest()[:32].encode()
    pdf: bytes = document.write_pdf(
        finisher=mend_tags, pdf_variant="pdf/ua-1", pdf_tags=True, pdf_identifier=identifier
    )
    if len(_images) > _MOST_IMAGES:  # only now: a leaf takes its pages from more than one layout
        _images.clear()
    return pdf


class _Page(HTML):  # type: ignore[misc]  # WeasyPrint ships no types
    """A page from our own templates, read as XML: their HTML is sound, and that takes a tenth of the time."""

    def __init__(self, html: str, only: Collection[str]) -> None:
        sound = _VOID.sub(r"<\1/>", html.partition(">")[2])  # without the doctype
        root = ElementTree.fromstring(_UNPRINTABLE.sub("", sound))
        body = root.find("body")
        if only and body is not None:
            for part in list(body):
                if not set(part.get("class", "").split()) & set(only):
                    body.remove(part)
        self.base_url, self.url_fetcher, self.media_type = f"{_BASE}print/", _fetcher(), "print"
        self.wrapper_element = cssselect2.ElementWrapper.from_html_root(root, content_language=None)
        self.etree_element = root

    def _ua_stylesheets(self, forms: bool = False) -> list[CSS]:
        return [_plain_style()]


class _Drawn:
    """An SVG that was drawn once, as a form that every PDF takes as it is; WeasyPrint takes it for one of its images.

    The SVG holds plain shapes alone: text, see-through groups and gradients would need more than a form carries here.
    """

    def __init__(self, svg: bytes) -> None:
        image = SVGImage(ElementTree.fromstring(svg), _BASE, _fetcher(), None)
        self.id = hashlib.sha256(svg).hexdigest()[:24]
        self._size: tuple[float, float, float] = image.get_intrinsic_size(1, 16)
        wide, high, _ = self._size
        beyond = ("XObject", "Pattern", "Shading")
        resources = pydyf.Dictionary({kind: pydyf.Dictionary() for kind in ("ExtGState", "ColorSpace", *beyond)})
        stream = Stream({}, (0, 0, wide, high), resources, {}, None, {}, None)
        image.draw(stream, wide, high, None)
        if any(resources[kind] for kind in beyond):
            raise ValueError("a picture on paper holds more than plain shapes")
        self._states = {key: dict(state) for key, state in resources["ExtGState"].items()}
        self._form = zlib.compress(b"\n".join(stream.stream), 9)

    def get_intrinsic_size(self, _resolution: float, _font_size: float) -> tuple[float, float, float]:
        """Width and height in CSS pixels, and width by height."""
        return self._size

    def draw(self, stream: Any, width: float, height: float, _style: Any) -> None:
        """Show the form in a size in CSS pixels."""
        name = stream.add_image(self, False, 1)
        stream.transform(a=width / self._size[0], d=height / self._size[1])
        stream.draw_x_object(name)

    def get_x_object(self, _interpolate: bool, _ratio: float) -> pydyf.Stream:
        """The form for one PDF."""
        states = pydyf.Dictionary({key: pydyf.Dictionary(state) for key, state in self._states.items()})
        extra = {
            "Type": "/XObject",
            "Subtype": "/Form",
            "BBox": pydyf.Array((0, 0, *self._size[:2])),
            "Resources": pydyf.Dictionary({"ExtGState": states}),
            "Filter": "/FlateDecode",
        }
        return pydyf.Stream([self._form], extra)


def _keep_pictures(root: ElementTree.Element) -> None:
    """Draw every SVG of a page that has not been drawn before."""
    _images.update(_marks)
    for image in root.iter("img"):
        address = image.get("src", "")
        if address.startswith(_SVG) and address not in _images:
            _images[address] = _Drawn(base64.b64decode(address.removeprefix(_SVG)))


class _OwnAssets(URLFetcher):  # type: ignore[misc]
    """Serves the project's own files and data: addresses; anything else stops the print."""

    def fetch(self, url: str, headers: dict[str, str] | None = None) -> URLFetcherResponse:
        if url.startswith("data:image/"):
            return super().fetch(url, headers)
        try:
            body, kind = read_asset(url.removeprefix(_BASE))
        except FileNotFoundError as fault:
            raise FatalURLFetchingError(f"the sheet may not fetch {url}") from fault
        return URLFetcherResponse(url, body, {"Content-Type": kind})


@lru_cache(maxsize=1)
def _fetcher() -> _OwnAssets:
    return _OwnAssets(allowed_protocols={"data"})


@lru_cache(maxsize=16)
def _style(name: str) -> CSS:
    """A parsed style sheet and its marks, kept; a colour's name gives way to the colour, which is else looked up for
    every element."""
    tokens = dict(re.findall(r"(--\w+): ([^;]+);", read_asset("print/tokens.css")[0].decode()))
    text = re.sub(r"var\((--\w+)\)", lambda found: tokens.get(found[1], found[0]), read_asset(name)[0].decode())
    for mark in re.findall(r'"\.\./(marks/\w+\.svg)"', text):
        if _BASE + mark not in _marks:
            _marks[_BASE + mark] = _Drawn(read_asset(mark)[0])
    return CSS(string=text, base_url=f"{_BASE}{name}", url_fetcher=_fetcher(), font_config=_fonts)


@lru_cache(maxsize=1)
def _plain_style() -> CSS:
    """WeasyPrint's own style sheet but for footnotes, which we have none of, and markers of what is no list: each is
    else worked out for every element."""
    text = re.sub(r"(?m)^::(?:footnote|note)[^{]*\{[^}]*\}$", "", UA)
    return CSS(string=re.sub(r"(?m)^::marker", "li::marker", text))
