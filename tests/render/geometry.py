"""What a printed sheet must keep to by its geometry, each rule as the list of its breaches in words."""

from __future__ import annotations

import ctypes
import io
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations, groupby
from typing import Any

import numpy as np
import pikepdf
import pypdfium2
import pypdfium2.raw as pdfium

from homecare.core.sheet import Sheet, SheetDrill
from homecare.render import sheet_view
from homecare.render.codes import DRILL_MM, LEAST_MODULE_MM, QUIET, SHEET_MM
from tests.render.pages import MM, Code, Letter, attribute, codes, collisions, letters, squeeze

SIDE_MM, TOP_MM, FOOT_MM = 12.0, 4.2, 4.2
"""The page's margins: those of the style sheets at the sides, above and below what an office printer can reach."""
TICK = "box to tick"
"""The words of a box to tick."""
HAIR = 0.5
"""Points by which a slanted stroke or a rounding may stand out."""
_DPI = 200


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


@dataclass(frozen=True)
class Printed:
    """A printed sheet taken apart: letters in order, pictures, boxes to tick with the cell of the day plan that holds
    each (None: a step of dose), drawn shapes outside pictures, and codes."""

    pdf: bytes
    sizes: tuple[tuple[float, float], ...]
    letters: tuple[Letter, ...]
    pictures: tuple[Box, ...]
    ticks: tuple[tuple[Box, Box | None], ...]
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
        if shape.high_mm < 200 and not any(_within(shape, picture) for picture in pictures)
    )
    sizes = tuple(document[number].get_size() for number in range(len(document)))
    ticks = tuple((box, cell) for box, cell in tagged if box.words == TICK)
    return Printed(pdf, sizes, tuple(letters(pdf)), pictures, ticks, shapes, tuple(codes(pdf, 150)))


def _within(shape: Box, picture: Box) -> bool:
    """Whether a shape is of a picture: half of it or more lies there, what stands out is clipped off."""
    wide = min(shape.right, picture.right) - max(shape.left, picture.left)
    high = min(shape.top, picture.top) - max(shape.bottom, picture.bottom)
    area = (shape.right - shape.left) * (shape.top - shape.bottom)
    return shape.page == picture.page and min(wide, high) >= 0 and wide * high >= 0.5 * area


def _shapes(page: Any, number: int) -> Iterator[Box]:
    for item in page.get_objects(max_depth=1):
        if item.type == pdfium.FPDF_PAGEOBJ_PATH:
            left, bottom, right, top = item.get_bounds()
            left, bottom = left + _stroke(item), bottom + _stroke(item)
            yield Box(number, left, bottom, max(right - _stroke(item), left), max(top - _stroke(item), bottom))


def _stroke(path: Any) -> float:
    """The width of a path's stroke, by which the reader's bounds stand out at most; 0 for one that is filled alone."""
    fill, stroke, width = ctypes.c_int(), ctypes.c_int(), ctypes.c_float()
    pdfium.FPDFPath_GetDrawMode(path.raw, ctypes.byref(fill), ctypes.byref(stroke))
    pdfium.FPDFPageObj_GetStrokeWidth(path.raw, ctypes.byref(width))
    return width.value if stroke.value else 0.0


def _tagged(pdf: bytes) -> Iterator[tuple[Box, Box | None]]:
    """Every picture and box to tick by the box and words of its tag, with the table that it stands in."""
    with pikepdf.open(io.BytesIO(pdf)) as document:
        number = {_key(page.obj): at for at, page in enumerate(document.pages)}
        for element in document.objects:
            if isinstance(element, pikepdf.Dictionary) and element.get("/S") == "/Figure":
                box = _box(element, number[_key(element.Pg)])
                table = next((one for one in _above(element) if one.S == "/Table"), None)
                yield box, None if table is None else _box(table, box.page)


def _above(element: Any) -> Iterator[Any]:
    while "/S" in (element := element.P):
        yield element


def _box(element: Any, page: int) -> Box:
    left, bottom, right, top = (float(value) for value in attribute(element, "/BBox"))
    return Box(page, left, bottom, right, top, str(element.get("/Alt", "")))


