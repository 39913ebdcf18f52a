"""What the day plan is made from and what comes out: drills by priority, the athlete's calendar, the plan."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from homecare.core.atlas import OneSide, Side
from homecare.core.drill import Kind, Part, Rung
from homecare.core.findings import Depth
from homecare.core.sheet import Day, Training


@dataclass(frozen=True)
class PlanDrill:
    """One drill to be planned. Drills are given in order of priority, first the one that matters most.

    `muscles` are the ids of the tissues it works on, groups already expanded to their members. `done_at_rung` counts
    days already done at `rungs[start_rung]`. Least and wanted days count per week of the sheet. `history` holds the
    drill's dates on the earlier sheet, all before the new start. `parts` are in order of liking. A drill that is
    `carried` stood on the last sheet. `end_range_neck` marks a drill that takes the neck to the end of its range.
    `had` counts its days in that part of the sheet's week which lies before the calendar's start.
    """

    id: str
    side: Side
    kind: Kind
    muscles: frozenset[str]
    rungs: tuple[Rung, ...]
    start_rung: int
    climb_days: int
    done_at_rung: int
    wanted_per_week: int
    least_per_week: int
    gap_days: int
    gap_exempt: bool
    heavy_lengthening: bool
    carried: bool
    parts: tuple[Part, ...]
    end_range_neck: bool
    may_climb: bool = True
    history: tuple[date, ...] = ()
    had: int = 0


@dataclass(frozen=True)
class Treatment:
    """Treatment by hand on one day; `tissues` None means every tissue of the sheet."""

    day: date
    depth: Depth
    tissues: frozenset[str] | None


@dataclass(frozen=True)
class LoadDay:
    """A muscle that was loaded on a day of an earlier sheet, daily tendon loading left out."""

    day: date
    muscle: str
    side: OneSide


@dataclass(frozen=True)
class PlanCalendar:
    """The athlete's days: `budget_s` (seconds) and `training` by weekday, Monday first, and what falls on dates.

    `treatments` may be dated before `start`. `few` is the most drills on one day; `transition_s` is the cost in
    seconds of each change of drill. `neck_adjusted` says that the neck was adjusted at the visit on `start`. `gone`
    counts the days of the sheet's week that lie before `start`: of an amendment, which begins within a week.
    """

    start: date
    days: int
    budget_s: tuple[int, ...]
    training: tuple[Training, ...]
    events: tuple[date, ...]
    treatments: tuple[Treatment, ...]
    visits: tuple[date, ...]
    neck_adjusted: bool
    load_history: tuple[LoadDay, ...]
    few: int
    transition_s: int
    gone: int = 0


@dataclass(frozen=True)
class DayPlan:
    """The days of the sheet; the least, planned and wanted days of each drill, in the order the drills were given.

    `proven` is False where the solver's node limit stopped the proof that least and wanted days are the best.
    """

    days: tuple[Day, ...]
    proven: bool
    least: tuple[int, ...]
    planned: tuple[int, ...]
    wanted: tuple[int, ...]
