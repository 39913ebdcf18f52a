"""Entries of a figure between the letters of a record and values: contacts and arrows, one at a time."""

from __future__ import annotations

import re

from homecare.core.pose import FREE, Arrow, Contact
from homecare.figure.landmarks import landmark
from homecare.figure.room import SURFACES, TOOLS
from homecare.figure.scene import WAYS

TO_AND_FRO = "to-and-fro"
# No place is a kilometre away, and a number without end is infinite.
_FIX = re.compile(r"([xyz])=(-?\d{1,3}(?:\.\d+)?)(?!\S)")


def entry_words(text: str) -> list[str]:
    """The words of a contact without the place that it is fixed at."""
    return _FIX.sub("", text).split()


def contact_of(text: str) -> Contact | None:
    """A contact as written, with `both_` still before its point, which is not looked at; None where it is none."""
    fixed = {axis: float(value) for axis, value in _FIX.findall(text)}
    words = entry_words(text)
    slides = words[-1:] == ["slides"]
    words = words[:-1] if slides else words
    tool, on = "", ""
    match words[1:]:
        case []:
            pass
        case ["free"]:
            on = FREE
        case ["on", thing] if thing in TOOLS:
            tool, on = thing, "floor"
        case ["on", thing, "at", surface] if thing in TOOLS and surface in SURFACES:
            tool, on = thing, surface
        case ["on", thing] if thing in SURFACES or is_point(thing):
            on = thing
        case _:
            return None
    point = words[0] if words else ""
    return Contact(point, on, tool, fixed.get("x"), fixed.get("y"), fixed.get("z"), slides)


def contact_text(contact: Contact) -> str:
    """A contact in the letters that `contact_of` reads."""
    on = f"on {contact.tool} at {contact.on}" if contact.tool else f"on {contact.on}" if contact.on else ""
    fixed = [(axis, getattr(contact, axis)) for axis in "xyz"]
    parts = [contact.point, FREE if contact.on == FREE else on]
    parts += [f"{axis}={metres(value)}" for axis, value in fixed if value is not None]
    return " ".join(part for part in (*parts, "slides" if contact.slides else "") if part)


def arrow_of(text: str) -> Arrow | None:
    """An arrow as written, its point not looked at; None where its way is none."""
    point, *rest = text.split() or [""]
    both_ways = rest[:1] == [TO_AND_FRO]
    way = rest[1:] if both_ways else rest
    return Arrow(point, way[0], both_ways) if len(way) == 1 and way[0] in WAYS else None


def arrow_text(arrow: Arrow) -> str:
    """An arrow in the letters that `arrow_of` reads."""
    return f"{arrow.point} {f'{TO_AND_FRO} ' if arrow.both_ways else ''}{arrow.way}"


def metres(value: float) -> str:
    """A length to the hundredth of a millimetre, without needless noughts."""
    return f"{round(value, 5):.5f}".rstrip("0").rstrip(".")


def is_point(name: str) -> bool:
    """Whether a name is one of a point of the body, with its side and share."""
    try:
        landmark(name)
    except KeyError:
        return False
    return True
