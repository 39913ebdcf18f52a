"""A leaf as its boxes are ticked at the desk: the weeks, days and rows as they stand on paper."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from homecare.core.drill import Kind
from homecare.core.last import LastDrill, LastPlan
from homecare.desk.form import Form, whole
from homecare.desk.ticking import WEEK, Boxes, boxes_of, day_number, ticked, week_of
from homecare.library.load import Library
from homecare.render.dose_words import WEEKDAYS, day_words, range_words
from homecare.workflow.check_ins import LastTime

ALL_OPEN = 2
"""Up to so many weeks stand open side by side, as on one leaf; of more, one at a time."""
TIMES = ("", ", second time", ", third time")
"""What tells the boxes of one day apart."""


@dataclass(frozen=True)
class Box:
    """One box to tick, and what a screen reader calls it."""

    value: str
    label: str
    ticked: bool


@dataclass(frozen=True)
class Cell:
    """One drill on one day: its boxes; `later` counts those that are not due yet."""

    boxes: tuple[Box, ...]
    later: int = 0


@dataclass(frozen=True)
class Head:
    """One day of a week; `number` is its place on the sheet, `slip` says that a slip holds from this day on, `open`
    that there is something to tick on it, `full` that all of it is ticked."""

    number: int
    name: str
    words: str
    slip: bool
    open: bool
    full: bool


@dataclass(frozen=True)
class Line:
    """One drill in one week: its place on the leaf ('': it stands on a slip), its days (None: after the last
    one), its boxes and how many are ticked of them."""

    drill: str
    place: str
    kind: Kind
    name: str
    cells: tuple[Cell | None, ...]
    boxes: tuple[str, ...]
    ticked: tuple[str, ...]

    @property
    def full(self) -> bool:
        """Whether every box is ticked."""
        return len(self.ticked) == len(self.boxes)


@dataclass(frozen=True)
class Week:
    """Seven columns from the sheet's own first weekday on."""

    number: int
    dates: str
    open: bool
    heads: tuple[Head | None, ...]
    lines: tuple[Line, ...]

    @property
    def boxes(self) -> int:
        """How many boxes it has to tick."""
        return sum(len(line.boxes) for line in self.lines)

    @property
    def ticked(self) -> int:
        """How many of them are ticked."""
        return sum(len(line.ticked) for line in self.lines)


@dataclass(frozen=True)
class Leaf:
    """The weeks that have begun; `opened` is the one that stands open where they are too many for all (0: all do)."""

    weeks: tuple[Week, ...]
    opened: int
    later: bool

    @property
    def boxes(self) -> int:
        """How many boxes there are to tick."""
        return sum(week.boxes for week in self.weeks)

    @property
    def ticked(self) -> int:
        """How many of them are ticked."""
        return sum(week.ticked for week in self.weeks)


def on_paper(last: LastTime) -> tuple[LastDrill, ...]:
    """The drills in the order in which an athlete has them on paper: those of the leaf, then what slips put on."""
    order = list(dict.fromkeys(drill.id for page in last.pages for drill in page.drills))
    return tuple(sorted(last.plan.drills, key=lambda drill: order.index(drill.id)))


def leaf_of(last: LastTime, sent: Form, boxes: Boxes, library: Library) -> Leaf:
    """The leaf with its boxes that are due (`boxes`) and those that are ticked; empty while none is due."""
    begun = max((week_of(ours[-1]) for ours in boxes.values() if ours), default=0)
    opened = 0
    if begun > ALL_OPEN:
        opened = min(max(whole(sent.one("week")) or 1, 1), begun)
    ticks = {drill: ticked(sent, drill, boxes) for drill in boxes}
    weeks = tuple(_week(number, last, boxes, ticks, library, opened in (0, number)) for number in range(1, begun + 1))
    return Leaf(weeks, opened, any(cell and cell.later for week in weeks for line in week.lines for cell in line.cells))


def name_of(library: Library, drill: str) -> str:
    """A drill's name, made of its id where the library has it no more."""
    return library.drills[drill].name if drill in library.drills else drill.replace("_", " ").capitalize()


def _week(number: int, last: LastTime, boxes: Boxes, ticks: Boxes, library: Library, open: bool) -> Week:
    plan = last.plan
    end = day_number(plan, plan.days[-1].date)
    days = range((number - 1) * WEEK + 1, number * WEEK + 1)
    times = _times(plan, days)
    rows = {drill.id: str(row) for row, drill in enumerate(last.pages[0].drills, 1)}
    lines = []
    for drill in on_paper(last):
        if drill.id in times:
            due, done = ([box for box in found[drill.id] if week_of(box) == number] for found in (boxes, ticks))
            name = name_of(library, drill.id)
            cells = [_cell(name, plan, day, times[drill.id].get(day, 0), due, done) for day in days if day <= end]
            padded = (*cells, *[None] * (WEEK - len(cells)))
            lines.append(Line(drill.id, rows.get(drill.id, ""), drill.kind, name, padded, tuple(due), tuple(done)))
    slips = {day_number(plan, slip.day) for slip in last.slips}
    heads = [_head(day, plan, lines, day in slips) for day in days if day <= end]
    return Week(
        number=number,
        dates=range_words(_date(plan, days[0]), _date(plan, min(days[-1], end)), weekday=False).rpartition(" ")[0],
        open=open,
        heads=(*heads, *[None] * (WEEK - len(heads))),
        lines=tuple(lines),
    )


def _times(plan: LastPlan, days: range) -> dict[str, dict[int, int]]:
    """How often each drill was planned on each of these days of the sheet, where it was."""
    found: dict[str, dict[int, int]] = {}
    for day in plan.days:
        number = day_number(plan, day.date)
        for item in day.items if number in days else ():
            found.setdefault(item.drill, {})[number] = item.times
    return found


def _cell(name: str, plan: LastPlan, day: int, times: int, due: Sequence[str], done: Sequence[str]) -> Cell:
    words = f"{name}, {day_words(_date(plan, day))}"
    boxes = [box for box in boxes_of(day, times) if box in due]
    found = tuple(Box(box, words + TIMES[at], box in done) for at, box in enumerate(boxes))
    return Cell(found, times - len(found))


def _head(day: int, plan: LastPlan, lines: Sequence[Line], slip: bool) -> Head:
    at = _date(plan, day)
    cells = [cell.boxes for line in lines if (cell := line.cells[(day - 1) % WEEK])]
    boxes = [box for found in cells for box in found]
    name = f"{WEEKDAYS[at.weekday()][:3]} {at.day}"
    return Head(day, name, day_words(at), slip, bool(boxes), all(box.ticked for box in boxes))


def _date(plan: LastPlan, day: int) -> date:
    return plan.start + timedelta(days=day - 1)
