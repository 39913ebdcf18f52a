"""A few drawings held to pictures that a person has looked at; `--renew-pictures` writes them anew.

Compared as they look, not letter by letter: another machine's last digits may move a point by a hair.
"""

from __future__ import annotations

from pathlib import Path

import pytest
from PIL import ImageChops, ImageStat

from homecare.figure.picture import one_svg, panels
from homecare.figure.scene import Scene
from tests.figure.drawings import BENT, CALF, HAMSTRING, LUNGE, SCIATIC, STRAIGHT, ankle_path, posed, scene
from tests.render.rasters import raster

GOLDEN = Path(__file__).parent / "golden"
BOX = (60.0, 42.0)
MOST_APART = 0.004
"""Share of dots that may differ by a quarter of the grey scale."""
SCENES: dict[str, Scene] = {
    "lunge_side": scene(LUNGE, targets=(CALF,)),
    "lunge_above": scene(LUNGE, view=(-50, 30), targets=(CALF,)),
    "hand": scene(LUNGE, crop="right_hand"),
    "start_and_end": scene(STRAIGHT, BENT, targets=(HAMSTRING, SCIATIC), arrows=(ankle_path(),)),
}


def _apart(one: str, two: str) -> float:
    before, after = raster(one), raster(two)
    if before.size != after.size:
        return 1.0
    changed = ImageChops.difference(before, after).point(lambda grey: 255 * (grey > 64))
    return ImageStat.Stat(changed).mean[0] / 255


@pytest.mark.parametrize("name", SCENES)
def test_a_drawing_looks_as_it_did(name: str, request: pytest.FixtureRequest) -> None:
    svg = one_svg(panels(SCENES[name], BOX), name)
    path = GOLDEN / f"{name}.svg"
    if request.config.getoption("--renew-pictures"):
        path.parent.mkdir(exist_ok=True)
        path.write_text(svg)
    assert _apart(path.read_text(), svg) <= MOST_APART


def test_another_drawing_does_not_pass() -> None:
    """The bar can be failed: one picture against another, and a limb moved by ten degrees."""
    moved = posed({**LUNGE.angles, "left_knee.flex": LUNGE.angles["left_knee.flex"] + 10})
    svg = one_svg(panels(scene(moved, targets=(CALF,)), BOX), "lunge_side")
    assert _apart((GOLDEN / "lunge_side.svg").read_text(), svg) > MOST_APART
