"""Colours, tints, hatch and stroke widths of every figure: the one place to change how they look."""

from __future__ import annotations

from collections.abc import Mapping

INK = "#2e3138"
"""Outline of the body; warm, nearly black, so that it survives a photocopy of a photocopy."""
PROP_INK = "#6f6a62"
GHOST_INK = "#a9a6a0"
MARK = "#b3341c"
"""Targets, nerves and arrows."""
CASING = "#fff"
FAR = "#8f969c"
"""What a far limb is mixed with."""
FAR_SHARE = 0.3

TINTS: Mapping[str, str] = {
    "skin": "#f6e3d3",
    "shirt": "#c8dae4",
    "shorts": "#93aab9",
    "hair": "#4d423d",
    "eye": INK,
    "ghost": "#f1efeb",
    "floor": "#efebe3",
    "wall": "#e7e2d8",
    "mat": "#e3e7df",
    "furniture": "#d9d2c5",
    "roller": "#b7bfae",
    "ball": "#d9bf8f",
    "stick": "#b99f7c",
    "cord": "#6d8a86",
    "cloth": "#ece3cf",
    "metal": "#9c9b99",
}
"""Fill of each kind of piece."""

OUTLINE_MM = 0.28
PROP_MM = 0.2
FLOOR_MM = 0.5
ARROW_MM = 0.75
ARROW_HEAD_MM = 2.2
CASING_MM = 0.35
"""White beside an arrow or a nerve, on each side."""
NERVE_MM = 0.55
NERVE_DASH_MM = (1.1, 0.75)
FAR_MM = 0.3
FAR_DASH_MM = (0.7, 0.55)
"""Dashes of a target that lies on the far side."""
HATCH_STEP_MM = 0.75
HATCH_MM = 0.24


def mixed(one: str, other: str, share: float) -> str:
    """A colour the share (0 to 1) of the way to another, both as six hex digits."""
    pairs = ((int(one[i : i + 2], 16), int(other[i : i + 2], 16)) for i in (1, 3, 5))
    return "#" + "".join(f"{round(a + (b - a) * share):02x}" for a, b in pairs)
