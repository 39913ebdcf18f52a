"""What to ease off: a change in the athlete's own words, the habits that it calls up, and nothing said twice."""

from __future__ import annotations

import pytest

from homecare.core.sheet import Clinic
from homecare.core.words import MOST_EASE_OFF
from homecare.library.load import Library
from homecare.workflow.assembling import build_sheet
from tests.helpers import visit_of

ELBOW = (
    "{symptom: tingling, zones: [digit_5], side: left, worse_with: [grip, elbow_bent]}\n"
    "{tissue: flexor_carpi_ulnaris, side: left, found: tight}"
)


@pytest.mark.parametrize(
    "changed", ["new poles with thicker grips", "thicker oar handles", "a new desk", "twice the volume"]
)
def test_a_change_stands_in_the_athletes_words_and_no_sentence_twice(lib: Library, changed: str) -> None:
    sheet = build_sheet(visit_of(lib, ELBOW, f'changed: ["{changed}"]\n'), lib, Clinic(), None)
    lines = sheet.words.ease_off
    assert lines[0].lower().startswith(changed)
    assert len(lines) <= MOST_EASE_OFF
    sentences = [one for line in lines for one in line.rstrip(".").split(". ")]
    assert len(sentences) == len(set(sentences))


def test_a_change_that_calls_up_a_habit_brings_its_words(lib: Library) -> None:
    plain = build_sheet(visit_of(lib, ELBOW, 'changed: ["a blue scarf"]\n'), lib, Clinic(), None).words.ease_off
    poles = build_sheet(visit_of(lib, ELBOW, 'changed: ["new ski poles"]\n'), lib, Clinic(), None).words.ease_off
    assert plain[0] == "A blue scarf."
    assert poles[0].startswith("New ski poles. ")


def test_the_habit_of_the_likeliest_place_is_told_first(lib: Library) -> None:
    """Tight skates over a burning top of the foot: the laces, before what skating does to a tight inner thigh."""
    findings = (
        "{symptom: burning, zones: [foot_top], side: right, worse_with: [tight_shoes]}\n"
        "{tissue: gracilis, side: left, found: tight}"
    )
    sheet = build_sheet(visit_of(lib, findings, 'changed: ["new speed skates"]\n'), lib, Clinic(), None)
    assert sheet.words.ease_off[0].startswith("New speed skates. Loosen your laces")
