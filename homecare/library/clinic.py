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
    root = compose(read_text(path), str(path))
    if root is None:
        return Clinic()
    reader = Reader(str(path))
    fields = Fields(reader, root, "the clinic file")
    clinic = Clinic(
        name=fields.text("name", ""),
        address=fields.text("address", ""),
        phone=fields.text("phone", ""),
        hours=fields.text("hours", ""),
        after_hours=fields.text("after_hours", ""),
        logo=_logo(fields, path.parent),
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
    times = {part: inner.text(part, "") for part in get_args(Part)}
    inner.finish()
    for part, time in times.items():
        if time and not CLOCK.fullmatch(time):
            fields.reader.fault(node, "clock", f"the time of {part} cannot be {time!r}", "such as 07:30")
    return {cast(Part, part): time for part, time in times.items() if time}


def _logo(fields: Fields, folder: Path) -> str:
    """The logo as a data address: turned upright, shrunk, its metadata gone; '' when none is named."""
    name = fields.text("logo", "")
    node = fields.node_of("logo")
    if node is None:
        return ""
    try:
        plain = plain_picture(folder / name, LOGO_PIXELS, "PNG")
    except NoPicture as fault:
        fields.reader.fault(node, "logo", f"the logo {name!r} cannot be used: {fault}", "a PNG or JPEG file")
        return ""
    return "data:image/png;base64," + base64.b64encode(plain).decode()
