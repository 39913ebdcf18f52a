"""A change to an issued sheet as it is told on its slip: what comes off, what is new, other doses, other days."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Literal

from homecare.core.sheet import Day, Sheet, SheetDrill


@dataclass(frozen=True)
class SlipDay:
    """One day of a drill that changes, with so many boxes to tick."""

    day: date
    boxes: int


@dataclass(frozen=True)
class SlipLine:
    """One drill that changes; `number` is its row on the leaf, None for a new one.

    `days` and `steps` (a rung and its first day) are what holds from the day of the change on, None where what the
    leaf says still stands; `gone` are the rungs of the leaf that are not come to any more.
    """

    change: Literal["off", "dose", "days", "new"]
    number: int | None
    drill: SheetDrill
    days: tuple[SlipDay, ...] | None = None
    steps: tuple[tuple[int, date], ...] | None = None
    gone: tuple[int, ...] = ()


@dataclass(frozen=True)
class Slip:
    """All that a slip says: the sheet as issued, the one that holds now (from the day of the change on), the lines."""

    issued: Sheet
    now: Sheet
    lines: tuple[SlipLine, ...]

    @property
    def new(self) -> tuple[SheetDrill, ...]:
        """The drills that the leaf does not show."""
        return tuple(line.drill for line in self.lines if line.change == "new")


def slip_lines(issued: Sheet, now: Sheet, dosed: Collection[str]) -> tuple[SlipLine, ...]:
    """What differs between the leaf and what holds from `now.start` on, in the order of the leaf's rows, new ones last.

    `dosed` are the drills whose dose was set by hand: their steps begin anew.
    """
    left = {drill.id: drill for drill in now.drills}
    before = [day for day in issued.days if day.date < now.start]
    after = [day for day in issued.days if day.date >= now.start]
    lines = []
    for number, drill in enumerate(issued.drills, 1):
        here = left.pop(drill.id, None)
        if here is None:
            lines.append(SlipLine("off", number, drill))
            continue
        days, line = _days(here, now.days), None
        moved = days if days != _days(here, after) else None
        if drill.id in dosed:
            line = SlipLine("dose", number, here, moved, _firsts(here, now.days))
        else:
            was, holds = _firsts(drill, issued.days), _firsts(here, [*before, *now.days])
            ahead = tuple(step for step in holds if step[1] >= now.start)
            gone = tuple(rung for rung, _ in was if rung not in dict(holds))
            if moved is not None or was != holds:
                line = SlipLine("days", number, here, moved, ahead if was != holds else None, gone)
        lines += [line] if line else []
    lines += [SlipLine("new", None, one, _days(one, now.days), _firsts(one, now.days)) for one in left.values()]
    return tuple(lines)


def _days(drill: SheetDrill, days: Sequence[Day]) -> tuple[SlipDay, ...]:
    return tuple(SlipDay(day.date, item.times) for day in days for item in day.items if item.drill == drill.id)


def _firsts(drill: SheetDrill, days: Sequence[Day]) -> tuple[tuple[int, date], ...]:
    """Each rung that a drill comes to, with the first day of it."""
    firsts: dict[int, date] = {}
    for day in days:
        for item in day.items:
            if item.drill == drill.id:
                firsts.setdefault(item.rung, day.date)
    return tuple(sorted(firsts.items()))
