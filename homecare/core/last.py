"""The sheet handed over last time, as far as the next visit needs it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date

from homecare.core.atlas import Side
from homecare.core.drill import Kind, Rung
from homecare.core.slip import Amendment


@dataclass(frozen=True)
class LastItem:
    """One drill on one day of the last sheet: which rung, and how many times that day.

    `rung` is None where a slip has since set another dose by hand: its steps began anew.
    """

    drill: str
    side: Side
    rung: int | None
    times: int


@dataclass(frozen=True)
class LastDay:
    """One date of the last sheet with what was planned on it."""

    date: date
    items: tuple[LastItem, ...]


@dataclass(frozen=True)
class LastDrill:
    """One drill of the last sheet with what its next dose depends on; `rungs` are its doses as they stood.

    `done_at_rung` counts days done at its first rung before that sheet. `off` is the day from which a slip took it off.
    """

    id: str
    side: Side
    kind: Kind
    tissues: tuple[str, ...]
    priority: int
    start_rung: int
    ladder: str
    halved: bool
    worse_in_row: int
    gap_exempt: bool
    rungs: tuple[Rung, ...]
    done_at_rung: int = 0
    off: date | None = None


@dataclass(frozen=True)
class LastMarker:
    """One marker of the last visit: before and after treatment, and after the visit before that one."""

    test: str
    side: Side
    before: float | None
    after: float | None
    last: float | None = None


@dataclass(frozen=True)
class LastSymptom:
    """One symptom of the last visit: its word, where it was felt and on which side."""

    symptom: str
    zones: tuple[str, ...]
    side: Side


@dataclass(frozen=True)
class LastPlan:
    """The last plan.json as typed values; `hash` is the SHA-256 of its bytes, in hexadecimal.

    With `slips` (the hashes of their amendment.json, in order) it says what held in the end.
    """

    format: int
    start: date
    days: tuple[LastDay, ...]
    drills: tuple[LastDrill, ...]
    markers: tuple[LastMarker, ...]
    hash: str
    symptoms: tuple[LastSymptom, ...] = ()
    slips: tuple[str, ...] = ()


@dataclass(frozen=True)
class LastSlip:
    """An amendment.json as typed values: what was asked for, and the days and drills that hold from that day on.

    `amends` is the hash of the plan that it changes, `after` are those of the slips before it, in order.
    """

    asked: Amendment
    amends: str
    after: tuple[str, ...]
    days: tuple[LastDay, ...]
    drills: tuple[LastDrill, ...]
    hash: str

    def follows(self, plan: LastPlan) -> bool:
        """Whether it is the next change to just this plan."""
        return (self.amends, self.after) == (plan.hash, plan.slips)


def as_amended(plan: LastPlan, slip: LastSlip) -> LastPlan:
    """The plan with what a slip changed: the days before as they were, those after as the slip has them.

    A drill that was taken off stays, with the days that it had.
    """
    now = {drill.id: drill for drill in slip.drills}
    anew = {one.id for one in plan.drills if one.id in now and one.rungs != now[one.id].rungs}
    before = tuple(
        LastDay(day.date, tuple(replace(item, rung=None) if item.drill in anew else item for item in day.items))
        for day in plan.days
        if day.date < slip.asked.day
    )
    gone = tuple(replace(one, off=one.off or slip.asked.day) for one in plan.drills if one.id not in now)
    return replace(plan, days=before + slip.days, drills=slip.drills + gone, slips=(*plan.slips, slip.hash))
