"""The day plan: which drill on which day, in which part of the day, at which rung, and why not on the others."""

from __future__ import annotations

from collections.abc import Sequence

from homecare.core.plan_days import finished
from homecare.core.plan_optimum import best_days
from homecare.core.plan_rules import grid
from homecare.core.plan_spacing import space_out
from homecare.core.plan_types import DayPlan, PlanCalendar, PlanDrill

NODE_LIMIT = 20_000
"""Nodes of each search: a limit in nodes, never a clock, so that the same visit gives the same plan on any machine."""


def plan_days(drills: Sequence[PlanDrill], calendar: PlanCalendar, node_limit: int = NODE_LIMIT) -> DayPlan:
    """The best plan of the drills, given in order of priority, over the calendar's days.

    Least days, then wanted days, each lexicographic by priority and at the start rungs; then even spacing; then the
    rungs that the minutes left allow. The first two are proven best, or the plan says that they are not.
    """
    laid = grid(drills, calendar)
    draft, proven = best_days(laid, node_limit)
    space_out(draft)
    while not proven and draft.fill(range(calendar.days)):  # what a proof would have shown to be full is made full
        space_out(draft)
    return finished(draft, proven)
