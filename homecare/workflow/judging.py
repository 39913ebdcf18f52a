"""What the findings lead to before anything is planned: places, flags, wishes, limits, and the drills chosen."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from homecare.core.barring import Bars, Raised, raised_flags, referral
from homecare.core.check_in import Carried, carry_over, drills_to_keep
from homecare.core.choosing import Choice, Chosen, Limits, choose
from homecare.core.dosing import Dosing, dose
from homecare.core.drill import Caution, Irritability
from homecare.core.evidence import Knowledge
from homecare.core.findings import Visit
from homecare.core.last import LastPlan
from homecare.core.markers import retired_by_markers
from homecare.core.reasoning import Reasoned, reason
from homecare.core.sheet import Clinic, Refer
from homecare.core.spreading import spread
from homecare.core.wishes import Wish, all_wishes, wishes_by_finding
from homecare.library.load import Library
from homecare.workflow import lines


@dataclass(frozen=True)
class Judged:
    """What the findings lead to before anything is planned."""

    reasoned: Reasoned
    raised: Raised
    refer: Refer | None
    cautions: tuple[Caution, ...]
    carried: Mapping[str, Carried]
    stopped: Mapping[str, str]
    bars: Bars
    limits: Limits
    by_finding: tuple[tuple[str, tuple[Wish, ...]], ...]
    choice: Choice


def judge(visit: Visit, library: Library, clinic: Clinic, last: LastPlan | None) -> Judged:
    """Reason, screen and choose; raises InputFault where a pick passes a caution without a reason."""
    atlas = library.atlas
    cautions = _cautions(visit, library)
    knowledge = Knowledge(atlas, library.tests, library.habits, library.worse_with, library.evidence)
    reasoned = reason(visit, knowledge, spread(visit, last, atlas))
    raised = raised_flags(visit, library.flags, cautions, atlas)
    refer = referral(raised, reasoned)
    carried = carry_over(visit.last, last, visit.start, library.ladders) if visit.last and last else {}
    stopped = {key: one.because for key, one in carried.items() if one.change == "off"}
    stopped |= retired_by_markers(visit.markers, last, library.markers, atlas)
    bars = Bars(
        atlas=atlas,
        visit=visit,
        cautions=tuple(caution for caution in cautions if not caution.not_today),
        raised=raised,
        irritable=reasoned,
        kit=frozenset(visit.kit),
        kit_words={key: word.plain for key, word in library.kit.items()},
        stopped=stopped,
    )
    lines.refuse_picks_without_reason(visit, library, bars)
    by_finding = wishes_by_finding(visit, reasoned, atlas, library.firing_orders)
    limits = _limits(visit, library, clinic, reasoned, carried)
    choice = Choice(())
    if refer is None or refer.urgency != "now":
        wishes = all_wishes(by_finding)
        stay = frozenset(key for key, one in carried.items() if one.drill.off is None)
        choice = choose(wishes, library.drills.values(), bars, visit.picks, limits, stay)
    return Judged(reasoned, raised, refer, cautions, carried, stopped, bars, limits, by_finding, choice)


def _limits(
    visit: Visit, library: Library, clinic: Clinic, reasoned: Reasoned, carried: Mapping[str, Carried]
) -> Limits:
    """What the choice may take: the clinic's number of drills, and the minutes of the week where there are any."""
    day_s = max(int(minutes * 60) for minutes in visit.minutes)
    room_s = sum(int(minutes * 60) for minutes in visit.minutes)
    most = drills_to_keep(carried, clinic.max_drills)
    if not room_s:
        return Limits(most, 0, lambda one: 0)

    def week_s(one: Chosen) -> int:
        grade = lines.irritability(one, reasoned, library.atlas)
        dosing = dosing_of(one, grade, visit, library, carried)
        seconds = dosing.rungs[dosing.start_rung].seconds(one.side)
        return dosing.least_per_week * seconds if seconds <= day_s else room_s + 1

    return Limits(most, room_s, week_s)


def _cautions(visit: Visit, library: Library) -> tuple[Caution, ...]:
    """The cautions of the visit; the athlete's age adds its own."""
    ids = dict.fromkeys(visit.cautions)
    if visit.age_group == "under_16":
        ids["under_16"] = None
    return tuple(library.cautions[one] for one in ids)


def dosing_of(
    one: Chosen, grade: Irritability, visit: Visit, library: Library, carried: Mapping[str, Carried]
) -> Dosing:
    """The doses of one chosen drill: set by hand, as the check-in left them, or from its ladder."""
    return dose(
        one.drill,
        one.side,
        visit.age_group,
        grade,
        library.ladders,
        visit.doses.get(one.drill.id),
        carried.get(one.drill.id),
    )
