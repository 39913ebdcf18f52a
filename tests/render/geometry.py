"""What a printed sheet must keep to by its geometry, each rule as the list of its breaches in words."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator, Sequence
from itertools import combinations, groupby
from typing import Any

import numpy as np
import pypdfium2

from homecare.core.sheet import Sheet
from homecare.render import sheet_view
from homecare.render.codes import DRILL_MM, LEAST_MODULE_MM, QUIET, SHEET_MM
from homecare.render.sheet_view import Block, Week
from tests.render.pages import MM, Letter, collisions, squeeze
from tests.render.taken_apart import HAIR, Box, Place, Printed

SIDE_MM, TOP_MM, FOOT_MM = 12.0, 4.2, 4.2
"""The page's margins: those of paper's style at the sides, above and below what an office printer can reach."""
LEAST_BOX_MM = 4.29
"""A box that a pen hits: 4.3 mm, less a rounding."""
_DPI = 200


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
    """Drills whose words, steps of dose, figure and code do not stand on one page."""
    found = []
    texts = [printed.text(number) for number in range(len(printed.sizes))]
    for block in sheet_view.blocks(sheet):
        drill = block.drill
        said = [squeeze(part) for part in _block_words(block)]
        pages = [at for at, text in enumerate(texts) if all(part in text for part in said)]
        pictures = [picture.alt for picture in drill.drawing.pictures] if drill.drawing else []
        shown = [box.words for box in printed.pictures if box.page in pages]
        if not pages:
            found.append(f"broken: {drill.text.name}")
        elif any(alt not in shown for alt in pictures) or (
            block.link and not any(drill.text.name in words for words in shown)
        ):
            found.append(f"parted from its pictures: {drill.text.name}")
    return found


def _block_words(block: Block) -> Iterator[str]:
    text = block.drill.text
    yield from (
        text.name,
        text.part,
        *text.steps,
        text.feel,
        text.not_feel,
        text.stop_if,
        text.address if block.link else "",
    )
    for step in block.steps:
        yield f"step {step.number}{block.joint(step)} {block.when(step)} {step.dose}"


def orphaned(printed: Printed, sheet: Sheet) -> list[str]:
    """Headings with nothing of their own below them on their page."""
    found = []
    heads = ["What this is for", "How did it go? Judge by the next morning", "Do them in this order."]
    heads += [line[0] + line[1] for line in sheet.words.judge]
    weeks = [week.title for week in sheet_view.weeks(sheet) if week.rows]
    boxes = [box for box, place in printed.ticks if place]
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


def _is_square(box: Box) -> bool:
    return abs(box.wide_mm - box.high_mm) < 0.15


def wrong_boxes(printed: Printed, sheet: Sheet) -> list[str]:
    """Tick boxes whose count in a cell of the day plan or at steps is not the plan's, and those out of their place."""
    weeks = [week for week in sheet_view.weeks(sheet) if any(day.items for day in sheet.days)]
    planned = {
        Place(at, number, column): cell.boxes
        for at, week in enumerate(weeks)
        for number, row in enumerate(week.rows)
        for column, cell in enumerate(row.cells, 1)
        if cell and cell.boxes
    }
    days = [(box, place) for box, place in printed.ticks if place]
    counted = Counter(place for _, place in days)
    found = [
        f"{counted[place]} boxes in the day plan for {planned.get(place, 0)} times: {place}"
        for place in sorted(counted.keys() | planned.keys())
        if counted[place] != planned.get(place, 0)
    ]
    steps = [box for box, place in printed.ticks if place is None]
    climbs = sum(step.box for block in sheet_view.blocks(sheet) for step in block.steps)
    if len(steps) != climbs:
        found.append(f"{len(steps)} boxes at steps of dose for {climbs}")
    boxes = [box for box, _ in days] + steps
    found += [f"no square to tick: {box}" for box in boxes if not (LEAST_BOX_MM <= box.wide_mm < 6 and _is_square(box))]
    found += [f"{one} over {other}" for one, other in combinations(boxes, 2) if one.meets(other)]
    return found + _out_of_day(printed, weeks, days)


def _out_of_day(printed: Printed, weeks: Sequence[Week], days: Sequence[tuple[Box, Place]]) -> list[str]:
    """Boxes to tick that do not stand below the name of their own day, left of the next one's."""
    found = []
    lines = {
        page: ("".join(one.text for one in body), body)
        for page in range(len(printed.sizes))
        if (body := printed.body(page))
    }
    for box, place in days:
        text, body = lines[box.page]
        edge = printed.sizes[box.page][0] - SIDE_MM * MM
        lefts = []
        for head in weeks[place.week].heads[place.column - 1 : place.column + 1]:
            names = (
                [body[at.start()] for at in re.finditer(rf"{head.name.replace(' ', '')}(?!\d)", text)] if head else []
            )
            lefts.append(max((one.left for one in names if one.bottom > box.top), default=edge))
        if not lefts[0] - 2 <= box.left < box.right <= (lefts[1] if len(lefts) > 1 else edge) + HAIR:
            found.append(f"out of its day: {box}, {place}")
    return found


def filled(printed: Printed) -> list[float]:
    """The share of each page's height down to its lowest ink, the number of the page not counted."""
    shares = []
    for page, (_, high) in enumerate(printed.sizes):
        low = [letter.bottom for letter in printed.body(page)]
        low += [box.bottom for box in (*printed.pictures, *printed.shapes) if box.page == page]
        shares.append(1 - min(low, default=high) / high)
    return shares
