"""A plan that cannot be good says so, and names the smallest change that would help."""

from __future__ import annotations

import re
from dataclasses import replace

from homecare.core.findings import Visit
from homecare.core.sheet import Clinic
from homecare.library.load import Library
from homecare.workflow.assembling import build_sheet
from tests.helpers import visit_of

TISSUES = ("soleus", "gastrocnemius", "rectus_femoris", "piriformis", "upper_trapezius")
USUAL = Clinic()
FINDINGS = "\n".join(f"{{tissue: {one}, side: left, found: tight}}" for one in TISSUES)


def advice(lib: Library, visit: Visit, clinic: Clinic = USUAL) -> list[str]:
    """What is said of drills that do not get the days they need."""
    return [one for one in build_sheet(visit, lib, clinic, None).advice if one.startswith("With ")]


def with_minutes(lib: Library, minutes: float) -> Visit:
    """The visit with the same minutes on every day."""
    return replace(visit_of(lib, FINDINGS), minutes=(minutes,) * 7)


def test_ample_minutes_say_nothing(lib: Library) -> None:
    assert advice(lib, with_minutes(lib, 30)) == []


def test_few_minutes_say_how_many_more_and_these_are_enough_and_no_fewer(lib: Library) -> None:
    """The number is checked by making the sheet with it, and with one minute less."""
    (said,) = advice(lib, with_minutes(lib, 2))
    found = re.search(r"would need (\d+) more minutes? a day", said)
    assert found, said
    more = int(found[1])
    assert advice(lib, with_minutes(lib, 2 + more)) == []
    assert advice(lib, with_minutes(lib, 2 + more - 1)) != []


def test_where_the_number_of_drills_a_day_binds_one_more_is_named(lib: Library) -> None:
    (said,) = advice(lib, with_minutes(lib, 30), Clinic(few=1))
    assert said.endswith("would need 2 drills a day instead of 1.") or said.endswith("take off what matters least.")
    assert "6 drills get the days they need" in said


def test_the_drills_named_are_those_that_fall_short(lib: Library) -> None:
    sheet = build_sheet(with_minutes(lib, 2), lib, Clinic(), None)
    (said,) = [one for one in sheet.advice if one.startswith("With ")]
    full = build_sheet(with_minutes(lib, 60), lib, Clinic(), None)
    enough = {one.id for one in sheet.drills if one.days_planned >= one.least_per_week * 2}
    for drill in full.drills:
        assert (drill.text.name in said) == (drill.id not in enough), drill.id


def test_what_the_days_themselves_forbid_is_told_apart_from_minutes(lib: Library) -> None:
    """No loading the day before a hard or long day, nor on a long one: this week has none left for it."""
    findings = "{tissue: gluteus_medius, side: left, found: weak}"
    week = "week: {mon: hard, tue: hard, wed: hard, thu: hard, fri: hard, sat: long, sun: long}\nkit: [band]\n"
    sheet = build_sheet(visit_of(lib, findings, f"minutes: 30\n{week}"), lib, USUAL, None)
    (said,) = [one for one in sheet.advice if one.startswith("Training days")]
    assert said.endswith(".")
    assert not [one for one in sheet.advice if one.startswith("With ")]


def test_a_dose_that_is_longer_than_every_day_stands_on_no_sheet(lib: Library) -> None:
    """Though the minutes of a whole week would hold it: half a minute a day, and nothing else that weighs more."""
    visit = replace(visit_of(lib, "{tissue: soleus, side: left, found: tight}"), minutes=(0.5,) * 7)
    sheet = build_sheet(visit, lib, USUAL, None)
    assert sheet.drills == ()
    assert "the minutes do not reach" in sheet.unserved[0].because


def test_a_week_without_a_minute_still_says_what_would_help_and_why_no_day_has_it(lib: Library) -> None:
    sheet = build_sheet(with_minutes(lib, 0), lib, USUAL, None)
    assert sheet.drills
    assert {note.because for day in sheet.days[1:] for note in day.notes} == {"no minutes on this day"}
