"""What an athlete was given over all visits, what came back, and how each dose went day by day."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime

from homecare.core.atlas import Side
from homecare.core.drill import Kind, Rung
from homecare.core.findings import LastSheet
from homecare.core.sheet import CheckIn, MarkerLine, Refer, SymptomLine


@dataclass(frozen=True)
class PastDrill:
    """One drill of an issued sheet by its printed name; `rungs` are its doses, `start_rung` the first one used."""

    id: str
    name: str
    side: Side
    kind: Kind
    rungs: tuple[Rung, ...]
    start_rung: int
    because: tuple[str, ...]


@dataclass(frozen=True)
class PastItem:
    """One drill on one day: its rung, counted from 0, the dose that this was, and how many times that day."""

    drill: str
    rung: int
    dose: Rung
    times: int


@dataclass(frozen=True)
class PastDay:
    """One date of an issued plan with what was planned on it."""

    date: date
    items: tuple[PastItem, ...]


@dataclass(frozen=True)
class PastPlan:
    """What an issued plan.json says of its visit. `link` is the code's whole address, empty for a sheet of no drill.

    `flagged` are the drills that a sign which is referred rules out.
    """

    start: date
    review_by: date
    athlete: str
    findings: tuple[str, ...]
    symptoms: tuple[SymptomLine, ...]
    drills: tuple[PastDrill, ...]
    days: tuple[PastDay, ...]
    check_in: tuple[CheckIn, ...]
    markers: tuple[MarkerLine, ...]
    refer: Refer | None
    flagged: frozenset[str] = frozenset()
    prepared_by: str = ""
    link: str = ""

    @property
    def last(self) -> date:
        """Its last day; the day of the visit where nothing was planned."""
        return self.days[-1].date if self.days else self.start


@dataclass(frozen=True)
class PastSlip:
    """One change to an issued sheet from `day` on: what it says, and the drills and days that hold from then on."""

    id: str
    day: date
    issued: datetime
    says: tuple[str, ...]
    drills: tuple[PastDrill, ...]
    days: tuple[PastDay, ...]


@dataclass(frozen=True)
class CameBack:
    """What came back of a sheet on a day; `visit` is the one it was told at, None where it was kept alone."""

    day: date
    visit: str | None
    told: LastSheet


@dataclass(frozen=True)
class PastSheet:
    """An issued sheet by its id, with the slips that went with it and what came back of it, each in their order."""

    id: str
    issued: datetime
    plan: PastPlan
    slips: tuple[PastSlip, ...] = ()
    back: tuple[CameBack, ...] = ()

    @property
    def drills(self) -> tuple[PastDrill, ...]:
        """Every drill that the sheet or one of its slips gave, as it was given first."""
        given = {one.id: one for one in (*self.plan.drills, *(one for slip in self.slips for one in slip.drills))}
        first = {one.id: one for one in self.plan.drills}
        return tuple(first.get(key, one) for key, one in given.items())

    def held(self, until: date | None = None) -> tuple[PastDay, ...]:
        """The days as they held, each slip from its day on, before the day `until` of the next sheet."""
        days = list(self.plan.days)
        for slip in self.slips:
            days = [day for day in days if day.date < slip.day] + [day for day in slip.days if day.date >= slip.day]
        return tuple(day for day in days if until is None or day.date < until)


@dataclass(frozen=True)
class PastVisit:
    """One visit with its sheets in the order of issue."""

    id: str
    day: date
    prepared_by: str
    sheets: tuple[PastSheet, ...]

    @property
    def sheet(self) -> PastSheet | None:
        """The sheet that holds: the last one issued."""
        return self.sheets[-1] if self.sheets else None


@dataclass(frozen=True)
class Step:
    """From `first` to `last` (the last day that it was planned) a drill stood at one rung, counted from 1."""

    first: date
    last: date
    rung: int
    dose: Rung


@dataclass(frozen=True)
class DoseCourse:
    """One drill over all sheets: stretches without a break, each a run of steps; `most` is its ladder's last rung."""

    drill: PastDrill
    stretches: tuple[tuple[Step, ...], ...]
    most: int


def dose_courses(visits: Sequence[PastVisit]) -> tuple[DoseCourse, ...]:
    """Each drill's course by its side, in the order in which they were first given; a sheet without it breaks it."""
    sheets = [one.sheet for one in visits if one.sheet is not None]
    courses: dict[tuple[str, Side], DoseCourse] = {}
    for number, sheet in enumerate(sheets):
        until = sheets[number + 1].plan.start if number + 1 < len(sheets) else None
        days = sheet.held(until)
        before = sheets[number - 1].drills if number else ()
        for drill in sheet.drills:
            steps = _steps(drill.id, days)
            if not steps:
                continue
            key = (drill.id, drill.side)
            known = courses.get(key)
            rungs = len(drill.rungs)
            if known is None:
                courses[key] = DoseCourse(drill, (steps,), rungs)
                continue
            goes_on = any((one.id, one.side) == key for one in before)
            *earlier, latest = known.stretches
            stretches = (*earlier, _went_on(latest, steps)) if goes_on else (*known.stretches, steps)
            courses[key] = replace(known, stretches=tuple(stretches), most=max(known.most, rungs))
    return tuple(courses.values())


def _went_on(before: tuple[Step, ...], after: tuple[Step, ...]) -> tuple[Step, ...]:
    """Two sheets' steps as one run: a step that a new sheet begins with may be the one that the last ended with."""
    last, first = before[-1], after[0]
    if (last.rung, last.dose) != (first.rung, first.dose):
        return (*before, *after)
    return (*before[:-1], replace(last, last=first.last), *after[1:])


def _steps(drill: str, days: Sequence[PastDay]) -> tuple[Step, ...]:
    """The runs of days on one rung."""
    steps: list[Step] = []
    for day in days:
        for item in day.items:
            if item.drill != drill:
                continue
            if steps and (steps[-1].rung, steps[-1].dose) == (item.rung + 1, item.dose):
                steps[-1] = replace(steps[-1], last=day.date)
            else:
                steps.append(Step(day.date, day.date, item.rung + 1, item.dose))
    return tuple(steps)


def ratings_of(visits: Sequence[PastVisit]) -> tuple[tuple[date, float], ...]:
    """Every rating from 0 to 10 that came back, by date; of two of one date the one told last."""
    back = sorted((one for visit in visits for sheet in visit.sheets for one in sheet.back), key=lambda one: one.day)
    found = {day: value for one in back for day, value in one.told.ratings}
    return tuple(sorted(found.items()))


def day_of(sheet: PastSheet, today: date) -> tuple[int, int]:
    """Which day of the sheet it is, from 1, and of how many; 0 before it began, one more than all when it is over."""
    total = (sheet.plan.last - sheet.plan.start).days + 1
    return min(max((today - sheet.plan.start).days + 1, 0), total + 1), total
