"""What README.md and DEVELOPERS.md show works as shown."""

from __future__ import annotations

import re
import shlex
from pathlib import Path

import pytest
from PIL import Image

from homecare.cli.main import main
from homecare.library import lint
from homecare.workflow import make_sheet

TOP = Path(__file__).resolve().parents[2]
README, DEVELOPERS = ((TOP / name).read_text() for name in ("README.md", "DEVELOPERS.md"))


def blocks(text: str, language: str) -> list[str]:
    return re.findall(rf"^```{language}\n(.*?)^```", text, flags=re.MULTILINE | re.DOTALL)


def test_the_smallest_visit_makes_a_sheet(tmp_path: Path) -> None:
    (tmp_path / "visit.yaml").write_text(blocks(README, "yaml")[0])
    assert make_sheet(tmp_path / "visit.yaml").sheet.drills


COMMANDS = re.findall(r"^\.venv/bin/homecare (library .*?)(?:   .*)?$", README, re.MULTILINE)


@pytest.mark.parametrize("line", [line for line in COMMANDS if "DIR" not in line])
def test_each_library_command_runs(line: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(shlex.split(line)) == 0
    assert capsys.readouterr().err == ""


def test_the_commands_of_upkeep_run_in_the_order_shown(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    Image.new("RGB", (640, 480), "teal").save(tmp_path / "photo.jpg")
    stand_for = {
        "FILE.html": tmp_path / "report.html",
        "FILE": tmp_path / "clinic.set",
        "DIR": tmp_path / "own",
        "DRILL": "soleus_wall_stretch",
        "PICTURE": tmp_path / "photo.jpg",
    }
    lines = [line for line in COMMANDS if "DIR" in line]
    assert len(lines) >= 9
    for line in lines:
        words = [str(stand_for.get(word, word)) for word in shlex.split(line)]
        assert main(words) == 0, line
    assert capsys.readouterr().err == ""
    assert (tmp_path / "report.html").exists()


def test_the_example_drill_has_no_fault(tmp_path: Path) -> None:
    (tmp_path / "own.yaml").write_text(blocks(DEVELOPERS, "yaml")[0])
    assert lint.check(tmp_path).problems == ()


@pytest.mark.parametrize("text", [README, DEVELOPERS], ids=["README", "DEVELOPERS"])
def test_every_file_named_is_there(text: str) -> None:
    linked = re.findall(r"\]\(([^)#]+)\)", text)
    named = re.findall(
        r"`((?:homecare|exercise_library|templates|tests|demo|\.ci)/[\w./]+|[a-z]+/[a-z_]+\.(?:py|html))`", text
    )
    places = [TOP / "homecare", TOP]
    missing = [name for name in {*linked, *named} if not any((place / name).exists() for place in places)]
    assert [name for name in missing if "ID" not in name] == []
