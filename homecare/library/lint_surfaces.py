"""The library's rule of surfaces: what a drill targets can be shown on the body."""

from __future__ import annotations

from collections.abc import Iterator

from homecare.core.problems import Problem
from homecare.library.load import Library

UNSHOWN_KINDS = ("root",)
"""Roots have no surface: they lie within the spine, and what is felt of them lies along their nerves."""


def targets_drawn(library: Library) -> Iterator[Problem]:
    """Every tissue that a drill targets has a surface: a line for a nerve, a spindle for anything else."""
    tissues = library.atlas.tissues
    targets: dict[str, str] = {}
    for drill in library.drills.values():
        shown = (*drill.tissues, *(drill.figure.targets if drill.figure else ()))
        targets |= dict.fromkeys(library.atlas.members(shown), drill.id)
    for one, drill_id in sorted(targets.items()):
        if one not in library.surfaces and tissues[one].kind not in UNSHOWN_KINDS:
            message = f"{one}: {drill_id} targets it, but nothing says where it lies on the body"
            yield Problem(tissues[one].where, "surface", message, "write it under 'surfaces'")
    for surface in library.surfaces.values():
        kind = tissues[surface.id].kind
        if surface.is_line != (kind == "nerve"):
            message = f"{surface.id}: a {kind} is drawn as a {'line' if surface.is_line else 'spindle'}"
            yield Problem(surface.where, "surface", message, "'line' is for nerves, 'on' for all else")
