"""A symptom that has spread or gone numb since the last visit: its nerve's drills are off, and it is referred."""

from __future__ import annotations

from datetime import date

import pytest

from homecare.core.atlas import Side
from homecare.core.last import LastPlan, LastSymptom
from homecare.core.sheet import Clinic, Sheet
from homecare.core.spreading import spread
from homecare.library.load import Library
from homecare.render.plan_json import plan_bytes
from homecare.render.plan_read import read_plan
from homecare.workflow.assembling import build_sheet
from tests.helpers import visit_of

FIRST = "{symptom: tingling, zones: [digit_5], side: left}\n{tissue: soleus, side: right, found: tight}"
LAST = "last: {plan: plan.json, response: {ulnar_slider: settled}, done: {ulnar_slider: 10}}\n"


def second(lib: Library, symptom: str) -> Sheet:
    """The sheet of a second visit a week on, with another symptom."""
    first = build_sheet(visit_of(lib, FIRST), lib, Clinic(), None)
    assert [drill.id for drill in first.drills if drill.kind == "glide"]
    plan = read_plan(plan_bytes(first), "plan.json")
    findings = f"{symptom}\n{{tissue: soleus, side: right, found: tight}}"
    return build_sheet(visit_of(lib, findings, LAST), lib, Clinic(), plan)


@pytest.mark.parametrize(
    ("symptom", "words"),
    [
        ("{symptom: tingling, zones: [digit_5, medial_forearm], side: left}", "has spread to the left little-finger"),
        ("{symptom: numbness, zones: [digit_5], side: left}", "has gone numb"),
    ],
)
def test_spread_or_numb_takes_the_nerves_drills_off_and_refers(lib: Library, symptom: str, words: str) -> None:
    """Nee and Butler 2006, Phys Ther Sport 7:36-49 (from memory)."""
    sheet = second(lib, symptom)
    assert sheet.refer is not None
    assert sheet.refer.urgency == "soon"
    assert words in " ".join(sheet.refer.because)
    assert not [drill.id for drill in sheet.drills if drill.kind == "glide"]
    assert {drill.side for drill in sheet.drills} == {"right"}
    assert ("ulnar_slider", "off") in {(line.drill, line.change) for line in sheet.check_in}


@pytest.mark.parametrize(
    "symptom",
    [
        "{symptom: tingling, zones: [digit_5], side: left}",
        "{symptom: tingling, zones: [lateral_foot], side: right}",
    ],
)
def test_the_same_place_or_a_new_limb_is_no_spreading(lib: Library, symptom: str) -> None:
    sheet = second(lib, symptom)
    assert sheet.refer is None
    assert [drill.id for drill in sheet.drills if drill.kind == "glide"]


@pytest.mark.parametrize(
    ("before", "now", "says"),
    [
        (
            ("tingling", ("digit_5",), "left"),
            "{symptom: tingling, zones: [digit_5, medial_forearm], side: both}",
            "left",
        ),
        (
            ("tingling", ("digit_5",), "both"),
            "{symptom: tingling, zones: [digit_5, medial_forearm], side: right}",
            "right",
        ),
        (("tingling", ("digit_5",), "right"), "{symptom: tingling, zones: [digit_5, medial_forearm], side: left}", ""),
        (("tingling", ("lateral_foot",), "left"), "{symptom: tingling, zones: [digit_5], side: left}", ""),
        (("tingling", ("digit_5", "medial_forearm"), "left"), "{symptom: tingling, zones: [digit_5], side: left}", ""),
        (("numbness", ("digit_5",), "left"), "{symptom: numbness, zones: [digit_5], side: left}", ""),
        (("ache", ("a zone that is no more",), "left"), "{symptom: numbness, zones: [digit_5], side: left}", ""),
    ],
)
def test_spreading_is_told_on_its_side_and_along_its_limb(
    before: tuple[str, tuple[str, ...], Side], now: str, says: str, lib: Library
) -> None:
    """Further along the same limb, or numb where nothing was: Nee and Butler 2006 (from memory)."""
    last = LastPlan(1, date(2026, 9, 1), (), (), (), "hash", (LastSymptom(*before),))
    visit = visit_of(lib, now)
    told = spread(visit, last, lib.atlas)
    place = lib.atlas.zones["medial_forearm"].plain
    words = f"Since the last visit the tingling has spread to the {says} {place}. "
    assert [(side, said.startswith(words)) for (_, side), said in told.items()] == ([(says, True)] if says else [])
    assert spread(visit, None, lib.atlas) == {}
