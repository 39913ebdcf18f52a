"""From the last sheet, what came back of it and what was decided today to the course so far."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from homecare.core.atlas import Zone
from homecare.core.course_types import Course, Given
from homecare.core.findings import LastSheet, Visit
from homecare.core.last import LastDrill, LastPlan
from homecare.core.plain import listed
from homecare.core.sheet import CheckIn, LeftOut, Refer

FLAGGED = "the sign that is referred rules it out"


def course_so_far(
    visit: Visit,
    last: LastPlan | None,
    check_in: Sequence[CheckIn],
    left_out: Sequence[LeftOut],
    refer: Refer | None,
    names: Mapping[str, str],
    zones: Mapping[str, Zone],
) -> Course | None:
    """The course since the last sheet; None where there was none.

    `names` are the drills' printed names by id: one that the library has no more is told by its id. A drill that went
    off the sheet today says whether the sign that is referred stopped it; an urgent one stops them all.
    """
    if visit.last is None or last is None:
        return None
    lines = {line.drill: line for line in check_in}
    flagged = {line.id for line in left_out if line.rule == "flag"}
    urgent = refer is not None and refer.urgency == "now"
    given = []
    for drill in last.drills:
        line = lines.get(drill.id)
        change, because = (line.change, line.because) if line else ("off", "")
        if urgent:
            change, because = "off", ""
        elif change == "off" and drill.id in flagged:
            because = FLAGGED
        given.append(_given(drill, last, visit.last, visit, names, change, because))
    symptoms = tuple(
        f"{one.symptom}, {one.side}: {listed([zones[zone].plain if zone in zones else zone for zone in one.zones])}"
        for one in last.symptoms
    )
    return Course(last.start, visit.start, symptoms, tuple(given), visit.last.ratings)


def _given(
    drill: LastDrill,
    last: LastPlan,
    told: LastSheet,
    visit: Visit,
    names: Mapping[str, str],
    change: str,
    because: str,
) -> Given:
    """One drill with its days before this visit; what was planned for later was not asked for."""
    days = [
        (day.date, item.times)
        for day in last.days
        if day.date < visit.start
        for item in day.items
        if item.drill == drill.id
    ]
    return Given(
        drill=drill.id,
        name=names.get(drill.id, drill.id.replace("_", " ")),
        side=drill.side,
        first=days[0][0] if days else None,
        last=days[-1][0] if days else None,
        days=len(days),
        boxes=sum(times for _, times in days),
        done=told.done.get(drill.id),
        response=told.response.get(drill.id, ""),
        change=change,
        because=because,
    )
