"""A drill of the library as its page: what the clinic's own server and the published site both show."""

from __future__ import annotations

from collections.abc import Sequence

from homecare.core.drill import Drill
from homecare.core.sheet import Photograph
from homecare.core.words import drill_text
from homecare.library.load import Library
from homecare.render.figures import Model, draw
from homecare.render.phone_page import Site, drill_page_html


def drill_page(drill: Drill, library: Library, *, scripts: Sequence[str], style: str, site: Site | None = None) -> str:
    """The page of one drill, its figure drawn and its photograph in it; for no side, since the link says which."""
    text = drill_text(drill, "none")
    drawing = draw(drill, Model(library.atlas, library.surfaces, library.postures), "right")
    shown = library.photos.get(drill.id)
    photo = Photograph(shown.jpeg, shown.words, mirrored=False) if shown else None
    return drill_page_html(text, drill.code, drill.kind, drawing, photo, scripts=scripts, style=style, site=site)
