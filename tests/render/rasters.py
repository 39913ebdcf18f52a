"""An SVG as a picture in grey, by the printer's own engine."""

from __future__ import annotations

import base64
import xml.etree.ElementTree as ET

import pypdfium2
from PIL import Image
from weasyprint import HTML

DOTS_MM = 10


def size_mm(svg: str) -> tuple[float, float]:
    """Width and height that an SVG says of itself."""
    root = ET.fromstring(svg)
    wide, high = root.attrib["width"], root.attrib["height"]
    return float(wide.removesuffix("mm")), float(high.removesuffix("mm"))


def raster(svg: str) -> Image.Image:
    """Ten dots to the millimetre."""
    wide, high = size_mm(svg)
    packed = base64.b64encode(svg.encode()).decode()
    style = f"@page {{ size: {wide}mm {high}mm; margin: 0 }} body {{ margin: 0 }} img {{ display: block }}"
    pdf = HTML(string=f'<style>{style}</style><img src="data:image/svg+xml;base64,{packed}">').write_pdf()
    shown: Image.Image = pypdfium2.PdfDocument(pdf)[0].render(scale=DOTS_MM * 25.4 / 72).to_pil()
    return shown.convert("L")
