"""What a phone shows at the clinic: how often each drill was done, how it responded, and the notes from 0 to 10.

The text of the code, in capitals and figures only, so that a code packs it tightly and a person can type it:

``R1`` version, mark of the sheet (four base-36 figures), then three letters for each drill in the sheet's order: boxes
ticked (two base-36 figures) and response (S settled, O sore, W worse, N no answer), then ``.``, then three figures for
each note: its day, from 0 (two base-36 figures), and the note (0 to A), then ``.`` and CHECK.

CHECK is that of the links: four base-36 figures of a polynomial over what stands before it, modulo a prime; any one
wrong letter and any two neighbours swapped are found for certain. Spaces and hyphens are left aside when it is read.
"""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Literal

from homecare.core.base36 import CHECK_FIGURES, base36, check_figures, from_base36

VERSION = "R1"
Response = Literal["settled", "sore", "worse"]
RESPONSES: dict[str, Response | None] = {"S": "settled", "O": "sore", "W": "worse", "N": None}
_LETTERS = {response: letter for letter, response in RESPONSES.items()}
MOST_DONE = 36**2 - 1
MARK_FIGURES = 4


@dataclass(frozen=True)
class DrillReport:
    """One drill as the phone noted it: boxes ticked, and the last response (None: no answer)."""

    done: int
    response: Response | None


@dataclass(frozen=True)
class PhoneReport:
    """Everything a phone shows: the drills in the sheet's order, and the notes from 0 to 10 by date."""

    drills: tuple[DrillReport, ...]
    ratings: tuple[tuple[date, int], ...]


@dataclass(frozen=True)
class ReportRefusal:
    """A code that cannot be used, and why, in words for the practitioner."""

    because: str


def sheet_mark(start: date, drills: Sequence[tuple[str, str]]) -> str:
    """Four base-36 figures that tell one sheet from another, from its start and its drills (id and side) in order."""
    seed = f"{start.isoformat()} " + " ".join(f"{drill}:{side}" for drill, side in drills)
    return base36(int(hashlib.sha256(seed.encode()).hexdigest(), 16) % 36**MARK_FIGURES, MARK_FIGURES)


def report_code(mark: str, start: date, report: PhoneReport) -> str:
    """The text of a report; the phone's own script writes the same."""
    drills = "".join(f"{base36(min(one.done, MOST_DONE), 2)}{_LETTERS[one.response]}" for one in report.drills)
    notes = "".join(f"{base36((day - start).days, 2)}{base36(note)}" for day, note in report.ratings)
    body = f"{VERSION}{mark}{drills}.{notes}"
    return f"{body}.{check_figures(body)}"


def read_report(text: str, start: date, drills: Sequence[tuple[str, str]]) -> PhoneReport | ReportRefusal:
    """A report for the sheet of that start and drills, or why the code is refused."""
    code = "".join(text.upper().split()).replace("-", "")
    body, _, check = code.rpartition(".")
    if not body.startswith("R") or len(check) != CHECK_FIGURES or check != check_figures(body):
        return ReportRefusal("This is no code of a phone page, or a letter of it is wrong.")
    if not body.startswith(VERSION):
        return ReportRefusal("This code was made by another version of the phone page.")
    mark, rest = body[2 : 2 + MARK_FIGURES], body[2 + MARK_FIGURES :]
    if mark != sheet_mark(start, drills):
        return ReportRefusal("This code is of another sheet.")
    done, _, notes = rest.partition(".")
    if len(done) != 3 * len(drills) or len(notes) % 3:
        return ReportRefusal("This is no code of a phone page, or a letter of it is wrong.")
    found = [_drill(done[at : at + 3]) for at in range(0, len(done), 3)]
    ratings = [_note(notes[at : at + 3], start) for at in range(0, len(notes), 3)]
    whole, dated = [one for one in found if one], [one for one in ratings if one]
    if len(whole) != len(found) or len(dated) != len(ratings):
        return ReportRefusal("This is no code of a phone page, or a letter of it is wrong.")
    return PhoneReport(tuple(whole), tuple(sorted(dated)))


def _drill(text: str) -> DrillReport | None:
    done = from_base36(text[:2])
    return None if done is None or text[2] not in RESPONSES else DrillReport(done, RESPONSES[text[2]])


def _note(text: str, start: date) -> tuple[date, int] | None:
    day, note = from_base36(text[:2]), from_base36(text[2])
    return None if day is None or note is None or note > 10 else (start + timedelta(days=day), note)
