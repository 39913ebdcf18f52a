"""The links behind the codes: an address, then in its fragment the dose, which no server ever sees.

A drill's link is ``WEB/CODE#BODY.CHECK`` and a sheet's is ``WEB/S#BODY.CHECK`` (`S` is no drill's code: those have two
letters or more). Everything after the origin keeps to capitals, figures and ``% + - . / :``, so that a code packs it
tightly; the scheme and host of the address are put in capitals for the same reason, which changes nothing for them.

Drill body   ``1`` version, side (L R B N), start rung (one base-36 figure), then ``.`` and a rung, for each rung.
Rung         letter and number for each field that differs from the rung before (the first: from one set, nothing
             held, 10 s to set up, once a day): S sets, P repetitions, H hold, T tempo, R rest, U setup (seconds),
             N times a day, L load in words to the end of the rung (capitals, ``+`` for a space, ``%XX`` for the rest);
             ``L*``: the loads are on paper, because the code could not hold them.
Sheet body   ``1``, a level (D, T or L), start (three base-36 figures: days since 2020-01-01), days (two), then for
             each drill ``.`` side, code; at level D ``:`` its days as a base-36 number whose lowest bit is the first
             day; at D and T ``:`` the rungs that the plan uses, joined by ``/``, and ``:`` for each but the first used
             rung two base-36 figures: the day, from 0, before which it is not reached. D carries the days, T only
             steps, L only drills.
CHECK        four base-36 figures of a polynomial over the path and the body, modulo a prime: any one wrong
             character and any two neighbours swapped are found for certain, anything else but once in 1.7 million.
             It says nothing of who made the link: what is read is held to what a dose and a sheet may be.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import Literal
from urllib.parse import quote, unquote_to_bytes

from homecare.core.atlas import Side
from homecare.core.base36 import FIGURES, base36, check_figures, from_base36
from homecare.core.drill import DOSE_LIMITS, Rung
from homecare.core.findings import MAX_DAYS
from homecare.core.sheet import Sheet, SheetDrill

VERSION = "1"
SHEET_PATH = "S"
DRILL_LIMIT = 100
"""Longest address that a 22 mm code was seen to carry from print (measured, error correction L)."""
SHEET_LIMIT = 190
"""Longest address that a 28 mm code was seen to carry from print (measured, error correction L)."""

_SIDES: dict[Side, str] = {"left": "L", "right": "R", "both": "B", "none": "N"}
_SIDE_OF = {letter: side for side, letter in _SIDES.items()}
_FIELDS = {"S": "sets", "P": "reps", "H": "hold_s", "T": "tempo_s", "R": "rest_s", "U": "setup_s", "N": "times"}
_BLANK = Rung(sets=1, reps=1)
ON_PAPER = "the load on your sheet"
"""What stands for a load that the code could not hold."""

_EPOCH = date(2020, 1, 1)
_RUNG = re.compile(r"((?:[SPHTRUN][0-9]{1,5})*)(L(?:(?:[A-Z0-9+_-]|%[0-9A-F]{2})*|\*))?")
_CODE = re.compile(r"[A-Z]{2,3}")
Level = Literal["days", "steps", "list"]
_LEVELS: dict[str, Level] = {"D": "days", "T": "steps", "L": "list"}


@dataclass(frozen=True)
class Refusal:
    """A link that cannot be trusted, and why, in words for the athlete."""

    because: str


@dataclass(frozen=True)
class DrillDose:
    """What a drill's link carries; loads come back in small letters."""

    side: Side
    start_rung: int
    rungs: tuple[Rung, ...]


@dataclass(frozen=True)
class LinkedDrill:
    """One drill of a sheet's link: the rungs the plan uses, and the first day (from 0) of each but the first."""

    code: str
    side: Side
    days: tuple[date, ...] = ()
    rungs: tuple[Rung, ...] = ()
    step_dates: tuple[date, ...] = ()


@dataclass(frozen=True)
class SheetDays:
    """What a sheet's link carries; at level `steps` and `list` the days are on paper only."""

    level: Level
    start: date
    length: int
    drills: tuple[LinkedDrill, ...]


_DAMAGED = Refusal("This link is damaged. Scan the code again, or read the dose from your sheet.")
_NEWER = Refusal("This link is of another kind than this page knows. Read the dose from your sheet.")


