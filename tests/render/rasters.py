"""An SVG as a picture in grey, by the printer's own engine."""

from __future__ import annotations

import xml.etree.ElementTree as ET

import pypdfium2
from PIL import Image

from homecare.render.press import compiled

DOTS_MM = 10


def size_mm(svg: str) -> tuple[float, float]:
    """Width and height that an SVG says of itself."""
    root = ET.fromstring(svg)
    wide, high = root.attrib["width"], root.attrib["height"]
    return float(wide.removesuffix("mm")), float(high.removesuffix("mm"))


def raster(svg: str) -> Image.Image:
    """Ten dots to the millimetre."""
    wide, high = size_mm(svg)
    page = f'#set page(width: {wide}mm, height: {high}mm, margin: 0mm)\n#image("/one.svg", width: 100%)'
    pdf = compiled({"one.svg": svg.encode(), "page.typ": page.encode()}, "page.typ", tagged=False)
    shown: Image.Image = pypdfium2.PdfDocument(pdf)[0].render(scale=DOTS_MM * 25.4 / 72).to_pil()
    return shown.convert("L")
