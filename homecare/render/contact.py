"""Many figures on one sheet, to be looked at: a drill from all round, or the whole library."""

from __future__ import annotations

import base64
import io
from collections.abc import Sequence
from dataclasses import dataclass, replace
from html import escape

import pypdfium2
from weasyprint import HTML

from homecare.core.drill import Drill
from homecare.core.problems import Problem
from homecare.figure.picture import one_svg, panels
from homecare.figure.staging import Stage

CELL_MM = (66.0, 46.0)
DOTS = 150
AZIMUTHS, ELEVATIONS = (-135, -110, -90, -60, -30, 0, 30, 90, 180), (0, 25)
"""Views of the sweep by which a view is chosen by eye."""


@dataclass(frozen=True)
class Cell:
    """One figure with the line above it and, where it has faults, the line below."""

    title: str
    svg: str
    faults: tuple[str, ...] = ()


def sweep(drill: Drill, set_up: Stage) -> tuple[Cell, ...]:
    """A drill's figure from all round, each with its view as it is written in the library."""
    found = []
    for elevation in ELEVATIONS:
        for azimuth in AZIMUTHS:
            turned = replace(set_up, scene=replace(set_up.scene, view=(azimuth, elevation)))
            found.append(Cell(f"view: [{azimuth}, {elevation}]", _svg(turned, drill.name)))
    return tuple(found)


def cell(drill: Drill, set_up: Stage, problems: Sequence[Problem] = ()) -> Cell:
    """A drill's figure with its name and the faults of its poses."""
    faults = tuple(problem.message.removeprefix(f"{drill.id}: ") for problem in problems)
    return Cell(f"{drill.id} ({drill.kind})", _svg(set_up, drill.name), faults)


def _svg(set_up: Stage, alt: str) -> str:
    wide, high = CELL_MM
    two = set_up.scene.start is not None and not set_up.scene.ghost
    return one_svg(panels(set_up.scene, (wide / 2 - 4 if two else wide - 4, high - 3)), alt)


def contact_pdf(title: str, cells: Sequence[Cell], size_mm: tuple[float, float] = CELL_MM) -> bytes:
    """The cells as a PDF, three across and five down an A4 page; fewer when they are larger."""
    shown = "".join(
        f'<div><p>{escape(one.title)}</p><img src="data:image/svg+xml;base64,{_packed(one.svg)}" alt="">'
        + "".join(f'<p class="fault">{escape(fault)}</p>' for fault in one.faults)
        + "</div>"
        for one in cells
    )
    wide, high = size_mm
    style = (
        "@page { size: A4; margin: 8mm 5mm } body { margin: 0; font: 7pt sans-serif } p { margin: 0 }"
        f"div {{ float: left; width: {wide - 1}mm; height: {high + 6}mm; border: .1mm solid #ccc; overflow: hidden }}"
        ".fault { color: #a00000 } h1 { font-size: 10pt; margin: 0 0 2mm }"
    )
    pdf: bytes = HTML(string=f"<style>{style}</style><h1>{escape(title)}</h1>{shown}").write_pdf()
    return pdf


def _packed(svg: str) -> str:
    return base64.b64encode(svg.encode()).decode()


def pdf_pngs(pdf: bytes) -> tuple[bytes, ...]:
    """Each page of a PDF as a PNG picture."""
    found = []
    document = pypdfium2.PdfDocument(pdf)
    for page in document:
        out = io.BytesIO()
        page.render(scale=DOTS / 72).to_pil().save(out, "PNG")
        found.append(out.getvalue())
    document.close()
    return tuple(found)
