"""No rule is broken in five thousand generated plans, judged by the rulebook, which is written from the rules alone."""

from __future__ import annotations

import os
from multiprocessing import get_context

import pytest

from homecare.core.planning import plan_days
from tests.planning.cases import a_case, seeded
from tests.planning.rulebook import dates_of, faults

CASES = 5_000
FIRST = 50_000
"""The first seed: far from those of the other tests."""
SIZES = ((1, 3), (3, 4), (5, 5), (7, 4), (7, 8), (10, 3), (10, 6), (14, 3), (14, 5), (21, 3))
"""Days and drills of the cases, in turn: many small plans meet more corners than a few long ones."""


def broken(seed: int) -> list[str]:
    """The rules that the plan of one case breaks, each with its seed; and a budget or a count that is passed."""
    case = a_case(seeded(seed), *SIZES[seed % len(SIZES)])
    plan = plan_days(case.drills, case.calendar)
    found = [f"seed {seed}: {fault}" for fault in faults(case, dates_of(case, plan))]
    for day in plan.days:
        if day.planned_s > day.budget_s and day.items:
            found.append(f"seed {seed}: {day.date} takes {day.planned_s} of {day.budget_s} s")
        if len(day.items) > case.calendar.few:
            found.append(f"seed {seed}: {day.date} has {len(day.items)} drills")
        if len(day.items) + len(day.notes) != len(case.drills):
            found.append(f"seed {seed}: {day.date} does not say why a drill is off")
    return found


@pytest.mark.slow
def test_no_rule_is_broken_in_five_thousand_plans() -> None:
    with get_context("spawn").Pool(os.cpu_count()) as pool:
        found = [fault for faults in pool.imap(broken, range(FIRST, FIRST + CASES), 50) for fault in faults]
    assert found == []
