"""Many figures on one sheet, to be looked at: a drill from all round, or the whole library."""

from __future__ import annotations

import io
import json
from collections.abc import Sequence
from dataclasses import dataclass, replace

import pypdfium2

from homecare.core.drill import Drill
from homecare.core.problems import Problem
from homecare.figure.picture import one_svg, panels
from homecare.figure.staging import Stage
from homecare.render.press import compiled, styles

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
    files = {f"print/{number}.svg": one.svg.encode() for number, one in enumerate(cells)}
    shown = [{"title": one.title, "picture": f"{number}.svg", "faults": one.faults} for number, one in enumerate(cells)]
    sheet = {"title": title, "wide": size_mm[0], "high": size_mm[1], "cells": shown}
    return compiled({**styles(), **files, "cells.json": json.dumps(sheet).encode()}, "print/contact.typ", tagged=False)


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
