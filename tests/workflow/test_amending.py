"""Amending an issued sheet: one change from one day on, told on a slip, the rest of the leaf left true."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

import pytest

from homecare.core.findings import Pick, SetDose, Visit
from homecare.core.problems import InputFault, Source
from homecare.core.sheet import Clinic
from homecare.library.load import Library
from homecare.library.visit import parse_visit
from homecare.workflow.amending import Amended, Amendment, amend_sheet
from homecare.workflow.assembling import build_sheet

ROWER = (Path(__file__).resolve().parents[1] / "data/rower.yaml").read_text(encoding="utf-8")


def visit(lib: Library) -> Visit:
    """The rower's visit: from 4 May on."""
    return parse_visit(ROWER, "rower.yaml", lib)


def amended(lib: Library, day: int, **changes: object) -> Amended:
    """The rower's sheet amended `day` days into it."""
    one = visit(lib)
    amendment = Amendment(one.start + timedelta(days=day), **changes)  # type: ignore[arg-type]
    return amend_sheet(one, lib, Clinic(), None, amendment)


def days_of(days: object, drill: str) -> list[str]:
    """The dates of a drill."""
    return [str(day.date) for day in days if any(item.drill == drill for item in day.items)]  # type: ignore[attr-defined]


def test_a_drill_off_leaves_the_others_their_days(lib: Library) -> None:
    sheet = build_sheet(visit(lib), lib, Clinic(), None)
    gone = sheet.drills[-1].id
    result = amended(lib, 6, off=(gone,))
    assert gone not in {drill.id for drill in result.drills}
    assert result.changes[0] == f"From Sunday 10 May: {lib.drills[gone].name} comes off."
    for drill in sheet.drills[:-1]:
        before = [one for one in days_of(sheet.days, drill.id) if one >= "2026-05-10"]
        assert set(before) <= set(days_of(result.plan.days, drill.id))


def test_another_dose_starts_on_that_day_and_is_said(lib: Library) -> None:
    result = amended(lib, 5, doses={"median_slider": SetDose(sets=1, reps=5)})
    (drill,) = [one for one in result.drills if one.id == "median_slider"]
    first = next(item for day in result.plan.days for item in day.items if item.drill == "median_slider")
    assert (first.sets, first.reps) == (1, 5)
    assert drill.rungs[drill.start_rung].reps == 5
    assert any("Small arm glide is 5 slow, 2 a day" in line for line in result.changes)


def test_a_drill_on_gets_its_days_behind_the_others(lib: Library) -> None:
    pick = Pick("open_book", None, "the back is stiff again", Source("slip"))
    result = amended(lib, 4, on=(pick,))
    assert result.drills[-1].id == "open_book"
    assert any(line.startswith("New: Open book, ") for line in result.changes)
    assert days_of(result.plan.days, "open_book") or "no day" in " ".join(result.changes)


def test_every_fault_at_once(lib: Library) -> None:
    with pytest.raises(InputFault) as fault:
        amended(lib, 40, off=("nothing",), on=(Pick("median_slider", None, "x", Source("slip")),))
    words = " ".join(str(problem) for problem in fault.value.problems)
    assert "not within the sheet" in words
    assert "'nothing' is not on the sheet" in words
    assert "'median_slider' is on the sheet already" in words
