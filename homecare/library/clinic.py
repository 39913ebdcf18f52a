"""Reads the clinic's own file: who hands the sheet over, how it is reached, and its habits of printing."""

from __future__ import annotations

import base64
import re
from pathlib import Path
from typing import Literal, cast, get_args

from homecare.core.drill import Part
from homecare.core.problems import InputFault
from homecare.core.sheet import Clinic
from homecare.library.letters import refuse_unprinted
from homecare.library.nodes import Fields, Reader, compose, read_text
from homecare.library.pictures import NoPicture, plain_picture

LOGO_PIXELS = (800, 400)
CLOCK = re.compile(r"([01]?\d|2[0-3]):[0-5]\d")
WEB = re.compile(r"https?://[A-Za-z0-9.-]+(:\d{1,5})?(/[A-Za-z0-9._~-]+)*/?")


def read_clinic(path: Path) -> Clinic:
    """The clinic in a YAML file; raises InputFault with every fault."""
    return clinic_of_text(read_text(path), str(path), path.parent)


def clinic_of_text(text: str, file: str, folder: Path | None = None) -> Clinic:
    """The clinic in YAML text; `file` is the name that faults tell, `folder` where a logo's file name leads from.

    Without a folder the text may name no logo: it is kept elsewhere. Raises InputFault with every fault.
    """
    root = compose(text, file)
    if root is None:
        return Clinic()
    reader = Reader(file)
    fields = Fields(reader, root, "the clinic file")
    clinic = Clinic(
        name=fields.text("name", ""),
        address=fields.text("address", ""),
        phone=fields.text("phone", ""),
        hours=fields.text("hours", ""),
        after_hours=fields.text("after_hours", ""),
        logo=_logo(fields, folder) if folder else "",
        paper=cast(Literal["a4", "letter"], fields.choice("paper", ("a4", "letter"), "a4")),
        language=fields.choice("language", ("en",), "en"),
        web=_web(fields),
        clock=_clock(fields),
        few=fields.whole("few", 1, 14, Clinic.few),
        max_drills=fields.whole("max_drills", 1, 14, Clinic.max_drills),
    )
    fields.finish()
    refuse_unprinted(reader, root)
    if reader.problems:
        raise InputFault(reader.problems)
    return clinic


def _web(fields: Fields) -> str:
    text = fields.text("web", Clinic.web).rstrip("/")
    node = fields.node_of("web")
    if node is not None and not WEB.fullmatch(text):
        fields.reader.fault(node, "web", f"'web' {text!r} is no web address", "such as https://care.example")
    return text


def _clock(fields: Fields) -> dict[Part, str] | None:
    node = fields.node_of("clock")
    if node is None:
        return None
    inner = Fields(fields.reader, node, "'clock'")
    times: dict[Part, str] = {}
    for part in get_args(Part):
        time = inner.text(part, "")
        place = inner.node_of(part)
        if place is not None and time and not CLOCK.fullmatch(time):
            fields.reader.fault(place, "clock", f"the time of {part} cannot be {time!r}", "such as 07:30")
        elif time:
            times[part] = time
    inner.finish()
    return times


def plain_logo(source: Path | bytes) -> bytes:
    """A logo as it is printed and kept: a PNG, upright, shrunk, its metadata gone. Raises NoPicture."""
    return plain_picture(source, LOGO_PIXELS, "PNG")


def logo_address(png: bytes) -> str:
    """A plain logo as the data address that a `Clinic` has."""
    return "data:image/png;base64," + base64.b64encode(png).decode()


def _logo(fields: Fields, folder: Path) -> str:
    """The logo as a data address; '' when none is named, or it is at fault."""
    name = fields.text("logo", "")
    node = fields.node_of("logo")
    if node is None:
        return ""
    try:
        return logo_address(plain_logo(folder / name))
    except NoPicture as fault:
        fields.reader.fault(node, "logo", f"the logo {name!r} cannot be used: {fault}", "a PNG or JPEG file")
        return ""
