"""The course of home care over all visits, drill by drill: what was asked and done, how it responded, how it ended."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from itertools import pairwise

from homecare.core.course import FLAGGED
from homecare.core.history import PastDrill, PastSheet, PastVisit
from homecare.core.sheet import CheckIn

OFF = "taken off"


@dataclass(frozen=True)
class DrillCourse:
    """One drill over all sheets: its first and last planned day before the last visit, and boxes asked and ticked.

    `told_boxes` are those of the sheets whose count came back, None of `done` where none did. `responses` are by the
    day on which they were told; `ended` is the day from which it was on no sheet, and why.
    """

    drill: PastDrill
    first: date
    last: date
    boxes: int
    told_boxes: int = 0
    done: int | None = None
    responses: tuple[tuple[date, str], ...] = ()
    ended: tuple[date, str] | None = None


@dataclass(frozen=True)
class WholeCourse:
    """Home care from the first visit to the last one."""

    since: date
    until: date
    drills: tuple[DrillCourse, ...] = field(default=())


def whole_course(visits: Sequence[PastVisit]) -> WholeCourse | None:
    """The course up to the last of the visits; None where nothing was given before it."""
    sheets = [(visit, visit.sheet) for visit in visits if visit.sheet is not None]
    if len(sheets) < 2:
        return None
    found: dict[str, DrillCourse] = {}
    for (_, sheet), (visit, following) in pairwise(sheets):
        found = {**found, **_one_sheet(sheet, visit, following, found)}
    return WholeCourse(sheets[0][1].plan.start, visits[-1].day, tuple(found.values()))


def _one_sheet(
    sheet: PastSheet, visit: PastVisit, following: PastSheet, known: Mapping[str, DrillCourse]
) -> dict[str, DrillCourse]:
    """The drills of one sheet, with what came back of them at the next visit."""
    days = sheet.held(visit.day)
    lines = {line.drill: line for line in following.plan.check_in}
    found = {}
    for drill in sheet.drills:
        planned = [(day.date, item.times) for day in days for item in day.items if item.drill == drill.id]
        if not planned and drill.id not in known:
            continue
        boxes = sum(times for _, times in planned)
        one = known.get(drill.id) or DrillCourse(drill, planned[0][0], planned[-1][0], 0)
        done = next((one.told.done[drill.id] for one in reversed(sheet.back) if drill.id in one.told.done), None)
        told = ((one.day, one.told.response[drill.id]) for one in sheet.back if drill.id in one.told.response)
        found[drill.id] = replace(
            one,
            drill=drill,
            last=planned[-1][0] if planned else one.last,
            boxes=one.boxes + boxes,
            told_boxes=one.told_boxes + (boxes if done is not None else 0),
            done=one.done if done is None else (one.done or 0) + done,
            responses=(*one.responses, *told),
            ended=_ended(sheet, drill.id, visit, following, lines.get(drill.id)),
        )
    return found


def _ended(
    sheet: PastSheet, drill: str, visit: PastVisit, following: PastSheet, line: CheckIn | None
) -> tuple[date, str] | None:
    """From when on and why a drill is on no sheet; None while it goes on."""
    if any(one.id == drill for one in following.drills):
        return None
    for slip in sheet.slips:
        if all(one.id != drill for one in slip.drills):
            return slip.day, OFF
    if drill in following.plan.flagged or (following.plan.refer and following.plan.refer.urgency == "now"):
        return visit.day, FLAGGED
    return visit.day, line.because if line and line.change == "off" else OFF
