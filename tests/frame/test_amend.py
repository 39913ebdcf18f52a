"""`homecare amend`: the files it writes, every fault at once, its exit statuses, what it leaves as issued."""

from __future__ import annotations

import argparse
import hashlib
import json
from pathlib import Path
from typing import Any

import pypdfium2
import pytest

from homecare.cli.amend import add_parser
from homecare.cli.amending import read_options
from homecare.cli.main import main
from homecare.core.findings import SetDose
from tests.render.pages import page_texts

VISIT = Path(__file__).resolve().parents[1] / "data/rower.yaml"
FILES = {"slip.pdf", "amendment.json", "phone_amended.html"}
DOSE = "median_slider=sets=2 reps=8 hold_s=0 times=1 load=a light band"


def amend(out: Path, *options: str, visit: Path = VISIT, day: str = "2026-05-10") -> int:
    """The exit status of a change to the rower's sheet."""
    return main(["amend", str(visit), "--from", day, *options, "--out", str(out)])


def issued(out: Path) -> dict[str, Any]:
    """The rower's sheet as issued into a folder."""
    assert main(["sheet", str(VISIT), "--out", str(out)]) == 0
    plan: dict[str, Any] = json.loads((out / "plan.json").read_text(encoding="utf-8"))
    return plan


def amendment(out: Path) -> dict[str, Any]:
    """What amendment.json says."""
    document: dict[str, Any] = json.loads((out / "amendment.json").read_text(encoding="utf-8"))
    return document


def test_off_and_on_and_another_dose_are_written_and_the_sheet_stays(tmp_path: Path) -> None:
    plan = issued(tmp_path)
    before = {path.name: path.read_bytes() for path in tmp_path.iterdir()}
    options = ("--off", "wrist_back_stretch", "--add", "open_book", "--because", "stiff again", "--dose", DOSE)
    assert amend(tmp_path, *options) == 0
    assert {path.name for path in tmp_path.iterdir()} == set(before) | FILES
    assert {name: (tmp_path / name).read_bytes() for name in before} == before
    told = amendment(tmp_path)
    assert told["amends"] == hashlib.sha256(before["plan.json"]).hexdigest()
    assert (told["start"], told["from"]) == (plan["start"], "2026-05-10")
    assert {(one["change"], one["drill"]) for one in told["changes"]} >= {
        ("off", "wrist_back_stretch"),
        ("dose", "median_slider"),
        ("new", "open_book"),
    }
    assert next(one["because"] for one in told["changes"] if one["drill"] == "open_book") == "stiff again"
    assert [day["date"] for day in told["days"]] == [day["date"] for day in plan["days"]][6:]
    assert {one["id"] for one in told["drills"]} == {one["id"] for one in plan["drills"]} ^ {
        "wrist_back_stretch",
        "open_book",
    }
    doses = {
        (item["sets"], item["reps"], item["times"])
        for day in told["days"]
        for item in day["items"]
        if item["drill"] == "median_slider" and item["rung"] == 0
    }
    assert doses == {(2, 8, 1)}


def test_the_rows_on_the_slip_are_those_of_the_leaf(tmp_path: Path) -> None:
    plan = issued(tmp_path)
    assert amend(tmp_path, "--off", "median_slider") == 0
    row = [one["id"] for one in plan["drills"]].index("median_slider") + 1
    assert f"Crossitoutinrow{row}." in "".join(page_texts((tmp_path / "slip.pdf").read_bytes()))


def test_the_phone_page_shows_the_days_from_then_on(tmp_path: Path) -> None:
    assert amend(tmp_path, "--off", "median_slider", "--add", "open_book", "--because", "stiff") == 0
    page = (tmp_path / "phone_amended.html").read_text(encoding="utf-8")
    assert '2026-05-10"' in page
    assert '2026-05-09"' not in page
    assert "Open book" in page
    assert "Small arm glide" not in page


def test_large_print_and_letter_are_larger_halves(tmp_path: Path) -> None:
    sizes = set()
    for options in ((), ("--large",), ("--paper", "letter"), ("--large", "--paper", "letter")):
        assert amend(tmp_path, "--off", "median_slider", *options) == 0
        sizes.add(pypdfium2.PdfDocument(tmp_path / "slip.pdf")[0].get_size())
    assert len(sizes) == 4


