"""The pages for the phone that are the same for everyone: a drill's, since the dose stays in the link, and the list."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from homecare.core.drill import Drill, Kind
from homecare.core.sheet import Drawing, DrillText, Photograph
from homecare.render import sheet_view
from homecare.render.assets import environment
from homecare.render.photos import phone_uri

Shows = Literal["list", "sheet", "missing", "unsaved"]
"""What a page of the list says above it: that of everything, of one's own sheet, or instead of a page not to be had."""


@dataclass(frozen=True)
class Site:
    """What a page says of itself on a host that sends no headers of ours.

    `policy` is what it may load, `root` leads to the list; `manifest`, `page_manifest` (that of the page itself, not of
    the site), `icon` and `touch_icon` are addresses, '' on a page that cannot be saved; `style` and `script` stand
    inside a page that has to do without other files.
    """

    policy: str
    root: str
    manifest: str = ""
    page_manifest: str = ""
    icon: str = ""
    touch_icon: str = ""
    style: str = ""
    script: str = ""


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
    site: Site | None = None,
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
            site=site,
            sentences=sheet_view.sentences,
        )
    )


def list_page_html(
    drills: Sequence[Drill],
    shows: Shows,
    *,
    scripts: Sequence[str],
    style: str,
    root: str = "/",
    end: str = "",
    site: Site | None = None,
) -> str:
    """The list of `drills` by name; a drill's link is `root`, its plain address and `end`."""
    return (
        environment()
        .get_template("phone/index.html")
        .render(
            drills=sorted(drills, key=lambda drill: (drill.name.lower(), drill.id)),
            shows=shows,
            title="Your drills" if shows == "sheet" else "Drills",
            scripts=scripts,
            style=style,
            root=root,
            end=end,
            site=site,
        )
    )
