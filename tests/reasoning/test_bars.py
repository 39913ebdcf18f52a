"""What must not be done: flags, cautions, irritable nerves, tender tissue, kit; and what a pick may pass."""

from __future__ import annotations

from dataclasses import replace

import pytest

from homecare.core.atlas import OneSide
from homecare.core.barring import PASSED_BY_PICK, Bar, Bars, stopped_by
from homecare.core.drill import Drill, Irritability, Stops
from homecare.core.nerve_bed import TENSION, worst_load
from homecare.core.problems import InputFault
from homecare.core.sheet import Clinic, Sheet
from homecare.library.load import Library
from homecare.workflow.assembling import build_sheet
from homecare.workflow.judging import judge
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


def bars_of(lib: Library, findings: str, more: str = ALL_KIT) -> Bars:
    """What bars at a short visit, to be asked drill by drill."""
    return judge(visit_of(lib, findings, more), lib, Clinic(), None).bars


def barred(lib: Library, bars: Bars, side: OneSide = "left") -> dict[str, Bar]:
    """Every drill of the library that is barred on a side, with the bar."""
    return {drill.id: bar for drill in lib.drills.values() if (bar := bars.of(drill, side))}


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


@pytest.mark.parametrize(
    ("grade", "pulls", "presses"), [("low", False, False), ("moderate", True, False), ("high", True, True)]
)
def test_every_pull_on_a_nerve_waits_while_it_is_irritable_and_every_press_while_highly(
    grade: str, pulls: bool, presses: bool, lib: Library
) -> None:
    """Asked of the whole library; on the side in question alone (common practice)."""
    bars = bars_of(lib, SCIATIC % grade)
    nerves = {nerve for nerve, _ in bars.irritable.irritable}
    forming = {
        one for nerve in nerves for site in lib.atlas.sites_of(nerve) for one in lib.atlas.members(site.formed_by)
    }
    pull = {
        drill.id
        for drill in lib.drills.values()
        if max(worst_load(drill, nerve, lib.atlas) for nerve in nerves) >= TENSION
    }
    press = {
        drill.id
        for drill in lib.drills.values()
        if drill.kind == "release"
        and "deep_pressure" in drill.traits
        and forming & set(lib.atlas.members(drill.tissues))
    }
    tensioners = {drill.id for drill in lib.drills.values() if drill.claims == "tensioner"}
    assert pull - tensioners
    assert press
    here = {key for key, bar in barred(lib, bars).items() if bar.rule == "irritable"}
    assert here == tensioners | (pull if pulls else set()) | (press if presses else set())
    assert {key for key, bar in barred(lib, bars, "right").items() if bar.rule == "irritable"} == tensioners


def test_a_drill_of_both_halves_at_once_pulls_on_either_side(lib: Library) -> None:
    bars = bars_of(lib, SCIATIC % "moderate")
    assert bars.of(replace(lib.drills["sciatic_tensioner"], claims=None), "none") is not None


def test_half_of_a_nerve_s_full_test_is_a_pull_already(lib: Library) -> None:
    """The hip bent by 0.5 / 0.58 of its 80 degrees, the knee straight (the share from which it counts: common
    practice)."""
    hip = (lib.atlas.tissues["sciatic"].bed or {})["hip_flexion"]
    still = replace(lib.drills["sciatic_tensioner"], claims=None, start=None)
    bars = bars_of(lib, SCIATIC % "moderate")
    half = replace(still, end={"hip_flexion": hip.full * TENSION / hip.share})
    assert worst_load(half, "sciatic", lib.atlas) == TENSION
    assert bars.of(half, "left") is not None
    assert bars.of(replace(still, end={"hip_flexion": 0.99 * hip.full * TENSION / hip.share}), "left") is None


def test_a_calm_hamstring_may_be_stretched_straight(lib: Library) -> None:
    assert bars_of(lib, HAMSTRINGS).of(lib.drills["hamstring_stretch_straight_knee"], "left") is None
    stirred = bars_of(lib, f"{HAMSTRINGS}\n{SCIATIC % 'moderate'}")
    assert stirred.of(lib.drills["hamstring_stretch_straight_knee"], "left") is not None


