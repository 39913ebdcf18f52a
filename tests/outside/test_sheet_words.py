"""The sheet's own sentences at a reading grade of 6 or lower, by the open formula of Kincaid 1975 (from memory)."""

from __future__ import annotations

from pathlib import Path

import pytest

from homecare.core.readability import grade, sentences
from homecare.core.sheet import Clinic, Words
from homecare.core.words import EMERGENCY, EMERGENCY_LEG, JUDGE, JUDGE_NERVE, STOP_ALL, STOP_ARM, STOP_LEG
from homecare.library.lint_words import MOST_GRADE
from homecare.library.load import Library
from homecare.library.visit import read_visit
from homecare.workflow.assembling import build_sheet

DATA = Path(__file__).parents[1] / "data"
DEMO = Path(__file__).parents[2] / "demo" / "visits"
VISITS = [DATA / "canoeist.yaml", DATA / "rower.yaml", *sorted(DEMO.glob("*.yaml"))]


def read_at(text: str) -> float:
    """The grade of a text, cut into its sentences."""
    return grade(sentences([text]))


def words_of(path: Path, lib: Library) -> Words:
    """The words of a visit's sheet."""
    return build_sheet(read_visit(path, lib), lib, Clinic(), None).words


@pytest.mark.parametrize("path", VISITS, ids=lambda path: path.stem)
def test_what_the_sheet_is_for_and_what_to_ease_off(path: Path, lib: Library) -> None:
    words = words_of(path, lib)
    text = " ".join((words.for_, *words.ease_off, words.key))
    assert read_at(text) <= MOST_GRADE, text


def test_judging_stopping_and_emergency() -> None:
    for rows in (JUDGE, JUDGE_NERVE):
        for _, when, then in rows:
            assert read_at(f"{when} {then}") <= MOST_GRADE
    for line in (*STOP_ARM, *STOP_LEG, *STOP_ALL):
        assert read_at(f"Stop if {line}.") <= MOST_GRADE, line
    for emergency in (EMERGENCY, EMERGENCY_LEG):
        assert read_at(f"Call at once if {emergency}.") <= MOST_GRADE
