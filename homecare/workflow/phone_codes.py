"""A phone's code read against the plan it belongs to: what was done, and the lines for the next visit's file."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from homecare.core.last import LastDrill, LastPlan
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


@dataclass(frozen=True)
class PhonePage:
    """One phone page that an athlete may have: the first day and the drills, in order, that its code is told by."""

    start: date
    drills: tuple[LastDrill, ...]


@dataclass(frozen=True)
class PhonesTold:
    """What the codes of a sheet's phone pages say together: boxes ticked and the last response by drill, and notes."""

    codes: tuple[str, ...]
    done: Mapping[str, int]
    response: Mapping[str, Response]
    ratings: tuple[tuple[date, int], ...]


def read_phone_code(code: str, plan: bytes, plan_name: str) -> PhoneAnswer:
    """What a code says of the sheet of a plan.json; raises InputFault when either cannot be used."""
    last = read_plan(plan, plan_name)
    _, report = _read(code, [PhonePage(last.start, last.drills)])
    pairs = zip(last.drills, report.drills, strict=True)
    drills = tuple(
        DrillDone(drill.id, drill.side, one.done, _planned(last, drill.id), one.response) for drill, one in pairs
    )
    return PhoneAnswer(drills, report)


def read_phone_codes(codes: Sequence[str], pages: Sequence[PhonePage]) -> PhonesTold:
    """What codes say of a sheet whose phone pages were `pages`, the first one and one for each slip, in order.

    A slip's page counts from its day on, so that the counts of two pages add up; of two codes of one page the later
    one holds. Raises InputFault for a code that cannot be used.
    """
    found: dict[int, tuple[str, PhoneReport]] = {}
    for code in codes:
        page, report = _read(code, pages)
        found[page] = (code, report)
    done: dict[str, int] = {}
    response: dict[str, Response] = {}
    ratings: dict[date, int] = {}
    for page, (_, report) in sorted(found.items()):
        for drill, one in zip(pages[page].drills, report.drills, strict=True):
            done[drill.id] = done.get(drill.id, 0) + one.done
            response |= {drill.id: one.response} if one.response else {}
        ratings |= dict(report.ratings)
    told = tuple(code for _, (code, _) in sorted(found.items()))
    return PhonesTold(told, done, response, tuple(sorted(ratings.items())))


def _read(code: str, pages: Sequence[PhonePage]) -> tuple[int, PhoneReport]:
    """Which page a code is of, and what it says."""
    because = ""
    for number, page in enumerate(pages):
        report = read_report(code, page.start, [(drill.id, drill.side) for drill in page.drills])
        if isinstance(report, PhoneReport):
            return number, report
        because = report.because
    raise InputFault([Problem(Source("code"), "phone-code", because)])


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
