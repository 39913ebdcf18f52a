"""A drill's figure as pictures for paper and phone, drawn once for its content and kept for the life of the process."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache

from homecare.core.atlas import Atlas, Side
from homecare.core.drill import Drill
from homecare.core.pose import Figure, Posture, Surface
from homecare.core.sheet import Drawing, Picture
from homecare.figure.moving import moving_svg
from homecare.figure.picture import Panel, one_svg, panel_svg, panels
from homecare.figure.scene import Scene
from homecare.figure.staging import Content, Stage, moving_frames, stage
from homecare.figure.words import alt_text, how_it_looks
from homecare.render.sheet_view import LEAF_DRILLS

PAPER_WIDE = 55.0
PAPER_HIGH = {1: 46.0, 2: 46.0, 3: 42.0, 4: 36.0, 5: 30.0}
SMALL_HIGH = 23.5
"""Millimetres that the panels of a figure share on paper: the more drills on the leaf, the lower."""
LARGE_BOX = (62.0, 52.0)
"""The same in large print, whatever the number of drills."""
SLIP_BOX = (58.0, 40.0)
"""The same on a slip of a quarter page, beside the code."""
PHONE_BOX = (80.0, 60.0)
CAPTION_HIGH, GAP = 4.2, 1.5
"""Millimetres that a caption takes above its panel, and between two panels side by side."""
STACK_BELOW = 0.62
"""Two panels that fill less than this share of their height side by side stand one over the other."""
GHOST_CAPTION = "start is pale"
_TITLE = re.compile(r"<title>.*?</title>")
"""The words that a picture in a file of its own needs; inside HTML its label says them."""
_NAMESPACE = ' xmlns="http://www.w3.org/2000/svg"'
"""What an SVG says of itself in a file of its own; inside HTML it is not needed."""
Box = tuple[float, float]


@dataclass(frozen=True)
class Model:
    """What figures are drawn from: the tissues, where they lie on the body, and the postures."""

    atlas: Atlas
    surfaces: Mapping[str, Surface]
    postures: Mapping[str, Posture]


def draw(drill: Drill, model: Model, side: Side, box: Box = PHONE_BOX) -> Drawing | None:
    """The figure of a drill for one side, None when it has none; the left is the mirror of the right."""
    if drill.figure is None:
        return None
    marked = tuple(one for one in targets_of(drill, model.atlas) if one in model.surfaces)
    content = _Content(
        figure=drill.figure,
        posture=model.postures[drill.figure.posture],
        surfaces=tuple(model.surfaces[one] for one in marked),
        marked=tuple(model.atlas.tissues[one].plain for one in marked),
        sides=_sides(drill),
    )
    return _Later(Content(content), "left" if side == "left" else "right", box)


@dataclass(frozen=True)
class _Content:
    """Everything that a drawing depends on, besides its side and size."""

    figure: Figure
    posture: Posture
    surfaces: tuple[Surface, ...]
    marked: tuple[str, ...]
    sides: tuple[str, ...]


@dataclass(frozen=True)
class _Later:
    """A drawing of which each part is made when it is first asked for."""

    content: Content[_Content]
    side: str
    box: Box

    @property
    def pictures(self) -> tuple[Picture, ...]:
        return _on_paper(self.content, self.side, self.box)[0]

    @property
    def stacked(self) -> bool:
        return _on_paper(self.content, self.side, self.box)[1]

    @property
    def phone(self) -> str:
        return _on_phone(self.content, self.side)

    @property
    def look(self) -> str:
        return how_it_looks(self.content.value.figure, self.content.value.posture, self.side)


@lru_cache(maxsize=1024)
def _on_paper(content: Content[_Content], side: str, box: Box) -> tuple[tuple[Picture, ...], bool]:
    scene, alt = _scene(content.value), _alt(content.value, side)
    shown, stacked = _arranged(scene, box, side == "left")
    pictures = [
        Picture(_caption(panel, scene), panel_svg(panel, alt), alt, panel.width, panel.height) for panel in shown
    ]
    return tuple(pictures), stacked


@lru_cache(maxsize=1024)
def _on_phone(content: Content[_Content], side: str) -> str:
    scene, alt, mirror = _scene(content.value), _alt(content.value, side), side == "left"
    frames = moving_frames(content.value.figure)
    if frames:
        phone = moving_svg(frames, scene, PHONE_BOX, alt, mirror)
    else:
        phone = one_svg(_arranged(scene, PHONE_BOX, mirror)[0], alt)
    return _TITLE.sub("", phone.replace(_NAMESPACE, "", 1), count=1)


def _scene(what: _Content) -> Scene:
    marked = [one.id for one in what.surfaces]
    return stage(what.figure, {one.id: one for one in what.surfaces}, marked, what.sides).scene


def _alt(what: _Content, side: str) -> str:
    return alt_text(what.figure, what.posture, what.marked, side)


def picture(drill: Drill, model: Model, side: Side, box: Box) -> str:
    """The whole figure of a drill as one SVG file; '' when it has none."""
    set_up, drawing = staged(drill, model), draw(drill, model, side, box)
    if set_up is None or drawing is None:
        return ""
    return one_svg(_arranged(set_up.scene, box, side == "left")[0], drawing.pictures[0].alt)


def paper_box(drills: int, large: bool = False) -> Box:
    """Width and height in millimetres of a figure on a sheet of so many drills, or in large print."""
    if large:
        return LARGE_BOX
    return PAPER_WIDE, PAPER_HIGH.get(drills, SMALL_HIGH if drills == LEAF_DRILLS else PAPER_HIGH[5])


def slip_box(large: bool = False) -> Box:
    """The room of a figure on a slip, in millimetres."""
    return LARGE_BOX if large else SLIP_BOX


MOST_MARKED = 3
"""Tissues marked on a figure that names none itself: more hatching hides the body (common practice)."""


def targets_of(drill: Drill, atlas: Atlas) -> tuple[str, ...]:
    """The tissues a drill's figure marks: those it names, or else the drill's first, groups as their members."""
    named = drill.figure.targets if drill.figure and drill.figure.targets else drill.tissues[:MOST_MARKED]
    return tuple(dict.fromkeys(atlas.members(named)))


def staged(drill: Drill, model: Model) -> Stage | None:
    """The drill's figure set up for its right side, None when it has none."""
    if drill.figure is None:
        return None
    return stage(drill.figure, model.surfaces, targets_of(drill, model.atlas), _sides(drill))


def _sides(drill: Drill) -> tuple[str, ...]:
    """The sides on which a drill's targets are marked: its working side, or both where it works both at once."""
    return ("right",) if drill.paired else ("left", "right")


def _arranged(scene: Scene, box: Box, mirror: bool) -> tuple[tuple[Panel, ...], bool]:
    """The panels within a box that they share, and whether one stands over the other: as large as they get."""
    wide, high = box
    if scene.start is None:
        return panels(scene, box, mirror), False
    high -= CAPTION_HIGH
    if scene.ghost:
        return panels(scene, (wide, high), mirror), False
    beside = panels(scene, ((wide - GAP) / 2, high), mirror)
    if max(panel.height for panel in beside) >= high * STACK_BELOW:
        return beside, False
    over = panels(scene, (wide, (high - CAPTION_HIGH) / 2), mirror)
    larger = max(panel.width for panel in over) > max(panel.width for panel in beside)
    return (over, True) if larger else (beside, False)


def _caption(panel: Panel, scene: Scene) -> str:
    return GHOST_CAPTION if scene.ghost and scene.start is not None else panel.caption
