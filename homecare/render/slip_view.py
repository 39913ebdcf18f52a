"""The slip of a change to an issued sheet: its words, then a tagged PDF of quarter pages (large print: half pages)."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Any

from homecare.core.drill import Kind
from homecare.core.plain import listed, sentence
from homecare.core.sheet import SheetDrill
from homecare.core.slip import Slip, SlipDay, SlipLine
from homecare.render.assets import environment
from homecare.render.codes import DRILL_MM, SHEET_MM
from homecare.render.dose_words import MONTHS, WEEKDAYS, day_words, dose_words
from homecare.render.links import web_host
from homecare.render.photos import paper_uri
from homecare.render.print_view import Paper, code_uri, days_on_code, page_pdf, picture_uri
from homecare.render.sheet_view import step_number

STYLES = ("print/fonts.css", "print/tokens.css", "print/sheet.css", "print/slip.css")
LARGE_STYLES = (*STYLES, "print/slip_large.css")

WEEKDAY_DAYS = 28
"""Days over which "Sun 10" is told apart from every other; over more, the month stands there."""


@dataclass(frozen=True)
class Change:
    """One drill that changes, as the template shows it: what to do about it in sentences, and its days to tick."""

    number: int | None
    kind: Kind
    name: str
    part: str
    says: tuple[str, ...]
    days: tuple[tuple[str, int], ...]


def slip_pdf(slip: Slip, paper: Paper = "a4", large: bool = False) -> bytes:
    """The slip as PDF/UA-1; the same bytes for the same change, paper and size of print, on any day.

    Its pages are quarters of the paper, printed on both sides and as many as it takes; halves in large print.
    """
    return page_pdf(slip_html(slip, paper, large), LARGE_STYLES if large else STYLES)


def slip_html(slip: Slip, paper: Paper = "a4", large: bool = False) -> str:
    """The same slip as HTML."""
    return environment().get_template("print/slip.html").render(_context(slip), paper=paper, large=large)


def change_words(line: SlipLine, day: date) -> str:
    """One change in plain sentences, for whoever reads it without the slip."""
    row = f"row {line.number}, " if line.number else ""
    said = [sentence(f"from {day_words(day)}, {row}{_called(line.drill)}"), *_holds(line, day)]
    if line.days:
        said.append(sentence(f"its days: {listed([day_words(one.day) for one in line.days])}"))
    return " ".join(said)


def _context(slip: Slip) -> dict[str, Any]:
    now = slip.now
    return {
        "slip": slip,
        "clinic": slip.issued.clinic,
        "words": now.words,
        "changes": [_change(line, now.start) for line in slip.lines],
        "day": day_words(now.start),
        "issued": day_words(slip.issued.start, year=True),
        "created": now.start.isoformat(),
        "host": web_host(slip.issued.clinic.web),
        "days_on_code": days_on_code(now),
        "code": code_uri,
        "picture_uri": picture_uri,
        "photo_uri": paper_uri,
        "DRILL_MM": DRILL_MM,
        "SHEET_MM": SHEET_MM,
    }


def _called(drill: SheetDrill) -> str:
    return f"{drill.text.name} ({drill.text.part})"


def _change(line: SlipLine, day: date) -> Change:
    text = line.drill.text
    return Change(line.number, line.drill.kind, text.name, text.part, _says(line, day), _days(line.days or ()))


def _says(line: SlipLine, day: date) -> tuple[str, ...]:
    """What to do about one change, in sentences; the last one leads to its boxes."""
    said = _holds(line, day)
    if line.change == "new":
        said += ("Turn over to see how it is done. Tick here:",)
    elif line.days:
        said += (f"Tick here, no more in row {line.number}:",)
    return said


def _holds(line: SlipLine, day: date) -> tuple[str, ...]:
    if line.change == "off" or line.days == ():
        why = "Stop this drill." if line.change == "off" else "It has no more days."
        return (f"{why} Cross out row {line.number}.",)
    steps = line.steps or ()
    said = []
    if line.change in ("dose", "new"):
        first = steps[0][0] if steps else line.drill.start_rung
        verb = "New drill" if line.change == "new" else "New dose"
        said.append(f"{verb}: {dose_words(line.drill.rungs[first])}.")
        said += [_step(line.drill, rung, when, dose=True) for rung, when in steps[1:]]
        if line.change == "dose":
            said.append(f"Cross out its old dose in row {line.number}.")
    else:
        said += [_step(line.drill, rung, when, dose=False) for rung, when in steps if when > day]
    if line.gone:
        numbers = listed([str(step_number(line.drill, rung)) for rung in line.gone])
        said.append(f"Leave out step {numbers} for now.")
    return tuple(said)


def _step(drill: SheetDrill, rung: int, when: date, *, dose: bool) -> str:
    words = f"Step {step_number(drill, rung)}, not before {day_words(when, weekday=False)}"
    return f"{words}: {dose_words(drill.rungs[rung])}." if dose else f"{words}."


def _days(days: tuple[SlipDay, ...]) -> tuple[tuple[str, int], ...]:
    far = bool(days) and (days[-1].day - days[0].day).days >= WEEKDAY_DAYS
    return tuple((_day(one.day, far), one.boxes) for one in days)


def _day(day: date, far: bool) -> str:
    return f"{day.day} {MONTHS[day.month - 1][:3]}" if far else f"{WEEKDAYS[day.weekday()][:3]} {day.day}"
