"""Files that are no visit at all: one clear sentence each, in little time and memory."""

from __future__ import annotations

import os
import resource
import subprocess
import sys
import time
from pathlib import Path

import pytest

from homecare.core.problems import InputFault
from homecare.library.nodes import MAX_DEPTH, compose, read_text

BOMB = "a: &a [x,x,x,x,x,x,x,x,x]\n" + "".join(
    f"{new}: &{new} [{','.join(['*' + old] * 9)}]\n" for old, new in zip("abcdefgh", "bcdefghi", strict=True)
)
MEGABYTES_MOST, SECONDS_MOST = 200, 2


def only_sentence(fault: InputFault) -> str:
    """The one problem of a fault, as it is told."""
    (problem,) = fault.problems
    return str(problem)


def hostile(folder: Path, sort: str) -> Path:
    """A file (or no file) of one hostile sort."""
    path = folder / "visit.yaml"
    if sort == "bomb":
        path.write_text(BOMB)
    elif sort == "large":
        with path.open("wb") as stream:
            stream.truncate(50_000_000)
    elif sort == "binary":
        path.write_bytes(bytes(range(256)) * 40)
    elif sort == "deep":
        path.write_text("[" * 500)
    elif sort == "folder":
        path.mkdir()
    elif sort == "pipe":
        os.mkfifo(path)
    elif sort == "syntax":
        path.write_text("athlete: [one\nstart: 2\n")
    elif sort == "empty":
        path.write_text("")
    return path


WORDS = {
    "bomb": "anchors and aliases",
    "large": "50,000,000 bytes",
    "binary": "not a text file",
    "deep": f"more than {MAX_DEPTH} levels deep",
    "folder": "this is a folder",
    "missing": "there is no such file",
    "syntax": "not valid YAML",
    "empty": "empty",
}


@pytest.mark.parametrize("sort", [sort for sort in WORDS if sort != "empty"])
def test_one_sentence_each(sort: str, tmp_path: Path) -> None:
    path = hostile(tmp_path, sort)
    with pytest.raises(InputFault) as caught:
        compose(read_text(path), str(path))
    assert WORDS[sort] in only_sentence(caught.value)


@pytest.mark.slow
@pytest.mark.parametrize("sort", WORDS)
def test_the_command_answers_in_time_and_memory(sort: str, tmp_path: Path) -> None:
    """From start to end of the process: status 1, one line, nothing written, bounded time and memory."""
    path = hostile(tmp_path, sort)
    command = [sys.executable, "-m", "homecare", "sheet", str(path), "--out", str(tmp_path / "out")]
    before = time.monotonic()
    run = subprocess.run(
        command,
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
        preexec_fn=lambda: resource.setrlimit(resource.RLIMIT_DATA, (MEGABYTES_MOST * 2**20,) * 2),
    )
    took = time.monotonic() - before
    assert (run.returncode, run.stdout) == (1, "")
    assert len(run.stderr.splitlines()) == 1
    assert WORDS[sort] in run.stderr
    assert not (tmp_path / "out").exists()
    print(f"{sort}: {took:.2f} s of {SECONDS_MOST} s")
