"""The check-in of an amended sheet: what was planned is the plan as its slips left it, counted here by hand."""

from __future__ import annotations

import json
from datetime import date
from fractions import Fraction
from pathlib import Path

import pytest

from homecare.cli.main import main
from homecare.core.check_in import carry_over, drills_to_keep
from homecare.core.drill import Rung
from homecare.core.findings import LastSheet, Response
from homecare.core.last import LastDay, LastDrill, LastItem, LastPlan, LastSlip, as_amended
from homecare.core.problems import InputFault
from homecare.core.slip import Amendment
from homecare.library.load import Library
from homecare.library.visit import parse_visit
from homecare.workflow import make_sheet
from homecare.workflow.sheets import last_plan, plans_in

RUNGS = tuple(Rung(sets=2, reps=reps, hold_s=0, tempo_s=4, rest_s=30, setup_s=5, times=2) for reps in (6, 8, 10))
BY_HAND = (Rung(sets=1, reps=5, hold_s=0, tempo_s=4, rest_s=30, setup_s=5, times=1), *RUNGS[1:])
DATA = Path(__file__).resolve().parents[1] / "data"


def drill(key: str, rungs: tuple[Rung, ...] = RUNGS, start: int = 0) -> LastDrill:
    """A drill of the left calf on a ladder of three rungs."""
    return LastDrill(key, "left", "stretch", ("soleus",), 1, start, "dynamic_stretch", False, 0, False, rungs)


def days(first: int, last: int, **rungs: int) -> tuple[LastDay, ...]:
    """The days of September from the first to the last, every drill on each at its rung."""
    spans = {"hip": RUNGS, "calf": RUNGS, "shin": RUNGS}
    return tuple(
        LastDay(
            date(2026, 9, day),
            tuple(
                LastItem(key, "left", rung, 1 if key == "shin" else spans[key][rung].times)
                for key, rung in rungs.items()
            ),
        )
        for day in range(first, last + 1)
    )


def sheet() -> LastPlan:
    """Ten days from 7 September: hip and calf, twice a day; the calf from 12 September at its second rung."""
    plan = days(7, 11, hip=0, calf=0) + days(12, 16, hip=0, calf=1)
    return LastPlan(1, date(2026, 9, 7), plan, (drill("hip"), drill("calf")), (), "plan")


def slip(
    day: int, asked: Amendment, plan: tuple[LastDay, ...], *drills: LastDrill, after: tuple[str, ...] = ()
) -> LastSlip:
    """A change from a day of September on."""
    return LastSlip(asked, "plan", after, plan, drills, f"slip{day}")


def told(**done: int) -> LastSheet:
    """So many boxes ticked, and all of it settled."""
    answers: dict[str, Response] = dict.fromkeys(done, "settled")
    return LastSheet("plan.json", done, answers, ())


def test_boxes_planned_end_where_a_slip_takes_a_drill_off_and_begin_where_it_puts_one_on() -> None:
    """7 to 9 September are 3 days of 2 boxes for the hip; the shin has 10 to 16, 7 days of 1; the calf all 10 of 2."""
    now = days(10, 11, calf=0, shin=0) + days(12, 16, calf=1, shin=0)
    change = slip(10, Amendment(date(2026, 9, 10), off=("hip",)), now, drill("calf"), drill("shin"))
    plan = as_amended(sheet(), change)
    carried = carry_over(told(hip=3, calf=20, shin=7), plan, date(2026, 9, 17), {})
    assert {key: one.share for key, one in carried.items()} == {"hip": Fraction(3, 6), "calf": 1, "shin": 1}
    assert {key: len(one.dates) for key, one in carried.items()} == {"hip": 3, "calf": 10, "shin": 7}
    assert {key: one.drill.off for key, one in carried.items()} == {
        "hip": date(2026, 9, 10),
        "calf": None,
        "shin": None,
    }
    assert carried["calf"].start_rung == 2  # five days done at the second rung
    assert plan.slips == ("slip10",)


def test_a_dose_set_by_hand_begins_its_steps_anew() -> None:
    """From 12 September at a dose of its own, 5 boxes: 5 days count for it, and none of those before."""
    now = tuple(
        LastDay(day.date, (LastItem("calf", "left", 0, 1), *day.items[:1])) for day in days(12, 16, hip=0, calf=1)
    )
    plan = as_amended(sheet(), slip(12, Amendment(date(2026, 9, 12)), now, drill("hip"), drill("calf", BY_HAND)))
    one = carry_over(told(calf=15), plan, date(2026, 9, 17), {})["calf"]
    assert (one.share, one.rungs, one.drill.start_rung) == (Fraction(1), BY_HAND, 0)
    assert (one.change, one.start_rung) == ("up", 1)
    early = carry_over(told(calf=10), plan, date(2026, 9, 12), {})["calf"]
    assert (early.start_rung, early.done_at_rung, early.share) == (0, 0, Fraction(1))


