"""A sheet as the templates want it: weeks of tick boxes, blocks of drills, steps with their dates."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from homecare.core.drill import PARTS, Kind, Part
from homecare.core.sheet import Clinic, Day, Item, Sheet, SheetDrill, Training
from homecare.core.words import PART_WORDS
from homecare.render.dose_words import MONTHS, WEEKDAYS, day_words, times_words, work_words
from homecare.render.links import web_host

WEEK = 7
LEAF_DAYS = 14
LEAF_DRILLS = 6
"""Up to so many days and drills the sheet is one leaf: days on the front, drills on the back."""

LONG_NAME, LONG_WORD = 36, 24
"""Letters of a name, and of a word of it, beyond which the heading is set smaller (26 pt: about 5 mm a letter)."""

FIGURES_WIDE, PHOTO_WIDE, PICTURE_GAP = 57.0, 22.0, 1.5
"""Millimetres of the column of figures, and what a photograph and the gap before it take of it."""

LETTERS_A_DAY = 11
"""Bold letters of 10 pt that the column of a day holds (19 mm, about 1.7 mm each)."""

STEP_COLUMNS, ROOMY_COLUMNS, WORDY_COLUMNS = 6, 3, 4
"""Steps of dose stand side by side, at most so many in a row; with more than three their months are cut short, with
more than four only the day is left of "not before 6 Mar"."""

LONG_MONTH = 6
"""Letters of a month beyond which it is cut short with three steps in a row as well."""


@dataclass(frozen=True)
class DayHead:
    """The head of one column: "Mon 2", what is trained ("" unless said), and whether there is a visit or an event."""

    name: str
    training: str
    heavy: bool
    visit: bool
    event: bool


@dataclass(frozen=True)
class Cell:
    """One drill on one day: boxes to tick (0 is a dash), and the dose where it is written, over `room` columns."""

    boxes: int
    work: str = ""
    times: str = ""
    room: int = 1
    step: int = 0

    @property
    def dose(self) -> str:
        """The dose as one text, empty where none is written."""
        return ", ".join(filter(None, (self.work, self.times)))

    @property
    def label(self) -> str:
        """What is written over the boxes: the dose, or where its columns cannot hold that on a line, its step."""
        return self.dose if len(self.dose) <= self.room * LETTERS_A_DAY else f"step {self.step}"


@dataclass(frozen=True)
class Row:
    """One drill over one week; a cell is None where the sheet has no such day."""

    number: int
    kind: Kind
    name: str
    parts: str
    cells: tuple[Cell | None, ...]


@dataclass(frozen=True)
class Week:
    """Seven columns from the sheet's own first weekday on; a head is None after the last day."""

    title: str
    heads: tuple[DayHead | None, ...]
    rows: tuple[Row, ...]


@dataclass(frozen=True)
class Step:
    """One step of a drill's dose: its number, its earliest day (None: not planned), and a box to tick when reached."""

    number: int
    day: date | None
    work: str
    times: str
    box: bool

    @property
    def when(self) -> str:
        """From when, in words: "from 2 March", "not before 6 March"."""
        if self.day is None:
            return "no day planned"
        return f"{'not before' if self.box else 'from'} {self.day_words}"

    @property
    def day_words(self) -> str:
        """The earliest day alone: "6 March"."""
        return day_words(self.day, weekday=False) if self.day else ""

    @property
    def dose(self) -> str:
        """The dose as one text."""
        return ", ".join(filter(None, (self.work, self.times)))

    @property
    def joint(self) -> str:
        """What stands between the step's number and its day: "step 1 from 2 March", "step 2, not before 6 March"."""
        return "" if self.day and not self.box else ","


@dataclass(frozen=True)
class Block:
    """Everything printed of one drill; `link` is what its code opens, '' where it would open nothing."""

    number: int
    drill: SheetDrill
    steps: tuple[Step, ...]
    host: str
    address: str
    link: str

    @property
    def columns(self) -> int:
        """How many steps of dose stand side by side."""
        return min(len(self.steps), STEP_COLUMNS)

    @property
    def step_rows(self) -> tuple[tuple[Step, ...], ...]:
        """The steps of dose in rows."""
        return tuple(self.steps[at : at + self.columns] for at in range(0, len(self.steps), self.columns))

    @property
    def doses_beside(self) -> bool:
        """Whether the steps of dose stand beside the code, where there is room, or below everything."""
        return self.columns <= ROOMY_COLUMNS

    @property
    def photo_beside(self) -> bool:
        """Whether the photograph stands beside the figure, where there is room, or under the code."""
        drawing = self.drill.drawing
        if self.drill.photo is None or drawing is None or drawing.stacked:
            return False
        return sum(picture.width + PICTURE_GAP for picture in drawing.pictures) + PHOTO_WIDE <= FIGURES_WIDE

    def joint(self, step: Step) -> str:
        """What stands between the step's number and its day: a comma where no "from" is left of it."""
        return "," if self.columns > WORDY_COLUMNS else step.joint

    def when(self, step: Step) -> str:
        """From when, in as many words as its column has room for: "not before 6 March", "not before 6 Mar", "6 Mar"."""
        most = {1: None, 2: None, ROOMY_COLUMNS: LONG_MONTH}.get(self.columns, 0)
        if step.day is None or most is None or len(MONTHS[step.day.month - 1]) <= most:
            return step.when
        short = f"{step.day.day} {MONTHS[step.day.month - 1][:3]}"
        if self.columns > WORDY_COLUMNS:
            return short
        return f"{'not before' if step.box else 'from'} {short}"


