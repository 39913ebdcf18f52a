"""From a visit, the library and the last plan to the whole sheet: the stages joined in the order of the work."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import timedelta

from homecare.core.barring import questions
from homecare.core.course import course_so_far
from homecare.core.drill import KINDS, Drill
from homecare.core.findings import COVER_BAR, DEFAULTS, TRANSITION_S, Visit
from homecare.core.last import LastPlan
from homecare.core.markers import marker_lines
from homecare.core.neighbours import neighbours
from homecare.core.plan_types import DayPlan
from homecare.core.reasoning import is_wanted
from homecare.core.sheet import Clinic, Planner, Sheet, SheetDrill, SymptomLine, Unserved
from homecare.core.tracing import chains
from homecare.core.words import called_habits, sheet_words
from homecare.library.load import Library
from homecare.render.figures import paper_box
from homecare.render.links import sheet_link
from homecare.workflow import lines
from homecare.workflow.judging import Judged, judge
from homecare.workflow.laying import Laid, lay_out
from homecare.workflow.shortage import shortage_words


def build_sheet(visit: Visit, library: Library, clinic: Clinic, last: LastPlan | None, large: bool = False) -> Sheet:
    """The whole sheet of a visit; raises InputFault where a pick passes a caution without a reason.

    `large` gives its figures the room of large print.
    """
    judged = judge(visit, library, clinic, last)
    laid = lay_out(judged, visit, library, clinic, last)
    short = shortage_words(laid, visit, library, clinic, last)
    return laid_sheet(judged, laid, visit, library, clinic, last, large, short)


def laid_sheet(
    judged: Judged,
    laid: Laid,
    visit: Visit,
    library: Library,
    clinic: Clinic,
    last: LastPlan | None,
    large: bool = False,
    short: tuple[str, ...] = (),
) -> Sheet:
    """The same of what was judged and laid out before; `short` is what is said of its minutes."""
    box = paper_box(len(laid.chosen), large)
    drills = in_order_of_doing(
        [
            lines.sheet_drill(one, grade, dosing, number, laid.plan, judged.carried, library, clinic, box)
            for number, (one, grade, dosing) in enumerate(zip(laid.chosen, laid.grades, laid.dosings, strict=True))
        ]
    )
    return join_sheet(visit, library, clinic, last, short, *_carried_by_the_days(judged, laid.plan, drills))


def _carried_by_the_days(
    judged: Judged, plan: DayPlan, drills: tuple[SheetDrill, ...]
) -> tuple[Judged, DayPlan, tuple[SheetDrill, ...]]:
    """Without the drills that got no day at all, where others did; what they were for is told as not served."""
    kept = {drill.id for drill in drills if drill.days_planned}
    gone = [one for one in judged.choice.chosen if kept and one.drill.id not in kept]
    if not gone:
        return judged, plan, drills
    served = {wish.id for one in judged.choice.chosen if one.drill.id in kept for wish in one.wishes}
    lost = {wish.says: None for one in gone for wish in one.wishes if wish.id not in served}
    lines_lost = tuple(Unserved(says, "no day of the sheet has room for it") for says in lost)
    stays = tuple(one for one in judged.choice.chosen if one.drill.id in kept)
    choice = replace(judged.choice, chosen=stays, unserved=judged.choice.unserved + lines_lost)
    days = tuple(replace(day, notes=tuple(note for note in day.notes if note.drill in kept)) for day in plan.days)
    return (
        replace(judged, choice=choice),
        replace(plan, days=days),
        tuple(drill for drill in drills if drill.id in kept),
    )


def in_order_of_doing(drills: Sequence[SheetDrill]) -> tuple[SheetDrill, ...]:
    """Drills by kind, and of a kind by priority."""
    return tuple(sorted(drills, key=lambda drill: (KINDS.index(drill.kind), drill.priority)))


def join_sheet(
    visit: Visit,
    library: Library,
    clinic: Clinic,
    last: LastPlan | None,
    short: tuple[str, ...],
    judged: Judged,
    plan: DayPlan,
    drills: tuple[SheetDrill, ...],
) -> Sheet:
    """All parts of a sheet put together; `drills` in the order of doing, `short` what is said of its minutes."""
    atlas, reasoned = library.atlas, judged.reasoned
    wanted = [one for one in reasoned.candidates if is_wanted(one, visit.cover)]
    habits = called_habits(visit, wanted, library.habits, atlas)
    asked = lines.caution_words(judged.cautions, judged.choice)
    order = {drill.id: number for number, drill in enumerate(drills)}
    days = tuple(replace(day, items=tuple(sorted(day.items, key=lambda item: order[item.drill]))) for day in plan.days)
    check_in = lines.check_in_lines(judged.carried, judged.stopped, drills, judged.limits.most < clinic.max_drills)
    names = {key: drill.name for key, drill in library.drills.items()}
    chosen: list[Drill] = [library.drills[drill.id] for drill in drills]
    sheet = Sheet(
        athlete=visit.athlete,
        prepared_by=visit.prepared_by,
        start=visit.start,
        days_asked=visit.days,
        review_by=visit.review_by or visit.start + timedelta(days=lines.outlook_days(visit, library)),
        clinic=clinic,
        defaults=_defaults(visit, clinic),
        screen=lines.screen_words(visit.screen),
        library_revision=library.revision,
        words=sheet_words(visit, atlas, bool(wanted), drills, days, habits, asked, clinic.clock or {}),
        notes=visit.notes,
        planner=Planner(clinic.few, clinic.max_drills, TRANSITION_S, COVER_BAR, plan.proven),
        candidates=tuple(lines.covered(one, reasoned, chosen, drills, habits, atlas) for one in reasoned.candidates),
        drills=drills,
        left_out=judged.choice.left_out,
        unserved=judged.choice.unserved,
        days=days,
        check_in=check_in,
        markers=marker_lines(visit.markers, last, library.markers),
        findings=lines.finding_lines(visit, library),
        refer=judged.refer,
        advice=short + lines.advice(visit, reasoned, atlas),
        last_hash=last.hash if last else None,
        last_slips=last.slips if last else (),
        neighbours=neighbours(visit, atlas),
        symptoms=tuple(
            SymptomLine(one.symptom, one.zones, one.side, one.irritability, one.now) for one in visit.symptoms
        ),
        chains=chains(judged.by_finding, judged.choice),
        course=course_so_far(visit, last, check_in, judged.choice.left_out, judged.refer, names, atlas.zones),
        ask=() if visit.screen.recorded else tuple(flag.ask for flag in questions(visit, library.flags, atlas)),
    )
    return replace(sheet, sheet_link=sheet_link(clinic.web, sheet)) if drills else sheet


def _defaults(visit: Visit, clinic: Clinic) -> dict[str, object]:
    """The defaults that stood in for something not said."""
    own = {key: DEFAULTS[key] for key in ("few", "max_drills") if getattr(clinic, key) == DEFAULTS[key]}
    return {**visit.defaults, **own}