def drill_link(web: str, code: str, side: Side, rungs: Sequence[Rung], start_rung: int) -> str:
    """The full link of one drill at one dose; what a code cannot hold is left out, loads first, then high rungs."""
    front = f"{_origin(web)}/{code}#"
    bare = _loads_on_paper(rungs)
    for carried in (rungs, *(bare[:kept] for kept in range(len(rungs), start_rung, -1))):
        body = f"{VERSION}{_SIDES[side]}{FIGURES[start_rung]}.{_pack_rungs(carried, '.')}"
        link = f"{front}{body}.{_check(code, body)}"
        if len(link) <= DRILL_LIMIT:
            return link
    return front.removesuffix("#")


def sheet_link(web: str, sheet: Sheet) -> str:
    """The full link of a whole sheet: its days where a 28 mm code can hold them, else less (see the module)."""
    front = f"{_origin(web)}/{SHEET_PATH}#"
    head = f"{base36((sheet.start - _EPOCH).days, 3)}{base36(len(sheet.days), 2)}"
    bare = replace(sheet, drills=tuple(replace(one, rungs=_loads_on_paper(one.rungs)) for one in sheet.drills))
    for level in _LEVELS:
        for carried in (sheet, bare):
            drills = "".join(f".{_pack_drill(carried, drill, level)}" for drill in carried.drills)
            body = f"{VERSION}{level}{head}{drills}"
            link = f"{front}{body}.{_check(SHEET_PATH, body)}"
            if len(link) <= SHEET_LIMIT:
                return link
    return front.removesuffix("#")


def read_drill(code: str, fragment: str) -> DrillDose | Refusal:
    """The dose in a drill link's fragment, or why it is refused."""
    body = _checked(code, fragment)
    if isinstance(body, Refusal):
        return body
    head, *rest = body.split(".")
    rungs = _unpack_rungs(rest)
    if len(head) != 3 or head[1] not in _SIDE_OF or rungs is None or not _figure(head[2]) < len(rungs):
        return _DAMAGED
    return DrillDose(_SIDE_OF[head[1]], _figure(head[2]), rungs)


def read_sheet(fragment: str) -> SheetDays | Refusal:
    """The days and steps in a sheet link's fragment, or why it is refused."""
    body = _checked(SHEET_PATH, fragment)
    if isinstance(body, Refusal):
        return body
    head, *rest = body.split(".")
    if len(head) != 7 or head[1] not in _LEVELS:
        return _DAMAGED
    first, length = from_base36(head[2:5]), from_base36(head[5:7])
    if first is None or length is None or length > MAX_DAYS:
        return _DAMAGED
    start = _EPOCH + timedelta(days=first)
    drills = [_unpack_drill(one, start, length, head[1]) for one in rest]
    whole = tuple(one for one in drills if one is not None)
    if len(whole) != len(drills):
        return _DAMAGED
    return SheetDays(_LEVELS[head[1]], start, length, whole)


def link_fragment(link: str) -> str:
    """What stands after the # of a link; empty when it has none."""
    return link.partition("#")[2]


def link_path(link: str) -> str:
    """A link without scheme, host and folder: `/CODE#...`, or `/CODE` alone."""
    address, mark, fragment = link.partition("#")
    return f"/{address.rpartition('/')[2]}{mark}{fragment}"


def whole_link(web: str, path: str) -> str:
    """The link that `link_path` was taken from, at a web address as the clinic's file says it."""
    return f"{_origin(web)}{path}"


def web_host(web: str) -> str:
    """A web address as people type it: no scheme, no slash at the end."""
    return re.sub(r"^[a-z]+://", "", web.strip(), flags=re.IGNORECASE).rstrip("/")


def _origin(web: str) -> str:
    """Scheme and host in capitals, a path as it stands (paths tell capitals apart); https when no scheme is given."""
    scheme, mark, rest = web.strip().rstrip("/").rpartition("://")
    host, slash, path = rest.partition("/")
    return f"{(scheme + mark or 'https://').upper()}{host.upper()}{slash}{path}"


def _check(path: str, body: str) -> str:
    return check_figures(f"{path}#{body}")


