"""The page of one drill for the phone: the same for everyone, since the dose stays in the link's fragment."""

from __future__ import annotations

from collections.abc import Sequence

from homecare.core.drill import Kind
from homecare.core.sheet import Drawing, DrillText, Photograph
from homecare.render import sheet_view
from homecare.render.assets import environment
from homecare.render.photos import phone_uri


def drill_page_html(
    text: DrillText,
    code: str,
    kind: Kind,
    drawing: Drawing | None,
    photo: Photograph | None,
    *,
    scripts: Sequence[str],
    style: str,
    language: str = "en",
) -> str:
    """The page; `text` is that of the drill for no side, `code` its short code, `scripts` and `style` the addresses
    of dose.js, figure.js and phone.css. Without script it says that the dose is on the sheet."""
    return (
        environment()
        .get_template("phone/drill.html")
        .render(
            text=text,
            code=code,
            kind=kind,
            drawing=drawing,
            photo=photo,
            photo_uri=phone_uri,
            scripts=scripts,
            style=style,
            language=language,
            sentences=sheet_view.sentences,
        )
    )
