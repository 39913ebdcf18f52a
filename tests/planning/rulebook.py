"""The rules of a day plan, read a second time and apart from the product: one drill on one date, judged alone.

Nothing here is made to be fast, and nothing is taken from the product but the types of what goes in and comes out.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence, Set
from datetime import date, timedelta
from math import ceil, floor

from homecare.core.drill import Rung
from homecare.core.plan_types import DayPlan, PlanCalendar, PlanDrill
from homecare.core.sheet import RuleId
from tests.planning.cases import Case

ORDER: tuple[RuleId, ...] = ("event", "hands-on", "hard-day", "gap", "wanted", "budget", "few")

Dates = Sequence[Set[date]]
"""The dates of each drill, by priority."""

Vector = tuple[int, ...]
"""Least days by priority, then wanted days by priority."""


def all_dates(calendar: PlanCalendar) -> list[date]:
    """The dates of the sheet."""
    return [calendar.start + timedelta(days=number) for number in range(calendar.days)]


def weeks(calendar: PlanCalendar) -> list[list[date]]:
    """The weeks of the sheet, counted from its start; the last may be a part of one."""
    dates = all_dates(calendar)
    return [dates[first : first + 7] for first in range(0, len(dates), 7)]


def wanted_in(drill: PlanDrill, week: Sequence[date]) -> int:
    """Days wanted in a week of the sheet: a part week gets its share, rounded up."""
    return ceil(drill.wanted_per_week * len(week) / 7)


def least_in(drill: PlanDrill, week: Sequence[date]) -> int:
    """Least days in a week of the sheet: a part week gets its share, rounded down."""
    return floor(drill.least_per_week * len(week) / 7)


def vector(case: Case, dates: Dates) -> Vector:
    """What is best, as numbers to be compared in order."""
    least = [
        sum(min(len(own & set(week)), least_in(drill, week)) for week in weeks(case.calendar))
        for drill, own in zip(case.drills, dates, strict=True)
    ]
    return (*least, *(len(own) for own in dates))


def spent(drill: PlanDrill, rung: Rung, calendar: PlanCalendar) -> int:
    """Seconds of a dose and a change of drill for each of its times: one more change than a day has."""
    return rung.seconds(drill.side) + calendar.transition_s * rung.times


def reserved(drill: PlanDrill, calendar: PlanCalendar) -> int:
    """What a drill is budgeted with: its start rung, or its longest where seconds fall along its rungs."""
    ahead = drill.rungs[drill.start_rung :]
    seconds = [rung.seconds(drill.side) for rung in ahead]
    if seconds == sorted(seconds):
        return spent(drill, ahead[0], calendar)
    return max(spent(drill, rung, calendar) for rung in ahead)


class Rulebook:
    """The rules for one case. Each method says whether the rule keeps a drill (by number) off a date.

    `dates` are the dates of every drill without the one that is judged; `seconds` is what each drill on the date
    takes of it, changes included.
    """

    def __init__(self, case: Case) -> None:
        self.case = case
        self.rules: dict[RuleId, Callable[[int, date, Dates], bool]] = {
            "event": self.event,
            "hands-on": self.hands_on,
            "hard-day": self.hard_day,
            "gap": self.gap,
            "wanted": self.wanted,
        }

    def first(self, number: int, day: date, dates: Dates, seconds: Mapping[int, int]) -> RuleId | None:
        """The first rule in their order that keeps the drill off the day; None where it could stand there."""
        for rule in ORDER[:5]:
            if self.rules[rule](number, day, dates):
                return rule
        if self.budget(number, day, seconds):
            return "budget"
        return "few" if len(seconds) >= self.case.calendar.few else None

    def event(self, number: int, day: date, dates: Dates) -> bool:
        """Nothing new, no `load`; glides and short activation on the day, glides and mobilising on the day after."""
        drill = self.case.drills[number]
        for event in self.case.calendar.events:
            until = (event - day).days
            if -1 <= until <= 3 and drill.kind == "load":
                return True
            if -3 <= until <= 7 and drill.kind == "load" and drill.heavy_lengthening:
                return True
            if until == 0 and drill.kind not in {"glide", "activate"}:
                return True
            if until == 0 and drill.rungs[drill.start_rung].seconds(drill.side) > 120:
                return True
            if until == -1 and drill.kind not in {"glide", "mobilise"}:
                return True
        return self.near_event(day) and not drill.carried and not any(own < day for own in dates[number])

    def near_event(self, day: date) -> bool:
        """Whether a day lies from three days before an event to the day after."""
        return any(-1 <= (event - day).days <= 3 for event in self.case.calendar.events)

    def hands_on(self, number: int, day: date, dates: Dates) -> bool:
        """No release on a day of firm treatment of the tissue, nor the day after a deep one; the adjusted neck."""
        drill, calendar = self.case.drills[number], self.case.calendar
        if calendar.neck_adjusted and day == calendar.start and drill.end_range_neck:
            return True
        for treatment in calendar.treatments:
            reached = treatment.tissues is None or bool(treatment.tissues & drill.muscles)
            after = (day - treatment.day).days
            bars = {"light": set(), "firm": {0}, "deep": {0, 1}}[treatment.depth]
            if drill.kind == "release" and reached and after in bars:
                return True
        return False

    def hard_day(self, number: int, day: date, dates: Dates) -> bool:
        """Loading never on a long day nor the day before a hard or a long one."""
        training = self.case.calendar.training
        today, tomorrow = training[day.weekday()], training[(day.weekday() + 1) % 7]
        return self.rests(number) and (today == "long" or tomorrow in {"hard", "long"})

    def rests(self, number: int) -> bool:
        """Loading that asks for rest."""
        drill = self.case.drills[number]
        return drill.kind == "load" and not drill.gap_exempt

    def gap(self, number: int, day: date, dates: Dates) -> bool:
        """The drill's own gap, and 48 h between loading of a shared muscle on a shared side; history counts."""
        drill = self.case.drills[number]
        own = [*dates[number], *drill.history]
        if any(0 < abs((day - other).days) < drill.gap_days for other in own):
            return True
        if not self.rests(number):
            return False
        loaded: list[tuple[date, str, str]] = [
            (other_day, muscle, other.side)
            for which, other in enumerate(self.case.drills)
            if self.rests(which)
            for other_day in dates[which]
            for muscle in other.muscles
        ]
        loaded += [(load.day, load.muscle, load.side) for load in self.case.calendar.load_history]
        return any(
            abs((day - other_day).days) == 1 and muscle in drill.muscles and meets(drill.side, side)
            for other_day, muscle, side in loaded
        )

    def wanted(self, number: int, day: date, dates: Dates) -> bool:
        """As many days as the drill wants in the week."""
        drill = self.case.drills[number]
        week = next(week for week in weeks(self.case.calendar) if day in week)
        return len(dates[number] & set(week)) >= wanted_in(drill, week)

    def budget(self, number: int, day: date, seconds: Mapping[int, int]) -> bool:
        """The day's items and the changes between them fit the day's minutes."""
        calendar = self.case.calendar
        available = calendar.budget_s[day.weekday()]
        together = sum(seconds.values()) + reserved(self.case.drills[number], calendar) - calendar.transition_s
        return available == 0 or together > available


def meets(one: str, other: str) -> bool:
    """Whether two sides meet: only left and right do not."""
    return {one, other} != {"left", "right"}


def dates_of(case: Case, plan: DayPlan) -> list[set[date]]:
    """The dates of each drill of a plan."""
    return [{day.date for day in plan.days for item in day.items if item.drill == drill.id} for drill in case.drills]


def start_seconds(case: Case, day: date, dates: Dates) -> dict[int, int]:
    """What the drills of a day take of it, all at what they are budgeted with."""
    return {number: reserved(drill, case.calendar) for number, drill in enumerate(case.drills) if day in dates[number]}


def without(dates: Dates, number: int, day: date) -> list[Set[date]]:
    """The dates with one drill taken off one day."""
    return [own - {day} if which == number else own for which, own in enumerate(dates)]


def faults(case: Case, dates: Dates) -> list[str]:
    """The rules that a choice of dates breaks, each drill at what it is budgeted with."""
    book = Rulebook(case)
    found = []
    for number, own in enumerate(dates):
        for day in sorted(own):
            others = without(dates, number, day)
            rule = book.first(number, day, others, start_seconds(case, day, others))
            if rule is not None:
                found.append(f"{case.drills[number].id} on {day}: {rule}")
    return found