def _key(item: Any) -> tuple[int, int]:
    key: tuple[int, int] = item.objgen
    return key


def off_the_margins(printed: Printed) -> list[str]:
    """Letters, pictures and shapes beyond the margins; the clear edge of a code may lie in them."""
    found = []
    things: list[Letter | Box] = [*printed.letters, *_bare(printed), *printed.shapes]
    for thing in things:
        wide, high = printed.sizes[thing.page]
        page = Box(thing.page, SIDE_MM * MM, FOOT_MM * MM, wide - SIDE_MM * MM, high - TOP_MM * MM)
        if not page.holds(thing, 1):
            found.append(f"off the margins of page {thing.page + 1}: {thing}")
    return found


def _bare(printed: Printed) -> Iterator[Box]:
    """The pictures, codes without their clear edge."""
    for box in printed.pictures:
        edge = (box.right - box.left) * _edge(box)
        yield Box(box.page, box.left + edge, box.bottom + edge, box.right - edge, box.top - edge, box.words)


def _edge(box: Box) -> float:
    """The share of a code's picture that its clear edge takes on each side, by its width; 0 for another picture."""
    if not box.words.startswith("Code that opens"):
        return 0.0
    size = SHEET_MM if "opens this sheet" in box.words else DRILL_MM
    sides = range(21, 181, 4)  # modules of a symbol (ISO/IEC 18004)
    side = min(sides, key=lambda one: abs(max(size / one, LEAST_MODULE_MM) * (one + 2 * QUIET) - box.wide_mm))
    return QUIET / (side + 2 * QUIET)


def overprinted(printed: Printed) -> list[str]:
    """Letters over letters, and letters or tick boxes over pictures."""
    found = [f"{one.text} over {other.text}, page {one.page + 1}: {one}" for one, other in collisions(printed.pdf)]
    pictures = list(_bare(printed))
    for at, picture in enumerate(pictures):
        found += [f"{letter} over {picture}" for letter in printed.letters if picture.meets(letter)]
        found += [f"{picture} over {other}" for other in pictures[at + 1 :] if picture.meets(other)]
    return found


def unclear_codes(printed: Printed, wanted: Sequence[str]) -> list[str]:
    """Codes that do not read back at 150 dpi, and ink within the four clear modules of one."""
    read = sorted(code.text for code in printed.codes)
    found = [] if read == sorted(wanted) else [f"codes: {len(read)} of {len(wanted)} read back"]
    document = pypdfium2.PdfDocument(printed.pdf)
    for page, boxes in groupby(printed.pictures, key=lambda box: box.page):
        grey = np.asarray(document[page].render(scale=_DPI / 72).to_pil().convert("L"))
        high = printed.sizes[page][1]
        for box in boxes:
            edge = (box.right - box.left) * _edge(box)
            outer = [round(value * _DPI / 72) for value in (box.left, high - box.top, box.right, high - box.bottom)]
            inner = int(edge * _DPI / 72) - 2  # a symbol's first module may be drawn half a module early
            if edge and _ring(grey, outer, inner).min(initial=255) < 200:
                found.append(f"ink in the clear edge of: {box}")
    return found


def _ring(grey: np.ndarray[Any, Any], outer: Sequence[int], edge: int) -> np.ndarray[Any, Any]:
    left, top, right, bottom = outer
    frame = grey[max(top, 0) + 1 : bottom - 1, left + 1 : right - 1].copy()
    frame[edge:-edge, edge:-edge] = 255
    return frame


def too_small(printed: Printed, said: Sequence[str], large: bool) -> list[str]:
    """Words that are not on paper whole and in order, or in smaller letters than they may be."""
    least = 16.0 if large else 10.0
    found = [f"{letter} is under {least} pt" for letter in printed.letters if letter.size < least - 0.01]
    body = [letter for page in range(len(printed.sizes)) for letter in printed.body(page)]
    kept = [letter for letter in body if letter.text not in "-\u00ad\u2010"]
    whole = "".join(letter.text for letter in kept)
    starts = [at for at, letter in enumerate(kept) for _ in letter.text]
    for sentence in said:
        wanted = squeeze(sentence)
        at = whole.find(wanted)
        if at < 0:
            found.append(f"not on paper whole: {sentence}")
            continue
        size = min(letter.size for letter in kept[starts[at] : starts[at + len(wanted) - 1] + 1])
        if size < (16.0 if large else 12.0) - 0.01:
            found.append(f"{size:.2f} pt is too small for: {sentence}")
    return found


