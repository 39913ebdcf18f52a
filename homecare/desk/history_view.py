"""An athlete's records as the desk shows them: dates, doses, changes and findings in words."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime

from homecare.core.charting import charts
from homecare.core.drill import Kind
from homecare.core.history import CameBack, PastDrill, PastSheet, PastVisit, day_of
from homecare.core.plain import sentence
from homecare.core.sheet import CheckIn, MarkerLine
from homecare.render.chart_svg import ChartView, chart_view
from homecare.render.dose_words import day_words, dose_words, range_words

STAIRS = {"up": "one step up", "hold": "same step", "down": "one step back", "off": "off the sheet"}
SEVERAL, LATELY = 2, 8
"""Visits from which a course is drawn, and so many of them beside the visits themselves (common practice)."""


@dataclass(frozen=True)
class DrillLine:
    """One drill of an issued sheet: its mark, name with side, first dose, and why it is there."""

    kind: Kind
    name: str
    dose: str
    because: str


@dataclass(frozen=True)
class Back:
    """What came back of one drill, and what that did to its dose; `change` names its mark."""

    name: str
    response: str
    change: str
    words: str


@dataclass(frozen=True)
class SlipView:
    """One change to an issued sheet."""

    id: str
    day: str
    says: tuple[str, ...]


@dataclass(frozen=True)
class SheetView:
    """One issued sheet in words; `now` says where it stands today, `over` whether its days are past.

    `told` is what came back between visits.
    """

    id: str
    days: str
    issued: str
    review: str
    now: str
    over: bool
    drills: tuple[DrillLine, ...]
    slips: tuple[SlipView, ...]
    told: tuple[str, ...]
    refer: str
    refer_because: tuple[str, ...]
    link: str


@dataclass(frozen=True)
class VisitView:
    """One visit in words: what was found, measured and told, and the sheets that were issued, the last one first."""

    day: str
    prepared_by: str
    findings: tuple[str, ...]
    markers: tuple[str, ...]
    back: tuple[Back, ...]
    sheet: SheetView | None
    earlier: tuple[SheetView, ...]


def sheet_view(sheet: PastSheet, today: date) -> SheetView:
    """An issued sheet in words."""
    plan = sheet.plan
    number, total = day_of(sheet, today)
    over = number > total
    if not plan.days:
        now = "no plan"
    elif over:
        now = f"ended {day_words(plan.last, weekday=False, year=plan.last.year != today.year)}"
    else:
        now = f"day {number} of {total}" if number else f"begins {day_words(plan.start, weekday=False)}"
    return SheetView(
        id=sheet.id,
        days=range_words(plan.start, plan.last, weekday=False),
        issued=moment_words(sheet.issued),
        review=day_words(plan.review_by, weekday=False, year=plan.review_by.year != today.year),
        now=now,
        over=over,
        drills=tuple(map(_drill, plan.drills)),
        slips=tuple(SlipView(one.id, day_words(one.day), one.says) for one in sheet.slips),
        told=tuple(_told(one, sheet) for one in sheet.back if one.visit is None),
        refer=plan.refer.urgency if plan.refer else "",
        refer_because=plan.refer.because if plan.refer else (),
        link=plan.link,
    )


def _told(one: CameBack, sheet: PastSheet) -> str:
    """What came back on one day, drill by drill, and the last rating."""
    said = []
    for drill in sheet.drills:
        done, response = one.told.done.get(drill.id), one.told.response.get(drill.id, "")
        words = ", ".join(filter(None, (f"{done} done" if done is not None else "", response)))
        said += [f"{sided(drill.name, drill.side)}: {words}"] if words else []
    if one.told.ratings:
        day, value = one.told.ratings[-1]
        said.append(f"rated {value:g} of 10 on {day_words(day, weekday=False)}")
    return sentence(f"{day_words(one.day)}: {'; '.join(said) or 'nothing was told'}")


def visit_views(visits: Sequence[PastVisit], today: date) -> tuple[VisitView, ...]:
    """The visits in words, the latest first."""
    names = {drill.id: drill.name for one in visits for sheet in one.sheets for drill in sheet.drills}
    return tuple(_visit(one, names, today) for one in reversed(visits))


def _visit(one: PastVisit, names: dict[str, str], today: date) -> VisitView:
    plan = one.sheet.plan if one.sheet else None
    return VisitView(
        day=day_words(one.day, year=True),
        prepared_by=one.prepared_by,
        findings=plan.findings if plan else (),
        markers=tuple(map(_marker, plan.markers)) if plan else (),
        back=tuple(_back(line, names) for line in plan.check_in) if plan else (),
        sheet=sheet_view(one.sheet, today) if one.sheet else None,
        earlier=tuple(sheet_view(sheet, today) for sheet in reversed(one.sheets[:-1])),
    )


def chart_views(visits: Sequence[PastVisit]) -> tuple[ChartView, ...]:
    """Every chart of the visits; none before the second one: there is no course to see yet."""
    return tuple(map(chart_view, charts(visits))) if len(visits) >= SEVERAL else ()


def lately(visits: Sequence[PastVisit]) -> tuple[ChartView, ...]:
    """What was felt and measured over the latest visits, and the doses of the drills that go on."""
    sheet = visits[-1].sheet if visits else None
    if len(visits) < SEVERAL or sheet is None:
        return ()
    now = {(drill.id, drill.side) for drill in sheet.drills}
    drawn = charts(visits[-LATELY:])
    return tuple(chart_view(one) for one in drawn if one.kind != "dose" or (one.drill, one.side) in now)


def moment_words(at: datetime) -> str:
    """A moment on the clinic's own clock: "2 March 2026, 10:15"."""
    here = at.astimezone()
    return f"{day_words(here.date(), weekday=False, year=True)}, {here:%H:%M}"


def sided(name: str, side: str) -> str:
    """A name with its side, where it has one."""
    return name if side == "none" else f"{name}, {'both sides' if side == 'both' else side}"


def _drill(one: PastDrill) -> DrillLine:
    dose = dose_words(one.rungs[min(one.start_rung, len(one.rungs) - 1)]) if one.rungs else ""
    return DrillLine(one.kind, sided(one.name, one.side), dose, one.because[0] if one.because else "")


def _back(line: CheckIn, names: dict[str, str]) -> Back:
    name = names.get(line.drill, line.drill.replace("_", " "))
    return Back(sided(name, line.side), line.response, line.change, sentence(f"{STAIRS[line.change]}: {line.because}"))


def _marker(one: MarkerLine) -> str:
    values = [
        f"{label} {value:g} {one.unit}".strip()
        for label, value in (("before", one.before), ("after", one.after))
        if value is not None
    ]
    return f"{sided(one.name, one.side)}: {', '.join(values) or 'not measured'}. {sentence(one.says)}"
