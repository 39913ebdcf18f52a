"""A change to an issued sheet as it is told on its slip: what comes off, what is new, other doses, other days."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from typing import Literal

from homecare.core.findings import Pick, SetDose
from homecare.core.sheet import Day, Sheet, SheetDrill


@dataclass(frozen=True)
class Amendment:
    """What changes from a day on: drills taken off, drills added by hand, doses set by hand."""

    day: date
    off: tuple[str, ...] = ()
    on: tuple[Pick, ...] = ()
    doses: Mapping[str, SetDose] = field(default_factory=dict)


Change = Literal["off", "dose", "days", "new"]


@dataclass(frozen=True)
class SlipDay:
    """One day of a drill that changes, with so many boxes to tick."""

    day: date
    boxes: int


@dataclass(frozen=True)
class SlipLine:
    """One drill that changes; `number` is its row on the leaf (None: it has none), `dose_on` and `days_on` the days of
    the slips that its dose and its boxes stand on so far (None: they stand in that row).

    `days` and `steps` (a rung and its first day) are what holds from the day of the change on, None where what the
    leaf says still stands; `gone` are the rungs of the leaf that are not come to any more.
    """

    change: Change
    number: int | None
    drill: SheetDrill
    days: tuple[SlipDay, ...] | None = None
    steps: tuple[tuple[int, date], ...] | None = None
    gone: tuple[int, ...] = ()
    dose_on: date | None = None
    days_on: date | None = None


@dataclass(frozen=True)
class Slip:
    """All that a slip says: the sheet as issued, the one that holds now (from the day of the change on), the lines.

    `earlier` are the days of the slips that the leaf has already.
    """

    issued: Sheet
    now: Sheet
    lines: tuple[SlipLine, ...]
    earlier: tuple[date, ...] = ()

    @property
    def new(self) -> tuple[SheetDrill, ...]:
        """The drills that neither the leaf nor an earlier slip shows."""
        return tuple(line.drill for line in self.lines if line.change == "new")


@dataclass(frozen=True)
class Told:
    """Where the athlete reads of each drill: its row on the leaf, and the day of the slip with its dose or boxes."""

    rows: Mapping[str, int]
    doses: Mapping[str, date] = field(default_factory=dict)
    days: Mapping[str, date] = field(default_factory=dict)

    def and_of(self, day: date, lines: Sequence[SlipLine]) -> Told:
        """The same when a slip from a day on has joined the leaf."""
        doses = {line.drill.id: day for line in lines if line.change in ("dose", "new")}
        days = {line.drill.id: day for line in lines if line.days}
        return Told(self.rows, {**self.doses, **doses}, {**self.days, **days})

    def line(self, change: Change, drill: SheetDrill) -> SlipLine:
        """A line about a drill that can be read of already."""
        key = drill.id
        return SlipLine(change, self.rows.get(key), drill, dose_on=self.doses.get(key), days_on=self.days.get(key))


def leaf_rows(issued: Sheet) -> Told:
    """What the leaf alone tells."""
    return Told({drill.id: number for number, drill in enumerate(issued.drills, 1)})


def slip_lines(holds: Sheet, now: Sheet, dosed: Collection[str], told: Told | None = None) -> tuple[SlipLine, ...]:
    """What differs between what holds so far and what holds from `now.start` on; new ones stand last.

    `holds` is the sheet as issued, or as the last slip left it; `told` says where of its drills can be read (not
    given: on that sheet). `dosed` are the drills whose dose was set by hand: their steps begin anew.
    """
    told = told or leaf_rows(holds)
    left = {drill.id: drill for drill in now.drills}
    before = [day for day in holds.days if day.date < now.start]
    after = [day for day in holds.days if day.date >= now.start]
    lines = []
    for drill in holds.drills:
        here = left.pop(drill.id, None)
        if here is None:
            lines.append(told.line("off", drill))
            continue
        days, line = _days(here, now.days), None
        moved = days if days != _days(here, after) else None
        if drill.id in dosed:
            line = replace(told.line("dose", here), days=moved, steps=_firsts(here, now.days))
        else:
            was, will = _firsts(drill, holds.days), _firsts(here, [*before, *now.days])
            ahead = tuple(step for step in will if step[1] >= now.start)
            gone = tuple(rung for rung, _ in was if rung not in dict(will))
            if moved is not None or was != will:
                steps = ahead if was != will else None
                line = replace(told.line("days", here), days=moved, steps=steps, gone=gone)
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
