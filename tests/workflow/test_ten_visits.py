"""Ten visits of one athlete in a row, each starting from the last: the course of every dose stays sane."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import date, timedelta
from itertools import pairwise
from math import ceil

from homecare.core.findings import LastSheet, Response
from homecare.core.sheet import Clinic, Sheet
from homecare.library.load import Library
from homecare.render.plan_json import plan_bytes
from homecare.render.plan_read import read_plan
from homecare.workflow.assembling import build_sheet
from tests.helpers import visit_of

FINDINGS = (
    "{tissue: soleus, side: left, found: tight}\n"
    "{tissue: achilles_tendon, side: left, found: weak}\n"
    "{tissue: gluteus_medius, side: left, found: weak}\n"
    "{symptom: tingling, zones: [lateral_foot, heel], side: left, irritability: moderate}"
)
START = date(2026, 3, 2)
VISITS = 10

Answer = Callable[[int], Response | None]


@dataclass(frozen=True)
class Course:
    """The sheets of ten visits a week apart."""

    sheets: tuple[Sheet, ...]

    def of(self, drill: str) -> list[tuple[int, bool] | None]:
        """The first rung of a drill on each sheet, and whether its dose is halved; None where it is not on."""
        found = []
        for sheet in self.sheets:
            one = next((one for one in sheet.drills if one.id == drill), None)
            found.append((one.start_rung, one.halved) if one else None)
        return found

    def drills(self) -> set[str]:
        """Every drill that was on the first sheet."""
        return {one.id for one in self.sheets[0].drills}

    def reached(self, drill: str, visit: int) -> int:
        """The rung that a drill had come to by the next visit, a week on."""
        days = self.sheets[visit].days[:7]
        return max(item.rung for day in days for item in day.items if item.drill == drill)


def course(lib: Library, answer: Answer, share: Callable[[int], float]) -> Course:
    """Ten visits a week apart; at each the athlete answers for every drill, and ticked a share of the boxes."""
    sheets: list[Sheet] = []
    plan = None
    for number in range(VISITS):
        start = START + timedelta(days=7 * number)
        visit = replace(
            visit_of(lib, FINDINGS), start=start, minutes=(15.0,) * 7, kit=("ball", "roller", "band", "strap")
        )
        if plan is not None:
            boxes = {drill.id: 0 for drill in plan.drills}
            for day in plan.days:
                for item in day.items if day.date < start else ():
                    boxes[item.drill] += item.times
            done = {drill: ceil(count * share(number)) for drill, count in boxes.items()}
            said = answer(number)
            visit = replace(visit, last=LastSheet("last", done, dict.fromkeys(boxes, said) if said else {}, ()))
        sheets.append(build_sheet(visit, lib, Clinic(), plan))
        plan = read_plan(plan_bytes(sheets[-1]), "last")
    return Course(tuple(sheets))


def test_ten_settled_visits_climb_to_the_ladders_top_and_stay(lib: Library) -> None:
    found = course(lib, lambda visit: "settled", lambda visit: 0.9)
    for drill in found.drills():
        rungs = [one[0] for one in found.of(drill) if one]
        top = len(lib.ladders[lib.drills[drill].ladder].rungs) - 1
        assert len(rungs) == VISITS, drill
        assert rungs == sorted(rungs), drill
        assert rungs[0] <= 1 < top, drill
        assert rungs[-1] == top, drill
        assert all(later - earlier <= 2 for earlier, later in pairwise(rungs)), drill


def test_one_bad_week_steps_back_and_halves_and_the_next_good_one_restores(lib: Library) -> None:
    found = course(lib, lambda visit: "worse" if visit == 4 else "settled", lambda visit: 0.9)
    for drill in found.drills():
        bad, restored = found.of(drill)[4], found.of(drill)[5]
        assert bad is not None, drill
        assert restored is not None, drill
        assert bad == (max(0, found.reached(drill, 3) - 1), True), drill
        assert restored == (bad[0], False), drill


def test_two_bad_weeks_take_a_drill_off_and_ask_for_a_review(lib: Library) -> None:
    found = course(lib, lambda visit: "worse" if visit in (4, 5) else "settled", lambda visit: 0.9)
    gone = {line.drill for line in found.sheets[5].check_in if line.change == "off"}
    assert gone == {one.id for one in found.sheets[4].drills}
    assert not gone & {one.id for one in found.sheets[5].drills}
    assert all("looked at again" in line.because for line in found.sheets[5].check_in)


def test_a_sore_week_holds_every_rung(lib: Library) -> None:
    """Pain monitoring: up to 5 of 10 and settled by morning, the dose stays (Thomee 1997, from memory)."""
    found = course(lib, lambda visit: "sore" if visit == 3 else "settled", lambda visit: 0.9)
    for drill in found.drills():
        assert found.of(drill)[3] == (found.reached(drill, 2), False), drill


def test_a_week_half_undone_asks_for_fewer_drills_and_climbs_none(lib: Library) -> None:
    """More drills are followed less (Eckard et al. 2015, Mil Med 180:186-91)."""
    found = course(lib, lambda visit: "settled", lambda visit: 0.3 if visit == 4 else 0.9)
    assert 2 <= len(found.sheets[4].drills) < len(found.sheets[3].drills)
    for drill in found.sheets[4].drills:
        assert drill.start_rung == found.reached(drill.id, 3), drill.id
    assert [one.id for one in found.sheets[4].drills if one.priority == 1] == [
        one.id for one in found.sheets[3].drills if one.priority == 1
    ]


def test_silence_moves_nothing_by_itself(lib: Library) -> None:
    found = course(lib, lambda visit: None, lambda visit: 0.9)
    for number, sheet in enumerate(found.sheets[1:], start=1):
        assert all(line.change == "hold" for line in sheet.check_in), number
