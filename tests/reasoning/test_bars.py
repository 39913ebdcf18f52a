"""What must not be done: flags, cautions, irritable nerves, tender tissue, kit; and what a pick may pass."""

from __future__ import annotations

import pytest

from homecare.core.drill import Drill
from homecare.core.nerve_bed import TENSION, worst_load
from homecare.core.problems import InputFault
from homecare.core.sheet import Clinic, Sheet
from homecare.library.load import Library
from homecare.workflow.assembling import build_sheet
from tests.helpers import visit_of

ALL_KIT = "kit: [ball, roller, strap, band, stick, dumbbell, towel]\n"
HAMSTRINGS = "{tissue: hamstrings, side: left, found: tight}"
SCIATIC = "{symptom: tingling, zones: [posterior_thigh, calf], side: left, irritability: %s}"


def sheet_of(lib: Library, findings: str, more: str = "") -> Sheet:
    """The sheet of a short visit."""
    return build_sheet(visit_of(lib, findings, more), lib, Clinic(), None)


def drills_of(lib: Library, sheet: Sheet) -> list[Drill]:
    """The library's records of the drills on a sheet."""
    return [lib.drills[one.id] for one in sheet.drills]


def test_blood_thinners_take_all_firm_pressure_off(lib: Library) -> None:
    with_caution = sheet_of(lib, HAMSTRINGS, ALL_KIT + "cautions: [anticoagulant]\n")
    assert not any("deep_pressure" in drill.traits for drill in drills_of(lib, with_caution))
    barred = {line.id for line in with_caution.left_out if line.rule == "caution"}
    assert barred
    assert all("deep_pressure" in lib.drills[one].traits for one in barred)


def test_an_irritable_sciatic_nerve_bars_every_pose_that_pulls_on_it(lib: Library) -> None:
    for grade in ("moderate", "high"):
        sheet = sheet_of(lib, f"{HAMSTRINGS}\n{SCIATIC % grade}", ALL_KIT)
        for drill in drills_of(lib, sheet):
            assert max(worst_load(drill, nerve, lib.atlas) for nerve in ("sciatic", "tibial")) < TENSION
        assert any(line.rule == "irritable" for line in sheet.left_out)


def test_a_calm_hamstring_may_be_stretched_straight(lib: Library) -> None:
    sheet = sheet_of(lib, HAMSTRINGS, ALL_KIT)
    assert not any(line.rule == "irritable" for line in sheet.left_out)


@pytest.mark.parametrize("tissue", ["achilles_tendon", "common_extensor_tendon"])
def test_a_tender_tendon_gets_neither_pressure_nor_stretch(tissue: str, lib: Library) -> None:
    findings = f"{{tissue: {tissue}, side: left, found: tender}}\n{{tissue: calf, side: left, found: tight}}"
    sheet = sheet_of(lib, findings, ALL_KIT)
    for drill in drills_of(lib, sheet):
        assert not (drill.kind in ("release", "stretch") and tissue in drill.tissues)


def test_tender_muscle_gets_a_gentle_touch(lib: Library) -> None:
    sheet = sheet_of(lib, "{tissue: soleus, side: left, found: tender}", ALL_KIT)
    releases = [drill for drill in drills_of(lib, sheet) if drill.kind == "release"]
    assert releases
    assert all(drill.reach == "gentle" for drill in releases)


def test_no_drill_asks_for_kit_that_is_not_there(lib: Library) -> None:
    sheet = sheet_of(
        lib, "{tissue: calf, found: tight}\n{tissue: hip, found: stiff}\n{tissue: gluteus_medius, found: weak}"
    )
    assert sheet.drills
    assert not any(drill.kit for drill in drills_of(lib, sheet))


@pytest.mark.parametrize("flag", ["saddle_numbness", "bladder_or_bowel", "chest_pain", "worst_headache"])
def test_a_flag_that_is_now_leaves_no_plan(flag: str, lib: Library) -> None:
    sheet = sheet_of(lib, HAMSTRINGS, f"screen: {{flags: [{flag}]}}\n")
    assert sheet.refer is not None
    assert sheet.refer.urgency == "now"
    assert (sheet.drills, sheet.days) == ((), ())


