"""A visit as it was recorded: who, what was found, and what the athlete's days look like."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Literal

from homecare.core.atlas import Found, Side
from homecare.core.drill import AgeGroup, Irritability
from homecare.core.problems import Source
from homecare.core.sheet import Clinic, Training

Symptom = Literal["tingling", "numbness", "burning", "ache"]
Depth = Literal["light", "firm", "deep"]
Response = Literal["settled", "sore", "worse"]
Result = Literal["positive", "negative"]

DEFAULTS: Mapping[str, object] = {
    "days": 14,
    "minutes": 12,
    "week": "easy",
    "kit": "none",
    "irritability": "moderate",
    "age": "adult",
    "few": Clinic.few,
    "max_drills": Clinic.max_drills,
}
"""What stands for a thing the visit does not say; those used are echoed in plan.json."""

MAX_DAYS = 84
"""The longest sheet, in days."""

TRANSITION_S = 15
"""Seconds from one drill to the next (common practice)."""

COVER_BAR = 0.25
"""A site from this score on is covered by the sheet (common practice: every plausible site is treated)."""


@dataclass(frozen=True)
class TissueFinding:
    """One tissue (or group) and what was found of it."""

    tissue: str
    side: Side
    found: Found


@dataclass(frozen=True)
class SymptomFinding:
    """A symptom by zone: what provokes it, how easily it is stirred up, since when, how strong from 0 to 10."""

    symptom: Symptom
    zones: tuple[str, ...]
    side: Side
    worse_with: tuple[str, ...]
    irritability: Irritability
    since: str = ""
    now: float | None = None


@dataclass(frozen=True)
class TestFinding:
    """A test that was done, and its result."""

    __test__ = False  # pytest would take the name for a test case

    test: str
    side: Side
    result: Result


@dataclass(frozen=True)
class FiringFinding:
    """The order in which muscles fired in one movement."""

    firing: str
    side: Side
    order: tuple[str, ...]


@dataclass(frozen=True)
class Marker:
    """A measure before and after treatment, in the unit of the library's marker."""

    test: str
    side: Side
    before: float | None
    after: float | None


@dataclass(frozen=True)
class Change:
    """Something that changed lately, in the athlete's words."""

    what: str
    how: str = ""
    when: str = ""

    def __str__(self) -> str:
        return ", ".join(part for part in (self.what, self.how) if part)


@dataclass(frozen=True)
class Screen:
    """The answers to the flags; `recorded` is False when nobody asked."""

    recorded: bool
    flags: tuple[str, ...] = ()
    decision: Literal["refer", "continue"] | None = None
    because: str = ""


@dataclass(frozen=True)
class Pick:
    """A drill added by hand, with the side (None: where it serves or both), the reason, and where it was written."""

    drill: str
    side: Side | None
    because: str
    where: Source


@dataclass(frozen=True)
class SetDose:
    """A dose set by hand; None leaves the ladder's own value."""

    sets: int | None = None
    reps: int | None = None
    hold_s: int | None = None
    tempo_s: int | None = None
    times: int | None = None
    load: str | None = None


@dataclass(frozen=True)
class ClinicVisit:
    """A date at the clinic; `treated` None means every tissue of the sheet, firmly."""

    day: date
    treated: Mapping[str, Depth] | None


@dataclass(frozen=True)
class LastSheet:
    """What came back of the earlier sheet: where its plan and slips lie, boxes ticked, responses, ratings 0 to 10."""

    plan: str
    done: Mapping[str, int]
    response: Mapping[str, Response]
    ratings: tuple[tuple[date, float], ...]
    amendments: tuple[str, ...] = ()


@dataclass(frozen=True)
class Visit:
    """One visit. `minutes` and `week` are by weekday, Monday first; `treated` None means every tissue found, firmly."""

    athlete: str
    start: date
    age_group: AgeGroup
    prepared_by: str
    days: int
    minutes: tuple[float, ...]
    week: tuple[Training, ...]
    events: tuple[date, ...]
    treated: Mapping[str, Depth] | None
    clinic_visits: tuple[ClinicVisit, ...]
    review_by: date | None
    kit: tuple[str, ...]
    cautions: tuple[str, ...]
    screen: Screen
    tissues: tuple[TissueFinding, ...]
    symptoms: tuple[SymptomFinding, ...]
    tests: tuple[TestFinding, ...]
    firing: tuple[FiringFinding, ...]
    markers: tuple[Marker, ...]
    changed: tuple[Change, ...]
    picks: tuple[Pick, ...]
    drops: tuple[str, ...]
    cover: tuple[str, ...]
    doses: Mapping[str, SetDose]
    notes: str
    last: LastSheet | None
    defaults: Mapping[str, object]
