"""The single lines of a sheet: its drills, covered sites, check-in, findings, cautions and advice."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict, replace

from homecare.core.atlas import Atlas, Side, each_side
from homecare.core.barring import Bars
from homecare.core.check_in import Carried
from homecare.core.choosing import Choice, Chosen, needed_sides
from homecare.core.dosing import Dosing
from homecare.core.drill import GRADES, Caution, Drill, Habit, Irritability
from homecare.core.findings import Screen, Visit
from homecare.core.nerve_bed import TENSION, end_loads, worst_load
from homecare.core.plain import listed, sentence
from homecare.core.plan_types import DayPlan
from homecare.core.problems import InputFault, Problem
from homecare.core.reasoning import Reasoned
from homecare.core.sheet import Candidate, CheckIn, Clinic, Photograph, SheetDrill
from homecare.core.wishes import finding_words, nerves_in_question, serves, site_wish
from homecare.core.words import drill_text
from homecare.library.load import Library
from homecare.library.nodes import content_hash
from homecare.render.dose_words import day_words
from homecare.render.figures import Model, draw
from homecare.render.links import drill_link

SHORTER = "under half was done, so the sheet is shorter: what matters least rests for now"


def irritability(one: Chosen, reasoned: Reasoned, atlas: Atlas) -> Irritability:
    """How easily what a drill touches is stirred up: its wishes, and every irritable nerve that it loads noticeably."""
    found: list[Irritability] = [wish.irritability for wish in one.wishes]
    for (nerve, side), grade in reasoned.irritable.items():
        here = one.side in ("none", "both") or side in ("none", one.side)
        if here and worst_load(one.drill, nerve, atlas) >= TENSION / 2:
            found.append(grade)
    return max(found, key=GRADES.index, default="low")


def sheet_drill(
    one: Chosen,
    grade: Irritability,
    dosing: Dosing,
    number: int,
    plan: DayPlan,
    carried: Mapping[str, Carried],
    library: Library,
    clinic: Clinic,
    box: tuple[float, float],
) -> SheetDrill:
    """One drill of the sheet; `number` is its place by priority, from 0, `box` what its figure has on paper (mm)."""
    drill, ladder = one.drill, dosing.ladder
    text, shown = drill_text(drill, one.side), library.photos.get(drill.id)
    return SheetDrill(
        id=drill.id,
        code=drill.code,
        side=one.side,
        kind=drill.kind,
        tissues=drill.tissues,
        priority=number + 1,
        because=one.because(),
        ladder=ladder.id,
        ladder_source=str(ladder.source),
        irritability=grade,
        rungs=dosing.rungs,
        start_rung=dosing.start_rung,
        climb_days=dosing.climb_days,
        wanted_per_week=dosing.wanted_per_week,
        least_per_week=dosing.least_per_week,
        gap_days=ladder.gap_days,
        gap_exempt=ladder.gap_exempt,
        heavy_lengthening=ladder.heavy_lengthening,
        carried=drill.id in carried,
        halved=dosing.halved,
        worse_in_row=dosing.worse_in_row,
        done_at_rung=dosing.done_at_rung,
        days_planned=plan.planned[number],
        days_wanted=plan.wanted[number],
        nerve_load=end_loads(drill, library.atlas),
        text=text,
        text_hash=content_hash({**asdict(text), **({"photo": shown.hash} if shown else {})}),
        link=drill_link(clinic.web, drill.code, one.side, dosing.rungs, dosing.start_rung),
        drawing=draw(drill, Model(library.atlas, library.surfaces, library.postures), one.side, box),
        photo=photograph(drill, library, one.side),
        revision=library.drill_revision(drill.id),
    )


def photograph(drill: Drill, library: Library, side: Side) -> Photograph | None:
    """The clinic's photograph of a drill for a side; what was taken of the other side is shown as its mirror image."""
    shown = library.photos.get(drill.id)
    if shown is None:
        return None
    wanted = "left" if side == "left" else "right"
    return Photograph(shown.jpeg, shown.words, mirrored=drill.paired and shown.side != wanted)


def covered(
    candidate: Candidate,
    reasoned: Reasoned,
    chosen: Sequence[Drill],
    drills: Sequence[SheetDrill],
    habits: Sequence[Habit],
    atlas: Atlas,
) -> Candidate:
    """A candidate site with the drills and habits of the sheet that cover it."""
    wish = site_wish(candidate, reasoned, atlas)
    sides = {drill.id: set(each_side(drill.side)) for drill in drills}
    by_drill = [
        drill.id
        for drill in chosen
        if serves(drill, wish, atlas) and set(needed_sides(drill, wish.side)) <= sides[drill.id]
    ]
    by_habit = [f"habit:{habit.id}" for habit in habits if candidate.site in habit.sites]
    return replace(candidate, covered_by=tuple(by_drill + by_habit))


