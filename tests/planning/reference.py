"""The best plan computed apart from the product: by trying every plan, and by a second solver (OR-Tools CP-SAT)."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from itertools import combinations, product

from ortools.sat.python import cp_model

from tests.planning.cases import Case
from tests.planning.rulebook import (
    Rulebook,
    Vector,
    all_dates,
    faults,
    least_in,
    meets,
    reserved,
    vector,
    wanted_in,
    weeks,
)


def subsets(days: list[date]) -> Iterator[frozenset[date]]:
    """Every set of the days."""
    for size in range(len(days) + 1):
        yield from map(frozenset, combinations(days, size))


def best_by_trying(case: Case) -> Vector:
    """The best vector among all plans that break no rule; for a handful of days and drills."""
    alone = []
    for number in range(len(case.drills)):
        nobody: list[frozenset[date]] = [frozenset()] * len(case.drills)
        own = [[*nobody[:number], days, *nobody[number + 1 :]] for days in subsets(all_dates(case.calendar))]
        alone.append([dates[number] for dates in own if not faults(case, dates)])
    return max(vector(case, dates) for dates in product(*alone) if not faults(case, dates))


def possible_alone(case: Case, number: int, day: date) -> bool:
    """Whether the calendar and the history leave a drill the day, others and its own days left out of it."""
    book, drill = Rulebook(case), case.drills[number]
    nothing: list[set[date]] = [set() for _ in case.drills]
    earlier = [{date.min} if which == number else set() for which in range(len(case.drills))]
    barred = book.event(number, day, earlier) or any(
        book.rules[rule](number, day, nothing) for rule in ("hands-on", "hard-day", "gap")
    )
    room = case.calendar.budget_s[day.weekday()] + case.calendar.transition_s
    return not barred and case.calendar.budget_s[day.weekday()] > 0 and reserved(drill, case.calendar) <= room


class SecondSolver:
    """A case as a CP-SAT model: one yes or no for each drill and date."""

    def __init__(self, case: Case) -> None:
        self.case, self.model, self.dates = case, cp_model.CpModel(), all_dates(case.calendar)
        self.on = {
            (number, day): self.model.new_bool_var(f"{number} {day}")
            for number in range(len(case.drills))
            for day in self.dates
        }
        for (number, day), on in self.on.items():
            if not possible_alone(case, number, day):
                self.model.add(on == 0)
        for number in range(len(case.drills)):
            self.own_rules(number)
        for one, other in combinations(range(len(case.drills)), 2):
            self.rest_between(one, other)
        self.days_hold()

    def own_rules(self, number: int) -> None:
        """Gap, cap of each week, and nothing new close to an event."""
        drill, book = self.case.drills[number], Rulebook(self.case)
        gap = max(drill.gap_days, 2 if book.rests(number) else 1)
        for one, other in combinations(self.dates, 2):
            if (other - one).days < gap:
                self.model.add_bool_or(self.on[number, one].negated(), self.on[number, other].negated())
        for week in weeks(self.case.calendar):
            self.model.add(sum(self.on[number, day] for day in week) <= wanted_in(drill, week))
        if not drill.carried:
            for day in filter(book.near_event, self.dates):
                before = [self.on[number, other] for other in self.dates if other < day and not book.near_event(other)]
                self.model.add_bool_or(*before, self.on[number, day].negated())

    def rest_between(self, one: int, other: int) -> None:
        """48 h between loading of a shared muscle on a shared side."""
        book, first, second = Rulebook(self.case), self.case.drills[one], self.case.drills[other]
        shared = first.muscles & second.muscles and meets(first.side, second.side)
        if not (book.rests(one) and book.rests(other) and shared):
            return
        for day, next_day in zip(self.dates, self.dates[1:], strict=False):
            self.model.add_bool_or(self.on[one, day].negated(), self.on[other, next_day].negated())
            self.model.add_bool_or(self.on[other, day].negated(), self.on[one, next_day].negated())

    def days_hold(self) -> None:
        """The minutes and the number of drills of each day."""
        calendar, numbers = self.case.calendar, range(len(self.case.drills))
        for day in self.dates:
            seconds = sum(reserved(self.case.drills[number], calendar) * self.on[number, day] for number in numbers)
            self.model.add(seconds <= calendar.budget_s[day.weekday()] + calendar.transition_s)
            self.model.add(sum(self.on[number, day] for number in numbers) <= calendar.few)

    def best(self, limit: float = 600.0) -> Vector | None:
        """The best vector, goal by goal; None where a goal was not settled within the limit (CP-SAT's own units)."""
        least, wanted = [], []
        for number, drill in enumerate(self.case.drills):
            credits = []
            for week in weeks(self.case.calendar):
                credit = self.model.new_int_var(0, least_in(drill, week), f"{number} {week[0]}")
                self.model.add(credit <= sum(self.on[number, day] for day in week))
                credits.append(credit)
            least.append(sum(credits))
            wanted.append(sum(self.on[number, day] for day in self.dates))
        values = []
        for goal in (*least, *wanted):
            value = self.maximise(goal, limit)
            if value is None:
                return None
            values.append(value)
        return tuple(values)

    def maximise(self, goal: cp_model.LinearExprT, limit: float) -> int | None:
        """The most of one goal, then held."""
        self.model.maximize(goal)
        solver = cp_model.CpSolver()
        solver.parameters.num_workers = 1
        solver.parameters.random_seed = 0
        solver.parameters.linearization_level = 2  # without it, weeks that are alike take minutes
        solver.parameters.max_deterministic_time = limit
        if solver.solve(self.model) != cp_model.OPTIMAL:
            return None
        value = round(solver.objective_value)
        self.model.add(goal >= value)
        self.model.clear_hints()  # type: ignore[no-untyped-call]  # ortools leaves it without a type
        for on in self.on.values():
            self.model.add_hint(on, solver.boolean_value(on))
        return value
