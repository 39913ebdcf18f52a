"""What a printed page holds, read back out of the PDF: letters with their sizes and boxes, and codes with theirs."""

from __future__ import annotations

import ctypes
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import pikepdf
import pypdfium2
import pypdfium2.raw as pdfium
import zxingcpp
from PIL import Image

MM = 72 / 25.4


@dataclass(frozen=True)
class Letter:
    """One visible character: its page from 0, its size in points and its box in points from the lower left."""

    page: int
    text: str
    size: float
    left: float
    bottom: float
    right: float
    top: float


@dataclass(frozen=True)
class Code:
    """One code that was read off a page, with the width of its symbol in millimetres."""

    page: int
    text: str
    width_mm: float


def squeeze(text: str) -> str:
    """Text without spaces and hyphens: a reader drops both where a line ends."""
    return "".join(text.split()).replace("-", "")


def letters(pdf: bytes) -> list[Letter]:
    """All visible characters in the order of the document."""
    document = pypdfium2.PdfDocument(pdf)
    return [letter for number in range(len(document)) for letter in _page_letters(document[number], number)]


def _page_letters(page: Any, number: int) -> Iterator[Letter]:
    text = page.get_textpage()
    for at in range(text.count_chars()):
        character = chr(pdfium.FPDFText_GetUnicode(text, at))
        if character.isspace() or not character.isprintable() or pdfium.FPDFText_IsGenerated(text, at):
            continue
        matrix = pdfium.FS_MATRIX()
        pdfium.FPDFText_GetMatrix(text, at, ctypes.byref(matrix))
        size = pdfium.FPDFText_GetFontSize(text, at) * abs(matrix.d)
        yield Letter(number, character, size, *text.get_charbox(at))


def size_of(pdf: bytes, sentence: str) -> float:
    """The least size at which a sentence stands in the document; ValueError when it is not there."""
    found = [letter for letter in letters(pdf) if letter.text != "-"]
    whole = "".join(letter.text for letter in found)
    wanted = squeeze(sentence)
    at = whole.index(wanted)
    return min(letter.size for letter in found[at : at + len(wanted)])


def page_texts(pdf: bytes) -> list[str]:
    """The text of each page, squeezed."""
    texts: dict[int, list[str]] = defaultdict(list)
    for letter in letters(pdf):
        texts[letter.page].append(letter.text)
    return [squeeze("".join(texts[number])) for number in range(page_count(pdf))]


def page_count(pdf: bytes) -> int:
    """How many pages the document has."""
    return len(pypdfium2.PdfDocument(pdf))


def pictures(pdf: bytes, dpi: float) -> list[Image.Image]:
    """Each page as a picture."""
    document = pypdfium2.PdfDocument(pdf)
    return [document[number].render(scale=dpi / 72).to_pil() for number in range(len(document))]


def codes(pdf: bytes, dpi: float = 150) -> list[Code]:
    """Every code that a reader finds on the pages at a resolution."""
    found = []
    for number, picture in enumerate(pictures(pdf, dpi)):
        for code in zxingcpp.read_barcodes(picture, formats=zxingcpp.BarcodeFormats(zxingcpp.BarcodeFormat.QRCode)):
            corners = code.position
            width = (
                (corners.top_right.x - corners.top_left.x) ** 2 + (corners.top_right.y - corners.top_left.y) ** 2
            ) ** 0.5
            found.append(Code(number, code.text, width / dpi * 25.4))
    return found


def attribute(element: Any, name: str) -> Any:
    """An attribute of an element of a PDF's structure, None where it has none; several owners write into one array."""
    given = element.get("/A")
    owners = given if isinstance(given, pikepdf.Array) else [given]
    return next((owner[name] for owner in owners if isinstance(owner, pikepdf.Dictionary) and name in owner), None)


def collisions(pdf: bytes) -> list[tuple[Letter, Letter]]:
    """Pairs of letters that print over one another: their boxes share a quarter of the smaller one."""
    cells: dict[tuple[int, int, int], list[Letter]] = defaultdict(list)
    clashes = []
    for letter in letters(pdf):
        for near in {
            (letter.page, int(x // 12), int(y // 12))
            for x in (letter.left, letter.right)
            for y in (letter.bottom, letter.top)
        }:
            clashes += [(other, letter) for other in cells[near] if _shared(other, letter) > 0.25]
            cells[near].append(letter)
    return clashes


def _shared(one: Letter, other: Letter) -> float:
    if (one.left, one.right, one.bottom) == (other.left, other.right, other.bottom):
        return 0.0  # two letters of one ligature, which share its box
    width = min(one.right, other.right) - max(one.left, other.left)
    height = min(one.top, other.top) - max(one.bottom, other.bottom)
    if width <= 0 or height <= 0:
        return 0.0
    areas = [(letter.right - letter.left) * (letter.top - letter.bottom) for letter in (one, other)]
    return width * height / min(areas) if min(areas) > 0 else 0.0