def _checked(path: str, fragment: str) -> str | Refusal:
    """The body of a fragment whose check holds and whose version is known; none of ours is longer than its code."""
    body, _, check = fragment.rpartition(".")
    if not body or len(fragment) > SHEET_LIMIT or check != _check(path, body):
        return _DAMAGED
    return body if body.startswith(VERSION) else _NEWER


def _figure(letter: str) -> int:
    return FIGURES.index(letter) if letter in FIGURES else len(FIGURES)


def _pack_rungs(rungs: Sequence[Rung], joint: str) -> str:
    before, packed = _BLANK, []
    for rung in rungs:
        text = "".join(
            f"{letter}{getattr(rung, name)}"
            for letter, name in _FIELDS.items()
            if getattr(rung, name) != getattr(before, name)
        )
        if rung.load != before.load:
            text += "L" + _pack_load(rung.load)
        packed.append(text)
        before = rung
    return joint.join(packed)


def _loads_on_paper(rungs: Sequence[Rung]) -> tuple[Rung, ...]:
    return tuple(replace(rung, load=ON_PAPER) if rung.load else rung for rung in rungs)


def _pack_load(load: str) -> str:
    """Capitals and plus signs; whatever could end a rung, or is not plain, as %XX."""
    if load == ON_PAPER:
        return "*"
    return quote(load.upper(), safe=" ").replace(".", "%2E").replace("~", "%7E").replace(" ", "+")


def _unpack_rungs(packed: Sequence[str]) -> tuple[Rung, ...] | None:
    before, rungs = _BLANK, []
    for text in packed:
        match = _RUNG.fullmatch(text)
        if match is None:
            return None
        numbers = [(_FIELDS[letter], int(value)) for letter, value in re.findall(r"([A-Z])([0-9]+)", match[1])]
        load = before.load if match[2] is None else _unpack_load(match[2][1:])
        if load is None or not all(DOSE_LIMITS[name][0] <= value <= DOSE_LIMITS[name][1] for name, value in numbers):
            return None
        before = replace(before, load=load, **dict(numbers))
        rungs.append(before)
    return tuple(rungs)


def _unpack_load(text: str) -> str | None:
    if text == "*":
        return ON_PAPER
    try:
        return unquote_to_bytes(text.replace("+", " ")).decode().lower()
    except UnicodeDecodeError:
        return None


def _planned(sheet: Sheet, drill: SheetDrill) -> list[tuple[int, int]]:
    """Day number and rung of each planned day of one drill, in order."""
    return [
        (number, item.rung)
        for number, day in enumerate(sheet.days)
        for item in day.items
        if (item.drill, item.side) == (drill.id, drill.side)
    ]


def _pack_drill(sheet: Sheet, drill: SheetDrill, level: str) -> str:
    packed = f"{_SIDES[drill.side]}{drill.code}"
    planned = _planned(sheet, drill)
    if level == "D":
        packed += f":{base36(sum(1 << number for number, _ in planned), 1)}"
    if level in "DT":
        low, high = (planned[0][1], max(rung for _, rung in planned)) if planned else (drill.start_rung,) * 2
        firsts = [min(number for number, rung in planned if rung >= step) for step in range(low + 1, high + 1)]
        packed += f":{_pack_rungs(drill.rungs[low : high + 1], '/')}:{''.join(base36(day, 2) for day in firsts)}"
    return packed


def _unpack_drill(text: str, start: date, length: int, level: str) -> LinkedDrill | None:
    name, *fields = text.split(":")
    side, code = _SIDE_OF.get(name[:1]), name[1:]
    if len(fields) != {"D": 3, "T": 2, "L": 0}[level] or side is None or not _CODE.fullmatch(code):
        return None
    bits = from_base36(fields.pop(0)) if level == "D" else 0
    if bits is None or bits.bit_length() > length:
        return None
    days = tuple(start + timedelta(days=number) for number in range(length) if bits >> number & 1)
    if not fields:
        return LinkedDrill(code, side)
    rungs = _unpack_rungs(fields[0].split("/"))
    steps = [from_base36(fields[1][at : at + 2]) for at in range(0, len(fields[1]), 2)]
    if rungs is None or len(fields[1]) != 2 * (len(rungs) - 1):
        return None
    within = [step for step in steps if step is not None and step < length]
    if len(within) != len(steps):
        return None
    return LinkedDrill(code, side, days, rungs, tuple(start + timedelta(days=step) for step in within))
