"""A printed sheet taken apart: its letters, pictures, boxes to tick, shapes and codes, each with its place on paper."""

from __future__ import annotations

import ctypes
import io
import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, NamedTuple

import pikepdf
import pypdfium2
import pypdfium2.raw as pdfium

from tests.render.pages import MM, Code, Letter, attribute, codes, letters, squeeze

HAIR = 0.5
"""Points by which a slanted stroke or a rounding may stand out."""
TICK = "box to tick"
"""The words of a box to tick."""


@dataclass(frozen=True)
class Box:
    """A rectangle on a page, in points from its lower left; `words` is a picture's text or empty."""

    page: int
    left: float
    bottom: float
    right: float
    top: float
    words: str = ""

    @property
    def wide_mm(self) -> float:
        """Its width in millimetres."""
        return (self.right - self.left) / MM

    @property
    def high_mm(self) -> float:
        """Its height in millimetres."""
        return (self.top - self.bottom) / MM

    def holds(self, other: Box | Letter, slack: float = HAIR) -> bool:
        """Whether another lies within it."""
        return (
            self.page == other.page
            and self.left - slack <= other.left
            and other.right <= self.right + slack
            and self.bottom - slack <= other.bottom
            and other.top <= self.top + slack
        )

    def meets(self, other: Box | Letter, slack: float = HAIR) -> bool:
        """Whether the two share ink."""
        return self.page == other.page and (
            min(self.right, other.right) - max(self.left, other.left) > slack
            and min(self.top, other.top) - max(self.bottom, other.bottom) > slack
        )


class Place(NamedTuple):
    """A cell of the day plan: its table, row and column, each from 0; the drill's name stands in column 0."""

    week: int
    row: int
    column: int


@dataclass(frozen=True)
class Printed:
    """A printed sheet taken apart: letters in order, pictures, boxes to tick with the place of the day plan that each
    stands in (None: a step of dose), drawn shapes outside pictures, and codes."""

    pdf: bytes
    sizes: tuple[tuple[float, float], ...]
    letters: tuple[Letter, ...]
    pictures: tuple[Box, ...]
    ticks: tuple[tuple[Box, Place | None], ...]
    shapes: tuple[Box, ...]
    codes: tuple[Code, ...]

    def body(self, page: int) -> list[Letter]:
        """The letters of a page in order, but for its number."""
        here = [letter for letter in self.letters if letter.page == page]
        number = re.search(r"page\d+of\d+$", "".join(letter.text for letter in here))
        return here[: number.start()] if number else here

    def text(self, page: int) -> str:
        """The words of a page in order, without spaces, hyphens and its number."""
        return squeeze("".join(letter.text for letter in self.body(page)))


def take_apart(pdf: bytes) -> Printed:
    """Everything that the rules below look at."""
    document = pypdfium2.PdfDocument(pdf)
    tagged = tuple(_tagged(pdf))
    pictures = tuple(box for box, _ in tagged if box.words != TICK)
    shapes = tuple(
        shape
        for number in range(len(document))
        for shape in _shapes(document[number], number)
        if shape.high_mm < 200 and not any(picture.holds(shape) for picture in pictures)
    )
    sizes = tuple(document[number].get_size() for number in range(len(document)))
    ticks = tuple((box, cell) for box, cell in tagged if box.words == TICK)
    return Printed(pdf, sizes, tuple(letters(pdf)), pictures, ticks, shapes, tuple(codes(pdf, 150)))


def _shapes(page: Any, number: int) -> Iterator[Box]:
    """What is drawn, as far as it is not clipped off; a reader tells bounds with the stroke, and the clip apart."""
    for item in page.get_objects(max_depth=1):
        if item.type == pdfium.FPDF_PAGEOBJ_PATH:
            left, bottom, right, top = item.get_bounds()
            left, bottom = left + _stroke(item), bottom + _stroke(item)
            right, top = max(right - _stroke(item), left), max(top - _stroke(item), bottom)
            for edges in _clips(item):
                left, bottom = max(left, edges[0]), max(bottom, edges[1])
                right, top = min(right, edges[2]), min(top, edges[3])
            if left <= right and bottom <= top:
                yield Box(number, left, bottom, right, top)


def _clips(item: Any) -> Iterator[tuple[float, float, float, float]]:
    """The bounds of each path that a shape is clipped to: left, bottom, right, top."""
    clip = pdfium.FPDFPageObj_GetClipPath(item.raw)
    for path in range(max(pdfium.FPDFClipPath_CountPaths(clip), 0)):
        points = []
        for at in range(pdfium.FPDFClipPath_CountPathSegments(clip, path)):
            x, y = ctypes.c_float(), ctypes.c_float()
            segment = pdfium.FPDFClipPath_GetPathSegment(clip, path, at)
            pdfium.FPDFPathSegment_GetPoint(segment, ctypes.byref(x), ctypes.byref(y))
            points.append((x.value, y.value))
        xs, ys = zip(*points, strict=True)
        yield min(xs), min(ys), max(xs), max(ys)


def _stroke(path: Any) -> float:
    """The width of a path's stroke, by which the reader's bounds stand out at most; 0 for one that is filled alone."""
    fill, stroke, width = ctypes.c_int(), ctypes.c_int(), ctypes.c_float()
    pdfium.FPDFPath_GetDrawMode(path.raw, ctypes.byref(fill), ctypes.byref(stroke))
    pdfium.FPDFPageObj_GetStrokeWidth(path.raw, ctypes.byref(width))
    return width.value if stroke.value else 0.0


def _tagged(pdf: bytes) -> Iterator[tuple[Box, Place | None]]:
    """Every picture and box to tick by the box and words of its tag, with the place of a table that it stands in."""
    with pikepdf.open(io.BytesIO(pdf)) as document:
        number = {_key(page.obj): at for at, page in enumerate(document.pages)}
        week = -1
        for element, above in _walked(document.Root.StructTreeRoot, ()):
            week += element.S == "/Table"
            if element.S == "/Figure":
                at = {kind: index for kind, index in above if kind in ("/TR", "/TD")}
                place = Place(week, at["/TR"], at["/TD"]) if len(at) == 2 else None
                yield _box(element, number[_key(element.Pg)]), place


def _walked(node: Any, above: tuple[tuple[str, int], ...]) -> Iterator[tuple[Any, tuple[tuple[str, int], ...]]]:
    """Every element below a node in reading order, with those above it: kind, and place among its neighbours."""
    kids = node.get("/K")
    for at, kid in enumerate(kids if isinstance(kids, pikepdf.Array) else [kids]):
        if isinstance(kid, pikepdf.Dictionary) and "/S" in kid:
            yield kid, above
            yield from _walked(kid, (*above, (str(kid.S), at)))


def _box(element: Any, page: int) -> Box:
    left, bottom, right, top = (float(value) for value in attribute(element, "/BBox"))
    return Box(page, left, bottom, right, top, str(element.get("/Alt", "")))


def _key(item: Any) -> tuple[int, int]:
    key: tuple[int, int] = item.objgen
    return key
