"""The exit statuses and what stands on the screen: 0 done, 1 the input, 2 the usage, 3 our own fault."""

from __future__ import annotations

import json
import stat
import subprocess
import sys
from pathlib import Path

import pytest

from homecare import workflow
from homecare.cli.main import main

VISIT = Path(__file__).resolve().parents[1] / "data/rower.yaml"
FILES = {"sheet.pdf", "plan.json", "phone.html", "note.txt"}


@pytest.mark.parametrize(
    "argv",
    [
        [],
        ["draw", "x"],
        ["sheet"],
        ["sheet", str(VISIT)],
        ["sheet", str(VISIT), "--out", "x", "--paper", "a3"],
        ["publish"],
        ["publish", "x", "y"],
        ["serve", "--port", "65536"],
        ["serve", "--port", "-1"],
        ["library"],
        ["library", "list", "--js"],
    ],
)
def test_wrong_usage_is_two(argv: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as stopped:
        main(argv)
    assert stopped.value.code == 2
    assert "Traceback" not in capsys.readouterr().err


def test_without_a_command_all_of_them_are_listed(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit):
        main([])
    assert "make a sheet from a visit file" in capsys.readouterr().err


def test_a_reader_that_goes_away_is_told_nothing() -> None:
    command = [sys.executable, "-m", "homecare", "library", "list"]
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE) as running:
        assert running.stdout is not None
        running.stdout.close()
        _, said = running.communicate()
    assert (running.returncode, said) == (1, b"")


def test_sheet_writes_four_files_and_explains(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["sheet", str(VISIT), "--out", str(tmp_path / "a/b"), "--explain"]) == 0
    assert {path.name for path in (tmp_path / "a/b").iterdir()} == FILES
    drills = json.loads((tmp_path / "a/b/plan.json").read_text())["drills"]
    said = " ".join(capsys.readouterr().out.split())
    assert drills
    assert all(drill["because"][0] in said and f"({drill['id']})" in said for drill in drills)
    assert "Found: right finger-bending muscle of the forearm found tight asks to release" in said
    assert "not chosen, " in said


def test_every_fault_is_told_and_nothing_written(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    visit = tmp_path / "visit.yaml"
    visit.write_text("athlete: A\nstart: 2026-02-30\ndays: 400\nfindings: [{tissue: soleuss, found: tight}]\n")
    assert main(["sheet", str(visit), "--out", str(tmp_path / "out")]) == 1
    said = capsys.readouterr()
    assert [line.split(": ")[0] for line in said.err.splitlines()] == [f"{visit}:{line}" for line in (2, 3, 4)]
    assert "soleus" in said.err.splitlines()[2].split("(")[1]
    assert said.out == ""
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize("name", ["absent.yaml", "."])
def test_a_missing_visit_is_one(tmp_path: Path, name: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["sheet", str(tmp_path / name), "--out", str(tmp_path / "out")]) == 1
    assert len(capsys.readouterr().err.splitlines()) == 1


def test_an_output_that_cannot_be_written_is_one(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "file").write_text("in the way")
    assert main(["sheet", str(VISIT), "--out", str(tmp_path / "file")]) == 1
    assert "cannot be written" in capsys.readouterr().err
    assert (tmp_path / "file").read_text() == "in the way"


def test_our_own_fault_is_three_and_names_a_log(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*_: object, **__: object) -> None:
        raise ZeroDivisionError("a secret of the visit")

    monkeypatch.setattr(workflow, "make_sheet", broken)
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))
    assert main(["sheet", str(VISIT), "--out", str(tmp_path / "out")]) == 3
    said = capsys.readouterr()
    log = Path(said.err.strip().rsplit(" ", 1)[1])
    assert said.out == ""
    assert said.err.count("\n") == 1
    assert "secret" not in said.err
    assert log.parent == tmp_path / "state/homecare"
    assert "ZeroDivisionError: a secret of the visit" in log.read_text()
    assert stat.S_IMODE(log.stat().st_mode) == 0o600


def test_library_check_of_the_shipped_one(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["library", "check"]) == 0
    assert capsys.readouterr().err == ""


def test_library_check_tells_file_and_line(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "own.yaml").write_text("drills:\n  mine:\n    kind: strech\n")
    assert main(["library", "check", str(tmp_path)]) == 1
    assert "own.yaml:3: " in capsys.readouterr().err


