"""A phone's code read against the plan it belongs to: what was done, and the lines for the next visit's file."""

from __future__ import annotations

from dataclasses import dataclass

from homecare.core.last import LastPlan
from homecare.core.phone_report import PhoneReport, Response, read_report
from homecare.core.problems import InputFault, Problem, Source
from homecare.render.plan_read import read_plan


@dataclass(frozen=True)
class DrillDone:
    """One drill of the last sheet: boxes ticked of those planned, and how it responded (None: no answer)."""

    drill: str
    side: str
    done: int
    planned: int
    response: Response | None


@dataclass(frozen=True)
class PhoneAnswer:
    """All that a phone's code says: the drills in the sheet's order, and the notes from 0 to 10 by date."""

    drills: tuple[DrillDone, ...]
    report: PhoneReport


def read_phone_code(code: str, plan: bytes, plan_name: str) -> PhoneAnswer:
    """What a code says of the sheet of a plan.json; raises InputFault when either cannot be used."""
    last = read_plan(plan, plan_name)
    report = read_report(code, last.start, [(drill.id, drill.side) for drill in last.drills])
    if not isinstance(report, PhoneReport):
        raise InputFault([Problem(Source("code"), "phone-code", report.because)])
    pairs = zip(last.drills, report.drills, strict=True)
    drills = tuple(
        DrillDone(drill.id, drill.side, one.done, _planned(last, drill.id), one.response) for drill, one in pairs
    )
    return PhoneAnswer(drills, report)


def last_lines(answer: PhoneAnswer, plan_name: str) -> str:
    """The lines of the next visit's file that say the same."""
    done = ", ".join(f"{one.drill}: {one.done}" for one in answer.drills)
    response = ", ".join(f"{one.drill}: {one.response}" for one in answer.drills if one.response)
    ratings = ", ".join(f"[{day.isoformat()}, {note}]" for day, note in answer.report.ratings)
    return (
        f"last:\n  plan: {plan_name}\n  done: {{{done}}}\n"
        + (f"  response: {{{response}}}\n" if response else "")
        + (f"  ratings: [{ratings}]\n" if ratings else "")
    )


def _planned(last: LastPlan, drill: str) -> int:
    return sum(item.times for day in last.days for item in day.items if item.drill == drill)