def test_a_drill_that_was_taken_off_counts_neither_for_nor_against_fewer_drills() -> None:
    now = days(10, 16, calf=0)
    plan = as_amended(sheet(), slip(10, Amendment(date(2026, 9, 10), off=("hip",)), now, drill("calf")))
    carried = carry_over(told(hip=0, calf=20), plan, date(2026, 9, 17), {})
    assert drills_to_keep(carried, 6) == 6


def test_slip_after_slip_leaves_what_the_last_one_says() -> None:
    first = slip(9, Amendment(date(2026, 9, 9), off=("hip",)), days(9, 16, calf=0), drill("calf"))
    second = slip(
        13, Amendment(date(2026, 9, 13)), days(13, 16, calf=0, hip=0), drill("calf"), drill("hip"), after=("slip9",)
    )
    once = as_amended(sheet(), first)
    assert first.follows(sheet())
    assert second.follows(once)
    assert not second.follows(sheet())
    plan = as_amended(once, second)
    done = {
        one.id: sum(item.times for day in plan.days for item in day.items if item.drill == one.id)
        for one in plan.drills
    }
    assert done == {"hip": 2 * 2 + 4 * 2, "calf": 10 * 2}
    assert all(one.off is None for one in plan.drills)


def test_a_drill_is_off_from_the_slip_that_took_it_off_whatever_comes_after() -> None:
    first = slip(9, Amendment(date(2026, 9, 9), off=("hip",)), days(9, 16, calf=0), drill("calf"))
    second = slip(13, Amendment(date(2026, 9, 13), off=("calf",)), days(13, 16), after=("slip9",))
    plan = as_amended(as_amended(sheet(), first), second)
    assert {one.id: one.off for one in plan.drills} == {"hip": date(2026, 9, 9), "calf": date(2026, 9, 13)}


NEXT = """
athlete: Ines V.
start: 2026-05-18
findings: [{tissue: flexor_digitorum_superficialis, side: right, found: tight}]
drop: [wrist_back_stretch]
last: {plan: plan.json, amendments: [%s], done: {open_book: 1}, response: {open_book: settled}}
"""


def test_a_visit_names_the_slips_of_its_last_sheet(lib: Library, tmp_path: Path) -> None:
    """From the files alone: the boxes of a drill that a slip put on are those that its amendment.json plans."""
    rower = DATA / "rower.yaml"
    assert main(["sheet", str(rower), "--out", str(tmp_path)]) == 0
    change = ["--off", "wrist_back_stretch", "--add", "open_book", "--because", "stiff"]
    assert main(["amend", str(rower), "--from", "2026-05-08", *change, "--out", str(tmp_path)]) == 0
    (tmp_path / "next.yaml").write_text(NEXT % "amendment.json", encoding="utf-8")
    plan = last_plan(parse_visit(NEXT % "amendment.json", "next", lib), plans_in(tmp_path))
    assert plan is not None
    days = json.loads((tmp_path / "amendment.json").read_text())["days"]
    boxes = sum(item["times"] for day in days for item in day["items"] if item["drill"] == "open_book")
    assert sum(item.times for day in plan.days for item in day.items if item.drill == "open_book") == boxes > 0
    assert [day.date for day in plan.days] == [day.date for day in _plain(tmp_path, lib).days]
    made = make_sheet(tmp_path / "next.yaml")
    assert json.loads(made.plan)["last"] == {"plan": plan.hash, "amendments": [plan.slips[0]]}
    check_in = {one.drill: one for one in made.sheet.check_in}
    assert "open_book" in check_in
    off = check_in["wrist_back_stretch"]
    assert (off.change, off.because) == ("off", "a slip took it off from Friday 8 May")


def _plain(folder: Path, lib: Library) -> LastPlan:
    plan = last_plan(parse_visit(NEXT % "", "next", lib), plans_in(folder))
    assert plan is not None
    return plan


@pytest.mark.parametrize("named", ["amendment.json, amendment.json", "plan.json", "missing.json"])
def test_slips_that_do_not_follow_are_refused(named: str, lib: Library, tmp_path: Path) -> None:
    rower = DATA / "rower.yaml"
    assert main(["sheet", str(rower), "--out", str(tmp_path)]) == 0
    assert main(["amend", str(rower), "--from", "2026-05-08", "--off", "median_slider", "--out", str(tmp_path)]) == 0
    with pytest.raises(InputFault):
        last_plan(parse_visit(NEXT % named, "next", lib), plans_in(tmp_path))
