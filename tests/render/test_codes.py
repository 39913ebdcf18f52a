"""Codes: one path in whole numbers, four clear modules round it, read by a reader that is not ours."""

from __future__ import annotations

import re

import pytest

from homecare.render.codes import DRILL_MM, QUIET, SHEET_MM, code_svg
from homecare.render.press import compiled
from tests.render.pages import codes

DRILL = "HTTPS://HOMECARE.EXAMPLE/AG#1R0.P10T4N2.P12.N3.VNXT"


@pytest.mark.parametrize(
    ("link", "size"),
    [(DRILL, DRILL_MM), ("https://clinic.example/Ärzte/" + "x" * 60, DRILL_MM), (DRILL + "0" * 120, SHEET_MM)],
)
def test_a_code_is_one_path_and_reads_back(link: str, size: float) -> None:
    svg = code_svg(link, size)
    assert svg.count("<path") == 1
    assert len(re.findall(r"<(?!/)", svg)) == 2
    path = re.search(r' d="([^"]+)"', svg)
    whole = re.search(r'viewBox="0 0 (\d+) (\d+)"', svg)
    width = re.search(r'width="([\d.]+)mm"', svg)
    assert path
    assert whole
    assert width
    assert re.fullmatch(r"(M\d+ \d+h\d+v\d+h-\d+z)+", path[1])
    boxes = [tuple(map(int, box)) for box in re.findall(r"M(\d+) (\d+)h(\d+)v(\d+)", path[1])]
    modules = int(whole[1])
    assert min(x for x, _, _, _ in boxes) == min(y for _, y, _, _ in boxes) == QUIET
    assert max(x + run for x, _, run, _ in boxes) == max(y + tall for _, y, _, tall in boxes) == modules - QUIET
    assert float(width[1]) * (modules - 2 * QUIET) / modules >= size - 0.01
    page = b'#set page(width: 90mm, height: 90mm)\n#image("/one.svg")'
    pdf = compiled({"one.svg": svg.encode(), "page.typ": page}, "page.typ", tagged=False)
    assert [code.text for code in codes(pdf)] == [link]
