"""The slip of a change to an issued sheet: its words, then a tagged PDF of quarter pages (large print: half pages)."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
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
from homecare.render.press import Paper, printed
from homecare.render.print_view import code_uri, days_on_code, picture_uri
from homecare.render.sheet_view import opened, step_number

WEEKDAY_DAYS = 28
"""Days over which "Sun 10" is told apart from every other; more of them stand in a table, a row for a week."""


@dataclass(frozen=True)
class Change:
    """One drill that changes, as the template shows it: what to do about it in sentences, and its boxes to tick by
    day, or where there are many by week (its first day, and the boxes of its seven days).

    `number` is its row on the leaf, None where it has none; `new` says that nothing has shown it before.
    """

    number: int | None
    new: bool
    kind: Kind
    name: str
    part: str
    says: tuple[str, ...]
    days: tuple[tuple[str, int], ...]
    weeks: tuple[tuple[str, tuple[int, ...]], ...]


def slip_pdf(slip: Slip, paper: Paper = "a4", large: bool = False) -> bytes:
    """The slip as PDF/UA-1; the same bytes for the same change, paper and size of print, on any day.

    Its pages are quarters of the paper, printed on both sides and as many as it takes; halves in large print.
    """
    return printed(slip_html(slip), paper, large)


def slip_html(slip: Slip) -> str:
    """The same slip as HTML."""
    return environment().get_template("print/slip.html").render(_context(slip))


def change_words(line: SlipLine, day: date) -> str:
    """One change in plain sentences, for whoever reads it without the slip."""
    row = f"row {line.number}, " if line.number and line.change != "new" else ""
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
        "changes": [_change(line, slip) for line in slip.lines],
        "weekdays": [WEEKDAYS[(slip.issued.start.weekday() + day) % 7][:3] for day in range(7)],
        "day": day_words(now.start),
        "issued": day_words(slip.issued.start, year=True),
        "earlier": [day_words(day) for day in slip.earlier],
        "created": now.start.isoformat(),
        "host": web_host(slip.issued.clinic.web),
        "opened": opened,
        "sheet_code": opened(slip.issued.clinic, now.sheet_link),
        "days_on_code": days_on_code(now),
        "code": code_uri,
        "picture_uri": picture_uri,
        "photo_uri": paper_uri,
        "DRILL_MM": DRILL_MM,
        "SHEET_MM": SHEET_MM,
    }


def _called(drill: SheetDrill) -> str:
    return f"{drill.text.name} ({drill.text.part})"


def _change(line: SlipLine, slip: Slip) -> Change:
    text, days = line.drill.text, line.days or ()
    far = _far(days)
    return Change(
        number=None if line.change == "new" else line.number,
        new=line.change == "new",
        kind=line.drill.kind,
        name=text.name,
        part=text.part,
        says=_says(line, slip.now.start),
        days=() if far else tuple((f"{WEEKDAYS[one.day.weekday()][:3]} {one.day.day}", one.boxes) for one in days),
        weeks=_weeks(days, slip.issued.start) if far else (),
    )


def _far(days: Sequence[SlipDay]) -> bool:
    return bool(days) and (days[-1].day - days[0].day).days >= WEEKDAY_DAYS


def _weeks(days: Sequence[SlipDay], start: date) -> tuple[tuple[str, tuple[int, ...]], ...]:
    """The boxes by week of the sheet, in columns as the leaf has them; a week without any is left out."""
    boxes = {(one.day - start).days: one.boxes for one in days}
    firsts = sorted({day - day % 7 for day in boxes})
    return tuple(
        (_short(start + timedelta(days=first)), tuple(boxes.get(first + day, 0) for day in range(7)))
        for first in firsts
    )


def _short(day: date) -> str:
    return f"{day.day} {MONTHS[day.month - 1][:3]}"


def _says(line: SlipLine, day: date) -> tuple[str, ...]:
    """What to do about one change, in sentences; the last one leads to its boxes."""
    said = _holds(line, day)
    if line.change == "new":
        where = "The last page shows" if _far(line.days or ()) else "Turn over to see"
        said += (f"{where} how it is done. Tick here:",)
    elif line.days:
        said += (f"Tick here, no more {_place(line, line.days_on)}:",)
    return said


def _holds(line: SlipLine, day: date) -> tuple[str, ...]:
    if line.change == "off" or line.days == ():
        why = "Stop this drill." if line.change == "off" else "It has no more days."
        places = [f"in row {line.number}"] if line.number else []
        places += [f"on the slip from {day_words(one)}" for one in (line.dose_on, line.days_on) if one]
        return (f"{why} Cross it out {listed(places)}.",)
    steps = line.steps or ()
    said = []
    if line.change in ("dose", "new"):
        first = steps[0][0] if steps else line.drill.start_rung
        verb = "New drill" if line.change == "new" else "New dose"
        said.append(f"{verb}: {dose_words(line.drill.rungs[first])}.")
        said += [_step(line.drill, rung, when, dose=True) for rung, when in steps[1:]]
        if line.change == "dose":
            said.append(f"Cross out its old dose {_place(line, line.dose_on)}.")
    else:
        said += [_step(line.drill, rung, when, dose=False) for rung, when in steps if when > day]
    if line.gone:
        numbers = listed([str(step_number(line.drill, rung)) for rung in line.gone])
        said.append(f"Leave out step {numbers} for now.")
    return tuple(said)


def _place(line: SlipLine, slip: date | None) -> str:
    """Where a dose or boxes stand so far: on an earlier slip, else in the row on the leaf."""
    return f"on the slip from {day_words(slip)}" if slip else f"in row {line.number}"


def _step(drill: SheetDrill, rung: int, when: date, *, dose: bool) -> str:
    words = f"Step {step_number(drill, rung)}, not before {day_words(when, weekday=False)}"
    return f"{words}: {dose_words(drill.rungs[rung])}." if dose else f"{words}."