def weeks(sheet: Sheet) -> tuple[Week, ...]:
    """The days in weeks counted from the start; a drill without a day in a week has no row there."""
    cut = [sheet.days[at : at + WEEK] for at in range(0, len(sheet.days), WEEK)]
    return tuple(_week(sheet, number, days) for number, days in enumerate(cut, 1))


def blocks(sheet: Sheet) -> tuple[Block, ...]:
    """The drills in their order of doing, with their steps of dose."""
    host = web_host(sheet.clinic.web)
    return tuple(
        Block(number, drill, steps(sheet, drill), host, drill.text.address, opened(sheet.clinic, drill.link))
        for number, drill in enumerate(sheet.drills, 1)
    )


def opened(clinic: Clinic, link: str) -> str:
    """A link that may be printed as a code; '' where the clinic has no phone pages for it to open."""
    return link if clinic.web else ""


def trained(sheet: Sheet, day: Day) -> Training | None:
    """What is trained on a day; None where nobody told the week, which is planned as easy but is not said to be."""
    return None if "week" in sheet.defaults else day.training


def steps(sheet: Sheet, drill: SheetDrill) -> tuple[Step, ...]:
    """The rungs that the day plan uses, each with the first day on it; a drill without a day shows where it starts."""
    firsts: dict[int, date] = {}
    for day in sheet.days:
        item = _item(day, drill)
        if item is not None:
            firsts.setdefault(item.rung, day.date)
    if not firsts:
        return (_step(drill, drill.start_rung, None, box=False),)
    low = min(firsts)
    return tuple(_step(drill, rung, first, box=rung > low) for rung, first in sorted(firsts.items()))


def is_leaf(sheet: Sheet) -> bool:
    """Whether the sheet is meant for one double-sided leaf."""
    return 0 < len(sheet.drills) <= LEAF_DRILLS and len(sheet.days) <= LEAF_DAYS


def is_lengthy(name: str) -> bool:
    """Whether a name would take three lines of the heading, or has a word too long for one."""
    return len(name) > LONG_NAME or any(len(word) > LONG_WORD for word in name.split())


def part_words(parts: Sequence[Part]) -> str:
    """Parts of the day in order and once each."""
    named = [PART_WORDS[part] for part in PARTS if part in parts]
    if named[:2] == [PART_WORDS["before"], PART_WORDS["after"]]:
        named[:2] = ["before and after training"]
    return ", ".join(named)


def split_even(lines: Sequence[str]) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Lines in two columns, in order; the first has the odd one."""
    half = -(-len(lines) // 2)
    return tuple(lines[:half]), tuple(lines[half:])


def step_number(drill: SheetDrill, rung: int) -> int:
    """The number of a rung as the athlete reads it: every sheet begins at step 1."""
    return rung - drill.start_rung + 1


def _step(drill: SheetDrill, rung: int, day: date | None, *, box: bool) -> Step:
    dose = drill.rungs[rung]
    return Step(step_number(drill, rung), day, work_words(dose), times_words(dose.times), box)


def _item(day: Day, drill: SheetDrill) -> Item | None:
    return next((item for item in day.items if (item.drill, item.side) == (drill.id, drill.side)), None)


def _week(sheet: Sheet, number: int, days: Sequence[Day]) -> Week:
    heads: list[DayHead | None] = [_head(day, trained(sheet, day)) for day in days]
    rows = [
        _row(sheet, place, drill, days)
        for place, drill in enumerate(sheet.drills, 1)
        if any(_item(day, drill) for day in days)
    ]
    return Week(f"Week {number}", tuple(heads + [None] * (WEEK - len(days))), tuple(rows))


def _head(day: Day, training: Training | None) -> DayHead:
    name = f"{WEEKDAYS[day.date.weekday()][:3]} {day.date.day}"
    return DayHead(name, training or "", training in ("hard", "long"), day.visit, day.event)


def _row(sheet: Sheet, number: int, drill: SheetDrill, days: Sequence[Day]) -> Row:
    items = [_item(day, drill) for day in days]
    written = _written(items)
    cells: list[Cell | None] = []
    for at, item in enumerate(items):
        if item is None:
            cells.append(Cell(0))
            continue
        if at not in written:
            cells.append(Cell(item.times))
            continue
        room = next((other for other in written if other > at), WEEK) - at
        rung = drill.rungs[item.rung]
        cells.append(Cell(item.times, work_words(rung), times_words(rung.times), room, step_number(drill, item.rung)))
    parts = part_words([part for item in items if item for part in item.parts])
    return Row(number, drill.kind, drill.text.name, parts, tuple(cells + [None] * (WEEK - len(days))))


def _written(items: Sequence[Item | None]) -> list[int]:
    """The days of a week on which the dose is written: the first, and where it changes."""
    places, before = [], -1
    for at, item in enumerate(items):
        if item is not None and item.rung != before:
            places.append(at)
            before = item.rung
    return places


def sentences(lines: Sequence[str]) -> str:
    """Lines run on as sentences, each with a stop at its end."""
    return " ".join(line if line.endswith((".", "!", "?")) else f"{line}." for line in lines)