def refuse_picks_without_reason(visit: Visit, library: Library, bars: Bars) -> None:
    """Raise InputFault for every pick that a caution forbids and that gives no reason."""
    problems = []
    for pick in visit.picks:
        drill = library.drills[pick.drill]
        sides = each_side(pick.side) if pick.side else needed_sides(drill, "none")
        found = [bar for side in sides if (bar := bars.of(drill, side)) and bar.rule == "caution"]
        if found and not pick.because:
            message = f"{pick.drill} is left out for a caution ({found[0].because})"
            problems.append(Problem(pick.where, "reason", message, "to pick it all the same, add because: and say why"))
    if problems:
        raise InputFault(problems)


def screen_words(screen: Screen) -> object:
    """The screen as plan.json says it."""
    if not screen.recorded:
        return "not recorded"
    if not screen.flags:
        return "clear"
    return {"flags": list(screen.flags), "decision": screen.decision, "because": screen.because}


def outlook_days(visit: Visit, library: Library) -> int:
    """Days until the first of the findings should be clearly better; the sheet's length when the library says none."""
    kinds: list[str] = [finding.found for finding in visit.tissues]
    kinds += ["late"] * bool(visit.firing) + ["symptom"] * bool(visit.symptoms)
    known = [library.outlook[kind].days for kind in kinds if kind in library.outlook]
    return min(known, default=visit.days)


def caution_words(cautions: Sequence[Caution], choice: Choice) -> str:
    """One sentence for the athlete about what was left out for a caution; '' when nothing was."""
    if not any(line.rule == "caution" for line in choice.left_out):
        return ""
    return sentence(f"some drills are left out because {listed([caution.athlete for caution in cautions])}")


def check_in_lines(
    carried: Mapping[str, Carried], stopped: Mapping[str, str], drills: Sequence[SheetDrill], shorter: bool
) -> tuple[CheckIn, ...]:
    """What became of each drill of the last sheet; `shorter` where fewer drills are given since few were done."""
    here = {drill.id for drill in drills}
    found = []
    for key, one in carried.items():
        change, because = one.change, one.because
        if key not in here:
            change = "off"
            gone = SHORTER if shorter else "nothing found today asks for it, or it may not be done now"
            because = stopped.get(key, f"a slip took it off from {day_words(one.drill.off)}" if one.drill.off else gone)
        found.append(CheckIn(key, one.drill.side, one.response or "no answer", change, because))
    return tuple(found)


def finding_lines(visit: Visit, library: Library) -> tuple[str, ...]:
    """Everything that was found, in words, for the chart."""
    atlas = library.atlas
    found = [sentence(finding_words(finding, atlas)) for finding in visit.tissues]
    for symptom in visit.symptoms:
        zones = listed([atlas.zones[zone].plain for zone in symptom.zones])
        worse = listed([library.worse_with[one].plain for one in symptom.worse_with])
        parts = [f"{symptom.symptom}, {symptom.side}: {zones}", f"worse with {worse}" if worse else ""]
        parts += [f"irritability {symptom.irritability}", f"since {symptom.since}" if symptom.since else ""]
        parts += [f"now {symptom.now:g} of 10" if symptom.now is not None else ""]
        found.append(sentence("; ".join(part for part in parts if part)))
    for test in visit.tests:
        found.append(sentence(f"{library.tests[test.test].name}, {test.side}: {test.result}"))
    for firing in visit.firing:
        order = library.firing_orders[firing.firing]
        fired = ", then ".join(atlas.plain(muscle) for muscle in firing.order)
        found.append(sentence(f"{order.name}, {firing.side}: {fired}. {order.says}"))
    found += [sentence(f"changed lately: {change}") for change in visit.changed]
    return tuple(found)


def advice(visit: Visit, reasoned: Reasoned, atlas: Atlas) -> tuple[str, ...]:
    """What the practitioner should think of: no fit, nerves not told apart, weak muscles of a nerve in question."""
    found = [*reasoned.no_fit, *reasoned.ties]
    for finding in visit.tissues:
        for nerve in nerves_in_question(finding, reasoned, atlas):
            found.append(
                sentence(
                    f"{atlas.plain(finding.tissue)} found weak, and the {atlas.plain(nerve)} that serves it is in "
                    "question: test the strength of the nerve's other muscles first"
                )
            )
    return tuple(dict.fromkeys(found))
