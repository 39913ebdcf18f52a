"""From a visit file to the four files: the contract of plan.json, the same bytes twice, all files or none."""

from __future__ import annotations

import hashlib
import json
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest

from homecare import workflow
from homecare.cli.main import main
from homecare.core.problems import InputFault

DATA = Path(__file__).parents[1] / "data"
VISIT = DATA / "canoeist.yaml"

TOP = """format athlete prepared_by start review_by language clinic defaults screen library words planner candidates
drills left_out unserved days check_in markers stop_if refer""".split()
DRILL = """id side kind tissues priority because ladder start_rung climb_days wanted_per_week least_per_week gap_days
gap_exempt heavy_lengthening carried days_planned days_wanted link text halved worse_in_row nerve_load rungs""".split()
KEYS = {
    "candidates": "nerve site side score because against not_tested covered_by".split(),
    "drills": DRILL,
    "left_out": "id side because rule".split(),
    "unserved": "wish because".split(),
    "days": "date training budget_s planned_s items notes".split(),
    "markers": "test side before after last says".split(),
}
ITEM = "drill side rung sets reps hold_s times parts seconds".split()
NOTE = "drill side rule because".split()
RUNG = "sets reps hold_s tempo_s rest_s setup_s times seconds".split()


@pytest.fixture(scope="module")
def files() -> workflow.SheetFiles:
    """The canoeist's sheet."""
    return workflow.make_sheet(VISIT)


@pytest.fixture(scope="module")
def plan(files: workflow.SheetFiles) -> dict[str, Any]:
    """Its plan.json."""
    found: dict[str, Any] = json.loads(files.plan)
    return found


def test_plan_json_has_every_key_of_the_contract(plan: dict[str, Any]) -> None:
    assert set(TOP) <= set(plan)
    assert plan["format"] == 1
    for key, names in KEYS.items():
        assert plan[key]
        for record in plan[key]:
            assert set(names) <= set(record)
    items = [item for day in plan["days"] for item in day["items"]]
    notes = [note for day in plan["days"] for note in day["notes"]]
    rungs = [rung for drill in plan["drills"] for rung in drill["rungs"]]
    for records, names in ((items, ITEM), (notes, NOTE), (rungs, RUNG)):
        assert records
        assert all(set(names) <= set(record) for record in records)
    assert {"for", "ease_off"} <= set(plan["words"])
    assert {"few", "max_drills", "transition_s", "cover_bar", "proven"} <= set(plan["planner"])


def test_every_drill_day_is_planned_or_has_one_note(plan: dict[str, Any]) -> None:
    ids = {drill["id"] for drill in plan["drills"]}
    for day in plan["days"]:
        planned = [item["drill"] for item in day["items"]]
        noted = [note["drill"] for note in day["notes"]]
        assert sorted(planned + noted) == sorted(ids)


def test_days_and_sums_hold(plan: dict[str, Any]) -> None:
    start = date.fromisoformat(plan["start"])
    assert [day["date"] for day in plan["days"]] == [str(start + timedelta(days=number)) for number in range(21)]
    by_id = {drill["id"]: drill for drill in plan["drills"]}
    for day in plan["days"]:
        times = sum(item["times"] for item in day["items"])
        seconds = sum(item["seconds"] for item in day["items"])
        assert day["planned_s"] == seconds + 15 * max(0, times - 1) <= day["budget_s"]
        for item in day["items"]:
            assert item["seconds"] == by_id[item["drill"]]["rungs"][item["rung"]]["seconds"]
            assert len(item["parts"]) == item["times"]
    assert all(not day["items"] for day in plan["days"] if date.fromisoformat(day["date"]).weekday() == 6)


def test_a_site_and_its_cover(plan: dict[str, Any]) -> None:
    (elbow,) = [one for one in plan["candidates"] if one["site"] == "cubital_tunnel"]
    ids = {drill["id"] for drill in plan["drills"]}
    assert elbow["side"] == "left"
    assert elbow["covered_by"]
    assert all(one in ids or one.startswith("habit:") for one in elbow["covered_by"])
    assert plan["words"]["ease_off"]


def test_the_same_bytes_twice(files: workflow.SheetFiles) -> None:
    again = workflow.make_sheet(VISIT)
    assert again.by_name() == files.by_name()


def test_no_path_and_no_clock_in_the_plan(files: workflow.SheetFiles, tmp_path: Path) -> None:
    elsewhere = tmp_path / "other name.yaml"
    elsewhere.write_bytes(VISIT.read_bytes())
    assert workflow.make_sheet(elsewhere).plan == files.plan
    assert str(DATA).encode() not in files.plan


def test_the_command_writes_four_files(tmp_path: Path) -> None:
    assert main(["sheet", str(VISIT), "--out", str(tmp_path / "out")]) == 0
    assert sorted(path.name for path in (tmp_path / "out").iterdir()) == [
        "note.txt",
        "phone.html",
        "plan.json",
        "sheet.pdf",
    ]


