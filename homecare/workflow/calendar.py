"""The athlete's days as the planner takes them: budgets, training, treatments and what came before."""

from __future__ import annotations

from homecare.core.atlas import Atlas, each_side
from homecare.core.check_in import Carried
from homecare.core.choosing import Chosen
from homecare.core.dosing import Dosing
from homecare.core.findings import TRANSITION_S, Visit
from homecare.core.last import LastPlan
from homecare.core.plan_types import LoadDay, PlanCalendar, PlanDrill, Treatment
from homecare.core.sheet import Clinic
from homecare.core.wishes import treated_tissues


def calendar_of(visit: Visit, atlas: Atlas, clinic: Clinic, last: LastPlan | None, neck_adjusted: bool) -> PlanCalendar:
    """The calendar of a visit; the visit itself treats what was found, and counts as a treatment on its day."""
    treatments = [
        Treatment(visit.start, depth, frozenset({tissue}))
        for tissue, depth in sorted(treated_tissues(visit, atlas).items())
    ]
    for clinic_visit in visit.clinic_visits:
        if clinic_visit.treated is None:
            treatments.append(Treatment(clinic_visit.day, "firm", None))
            continue
        for tissue, depth in sorted(clinic_visit.treated.items()):
            treatments.append(Treatment(clinic_visit.day, depth, frozenset(atlas.members(tissue))))
    return PlanCalendar(
        start=visit.start,
        days=visit.days,
        budget_s=tuple(int(minutes * 60) for minutes in visit.minutes),
        training=visit.week,
        events=visit.events,
        treatments=tuple(treatments),
        visits=tuple(clinic_visit.day for clinic_visit in visit.clinic_visits),
        neck_adjusted=neck_adjusted,
        load_history=_load_history(visit, last),
        few=clinic.few,
        transition_s=TRANSITION_S,
    )


def _load_history(visit: Visit, last: LastPlan | None) -> tuple[LoadDay, ...]:
    if last is None:
        return ()
    loads = {drill.id: drill for drill in last.drills if drill.kind == "load" and not drill.gap_exempt}
    return tuple(
        LoadDay(day.date, muscle, side)
        for day in last.days
        if day.date < visit.start
        for item in day.items
        if item.drill in loads
        for muscle in loads[item.drill].tissues
        for side in each_side(item.side)
    )


def plan_drill(one: Chosen, dosing: Dosing, carried: Carried | None, atlas: Atlas) -> PlanDrill:
    """A chosen drill with its doses, as the planner takes it."""
    ladder = dosing.ladder
    return PlanDrill(
        id=one.drill.id,
        side=one.side,
        kind=one.drill.kind,
        muscles=frozenset(atlas.members(one.drill.tissues)),
        rungs=dosing.rungs,
        start_rung=dosing.start_rung,
        climb_days=dosing.climb_days,
        done_at_rung=dosing.done_at_rung,
        wanted_per_week=dosing.wanted_per_week,
        least_per_week=dosing.least_per_week,
        gap_days=ladder.gap_days,
        gap_exempt=ladder.gap_exempt,
        heavy_lengthening=ladder.heavy_lengthening,
        carried=carried is not None,
        parts=ladder.parts,
        end_range_neck="end_range_neck" in one.drill.traits,
        may_climb=not dosing.halved,
        history=carried.dates if carried else (),
    )