def test_the_same_change_gives_the_same_bytes(tmp_path: Path) -> None:
    for name in "ab":
        assert amend(tmp_path / name, "--off", "median_slider") == 0
    for name in FILES:
        assert (tmp_path / "a" / name).read_bytes() == (tmp_path / "b" / name).read_bytes()


def test_slip_after_slip_each_in_its_folder(tmp_path: Path) -> None:
    """Three in a row: each names those before it, tells where a drill stands by then, and all go with one plan."""
    plan = issued(tmp_path)
    one, two, three = tmp_path, tmp_path / "two", tmp_path / "three"
    assert amend(one, "--off", "wrist_back_stretch", "--add", "open_book", "--because", "stiff", day="2026-05-07") == 0
    after = ["--after", str(one / "amendment.json")]
    assert amend(two, "--dose", "open_book=sets=1 reps=4", *after, day="2026-05-10") == 0
    after += ["--after", str(two / "amendment.json")]
    assert amend(three, "--off", "open_book", *after, day="2026-05-13") == 0
    hashes = [hashlib.sha256((out / "amendment.json").read_bytes()).hexdigest() for out in (one, two)]
    assert [amendment(out)["after"] for out in (one, two, three)] == [[], hashes[:1], hashes]
    assert len({amendment(out)["amends"] for out in (one, two, three)}) == 1
    assert "Crossoutitsolddoseontheslipfrom" in "".join(page_texts((two / "slip.pdf").read_bytes()))
    last = "".join(page_texts((three / "slip.pdf").read_bytes()))
    assert "Crossitoutontheslipfrom" in last
    assert "yoursheetof" in last
    assert "yourslipfrom" in last
    gone = {"wrist_back_stretch"}
    assert {drill["id"] for drill in amendment(three)["drills"]} == {drill["id"] for drill in plan["drills"]} - gone


