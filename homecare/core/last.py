"""The sheet handed over last time, as far as the next visit needs it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from homecare.core.atlas import Side
from homecare.core.drill import Kind, Rung


@dataclass(frozen=True)
class LastItem:
    """One drill on one day of the last sheet: which rung, and how many times that day."""

    drill: str
    side: Side
    rung: int
    times: int


@dataclass(frozen=True)
class LastDay:
    """One date of the last sheet with what was planned on it."""

    date: date
    items: tuple[LastItem, ...]


@dataclass(frozen=True)
class LastDrill:
    """One drill of the last sheet with what its next dose depends on; `rungs` are its doses as they stood.

    `done_at_rung` counts days done at its first rung before that sheet.
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
    """The last plan.json as typed values; `hash` is the SHA-256 of its bytes, in hexadecimal."""

    format: int
    start: date
    days: tuple[LastDay, ...]
    drills: tuple[LastDrill, ...]
    markers: tuple[LastMarker, ...]
    hash: str
    symptoms: tuple[LastSymptom, ...] = ()