def broken_blocks(printed: Printed, sheet: Sheet) -> list[str]:
    """Drills whose words, figure and code do not stand on one page."""
    found = []
    texts = [printed.text(number) for number in range(len(printed.sizes))]
    for drill in sheet.drills:
        said = [squeeze(part) for part in _block_words(drill)]
        pages = [at for at, text in enumerate(texts) if all(part in text for part in said)]
        pictures = [picture.alt for picture in drill.drawing.pictures] if drill.drawing else []
        shown = [box.words for box in printed.pictures if box.page in pages]
        if not pages:
            found.append(f"broken: {drill.text.name}")
        elif any(alt not in shown for alt in pictures) or not any(drill.text.name in words for words in shown):
            found.append(f"parted from its pictures: {drill.text.name}")
    return found


def _block_words(drill: SheetDrill) -> Iterator[str]:
    text = drill.text
    yield from (text.name, text.part, *text.steps, text.feel, text.not_feel, text.stop_if, text.address)


def orphaned(printed: Printed, sheet: Sheet) -> list[str]:
    """Headings with nothing of their own below them on their page."""
    found = []
    heads = ["What this is for", "How did it go? Judge by the next morning", "Do them in this order."]
    heads += [line[0] + line[1] for line in sheet.words.judge]
    weeks = [week.title for week in sheet_view.weeks(sheet) if week.rows]
    boxes = tick_boxes(printed)[0]
    for page in range(len(printed.sizes)):
        body = printed.body(page)
        lines = "".join(letter.text for letter in body)
        for head in heads:
            at = lines.find("".join(head.split()))
            if at >= 0 and not any(later.top < body[at].bottom for later in body[at:]):
                found.append(f"last on page {page + 1}: {head}")
        for week in weeks:
            for match in re.finditer(rf"{week.replace(' ', '')}(?!\d)", lines):
                low = body[match.start()].bottom
                if not any(box.page == page and box.top < low for box in boxes):
                    found.append(f"no row below {week} on page {page + 1}")
    return found


def tick_boxes(printed: Printed) -> tuple[list[Box], list[Box]]:
    """The boxes of the day plan and those of the steps of dose."""
    squares = [(one, table) for one, table in printed.ticks if 3.9 < one.wide_mm < 6 and _is_square(one)]
    return [one for one, table in squares if table], [one for one, table in squares if not table]


def _is_square(box: Box) -> bool:
    return abs(box.wide_mm - box.high_mm) < 0.15


def wrong_boxes(printed: Printed, sheet: Sheet) -> list[str]:
    """A count of tick boxes inside the cells of the day plan, or of steps, that is not the plan's."""
    days, steps = tick_boxes(printed)
    planned = sum(item.times for day in sheet.days for item in day.items)
    climbs = sum(step.box for block in sheet_view.blocks(sheet) for step in block.steps)
    found = [] if len(days) == planned else [f"{len(days)} boxes in the day plan's cells for {planned} times"]
    if len(steps) != climbs:
        found.append(f"{len(steps)} boxes at steps of dose for {climbs}")
    return found + [f"{one} over {other}" for one, other in combinations(days + steps, 2) if one.meets(other)]


def filled(printed: Printed) -> list[float]:
    """The share of each page's height down to its lowest ink, the number of the page not counted."""
    shares = []
    for page, (_, high) in enumerate(printed.sizes):
        low = [letter.bottom for letter in printed.body(page)]
        low += [box.bottom for box in (*printed.pictures, *printed.shapes) if box.page == page]
        shares.append(1 - min(low, default=high) / high)
    return shares