@pytest.mark.parametrize("found", ["tender", "painful", "strained"])
@pytest.mark.parametrize("tissue", ["achilles_tendon", "hamstring_origin"])
def test_a_tender_tendon_gets_neither_pressure_nor_stretch(tissue: str, found: str, lib: Library) -> None:
    """However gentle (Cook and Purdam 2012, from memory); its other side, and a tight one, go on."""
    naming = [one for one in lib.drills.values() if one.kind == "stretch" and tissue in lib.atlas.members(one.tissues)]
    gentle = [replace(one, reach="gentle", kind=kind) for one in naming for kind in ("stretch", "release")]
    bars = bars_of(lib, f"{{tissue: {tissue}, side: left, found: {found}}}")
    assert naming
    for drill in (*naming, *gentle):
        assert bars.of(drill, "left") == Bar("reach", f"a {found} tendon or bone gets neither pressure nor stretch")
        assert bars.of(drill, "right") is None
    assert (
        barred(lib, bars_of(lib, f"{{tissue: {tissue}, side: left, found: tight}}")).keys() & {one.id for one in naming}
        == set()
    )


def test_tender_muscle_gets_a_gentle_touch(lib: Library) -> None:
    sheet = sheet_of(lib, "{tissue: soleus, side: left, found: tender}", ALL_KIT)
    releases = [drill for drill in drills_of(lib, sheet) if drill.kind == "release"]
    assert releases
    assert all(drill.reach == "gentle" for drill in releases)


@pytest.mark.parametrize(
    ("found", "stops"), [("tender", True), ("painful", True), ("strained", True), ("tight", False), ("weak", False)]
)
def test_tender_tissue_bars_every_full_release_and_stretch_of_it(found: str, stops: bool, lib: Library) -> None:
    """Asked of the whole library; other kinds, gentle ones and the other side go on (common practice)."""
    bars = bars_of(lib, f"{{tissue: soleus, side: left, found: {found}}}")
    full = {
        drill.id
        for drill in lib.drills.values()
        if drill.kind in ("release", "stretch")
        and drill.reach == "full"
        and "soleus" in lib.atlas.members(drill.tissues)
    }
    assert full
    assert {key for key, bar in barred(lib, bars).items() if bar.rule == "reach"} == (full if stops else set())
    assert {bar.rule for bar in barred(lib, bars, "right").values()} == {"irritable"}, "pulls on a nerve, as ever"


def test_kit_at_home_bars_what_needs_more_than_that(lib: Library) -> None:
    bars = bars_of(lib, HAMSTRINGS, "kit: [ball, strap]\n")
    needs = {drill.id for drill in lib.drills.values() if set(drill.kit) - {"ball", "strap"}}
    assert {key for key, bar in barred(lib, bars).items() if bar.rule == "kit"} == needs - {
        drill.id for drill in lib.drills.values() if drill.claims == "tensioner"
    }
    assert bars.of(lib.drills["calf_roller"], "left") == Bar("kit", "needs a foam roller")


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
    assert {drill.kind for drill in drills_of(lib, sheet) if drill.region == "neck"} == {"stretch"}, "the neck goes on"


def test_a_drill_s_own_caution_bars_it(lib: Library) -> None:
    """What the clinic wrote beside a drill holds as what the library says of its traits."""
    bars = bars_of(lib, HAMSTRINGS, ALL_KIT + "cautions: [anticoagulant]\n")
    drill = lib.drills["hamstring_stretch_bent_knee"]
    assert bars.of(drill, "left") is None
    bar = bars.of(replace(drill, not_with=("anticoagulant",)), "left")
    assert bar is not None
    assert bar.rule == "caution"
    assert bars.of(replace(drill, not_with=("osteoporosis",)), "left") is None


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


def test_to_continue_restores_what_was_answered_and_nothing_that_was_found(lib: Library) -> None:
    """A decision about night pain says nothing of a numb saddle (BMJ Best Practice, Cauda equina syndrome)."""
    screen = 'screen: {flags: [night_pain], decision: continue, because: "seen by the doctor on Monday"}\n'
    sheet = sheet_of(lib, f"{HAMSTRINGS}\n{{symptom: numbness, zones: [saddle]}}", screen)
    assert sheet.refer is not None
    assert sheet.refer.urgency == "now"
    assert sheet.refer.because == (lib.flags["saddle_numbness"].because, lib.atlas.tissues["pudendal"].refer)


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


