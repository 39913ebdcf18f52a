"""One drill as it would print: a leaf for nobody with that drill alone, a step of its ladder up each time it may."""

from __future__ import annotations

from datetime import date, timedelta

from homecare.core.atlas import Side
from homecare.core.choosing import Chosen
from homecare.core.dosing import dose
from homecare.core.drill import Drill
from homecare.core.findings import COVER_BAR, TRANSITION_S
from homecare.core.plan_types import DayPlan
from homecare.core.sheet import Clinic, Day, Item, Planner, Sheet, Words
from homecare.library.load import Library
from homecare.render.figures import paper_box
from homecare.workflow.lines import sheet_drill

NOBODY, DAYS, WITH_IT = "Nobody", 14, 4
"""The name on the leaf, its days, and among how many drills it has its place: a usual leaf (common practice)."""


def specimen(drill: Drill, library: Library, clinic: Clinic, start: date) -> Sheet:
    """The leaf: the drill every day from `start` on, for the left side where it has sides, at a calm tissue's pace."""
    side: Side = "left" if drill.paired else "none"
    dosing = dose(drill, side, "adult", "low", library.ladders, None, None)
    plan = DayPlan((), True, (DAYS,), (DAYS,), (DAYS,))
    box = paper_box(WITH_IT)
    one = sheet_drill(Chosen(drill, side, ()), "low", dosing, 0, plan, {}, library, clinic, box)
    last = len(dosing.rungs) - 1
    days = []
    for number in range(DAYS):
        step = min(last, dosing.start_rung + number // dosing.climb_days)
        rung = dosing.rungs[step]
        seconds = rung.seconds(side)
        parts = dosing.ladder.parts[:1]
        item = Item(drill.id, side, step, rung.sets, rung.reps, rung.hold_s, rung.times, parts, seconds)
        days.append(Day(start + timedelta(days=number), "easy", seconds, seconds, (item,), ()))
    return Sheet(
        athlete=NOBODY,
        prepared_by="",
        start=start,
        days_asked=DAYS,
        review_by=start,
        clinic=clinic,
        defaults={},
        screen="clear",
        library_revision=library.revision,
        words=Words("", (), (), (), "", ""),
        notes="",
        planner=Planner(clinic.few, clinic.max_drills, TRANSITION_S, COVER_BAR, proven=True),
        candidates=(),
        drills=(one,),
        left_out=(),
        unserved=(),
        days=tuple(days),
        check_in=(),
        markers=(),
        findings=(),
        refer=None,
    )
