"""`homecare sheets`: its words and exit status, and that Ctrl-C leaves whole folders alone and no process behind."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from homecare.cli.main import main

DATA = Path(__file__).resolve().parents[1] / "data"
FILES = {"sheet.pdf", "plan.json", "phone.html", "note.txt"}
SHORT = (
    "athlete: Sela P.\nstart: 2026-03-02\ndays: 3\nminutes: 10\nfindings: [{tissue: calf, side: left, found: tight}]\n"
)


def _visits(folder: Path, count: int) -> Path:
    folder.mkdir()
    for number in range(count):
        (folder / f"visit_{number:03}.yaml").write_text(SHORT)
    return folder


def test_sheets_tells_what_was_made_and_which_failed(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder, out = _visits(tmp_path / "week", 2), tmp_path / "out"
    assert main(["sheets", str(folder), "--out", str(out)]) == 0
    said = capsys.readouterr()
    assert said.out == f"{out}: of 2 sheets 2 made.\n"
    assert said.err == ""
    assert main(["sheets", str(folder), str(DATA / "faulty.yaml"), "--out", str(out)]) == 1
    said = capsys.readouterr()
    assert said.out == f"{out}: of 3 sheets 0 made, 2 as they were before, 1 failed.\n"
    assert all(line.startswith(str(DATA / "faulty.yaml:")) for line in said.err.splitlines())
    assert len(said.err.splitlines()) >= 19
    assert {path.name for path in out.iterdir()} == {"visit_000", "visit_001"}


def test_sheets_says_what_it_cannot_take(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["sheets", str(tmp_path / "gone"), "--out", str(tmp_path / "out")]) == 1
    assert capsys.readouterr().err == f"{tmp_path / 'gone'}: there is no such file or folder\n"
    (tmp_path / "file").touch()
    assert main(["sheets", str(DATA / "rower.yaml"), "--out", str(tmp_path / "file")]) == 1
    assert "the sheets cannot be written there" in capsys.readouterr().err


@pytest.mark.slow
def test_ctrl_c_leaves_whole_folders_and_no_process(tmp_path: Path) -> None:
    """The signal goes to the whole group, as a terminal sends it, once the first folder is there."""
    folder, out = _visits(tmp_path / "many", 60), tmp_path / "out"
    running = subprocess.Popen(
        [sys.executable, "-m", "homecare", "sheets", str(folder), "--out", str(out)],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        start_new_session=True,
        cwd=Path(__file__).resolve().parents[2],
    )
    while running.poll() is None and not any(out.glob("visit_*")):
        time.sleep(0.05)
    os.killpg(running.pid, signal.SIGINT)
    said, told = running.communicate()
    assert (running.returncode, said) == (130, "")
    assert "Traceback" not in told
    assert f"every folder in {out} is whole" in told
    made = list(out.iterdir())
    assert 0 < len(made) < 60
    assert all(path.name.startswith("visit_") for path in made)
    assert all({file.name for file in path.iterdir()} == FILES for path in made)
    assert _living(running.pid) == []


def _living(group: int) -> list[str]:
    """The processes of a group that run, from the process file system of Linux (proc(5), from memory)."""
    found = [path.read_text().rpartition(")")[2].split() for path in Path("/proc").glob("[0-9]*/stat")]
    return [fields[0] for fields in found if int(fields[2]) == group and fields[0] != "Z"]