def test_calf_swelling_stops_calf_work_and_all_rolling(lib: Library) -> None:
    findings = "{tissue: calf, side: left, found: tight}\n{tissue: upper_trapezius, side: left, found: tight}"
    sheet = sheet_of(lib, findings, ALL_KIT + "screen: {flags: [calf_swelling]}\n")
    assert sheet.refer is not None
    assert sheet.refer.urgency == "soon"
    assert not any(drill.kind == "release" or drill.region in ("leg", "foot") for drill in drills_of(lib, sheet))


def test_a_saddle_symptom_is_a_flag_by_itself(lib: Library) -> None:
    sheet = sheet_of(lib, "{symptom: numbness, zones: [saddle]}", "screen: clear\n")
    assert sheet.refer is not None
    assert sheet.refer.urgency == "now"


@pytest.mark.parametrize("zones", ["digit_5", "sole"])
def test_both_hands_or_both_feet_are_a_flag_by_themselves(zones: str, lib: Library) -> None:
    both = f"{{symptom: numbness, zones: [{zones}], side: both}}"
    parts = f"{{symptom: numbness, zones: [{zones}], side: left}}\n{{symptom: tingling, zones: [{zones}], side: right}}"
    for findings in (both, parts):
        assert sheet_of(lib, findings).refer is not None
    assert sheet_of(lib, f"{{symptom: numbness, zones: [{zones}], side: left}}").refer is None


def test_suspected_clot_as_a_caution_raises_its_flag(lib: Library) -> None:
    assert sheet_of(lib, HAMSTRINGS, "cautions: [dvt_suspected]\n").refer is not None


def test_to_continue_with_a_reason_restores_and_keeps_it_on_record(lib: Library) -> None:
    screen = 'screen: {flags: [night_pain], decision: continue, because: "seen by the doctor on Monday"}\n'
    sheet = sheet_of(lib, HAMSTRINGS, screen)
    assert sheet.refer is None
    assert sheet.drills
    assert sheet.screen == {"flags": ["night_pain"], "decision": "continue", "because": "seen by the doctor on Monday"}


def test_a_pick_passes_a_caution_with_a_reason_only(lib: Library) -> None:
    caution = "cautions: [anticoagulant]\n"
    with pytest.raises(InputFault) as caught:
        sheet_of(lib, HAMSTRINGS, ALL_KIT + caution + "pick: [hamstring_roller]\n")
    assert caught.value.problems[0].source.line == 7
    pick = 'pick: [{drill: hamstring_roller, because: "a soft roller, agreed with her doctor"}]\n'
    sheet = sheet_of(lib, HAMSTRINGS, ALL_KIT + caution + pick)
    (picked,) = [drill for drill in sheet.drills if drill.id == "hamstring_roller"]
    assert any("agreed with her doctor" in words for words in picked.because)


def test_a_pick_never_passes_a_flag(lib: Library) -> None:
    more = ALL_KIT + "screen: {flags: [calf_swelling]}\n" + 'pick: [{drill: calf_roller, because: "he asked"}]\n'
    sheet = sheet_of(lib, "{tissue: calf, side: left, found: tight}", more)
    assert "calf_roller" not in {drill.id for drill in sheet.drills}
    assert ("calf_roller", "flag") in {(line.id, line.rule) for line in sheet.left_out}


def test_a_group_is_its_members_for_safety(lib: Library) -> None:
    """A tender member of the hamstrings bars a full stretch of the group."""
    sheet = sheet_of(lib, f"{HAMSTRINGS}\n{{tissue: semitendinosus, side: left, found: tender}}", ALL_KIT)
    for drill in drills_of(lib, sheet):
        if drill.kind in ("release", "stretch") and "semitendinosus" in lib.atlas.members(drill.tissues):
            assert drill.reach == "gentle"


def test_under_16_no_heavy_load(lib: Library) -> None:
    sheet = sheet_of(
        lib, "{tissue: gastrocnemius, found: weak}\n{tissue: quadriceps, found: weak}", ALL_KIT + "age: 14\n"
    )
    assert sheet.drills
    assert not any("high_load" in drill.traits for drill in drills_of(lib, sheet))
