"""What a plan that cannot be good lacks, in one sentence, with the smallest change that would help."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace

from homecare.core.findings import Visit
from homecare.core.last import LastPlan
from homecare.core.plain import listed
from homecare.core.sheet import Clinic
from homecare.library.load import Library
from homecare.workflow.judging import judge
from homecare.workflow.laying import Laid, lay_out

AMPLE = 240.0
"""Minutes a day with which nothing is left out for want of minutes (common practice)."""

MOST_MORE = 60
"""Minutes more a day that are still suggested; beyond them fewer drills are the better way (common practice)."""

MOST_DAYS = 28
"""Days of a long sheet that are tried (common practice): its weeks are alike, and trying twelve of them is slow."""


def shortage_words(
    laid: Laid, visit: Visit, library: Library, clinic: Clinic, last: LastPlan | None
) -> tuple[str, ...]:
    """One sentence where drills that are asked for get less than their least days, or no place for want of minutes."""

    def with_(minutes: tuple[float, ...], few: int) -> Laid:
        other, house = replace(visit, minutes=minutes), replace(clinic, few=few)
        return lay_out(judge(other, library, house, last), other, library, house, last)

    if not laid.plan.days:
        return ()
    ample = judge(replace(visit, minutes=(AMPLE,) * 7), library, clinic, last)
    asked = {one.drill.id: one.drill.name for one in ample.choice.chosen}
    if _missing(asked, laid) and visit.days > MOST_DAYS:
        visit = replace(visit, days=MOST_DAYS)
        laid = with_(visit.minutes, clinic.few)
    missing = _missing(asked, laid)
    if not missing:
        return ()
    barred = set(_missing(asked, with_((AMPLE,) * 7, len(asked))))
    short = [key for key in missing if key not in barred]
    words = []
    if short:
        held = len(asked) - len(missing)
        said = f"With {_minutes(visit)} {held or 'none'} of {len(asked)} drills get the days they need"
        way_out = _way_out(lambda laid: not set(_missing(asked, laid)) - barred, visit, clinic, with_, len(short))
        words.append(f"{said}; {listed([asked[key] for key in short])} {way_out}.")
    if barred & set(missing):
        names = listed([asked[key] for key in missing if key in barred])
        words.append(f"Training days, treatments, events and rest days leave too few days for {names}.")
    return tuple(words)


def _missing(asked: Iterable[str], laid: Laid) -> list[str]:
    """Those of the drills' ids that are not on the sheet, or have fewer days than the least that they need."""
    enough = {
        one.drill.id
        for one, least, planned in zip(laid.chosen, laid.plan.least, laid.plan.planned, strict=True)
        if planned >= least
    }
    return [key for key in asked if key not in enough]


def _way_out(
    enough: Callable[[Laid], bool],
    visit: Visit,
    clinic: Clinic,
    with_: Callable[[tuple[float, ...], int], Laid],
    count: int,
) -> str:
    """The smallest change that gives every drill its least days: one drill more a day, or some minutes more."""
    if enough(with_(visit.minutes, clinic.few + 1)):
        return f"would need {clinic.few + 1} drills a day instead of {clinic.few}"
    more = _least_more(lambda extra: enough(with_(_longer(visit.minutes, extra), clinic.few)))
    if more is not None:
        return f"would need {more} more minute{'s' if more > 1 else ''} a day"
    return f"cannot have {'its' if count == 1 else 'their'} least days here: take off what matters least"


def _least_more(enough: Callable[[int], bool]) -> int | None:
    """The fewest minutes more that are enough, by halving: more minutes never make a plan worse."""
    if not enough(MOST_MORE):
        return None
    low, high = 0, MOST_MORE
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if enough(middle) else (middle, high)
    return high


def _longer(minutes: tuple[float, ...], extra: int) -> tuple[float, ...]:
    """The week's minutes with some more on each day that has any; on every day when none has."""
    none = not any(minutes)
    return tuple(one + extra if one or none else one for one in minutes)


def _minutes(visit: Visit) -> str:
    used = sorted(set(visit.minutes))
    if len(used) == 1:
        return f"{used[0]:g} minute{'' if used[0] == 1 else 's'} a day"
    return f"{used[0]:g} to {used[-1]:g} minutes a day"
