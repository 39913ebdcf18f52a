"""A drill's figure seen from anywhere, still or moving: for the library's editor, where it is drawn while one types."""

from __future__ import annotations

from dataclasses import replace

from homecare.core.drill import Drill
from homecare.figure.moving import moving_svg
from homecare.figure.picture import one_svg, panels
from homecare.figure.staging import moving_frames
from homecare.figure.words import alt_text
from homecare.render.figures import Model, staged, targets_of

BOX = (110.0, 62.0)
"""Millimetres that the panels share: the width of the editor's pane, in the proportions of paper."""
GAP = 5.0


def turned_svg(drill: Drill, model: Model, turn: float = 0.0, moving: bool = False) -> tuple[str, str]:
    """The figure turned by some degrees about the upright, as one SVG, and what it shows in words.

    A drill without a start does not move; one without a figure gives two empty texts.
    """
    set_up = staged(drill, model)
    if set_up is None or drill.figure is None:
        return "", ""
    marked = [model.atlas.tissues[one].plain for one in targets_of(drill, model.atlas) if one in model.surfaces]
    words = alt_text(drill.figure, model.postures[drill.figure.posture], marked)
    azimuth, elevation = set_up.scene.view
    scene = replace(set_up.scene, view=(azimuth + turn, elevation))
    frames = moving_frames(drill.figure) if moving else ()
    if frames:
        return moving_svg(frames, scene, BOX, words), words
    two = scene.start is not None and not scene.ghost
    wide, high = BOX
    return one_svg(panels(scene, ((wide - GAP) / 2 if two else wide, high)), words), words
