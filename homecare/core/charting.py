"""Small charts as values: what is drawn over which dates and on which scale; where it lies on paper comes after."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import Literal

from homecare.core.atlas import Side
from homecare.core.history import DoseCourse, PastVisit, Step, dose_courses, ratings_of

Mark = Literal["dot", "ring", "square", "none"]
Joined = Literal["stairs", "line", "no"]
MOST_TICKS = 4
_SAME = 1e-6
"""Values closer than this are one: no measure is finer."""
_NEAT = (1.0, 2.0, 2.5, 5.0, 10.0)


@dataclass(frozen=True)
class Trace:
    """One row of values by date, in order. Stairs hold each value until the next date; the last point ends them."""

    name: str
    mark: Mark
    joined: Joined
    points: tuple[tuple[date, float], ...]


@dataclass(frozen=True)
class Chart:
    """Traces over one scale. `ticks` run from the lowest to the highest value drawn; `visits` are marked by a line.

    `bars` join two values of one date, such as a marker before and after treatment; `stretches` are those of a dose,
    `drill` its drill's id; `span` are the first and the last date drawn, the same for all that stand together.
    """

    kind: Literal["dose", "marker", "rating"]
    title: str
    side: Side
    unit: str
    ticks: tuple[float, ...]
    traces: tuple[Trace, ...]
    visits: tuple[date, ...]
    bars: tuple[tuple[date, float, float], ...] = ()
    stretches: tuple[tuple[Step, ...], ...] = ()
    drill: str = ""
    span: tuple[date, date] = (date.min, date.max)


def charts(visits: Sequence[PastVisit]) -> tuple[Chart, ...]:
    """Every chart of an athlete: what was felt, what was measured, then each dose; none for what was never told.

    All are over the same dates, so that one can be read below the other.
    """
    days = tuple(sorted({one.day for one in visits}))
    felt = felt_chart(visits, days)
    doses = tuple(dose_chart(course, days) for course in dose_courses(visits))
    drawn = (*((felt,) if felt else ()), *marker_charts(visits, days), *doses)
    dates = [day for chart in drawn for trace in chart.traces for day, _ in trace.points] + list(days)
    return tuple(replace(one, span=(min(dates), max(dates))) for one in drawn)


def felt_chart(visits: Sequence[PastVisit], days: Sequence[date]) -> Chart | None:
    """Ratings between visits, and each symptom as it was told at a visit, both 0 to 10; None without either."""
    traces = []
    ratings = ratings_of(visits)
    if ratings:
        traces.append(Trace("rated at home", "dot", "line", ratings))
    told: dict[tuple[str, Side], dict[date, float]] = {}
    for visit in visits:
        for one in visit.sheet.plan.symptoms if visit.sheet else ():
            if one.now is not None:
                by_day = told.setdefault((one.symptom, one.side), {})
                by_day[visit.day] = max(one.now, by_day.get(visit.day, 0))
    marks: tuple[Mark, ...] = ("square", "ring")
    for number, ((symptom, side), by_day) in enumerate(told.items()):
        name = symptom if side == "none" else f"{symptom}, {'both sides' if side == 'both' else side}"
        traces.append(Trace(f"{name}, at the visit", marks[number % 2], "no", tuple(sorted(by_day.items()))))
    if not traces:
        return None
    return Chart("rating", "How it felt", "none", "of 10", (0, 5, 10), tuple(traces), tuple(days))


def marker_charts(visits: Sequence[PastVisit], days: Sequence[date]) -> tuple[Chart, ...]:
    """One chart for each measure and side that was ever taken."""
    lines = [(visit.day, one) for visit in visits if visit.sheet for one in visit.sheet.plan.markers]
    found = []
    for test, side in dict.fromkeys((one.test, one.side) for _, one in lines):
        own = [(day, one) for day, one in lines if (one.test, one.side) == (test, side)]
        before = tuple((day, one.before) for day, one in own if one.before is not None)
        after = tuple((day, one.after) for day, one in own if one.after is not None)
        values = [value for _, value in (*before, *after)]
        if not values:
            continue
        traces = (Trace("before treatment", "ring", "line", before), Trace("after treatment", "dot", "no", after))
        bars = tuple(
            (day, one.before, one.after) for day, one in own if one.before is not None and one.after is not None
        )
        latest = own[-1][1]
        ticks = neat_ticks(min(values), max(values))
        shown = tuple(trace for trace in traces if trace.points)
        found.append(Chart("marker", latest.name, side, latest.unit, ticks, shown, tuple(days), bars))
    return tuple(found)


def dose_chart(course: DoseCourse, days: Sequence[date]) -> Chart:
    """The rung of one drill over the days, as stairs; each stretch ends with the end of its last planned day."""
    traces = []
    for stretch in course.stretches:
        points = [(step.first, float(step.rung)) for step in stretch]
        end = stretch[-1].last + timedelta(days=1)
        traces.append(Trace("step", "none", "stairs", (*points, (end, float(stretch[-1].rung)))))
    ticks = tuple(float(rung) for rung in range(1, course.most + 1))
    return Chart(
        kind="dose",
        title=course.drill.name,
        side=course.drill.side,
        unit="step",
        ticks=ticks,
        traces=tuple(traces),
        visits=tuple(days),
        stretches=course.stretches,
        drill=course.drill.id,
    )


def neat_ticks(low: float, high: float) -> tuple[float, ...]:
    """Two to five round numbers evenly apart, the first at or below `low`, the last at or above `high`."""
    if high - low < _SAME:  # one value alone lies in the middle, and never below nothing without need
        room = max(abs(low) / 10, 0.5)
        low, high = (low - room if low < 0 else max(0.0, low - room)), high + room
    scale = 10.0 ** math.floor(math.log10((high - low) / MOST_TICKS))
    for neat in (scale * one for one in (*_NEAT, 20.0)):
        first, last = math.floor(low / neat), math.ceil(high / neat)
        last = max(last, first + 1)
        if last - first <= MOST_TICKS:
            return tuple(round(number * neat, 9) for number in range(first, last + 1))
    raise AssertionError("twenty times the scale always suffices")
