"""Pages of stored PDFs: shown as pictures, and put behind one another; what was stored is never drawn anew."""

from __future__ import annotations

import io
import math
from threading import Lock
from typing import Any

import pypdfium2
from PIL import Image, ImageChops

WIDTH = 900
"""Pixels across a page that is shown: sharp at a phone's width, and readable at a desk's (common practice)."""
_ACROSS = WIDTH - 1e-6
"""A hair less, or a page may come out a pixel wider by what floats lose."""
_SHADES = 32
_one = Lock()
"""The library is not made for several threads at once."""


def count_pages(pdf: bytes) -> int:
    """How many pages a PDF has."""
    return len(page_heights(pdf))


def page_heights(pdf: bytes) -> tuple[int, ...]:
    """The height of each page's picture, in pixels."""
    with _one:
        document = pypdfium2.PdfDocument(pdf)
        try:
            sizes = [document.get_page_size(number) for number in range(len(document))]
        finally:
            document.close()
    return tuple(math.ceil(_ACROSS * high / wide) for wide, high in sizes)


def page_png(pdf: bytes, number: int, *, whole: bool = True) -> bytes | None:
    """One page, from 1, as a PNG of few colours; None where there is no such page.

    Not `whole`: without the white below what stands on it.
    """
    with _one:
        document = pypdfium2.PdfDocument(pdf)
        try:
            if not 1 <= number <= len(document):
                return None
            page = document[number - 1]
            picture: Image.Image = page.render(scale=_ACROSS / page.get_width()).to_pil()
        finally:
            document.close()
    drawn = picture.convert("RGB")
    if not whole and (box := ImageChops.invert(drawn).getbbox()):
        drawn = drawn.crop((0, 0, WIDTH, min(box[3] + box[1], drawn.height)))
    out = io.BytesIO()
    drawn.quantize(_SHADES, Image.Quantize.FASTOCTREE).save(out, "PNG")  # the others take ten times as long
    return out.getvalue()


class Joined:
    """PDFs put behind one another, each beginning on the front of a leaf, so that both sides can be printed."""

    def __init__(self) -> None:
        self._whole: Any = pypdfium2.PdfDocument.new()

    def add(self, pdf: bytes) -> None:
        """Put all pages of a PDF behind the others."""
        with _one:
            part = pypdfium2.PdfDocument(pdf)
            try:
                self._whole.import_pages(part)
                if len(part) % 2:
                    size = part[len(part) - 1].get_size()
                    self._whole.new_page(*size)
            finally:
                part.close()

    def written(self) -> bytes:
        """The whole, as far as it was put together."""
        out = io.BytesIO()
        with _one:
            self._whole.save(out)
        return out.getvalue()

    def close(self) -> None:
        """Give its memory back; nothing can be added or written after."""
        with _one:
            self._whole.close()
