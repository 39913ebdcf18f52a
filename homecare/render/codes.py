"""A link as a square code: one SVG path, with the four clear modules round it that readers need."""

from __future__ import annotations

import re
from functools import lru_cache
from itertools import groupby
from typing import Literal

import qrcode
from qrcode.constants import ERROR_CORRECT_L, ERROR_CORRECT_M
from qrcode.util import QRData

DRILL_MM = 22.0
SHEET_MM = 28.0
QUIET = 4
"""Clear modules on each side (ISO/IEC 18004)."""

LEAST_MODULE_MM = 0.5
"""2.9 pixels a module at 150 dots an inch, the least that decoded from print (measured)."""

Mode = Literal[2, 4]
_ALPHANUMERIC: Mode = 2
_BYTES: Mode = 4
"""Mode indicators (ISO/IEC 18004, table 2)."""

_LONGEST_AT_M = {DRILL_MM: 80, SHEET_MM: 150}
_RUN = re.compile(r"[0-9A-Z $%*+\-./:]{6,}")


@lru_cache(maxsize=512)
def code_svg(link: str, size_mm: float = DRILL_MM) -> str:
    """An SVG of `link` whose symbol, clear edge not counted, is `size_mm` wide, or wider where its modules need it.

    Error correction is M where a symbol of that size was seen to carry the length from print, else L.
    """
    level = ERROR_CORRECT_M if len(link) <= _LONGEST_AT_M[size_mm] else ERROR_CORRECT_L
    code = qrcode.QRCode(error_correction=level, border=0)
    for part, mode in _segments(link):
        code.add_data(QRData(part.encode(), mode=mode), optimize=0)
    code.make(fit=True)
    modules = [[bool(module) for module in row] for row in code.modules]
    width = len(modules)
    module_mm = max(size_mm / width, LEAST_MODULE_MM)
    whole = width + 2 * QUIET
    side = f"{whole * module_mm:.3f}mm"
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{side}" height="{side}" viewBox="0 0 {whole} {whole}">'
        f'<path d="{_path(modules)}"/></svg>'
    )


def _segments(link: str) -> list[tuple[str, Mode]]:
    """The link cut into runs of capitals and figures, which pack tightly, and whatever is between."""
    parts: list[tuple[str, Mode]] = []
    at = 0
    for run in _RUN.finditer(link):
        if run.start() > at:
            parts.append((link[at : run.start()], _BYTES))
        parts.append((run[0], _ALPHANUMERIC))
        at = run.end()
    if at < len(link):
        parts.append((link[at:], _BYTES))
    return parts


def _path(modules: list[list[bool]]) -> str:
    """The dark modules as closed boxes in whole numbers: equal runs of rows that touch are one box."""
    boxes: list[tuple[int, int, int, int]] = []
    open_runs: dict[tuple[int, int], int] = {}
    for y, row in enumerate([*modules, [False] * len(modules)]):
        runs = _runs(row)
        for (x, width), top in list(open_runs.items()):
            if (x, width) not in runs:
                boxes.append((top, x, width, y - top))
                del open_runs[x, width]
        for run in runs:
            open_runs.setdefault(run, y)
    return "".join(f"M{x + QUIET} {top + QUIET}h{width}v{height}h-{width}z" for top, x, width, height in sorted(boxes))


def _runs(row: list[bool]) -> list[tuple[int, int]]:
    """Where each unbroken run of dark modules of a row starts, and how long it is."""
    runs = []
    at = 0
    for dark, group in groupby(row):
        length = len(list(group))
        if dark:
            runs.append((at, length))
        at += length
    return runs
