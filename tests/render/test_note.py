"""The chart note: plain text in 80 columns that says what was done and what was not known."""

from __future__ import annotations

from dataclasses import replace

import pytest

from homecare.core.sheet import SheetDrill
from homecare.render.note import SCOPE, note_text
from tests.render.sheets import REFER_NOW, fixtures, make_sheet


def _flat(text: str) -> str:
    return " ".join(text.split())


@pytest.mark.parametrize("name", fixtures())
def test_every_note_keeps_to_80_columns_and_states_its_scope(name: str) -> None:
    text = note_text(fixtures()[name])
    assert max(map(len, text.splitlines())) <= 80
    assert text.endswith(".\n")
    assert SCOPE in _flat(text)


def test_a_note_tells_the_visit() -> None:
    text = _flat(note_text(make_sheet(5)))
    for said in (
        "Rowan K.",
        "Monday 2 March 2026, by M. Okafor at Lowgate Clinic",
        "Right finger flexors: tight.",
        "For: Tingling in the thumb",
        "Against: Tapping the wrist",
        "Not tested: upper limb test 2a",
        "Covered by Arm glide",
        "Evidence: Glides: limited evidence",
        "1 Arm glide, right (glide, arm_glide)",
        "Starts at step 1 of 3: 8 slow, 2 a day",
        "Why: Tight finger flexors, right.",
        "Dose by: static stretch, common practice",
        "neck_roll, right (caution): Takes blood thinners",
        "needs a ball; the athlete has",
        "settled, one step up",
        "before 7.5 cm, after 9 cm",
        "Test the neck next time.",
    ):
        assert said in text, said


def test_the_screen_is_said_even_when_it_was_not_recorded() -> None:
    assert "SCREEN - not recorded" in _flat(note_text(replace(make_sheet(1), screen="not recorded")))
    asked = replace(make_sheet(1), screen="not recorded", ask=("Getting weaker?", "Unsteady when you walk?"))
    assert "To ask, by what was found: Getting weaker? Unsteady when you walk?" in _flat(note_text(asked))
    screen = {"flags": ["calf_swelling"], "decision": "continue", "because": "scan was clear"}
    text = _flat(note_text(replace(make_sheet(1), screen=screen)))
    assert "Flags: calf swelling" in text
    assert "Decision: continue" in text
    assert "Because: scan was clear" in text


def test_a_referral_and_an_unproven_plan_are_said() -> None:
    text = _flat(note_text(replace(make_sheet(1), refer=REFER_NOW, days=(), drills=())))
    assert "Urgency: now" in text
    assert REFER_NOW.because[0] in text
    assert "No day is planned." in text
    assert "cut short" in note_text(fixtures()["no_room"])
    assert "cut short" not in note_text(make_sheet(1))


def test_a_drill_that_was_halved_or_carried_says_so() -> None:
    sheet = make_sheet(1)
    drill: SheetDrill = replace(sheet.drills[0], halved=True, carried=True)
    text = note_text(replace(sheet, drills=(drill,)))
    assert "Half as often" in text
    assert "Carried on" in text
