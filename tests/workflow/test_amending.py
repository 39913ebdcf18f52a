"""Amending an issued sheet: one change from one day on, or several in turn, the rest of the leaf left true."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

import pytest

from homecare.core.findings import Pick, SetDose, Visit
from homecare.core.problems import InputFault, Source
from homecare.core.sheet import Clinic
from homecare.core.slip import Amendment
from homecare.library.load import Library
from homecare.library.visit import parse_visit
from homecare.workflow.amending import Amended, amend_sheet
from homecare.workflow.assembling import build_sheet

ROWER = (Path(__file__).resolve().parents[1] / "data/rower.yaml").read_text(encoding="utf-8")


def visit(lib: Library) -> Visit:
    """The rower's visit: from 4 May on."""
    return parse_visit(ROWER, "rower.yaml", lib)


def change(lib: Library, day: int, **changes: object) -> Amendment:
    """A change from `day` days into the rower's sheet on."""
    return Amendment(visit(lib).start + timedelta(days=day), **changes)  # type: ignore[arg-type]


def amended(lib: Library, *changes: Amendment) -> Amended:
    """What holds of the rower's sheet after some changes."""
    return amend_sheet(visit(lib), lib, Clinic(), None, *changes)[-1]


def days_of(days: object, drill: str) -> list[str]:
    """The dates of a drill."""
    return [str(day.date) for day in days if any(item.drill == drill for item in day.items)]  # type: ignore[attr-defined]


OPEN_BOOK = Pick("open_book", None, "the back is stiff again", Source("slip"))


def test_a_drill_off_leaves_the_others_their_days(lib: Library) -> None:
    sheet = build_sheet(visit(lib), lib, Clinic(), None)
    gone = sheet.drills[-1].id
    result = amended(lib, change(lib, 6, off=(gone,)))
    assert gone not in {drill.id for drill in result.drills}
    for drill in sheet.drills[:-1]:
        before = [one for one in days_of(sheet.days, drill.id) if one >= "2026-05-10"]
        assert set(before) <= set(days_of(result.plan.days, drill.id))


def test_another_dose_starts_on_that_day(lib: Library) -> None:
    result = amended(lib, change(lib, 5, doses={"median_slider": SetDose(sets=1, reps=5)}))
    (drill,) = [one for one in result.drills if one.id == "median_slider"]
    first = next(item for day in result.plan.days for item in day.items if item.drill == "median_slider")
    assert (first.sets, first.reps) == (1, 5)
    assert drill.rungs[drill.start_rung].reps == 5


def test_a_drill_on_gets_its_days_behind_the_others(lib: Library) -> None:
    result = amended(lib, change(lib, 4, on=(OPEN_BOOK,)))
    assert result.drills[-1].id == "open_book"
    assert days_of(result.plan.days, "open_book")


def test_every_fault_at_once(lib: Library) -> None:
    with pytest.raises(InputFault) as fault:
        amended(lib, change(lib, 40, off=("nothing",), on=(Pick("median_slider", None, "x", Source("slip")),)))
    words = " ".join(str(problem) for problem in fault.value.problems)
    assert "not within the sheet" in words
    assert "'nothing' is not on the sheet" in words
    assert "'median_slider' is on the sheet already" in words


def test_the_same_change_at_once_or_in_turn_on_one_day_gives_the_same_drills_and_doses(lib: Library) -> None:
    dose = {"median_slider": SetDose(sets=1, reps=5)}
    once = amended(lib, change(lib, 5, on=(OPEN_BOOK,), doses=dose))
    in_turn = amended(lib, change(lib, 5, doses=dose), change(lib, 5, on=(OPEN_BOOK,)))
    told = [
        {one.id: (one.rungs, one.start_rung, one.done_at_rung, one.had) for one in it.drills} for it in (once, in_turn)
    ]
    assert told[0] == told[1]
    assert [day.date for day in once.plan.days] == [day.date for day in in_turn.plan.days]


def test_a_second_change_goes_on_from_the_first(lib: Library) -> None:
    """What the first one took off stays off, what it put on is still there, at its rung and with its days counted."""
    first = change(lib, 3, off=("wrist_back_stretch",), on=(OPEN_BOOK,))
    one = amended(lib, first)
    two = amended(lib, first, change(lib, 9, doses={"median_slider": SetDose(sets=1, reps=5)}))
    assert [drill.id for drill in two.drills] == [drill.id for drill in one.drills]
    assert two.calendar.start == visit(lib).start + timedelta(days=9)
    assert two.calendar.gone == 2
    book = next(drill for drill in two.drills if drill.id == "open_book")
    had = [day for day in days_of(one.plan.days, "open_book") if day < "2026-05-13"]
    assert [str(day) for day in book.history] == had
    assert (len(had), book.had) == (4, 1), "one of its four days so far lies in the week that began on 11 May"
    assert set(days_of(one.plan.days, "open_book")) - set(had) <= set(days_of(two.plan.days, "open_book"))


def test_a_drill_taken_off_may_come_back(lib: Library) -> None:
    off = change(lib, 3, off=("wrist_back_stretch",))
    back = Pick("wrist_back_stretch", None, "it did help", Source("slip"))
    assert "wrist_back_stretch" in {drill.id for drill in amended(lib, off, change(lib, 7, on=(back,))).drills}


@pytest.mark.parametrize(
    ("second", "words"),
    [
        ({"day": 2, "off": ("median_slider",)}, "2026-05-06 lies before the last change"),
        ({"day": 7, "off": ("wrist_back_stretch",)}, "'wrist_back_stretch' is not on the sheet"),
        ({"day": 7, "on": (OPEN_BOOK,)}, "'open_book' is on the sheet already"),
    ],
)
def test_a_second_change_is_held_to_what_the_first_left(lib: Library, second: dict[str, object], words: str) -> None:
    day = second.pop("day")
    assert isinstance(day, int)
    with pytest.raises(InputFault, match=words):
        amended(lib, change(lib, 3, off=("wrist_back_stretch",), on=(OPEN_BOOK,)), change(lib, day, **second))


def test_a_change_may_hold_from_the_day_after_the_visit_and_two_from_the_same_day(lib: Library) -> None:
    """The visit's own day is the leaf's; from the next one on the latest word holds."""
    off = change(lib, 1, off=("wrist_back_stretch",))
    assert "wrist_back_stretch" not in {drill.id for drill in amended(lib, off).drills}
    twice = amended(lib, off, change(lib, 1, on=(OPEN_BOOK,)))
    assert "open_book" in {drill.id for drill in twice.drills}
    last = visit(lib).days - 1
    assert len(amended(lib, change(lib, last, on=(OPEN_BOOK,))).plan.days) == 1
    for day in (0, last + 1):
        with pytest.raises(InputFault, match="is not within the sheet"):
            amended(lib, change(lib, day, on=(OPEN_BOOK,)))