def test_on_the_day_the_neck_was_adjusted_it_is_not_taken_to_its_end(lib: Library) -> None:
    """From the next day on it may be (common practice); the caution bars nothing for longer."""
    findings = "{tissue: levator_scapulae, side: left, found: tight}"

    def days(more: str) -> list[int]:
        sheet = sheet_of(lib, findings, f"pick: [nose_to_armpit_stretch]\n{more}")
        assert "end_range_neck" in lib.drills["nose_to_armpit_stretch"].traits
        on = [any(item.drill == "nose_to_armpit_stretch" for item in day.items) for day in sheet.days]
        return [number for number, stands in enumerate(on) if stands]

    assert days("")[0] == 0
    adjusted = days("cautions: [adjusted_neck]\n")
    assert adjusted
    assert adjusted[0] == 1


@pytest.mark.parametrize("side", ["left", "right", "both"])
def test_a_drill_that_touches_an_irritable_nerve_is_dosed_by_it(side: str, lib: Library) -> None:
    """The calf stretch lengthens the tibial nerve by a quarter of its test: with that nerve highly irritable it starts
    at the lowest step and climbs most slowly, on the other side as for a calm athlete (common practice)."""
    findings = f"{{tissue: gastrocnemius, side: {side}, found: tight}}\n{SCIATIC % 'high'}"
    sheet = sheet_of(lib, findings, ALL_KIT + f"pick: [{{drill: gastrocnemius_wall_stretch, side: {side}}}]\n")
    (drill,) = [one for one in sheet.drills if one.id == "gastrocnemius_wall_stretch"]
    ladder = lib.ladders[drill.ladder]
    grade: Irritability = "low" if side == "right" else "high"
    assert drill.irritability == grade
    assert (drill.start_rung, drill.climb_days) == (ladder.start_rung[grade], ladder.climb_days[grade])


def test_what_was_taken_off_and_what_the_check_in_stopped_stay_off_though_picked(lib: Library) -> None:
    drill = lib.drills["hamstring_hand_release"]
    assert bars_of(lib, HAMSTRINGS).of(drill, "left") is None
    dropped = bars_of(lib, HAMSTRINGS, f"{ALL_KIT}drop: [{drill.id}]\n")
    assert dropped.of(drill, "left") == Bar("drop", "taken off by hand")
    stopped = replace(bars_of(lib, HAMSTRINGS), stopped={drill.id: "worse twice running"})
    assert stopped.of(drill, "left") == Bar("check-in", "worse twice running")
    assert not {"drop", "check-in", "flag"} & PASSED_BY_PICK


@pytest.mark.parametrize(
    ("stops", "stopped"),
    [
        ((Stops(),), True),
        ((), False),
        ((Stops(kinds=("stretch",)), Stops(kinds=("release",))), True),
        ((Stops(traits=("prone",)), Stops(traits=("prone", "deep_pressure"))), True),
        ((Stops(regions=("hand",)), Stops(regions=("hand", "leg"))), True),
        ((Stops(kinds=("release",), regions=("hand",)), Stops(kinds=("stretch",), regions=("leg",))), False),
        ((Stops(kinds=("release",), regions=("leg",), traits=("prone",)),), False),
        ((Stops(regions=("found",)),), True),
        ((Stops(regions=("found", "hand")),), True),
    ],
)
def test_a_stop_matches_in_every_field_that_it_fills_and_one_is_enough(
    stops: tuple[Stops, ...], stopped: bool, lib: Library
) -> None:
    """The roller on the calf: a release of the leg with deep pressure, asked where something of the leg was found."""
    roller = replace(lib.drills["calf_roller"], traits=("deep_pressure",))
    assert (roller.kind, roller.region) == ("release", "leg")
    assert stopped_by(stops, roller, frozenset({"leg"})) is stopped
    assert not stopped_by((Stops(regions=("found",)),), roller, frozenset({"hand"}))
