"""A drill's figure for paper and phone: panels in their box, left the mirror of right, words with every picture."""

from __future__ import annotations

import xml.etree.ElementTree as ET
from dataclasses import replace

import pytest
from PIL import ImageChops, ImageOps, ImageStat

from homecare.library.load import Library
from homecare.render.figures import (
    CAPTION_HIGH,
    GAP,
    GHOST_CAPTION,
    Model,
    draw,
    paper_box,
    picture,
    staged,
    targets_of,
)
from tests.render.rasters import raster, size_mm

DRILLS = ("gastrocnemius_wall_stretch", "chair_squat", "clam_band", "open_book", "cat_round", "shoulder_rolls")


@pytest.fixture(scope="module")
def model(lib: Library) -> Model:
    return Model(lib.atlas, lib.surfaces, lib.postures)


@pytest.mark.parametrize("drill", DRILLS)
@pytest.mark.parametrize(("drills", "large"), [(1, False), (4, False), (5, False), (6, False), (14, False), (6, True)])
def test_the_panels_keep_to_the_box_they_share(
    lib: Library, model: Model, drill: str, drills: int, large: bool
) -> None:
    wide, high = box = paper_box(drills, large)
    drawing = draw(lib.drills[drill], model, "right", box)
    assert drawing is not None
    shown = drawing.pictures
    across = max(one.width for one in shown) if drawing.stacked else sum(one.width for one in shown)
    down = sum(one.height for one in shown) if drawing.stacked else max(one.height for one in shown)
    gaps = 0 if drawing.stacked else GAP * (len(shown) - 1)
    captions = CAPTION_HIGH * sum(1 for one in shown if one.caption) / (1 if drawing.stacked else len(shown))
    assert across + gaps <= wide + 0.02
    assert down + captions <= high + 0.02
    for one in shown:
        assert size_mm(one.svg) == (one.width, one.height)


def test_captions_tell_start_from_end(lib: Library, model: Model) -> None:
    still, moving = (draw(lib.drills[one], model, "right") for one in ("gastrocnemius_wall_stretch", "chair_squat"))
    assert still is not None
    assert moving is not None
    assert [one.caption for one in still.pictures] == [""]
    assert [one.caption for one in moving.pictures] == ["start", "end"]
    ghosts = [
        drawing
        for drill in lib.drills.values()
        if (set_up := staged(drill, model)) and set_up.scene.ghost and (drawing := draw(drill, model, "right"))
    ]
    assert ghosts
    assert all(one.caption == GHOST_CAPTION for drawing in ghosts for one in drawing.pictures)


@pytest.mark.parametrize("drill", DRILLS)
def test_the_left_is_the_mirror_of_the_right(lib: Library, model: Model, drill: str) -> None:
    """To the eye: fewer than 3 of 100 dots differ by a quarter of the grey scale, lines of hatching among them."""
    right, left = (draw(lib.drills[drill], model, side) for side in ("right", "left"))
    assert right is not None
    assert left is not None
    for one, two in zip(right.pictures, left.pictures, strict=True):
        assert (one.width, one.height) == (two.width, two.height)
        before, after = raster(one.svg), ImageOps.mirror(raster(two.svg))
        apart = ImageChops.difference(before, after.resize(before.size)).point(lambda grey: 255 * (grey > 64))
        assert ImageStat.Stat(apart).mean[0] / 255 < 0.03
        unlike = ImageChops.difference(before, ImageOps.mirror(before)).point(lambda grey: 255 * (grey > 64))
        assert ImageStat.Stat(unlike).mean[0] / 255 > 0.03  # the figure has a side at all


def test_words_go_with_every_picture_and_name_the_side(lib: Library, model: Model) -> None:
    for side, other in (("right", "left"), ("left", "right")):
        drawing = draw(lib.drills["gastrocnemius_wall_stretch"], model, side)  # type: ignore[arg-type]
        assert drawing is not None
        alt = drawing.pictures[0].alt
        assert "upper calf" in alt
        assert f"{side} knee straight" in alt
        assert f"{other} knee straight" not in alt
        title = ET.fromstring(drawing.pictures[0].svg).find("{http://www.w3.org/2000/svg}title")
        assert title is not None
        assert title.text == alt
        assert drawing.look.endswith(".")
        assert "xmlns" not in drawing.phone


def test_a_drill_without_a_figure_has_none(lib: Library, model: Model) -> None:
    bare = replace(lib.drills["chair_squat"], figure=None)
    assert draw(bare, model, "right") is None
    assert picture(bare, model, "right", (40, 40)) == ""


def test_a_group_is_marked_as_its_members(lib: Library) -> None:
    drill = lib.drills["chair_squat"]
    assert drill.figure is not None
    marked = targets_of(drill, lib.atlas)
    assert "quadriceps" not in marked
    assert set(marked) <= set(lib.atlas.tissues)


def test_a_figure_is_drawn_once_for_its_content(lib: Library, model: Model) -> None:
    """The same content gives the kept drawing, another angle another."""
    drill = lib.drills["chair_squat"]
    again = replace(drill, figure=replace(drill.figure) if drill.figure else None)
    first, second = draw(again, model, "right"), draw(drill, model, "right")
    assert first is not None
    assert second is not None
    assert first.pictures is second.pictures
    assert first.phone is second.phone
    assert drill.figure is not None
    bent = replace(drill.figure, end={**drill.figure.end, "neck.flex": 20.0})
    assert draw(replace(drill, figure=bent), model, "right") != draw(drill, model, "right")
