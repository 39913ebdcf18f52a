"""The layers hold, and the check that says so can fail."""

from __future__ import annotations

import ast
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

TOP = Path(__file__).resolve().parents[2]
PURE = [*sorted((TOP / "homecare/core").rglob("*.py")), *sorted((TOP / "homecare/figure").rglob("*.py"))]
CLOCKS_AND_FILES = {"open", "print", "input", "exec", "eval", "__import__", "breakpoint"}
CLOCK_METHODS = {"today", "now", "utcnow"}


def lint_imports(folder: Path) -> subprocess.CompletedProcess[str]:
    command = [str(Path(sys.executable).with_name("lint-imports")), "--no-cache"]
    return subprocess.run(command, cwd=folder, capture_output=True, text=True, check=False)


def test_layers_hold() -> None:
    result = lint_imports(TOP)
    assert result.returncode == 0, result.stdout


@pytest.mark.parametrize(
    ("module", "line", "broken"),
    [
        ("homecare/phone/stray.py", "import homecare.workflow", "The phone pages know nothing of athletes"),
        ("homecare/core/stray.py", "import pathlib", "Pure code does no I/O"),
        ("homecare/core/stray.py", "import homecare.cli.main", "Layers point down"),
    ],
)
def test_a_wrong_import_is_caught(tmp_path: Path, module: str, line: str, broken: str) -> None:
    shutil.copy(TOP / "pyproject.toml", tmp_path)
    shutil.copytree(TOP / "homecare", tmp_path / "homecare", ignore=shutil.ignore_patterns("__pycache__"))
    (tmp_path / module).write_text(f"{line}\n")
    result = lint_imports(tmp_path)
    assert result.returncode == 1, result.stdout
    assert f"{broken} BROKEN" in result.stdout


@pytest.mark.parametrize("path", PURE, ids=lambda path: str(path.relative_to(TOP)))
def test_pure_code_calls_no_file_and_no_clock(path: Path) -> None:
    assert stray_calls(path.read_text()) == []


def test_a_stray_call_is_seen() -> None:
    assert stray_calls("from datetime import date\nprint(date.today())\n") == ["print (line 2)", "today (line 2)"]


def stray_calls(source: str) -> list[str]:
    """Calls of builtins that do I/O, and of clock methods, as import-linter cannot see them."""
    found = []
    for node in ast.walk(ast.parse(source)):
        if not isinstance(node, ast.Call):
            continue
        name = getattr(node.func, "id", None) or getattr(node.func, "attr", None)
        if name in (CLOCKS_AND_FILES if isinstance(node.func, ast.Name) else CLOCK_METHODS):
            found.append(f"{name} (line {node.lineno})")
    return found
