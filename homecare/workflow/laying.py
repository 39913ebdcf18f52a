"""The chosen drills with their doses, laid into the athlete's days."""

from __future__ import annotations

from dataclasses import dataclass

from homecare.core.choosing import Chosen
from homecare.core.dosing import Dosing
from homecare.core.drill import Irritability
from homecare.core.findings import Visit
from homecare.core.last import LastPlan
from homecare.core.plan_types import DayPlan
from homecare.core.planning import plan_days
from homecare.core.sheet import Clinic
from homecare.library.load import Library
from homecare.workflow import lines
from homecare.workflow.calendar import calendar_of, plan_drill
from homecare.workflow.judging import Judged, dosing_of


@dataclass(frozen=True)
class Laid:
    """Drills by priority, each with how easily it stirs things up and its doses; and the plan of their days."""

    chosen: tuple[Chosen, ...]
    grades: tuple[Irritability, ...]
    dosings: tuple[Dosing, ...]
    plan: DayPlan


def lay_out(judged: Judged, visit: Visit, library: Library, clinic: Clinic, last: LastPlan | None) -> Laid:
    """Dose the chosen drills and plan their days; no days where the athlete must be seen now."""
    chosen, carried = judged.choice.chosen, judged.carried
    grades = tuple(lines.irritability(one, judged.reasoned, library.atlas) for one in chosen)
    dosings = tuple(dosing_of(one, grade, visit, library, carried) for one, grade in zip(chosen, grades, strict=True))
    if judged.refer is not None and judged.refer.urgency == "now":
        return Laid(chosen, grades, dosings, DayPlan((), True, (), (), ()))
    planned = [
        plan_drill(one, dosing, carried.get(one.drill.id), library.atlas)
        for one, dosing in zip(chosen, dosings, strict=True)
    ]
    neck_adjusted = any(caution.not_today for caution in judged.cautions)
    return Laid(
        chosen, grades, dosings, plan_days(planned, calendar_of(visit, library.atlas, clinic, last, neck_adjusted))
    )