def test_another_change_in_the_same_folder_is_not_written_over(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert amend(tmp_path, "--off", "median_slider") == 0
    before = (tmp_path / "amendment.json").read_bytes()
    assert amend(tmp_path, "--off", "wrist_back_stretch") == 1
    assert "--after" in capsys.readouterr().err
    assert (tmp_path / "amendment.json").read_bytes() == before


@pytest.mark.parametrize("spoil", ["amends", "after", "asked", "drills"])
def test_a_slip_of_another_sheet_is_refused(spoil: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert amend(tmp_path, "--off", "median_slider", day="2026-05-07") == 0
    document = amendment(tmp_path)
    other = {"amends": "0" * 64, "after": ["0" * 64], "asked": {"off": [], "on": [], "doses": {}}, "drills": []}[spoil]
    (tmp_path / "other.json").write_text(json.dumps({**document, spoil: other}), encoding="utf-8")
    issued(tmp_path / "out")
    options = ("--off", "wrist_back_stretch", "--after", str(tmp_path / "other.json"))
    assert amend(tmp_path / "out", *options) == 1
    assert "would not fit the leaf" in capsys.readouterr().err
    assert not (tmp_path / "out/slip.pdf").exists()


SAID = [
    (("--add", "open_book:lef"), "has no side 'lef'"),
    (("--dose", "median_slider"), "is not a drill and its dose"),
    (("--dose", "median_slider=reps=many"), "reps of 'median_slider' is 'many'"),
    (("--dose", "median_slider=reps=51"), "a whole number from 1 to 50"),
    (("--dose", "median_slider=repss=8"), "did you mean reps"),
    (("--dose", "median_slider=reps=8 reps=9"), "given reps twice"),
    (("--dose", "median_slider=load="), "the load of 'median_slider' is empty"),
    (("--dose", "median_slider=reps=8", "--dose", "median_slider=reps=9"), "given two doses"),
    (("--off", "median_slider", "--because", "x"), "no drill added"),
    ((), "nothing changes"),
]


@pytest.mark.parametrize(("options", "words"), SAID)
def test_an_option_that_cannot_be_read_is_said(options: tuple[str, ...], words: str) -> None:
    parser = argparse.ArgumentParser()
    add_parser(parser.add_subparsers())
    _, problems = read_options(parser.parse_args(["amend", "v.yaml", "--from", "2026-05-10", *options, "--out", "x"]))
    assert len(problems) == 1
    assert words in str(problems[0])


def test_a_dose_is_read_word_by_word() -> None:
    parser = argparse.ArgumentParser()
    add_parser(parser.add_subparsers())
    asked, problems = read_options(
        parser.parse_args(["amend", "v.yaml", "--from", "2026-05-10", "--dose", DOSE, "--out", "x"])
    )
    assert problems == []
    assert asked.doses == {"median_slider": SetDose(sets=2, reps=8, hold_s=0, times=1, load="a light band")}


def test_what_does_not_fit_the_sheet_is_said_and_nothing_written(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    options = ["--off", "median_slidr", "--off", "desk_sit_tall", "--dose", "desk_sit_tall=reps=8"]
    options += ["--add", "open_boook", "--add", "median_slider", "--add", "open_book", "--add", "open_book:none"]
    assert amend(tmp_path / "out", *options) == 1
    said = capsys.readouterr().err
    for words in (
        "did you mean median_slider",
        "taken off and given a dose",
        "did you mean open_book",
        "'median_slider' is on the sheet already",
        "'open_book' is added twice",
    ):
        assert words in said
    assert len(said.splitlines()) == 5
    assert not (tmp_path / "out").exists()


def test_every_fault_comes_at_once(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    options = ("--off", "nothing", "--add", "open_book:lef", "--dose", "median_slider=reps=0")
    assert amend(tmp_path / "out", *options, day="2026-07-01") == 1
    said = capsys.readouterr().err.splitlines()
    assert len(said) == 4
    for words in ("2026-07-01 is not within the sheet", "'nothing' is not on the sheet", "no side 'lef'", "is '0'"):
        assert any(words in line for line in said), words


def test_faults_of_the_visit_come_with_those_of_the_options(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    visit = tmp_path / "visit.yaml"
    visit.write_text("athlete: A\nstart: 2026-05-04\nfindings: [{tissue: soleuss, found: tight}]\n")
    assert amend(tmp_path / "out", "--add", "open_book:lef", visit=visit) == 1
    said = capsys.readouterr().err
    assert f"{visit}:3" in said
    assert "no side 'lef'" in said


@pytest.mark.parametrize(
    "argv", [["--from", "10 May"], ["--fro", "2026-05-10"], ["--from", "2026-05-10", "--paper", "a5"]]
)
def test_wrong_usage_is_two(argv: list[str], tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as stopped:
        main(["amend", str(VISIT), *argv, "--off", "median_slider", "--out", str(tmp_path / "out")])
    assert stopped.value.code == 2
    assert "Traceback" not in capsys.readouterr().err


def test_a_leaf_that_the_visit_no_longer_gives_is_not_amended(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    issued(tmp_path)
    other = tmp_path / "other.yaml"
    other.write_text(VISIT.read_text(encoding="utf-8").replace("weekday: 12", "weekday: 6"), encoding="utf-8")
    assert amend(tmp_path, "--off", "median_slider", visit=other) == 1
    assert "not the plan that the visit gives now" in capsys.readouterr().err
    assert not (tmp_path / "slip.pdf").exists()


def test_a_caution_needs_a_reason(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    visit = tmp_path / "visit.yaml"
    visit.write_text(VISIT.read_text(encoding="utf-8") + "cautions: [anticoagulant]\n", encoding="utf-8")
    add = ("--add", "forearm_flexor_ball_release:right")
    assert amend(tmp_path / "out", *add, visit=visit) == 1
    assert "left out for a caution" in capsys.readouterr().err
    assert amend(tmp_path / "out", *add, "--because", "light pressure agreed with the doctor", visit=visit) == 0


def test_a_sheet_without_drills_has_nothing_to_change(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    visit = tmp_path / "visit.yaml"
    text = VISIT.read_text(encoding="utf-8")
    visit.write_text(text.replace("screen: clear", "screen: {flags: [saddle_numbness], decision: refer}"))
    assert amend(tmp_path / "out", "--off", "median_slider", visit=visit) == 1
    assert "has no drills, so there is nothing to change" in capsys.readouterr().err


def test_an_output_that_cannot_be_written_is_one(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "file").write_text("in the way")
    assert amend(tmp_path / "file", "--off", "median_slider") == 1
    assert "cannot be written" in capsys.readouterr().err
