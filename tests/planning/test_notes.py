"""Every drill that is not planned on a day has one note there: the first rule that kept it off."""

from __future__ import annotations

from datetime import date

from hypothesis import given, settings

from homecare.core.plan_types import DayPlan, Treatment
from homecare.core.planning import plan_days
from tests.planning.cases import Case, a_case, cases, plain_calendar, plain_drill, seeded
from tests.planning.rulebook import ORDER, Rulebook, dates_of, reserved, spent


def final_seconds(case: Case, plan: DayPlan, day: date) -> dict[int, int]:
    """What each drill of a day takes of it in the end: what it was budgeted with, or a rung risen above that."""
    taken = {}
    for number, drill in enumerate(case.drills):
        reached = [item.rung for one in plan.days if one.date <= day for item in one.items if item.drill == drill.id]
        if any(one.date == day and item.drill == drill.id for one in plan.days for item in one.items):
            rungs = drill.rungs[drill.start_rung : max(reached) + 1]
            taken[number] = max(reserved(drill, case.calendar), *(spent(drill, r, case.calendar) for r in rungs))
    return taken


def check_notes(case: Case, plan: DayPlan) -> set[str]:
    """One note, the right one, for each drill and day without an item; the rules seen."""
    book, dates, seen = Rulebook(case), dates_of(case, plan), set()
    for day in plan.days:
        expected = []
        for number, drill in enumerate(case.drills):
            if day.date not in dates[number]:
                rule = book.first(number, day.date, dates, final_seconds(case, plan, day.date))
                expected.append((drill.id, drill.side, rule))
                seen.add(str(rule))
        assert [(note.drill, note.side, note.rule) for note in day.notes] == expected
        assert all(note.because and "\n" not in note.because for note in day.notes)
    return seen


@settings(max_examples=150, deadline=None)
@given(cases())
def test_the_first_rule_that_kept_a_drill_off_is_noted(case: Case) -> None:
    check_notes(case, plan_days(case.drills, case.calendar))


def test_every_rule_is_seen_at_work() -> None:
    """The generated cases reach each of the seven rules; so does the check above."""
    seen = set()
    for seed in range(20):
        case = a_case(seeded(5000 + seed), 14, 7)
        seen |= check_notes(case, plan_days(case.drills, case.calendar))
    assert seen == set(ORDER)


def test_a_plan_whose_proof_was_cut_short_has_its_notes_too() -> None:
    for seed in range(20):
        case = a_case(seeded(5100 + seed), 14, 8)
        check_notes(case, plan_days(case.drills, case.calendar, node_limit=0))


def test_the_first_of_several_rules_speaks() -> None:
    """A release treated by hand this day, on a day without minutes: the hands come first, then the minutes."""
    start = plain_calendar().start
    calendar = plain_calendar(1, budget_s=(0,) * 7, treatments=(Treatment(start, "firm", None),))
    assert plan_days([plain_drill("release")], calendar).days[0].notes[0].rule == "hands-on"
    assert plan_days([plain_drill("stretch")], calendar).days[0].notes[0].because == "no minutes on this day"


def test_a_note_says_how_many_days_it_has() -> None:
    calendar = plain_calendar(7)
    three = plan_days([plain_drill("release", wanted_per_week=3)], calendar)
    one = plan_days([plain_drill("release", wanted_per_week=1, least_per_week=1)], calendar)
    assert {note.because for day in three.days for note in day.notes} == {"it has its 3 days this week"}
    assert {note.because for day in one.days for note in day.notes} == {"it has its 1 day this week"}