def test_a_faulty_visit_writes_nothing_and_keeps_what_was_there(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "out"
    assert main(["sheet", str(DATA / "faulty.yaml"), "--out", str(out)]) == 1
    assert not out.exists()
    told = capsys.readouterr()
    assert told.out == ""
    assert len(told.err.splitlines()) >= 19
    assert all(line.startswith(str(DATA / "faulty.yaml:")) for line in told.err.splitlines())


def follow_up(folder: Path, plan_file: Path, answers: str) -> Path:
    """The canoeist's next visit, three weeks on."""
    text = VISIT.read_text().replace("2026-08-03", "2026-08-24").replace("event: 2026-08-22\n", "")
    path = folder / "next.yaml"
    path.write_text(text + f"last: {{plan: {plan_file.name}, {answers}}}\n")
    return path


def test_the_next_visit_moves_each_dose_with_a_reason(
    files: workflow.SheetFiles, plan: dict[str, Any], tmp_path: Path
) -> None:
    before = tmp_path / "plan.json"
    before.write_bytes(files.plan)
    boxes = {
        drill["id"]: sum(item["times"] for day in plan["days"] for item in day["items"] if item["drill"] == drill["id"])
        for drill in plan["drills"]
    }
    done = ", ".join(f"{key}: {count}" for key, count in boxes.items())
    worse = plan["drills"][0]["id"]
    responses = ", ".join(f"{key}: {'worse' if key == worse else 'settled'}" for key in boxes)
    after = json.loads(
        workflow.make_sheet(follow_up(tmp_path, before, f"done: {{{done}}}, response: {{{responses}}}")).plan
    )
    changes = {line["drill"]: line for line in after["check_in"]}
    assert set(changes) == set(boxes)
    assert changes[worse]["change"] == "down"
    assert {"up"} <= {line["change"] for key, line in changes.items() if key != worse} <= {"up", "hold", "off"}
    assert all(line["because"] for line in changes.values())
    carried = {drill["id"]: drill for drill in after["drills"]}
    assert carried[worse]["carried"]
    assert carried[worse]["halved"]
    assert carried[worse]["worse_in_row"] == 1
    assert after["markers"][0]["last"] == 4
    assert after["last"] == {"plan": hashlib.sha256(files.plan).hexdigest()}
    assert str(before.name) not in json.dumps(after)


@pytest.mark.parametrize(
    ("content", "words"), [(b"{}", "not a plan"), (b"\x00\x01", "zero bytes"), (b"[1", "not JSON")]
)
def test_a_last_plan_that_is_none(content: bytes, words: str, tmp_path: Path) -> None:
    path = tmp_path / "plan.json"
    path.write_bytes(content)
    with pytest.raises(InputFault, match=words):
        workflow.make_sheet(follow_up(tmp_path, path, "done: {}"))


def test_a_flag_that_is_now_leaves_a_letter(tmp_path: Path) -> None:
    path = tmp_path / "visit.yaml"
    path.write_text(VISIT.read_text().replace("screen: clear", "screen: {flags: [chest_pain]}"))
    files = workflow.make_sheet(path)
    plan = json.loads(files.plan)
    assert (plan["days"], plan["drills"], plan["refer"]["urgency"]) == ([], [], "now")
    assert files.pdf.startswith(b"%PDF")
    assert plan["screen"] == {"flags": ["chest_pain"], "decision": None, "because": ""}


def test_the_phone_file_of_the_longest_sheet_stays_small(tmp_path: Path) -> None:
    """Fourteen drills over 84 days: at most 250 kB, each drill with its figure, however long its day list."""
    found = "".join(
        f"  - {{tissue: {tissue}, side: {side}, found: {what}}}\n"
        for tissue, side, what in (
            ("calf", "both", "tight"),
            ("hamstrings", "left", "tight"),
            ("quadriceps", "left", "tight"),
            ("hip_flexors", "right", "tight"),
            ("gluteus_medius", "right", "weak"),
            ("gluteus_maximus", "right", "late"),
            ("thoracic_spine", "none", "stiff"),
            ("upper_trapezius", "left", "tight"),
            ("pectoralis_minor", "left", "tight"),
        )
    )
    visit, clinic = tmp_path / "visit.yaml", tmp_path / "clinic.yaml"
    visit.write_text(
        "athlete: Long L.\nstart: 2026-05-04\ndays: 84\nminutes: 90\nscreen: clear\n"
        "kit: [ball, roller, strap, band, stick, dumbbell, towel, cushion]\nfindings:\n"
        f"{found}  - {{symptom: tingling, zones: [digit_1, digit_2, digit_3], side: right, irritability: low}}\n"
    )
    clinic.write_text("few: 8\nmax_drills: 14\n")
    files = workflow.make_sheet(visit, clinic=clinic)
    assert len(files.sheet.drills) == 14
    assert len(files.phone) <= 250_000
    assert files.phone.count(b'<svg viewBox="0 0') >= 14
