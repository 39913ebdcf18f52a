"""The rules of the day plan that need no plan to judge: what the calendar bars, what a drill takes of a day."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import pairwise

from homecare.core.drill import Rung
from homecare.core.plan_types import PlanCalendar, PlanDrill
from homecare.core.sheet import RuleId, Training

EVENT_DAY_SECONDS = 120
"""The most that one drill may take on the day of an event, in seconds (common practice)."""

WINDOW = (-3, 1)
"""The event window, in days from the event, both ends within: nothing new, no climb, no `load` (common practice)."""

HEAVY_WINDOW = (-7, 3)
"""The same for heavy lengthening `load`, which leaves soreness for days (common practice)."""

LOAD_REST_DAYS = 2
"""Dates of loading of one muscle differ by at least this: 48 h (Garber et al. 2011, from memory; LOADIT's trial)."""

ONE_DAY = timedelta(days=1)


@dataclass(frozen=True)
class Bar:
    """A rule that keeps a drill off a day, with one plain sentence for athlete and practitioner."""

    rule: RuleId
    because: str


@dataclass(frozen=True)
class Grid:
    """Drills by priority against days from `start`: all that stands before any day is chosen.

    `fixed[drill][day]` is the first bar of the calendar and the history alone, in the order of the rules.
    `takes[drill]` is what the drill is budgeted with, its transitions in it (seconds), against `room[day]`: the day's
    budget and one transition more, because the first item of a day follows no other. `weeks` are ranges of days;
    `wanted` and `least` are each drill's days by week of the sheet. `close[day]` is within an event's window.
    """

    drills: tuple[PlanDrill, ...]
    calendar: PlanCalendar
    dates: tuple[date, ...]
    training: tuple[Training, ...]
    budget: tuple[int, ...]
    room: tuple[int, ...]
    close: tuple[bool, ...]
    weeks: tuple[range, ...]
    week_of: tuple[int, ...]
    fixed: tuple[tuple[Bar | None, ...], ...]
    takes: tuple[int, ...]
    gaps: tuple[int, ...]
    meets: tuple[tuple[int, ...], ...]
    wanted: tuple[tuple[int, ...], ...]
    least: tuple[tuple[int, ...], ...]

    def open(self, drill: int, day: int) -> bool:
        """Whether the drill may stand on the day as far as the drill alone and the calendar go."""
        return (
            self.fixed[drill][day] is None
            and self.budget[day] > 0
            and self.takes[drill] <= self.room[day]
            and self.calendar.few > 0
        )


def share(days_per_week: int, length: int, up: bool) -> int:
    """The days of a week of the sheet that is `length` days long, rounded up or down to a whole day."""
    days = days_per_week * length
    return -(-days // 7) if up else days // 7


def _by_week(a_week: int, had: int, weeks: Sequence[range], gone: int, up: bool) -> tuple[int, ...]:
    """A drill's days by week of the sheet, those it had in the part of the first week that is gone taken off."""
    first = max(0, share(a_week, gone + len(weeks[0]), up) - had)
    return (first, *(share(a_week, len(week), up) for week in weeks[1:]))


def cost(drill: PlanDrill, rung: Rung, transition_s: int) -> int:
    """Seconds that a rung takes of a day, with one transition for each of its times."""
    return rung.seconds(drill.side) + transition_s * rung.times


def budgeted(drill: PlanDrill, transition_s: int) -> int:
    """Seconds a drill is budgeted with: its start rung or, where seconds fall along its rungs, its longest one."""
    ahead = drill.rungs[drill.start_rung :]
    seconds = [rung.seconds(drill.side) for rung in ahead]
    falls = any(later < earlier for earlier, later in pairwise(seconds))
    costs = [cost(drill, rung, transition_s) for rung in ahead]
    return max(costs) if falls else costs[0]


def rests(drill: PlanDrill) -> bool:
    """Whether the drill is loading that asks for rest: daily tendon loading does not (Alfredson et al. 1998)."""
    return drill.kind == "load" and not drill.gap_exempt


def meet(one: PlanDrill, other: PlanDrill) -> bool:
    """Whether two drills load the same muscle on the same side, so that 48 h must lie between their dates."""
    sides_meet = {one.side, other.side} != {"left", "right"}
    return rests(one) and rests(other) and sides_meet and bool(one.muscles & other.muscles)


def event_bar(drill: PlanDrill, events: Sequence[date], day: date) -> str | None:
    """Why the drill may not be done so close to an event, were it long known and held at its start rung."""
    for event in events:
        offset = (day - event).days
        if offset == 0 and drill.kind not in ("glide", "activate"):
            return "only glides and short activation on the day of the event"
        if offset == 0 and drill.rungs[drill.start_rung].seconds(drill.side) > EVENT_DAY_SECONDS:
            return f"longer than {EVENT_DAY_SECONDS // 60} minutes, on the day of the event"
        if offset == 1 and drill.kind not in ("glide", "mobilise"):
            return "only glides and mobilising on the day after the event"
        if drill.kind == "load" and WINDOW[0] <= offset <= WINDOW[1]:
            return "no loading so close to the event"
        if drill.kind == "load" and drill.heavy_lengthening and HEAVY_WINDOW[0] <= offset <= HEAVY_WINDOW[1]:
            return "no heavy loading so close to the event"
    return None


def hands_on_bar(drill: PlanDrill, calendar: PlanCalendar, day: date) -> str | None:
    """Why treatment by hand keeps the drill off: firm bars release that day, deep also the day after."""
    if calendar.neck_adjusted and drill.end_range_neck and day == calendar.start:
        return "the neck was adjusted this day"
    if drill.kind != "release":
        return None
    reached = [t for t in calendar.treatments if t.tissues is None or t.tissues & drill.muscles]
    if any(t.day == day and t.depth != "light" for t in reached):
        return "treated by hand this day"
    if any(t.day == day - ONE_DAY and t.depth == "deep" for t in reached):
        return "treated by hand the day before"
    return None


def hard_day_bar(drill: PlanDrill, calendar: PlanCalendar, day: date) -> str | None:
    """Why training keeps loading off: hard days hard and easy days easy. The week goes on after the last day."""
    if not rests(drill):
        return None
    tomorrow = calendar.training[(day + ONE_DAY).weekday()]
    if calendar.training[day.weekday()] == "long":
        return "no loading on a long training day"
    return f"no loading the day before a {tomorrow} day" if tomorrow in ("hard", "long") else None


def history_bar(drill: PlanDrill, calendar: PlanCalendar, day: date) -> str | None:
    """Why the days of an earlier sheet keep the drill off: its own gap, and 48 h after loading a shared muscle."""
    if any((day - earlier).days < drill.gap_days for earlier in drill.history):
        return own_gap_words(drill.gap_days)
    loads = (load for load in calendar.load_history if 0 <= (day - load.day).days < LOAD_REST_DAYS)
    if rests(drill) and any(
        load.muscle in drill.muscles and {load.side, drill.side} != {"left", "right"} for load in loads
    ):
        return REST_WORDS
    return None


REST_WORDS = "rest of 48 hours between loading days"


def own_gap_words(gap: int) -> str:
    """The sentence for a drill's own gap, in days of rest."""
    return "a day of rest between its days" if gap == 2 else f"{gap - 1} days of rest between its days"


def first_bar(drill: PlanDrill, calendar: PlanCalendar, day: date) -> Bar | None:
    """The first rule, in their order, by which calendar and history alone keep the drill off the day."""
    found: tuple[tuple[RuleId, str | None], ...] = (
        ("event", event_bar(drill, calendar.events, day)),
        ("hands-on", hands_on_bar(drill, calendar, day)),
        ("hard-day", hard_day_bar(drill, calendar, day)),
        ("gap", history_bar(drill, calendar, day)),
    )
    return next((Bar(rule, because) for rule, because in found if because is not None), None)


def grid(drills: Sequence[PlanDrill], calendar: PlanCalendar) -> Grid:
    """Lay the drills, by priority, against the days of the calendar."""
    dates = tuple(calendar.start + day * ONE_DAY for day in range(calendar.days))
    ends = [*range(7 - calendar.gone, calendar.days, 7), calendar.days]
    weeks = tuple(range(first, end) for first, end in pairwise([0, *ends]))
    budget = tuple(calendar.budget_s[day.weekday()] for day in dates)
    wanted = tuple(_by_week(drill.wanted_per_week, drill.had, weeks, calendar.gone, up=True) for drill in drills)
    least = tuple(_by_week(drill.least_per_week, drill.had, weeks, calendar.gone, up=False) for drill in drills)
    return Grid(
        drills=tuple(drills),
        calendar=calendar,
        dates=dates,
        training=tuple(calendar.training[day.weekday()] for day in dates),
        budget=budget,
        room=tuple(seconds + calendar.transition_s for seconds in budget),
        close=tuple(any(WINDOW[0] <= (day - event).days <= WINDOW[1] for event in calendar.events) for day in dates),
        weeks=weeks,
        week_of=tuple(number for number, week in enumerate(weeks) for _ in week),
        fixed=tuple(tuple(first_bar(drill, calendar, day) for day in dates) for drill in drills),
        takes=tuple(budgeted(drill, calendar.transition_s) for drill in drills),
        gaps=tuple(max(1, drill.gap_days, LOAD_REST_DAYS if meet(drill, drill) else 1) for drill in drills),
        meets=tuple(
            tuple(other for other, second in enumerate(drills) if other != one and meet(first, second))
            for one, first in enumerate(drills)
        ),
        wanted=wanted,
        least=tuple(tuple(map(min, *rows)) for rows in zip(least, wanted, strict=True)),
    )