def test_library_list(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["library", "list", "--json"]) == 0
    everything = json.loads(capsys.readouterr().out)
    assert main(["library", "list", "--tissue", "Soleus", "--json"]) == 0
    some = json.loads(capsys.readouterr().out)
    ids = {drill["id"] for drill in some["drills"]}
    assert ids == {one["id"] for one in everything["drills"] if {"soleus", "calf"} & set(one["tissues"])} != set()
    assert {"id", "kind", "tissues", "kit", "ladder", "revision"} <= some["drills"][0].keys()
    assert main(["library", "list", "--ladder", "static_stretch"]) == 0
    said = capsys.readouterr().out
    told, _, table = said.partition("\nid ")
    assert len(table.splitlines()) == 1 + sum(one["ladder"] == "static_stretch" for one in everything["drills"])
    assert "2 × 30 seconds" in told
    assert "Garber CE et al. 2011" in told
    assert main(["library", "list", "--tissue", "soleuss"]) == 1
    assert "soleus" in capsys.readouterr().err


def test_library_list_tells_all_that_is_known_of_a_tissue(capsys: pytest.CaptureFixture[str]) -> None:
    """Its links, sites and drills, as text and as JSON."""
    assert main(["library", "list", "--tissue", "ulnar"]) == 0
    said = capsys.readouterr().out
    for words in ("Ulnar nerve (ulnar), nerve", "Roots: c8, t1", "crosses flexor carpi ulnaris", "(cubital_tunnel)"):
        assert words in said, words
    assert "\nulnar_slider " in said
    assert main(["library", "list", "--tissue", "ulnar", "--json"]) == 0
    (ulnar,) = [one for one in json.loads(capsys.readouterr().out)["tissues"] if one["id"] == "ulnar"]
    assert [site["id"] for site in ulnar["sites"]][-1] == "ulnar_wrist_tunnel"
    assert {"kind", "other", "says", "strength", "evidence"} <= ulnar["links"][0].keys()
    assert "ulnar_slider" in ulnar["drills"]


@pytest.mark.parametrize("suffix", [".svg", ".pdf", ".png"])
def test_draw_writes_a_figure_in_the_format_of_its_ending(suffix: str, tmp_path: Path) -> None:
    out = tmp_path / f"figure{suffix}"
    assert main(["draw", "chair_squat", "--out", str(out), "--side", "left"]) == 0
    head = {".svg": b"<svg", ".pdf": b"%PDF", ".png": b"\x89PNG"}[suffix]
    assert out.read_bytes().startswith(head)


def test_draw_shows_a_figure_from_all_round(tmp_path: Path) -> None:
    assert main(["draw", "chair_squat", "--views", "--out", str(tmp_path / "views.png")]) == 0
    assert {path.name for path in tmp_path.iterdir()} == {"views-1.png", "views-2.png"}


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["chair_squatt", "--out", "a.svg"], "did you mean chair_squat"),
        (["--out", "a.svg"], "which drill?"),
        (["chair_squat", "--out", "a.gif"], "is no SVG, PDF or PNG file"),
        (["chair_squat", "--views", "--out", "a.svg"], "is no PDF or PNG file"),
        (["--sheet", "--out", "a.svg"], "is no PDF or PNG file"),
    ],
)
def test_draw_says_what_it_cannot_do(
    arguments: list[str], words: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    arguments[-1] = str(tmp_path / arguments[-1])
    assert main(["draw", *arguments]) == 1
    assert words in capsys.readouterr().err
    assert not list(tmp_path.iterdir())


def test_a_figure_with_a_fault_is_drawn_and_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The picture shows what is wrong; the line names the drill, the joint and the degrees."""
    own = tmp_path / "own"
    own.mkdir()
    (own / "own.yaml").write_text(
        "drills:\n  own_drill: {code: OWN, name: Own, clinical: Own, address: own, kind: mobilise, tissues: [knee],"
        " part: knee, region: leg, ladder: mobilise, steps: [Stand.], feel: A pull., not_feel: Pain.,"
        " stop_if: It hurts., source: common practice,"
        " figure: {from: standing, end: {right: {elbow: flex 170}}}}\n"
    )
    out = tmp_path / "own.svg"
    assert main(["draw", "own_drill", "--library", str(own), "--out", str(out)]) == 1
    assert out.exists()
    told = capsys.readouterr().err
    assert "own.yaml:2: own_drill: at the end the right elbow is at flex 170, beyond its range of flex 150" in told
