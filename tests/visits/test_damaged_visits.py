"""Visits damaged at random: each is read or told what is wrong with it; nothing else may happen."""

from __future__ import annotations

import random
from pathlib import Path

import pytest

from homecare.core.problems import InputFault, Problem
from homecare.core.sheet import Clinic
from homecare.library.load import Library
from homecare.library.visit import parse_visit
from homecare.workflow.assembling import build_sheet

DATA = Path(__file__).parents[1] / "data"
TEXTS = [(DATA / name).read_text() for name in ("canoeist.yaml", "rower.yaml")]
SNIPPETS = (
    "[",
    "]",
    "{",
    "}",
    ":",
    ",",
    "- ",
    "\n",
    "  ",
    "null",
    "~",
    "-1",
    "1e999",
    ".nan",
    "left",
    "both",
    "'",
    '"',
    "#",
    "!!int 3",
)


def damaged(text: str, chance: random.Random) -> str:
    """The text with a few letters, snippets or lines taken out, doubled, moved or put in."""
    for _ in range(chance.randrange(1, 5)):
        at = chance.randrange(len(text))
        lines = text.splitlines(keepends=True)
        line = chance.randrange(len(lines))
        match chance.randrange(5):
            case 0:
                text = text[:at] + text[at + chance.randrange(1, 9) :]
            case 1:
                text = text[:at] + chance.choice(SNIPPETS) + text[at:]
            case 2:
                text = "".join(lines[:line] + lines[line + 1 :])
            case 3:
                text = "".join([*lines[:line], lines[line], *lines[line:]])
            case _:
                other = chance.randrange(len(lines))
                lines[line], lines[other] = lines[other], lines[line]
                text = "".join(lines)
        text = text or " "
    return text


def tried(seed: int, lib: Library) -> bool:
    """Whether a damaged visit could still be read; a sheet is then made of it."""
    chance = random.Random(seed)
    text = damaged(chance.choice(TEXTS), chance)
    problems: tuple[Problem, ...] = ()
    try:
        visit = parse_visit(text, "visit.yaml", lib)
        build_sheet(visit, lib, Clinic(), None)
    except InputFault as fault:
        problems = fault.problems
    assert all(problem.message and problem.source.file == "visit.yaml" for problem in problems)
    return not problems


def test_damaged_visits(lib: Library) -> None:
    read = [tried(seed, lib) for seed in range(150)]
    assert any(read)
    assert not all(read)


@pytest.mark.slow
def test_many_damaged_visits(lib: Library) -> None:
    read = sum(tried(seed, lib) for seed in range(1000, 4000))
    print(f"{read} of 3000 damaged visits could still be read")
    assert 0 < read < 3000
