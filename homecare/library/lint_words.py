"""The library's rules of words: plain, active, honest, and free of what the glossary explains."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from functools import lru_cache
from typing import Protocol

from homecare.core.drill import Drill
from homecare.core.problems import Problem, Source
from homecare.core.readability import grade, sentences, words
from homecare.library.load import Library, Place

MOST_GRADE = 6.0
"""Reading grade of what an athlete reads. Advice for health texts runs from 5 to 8; 5 to 6 in Weis BD 2007, AMA
manual for clinicians (from memory)."""
LEAST_WORDS = 12
"""A grade of fewer words says little: the formula was made on passages of a hundred and more (common practice)."""

CLAIMS: Mapping[str, str] = {
    r"\bfixes\b|\b(to|will|can) fix\b": "no drill here is shown to fix anything",
    r"\bcur(e|es|ed|ing)\b": "no drill here is shown to cure anything",
    r"\bheal(s|ed)?\b": "nothing here is shown to heal tissue",
    r"\btoxins?\b": "no such effect is known",
    r"\badhesions?\b|\bscar tissue\b": "rolling is not shown to break up tissue",
    r"\bknots?\b": "a knot is no finding",
    r"\btrapped\b|\bpinched nerve\b": "that it may be irritated is all that is known",
    r"\breleas\w* (the|a|your) nerve": "a nerve is not released",
    r"\b(un)?block(s|ed)? (the|a|your) nerve": "a nerve is not unblocked",
    r"\bguarantee|\bproven to\b": "nothing here is certain",
    r"\bprevents? injur": "shown for one programme of lowering only (van Dyk et al. 2019)",
    r"\bno pain,? no gain\b": "pain up to 5 of 10 is the most (Thomee 1997, from memory)",
    r"\bglides? (work|help)s? (for )?(the )?(ulnar|cubital)": "the review found it uncertain (Basson et al. 2017)",
    r"\bfewer (exercises|drills)\b.*\b(stick|adher|better)": "the study found no such difference (Henry et al. 1999)",
    r"\b(isometrics?|holds?) (is|are|work) better\b": "later trials found no such difference (Holden et al. 2020)",
}
"""Stem of a claim that is stronger than its evidence, and why it may not stand."""

_PASSIVE = re.compile(
    r"\b(is|are|was|were|be|been|being|gets?|got)\s+(?:\w+ly\s+)?"
    r"(\w{2,}ed|held|put|kept|brought|drawn|pulled|pushed|done|made|given|taken|shown|told|felt|worn|thrown|sat|laid)\b"
)
_STATES = frozenset("tired relaxed red bed need feed speed injured bruised locked used stretched".split())
"""Words that look like a passive but tell a state."""


class _Told(Protocol):
    def __call__(self, text: str) -> Iterable[str]: ...


def reads_plainly(library: Library) -> Iterator[Problem]:
    """What an athlete reads of one record stays at grade 6 or lower."""
    for name, where, texts in _texts(library):
        found = _hard(texts)
        if found:
            message = f"{name}: its words read at grade {found:.1f}; at most {MOST_GRADE:g}"
            yield Problem(where, "grade", message, "shorter sentences, shorter words")


@lru_cache(maxsize=2048)  # these three: an edit of one record asks all records again
def _hard(texts: tuple[str, ...]) -> float:
    """The grade of some texts where it is above what it may be and says something, else 0."""
    parts = sentences(texts)
    found = grade(parts)
    return found if found > MOST_GRADE and len(words(" ".join(parts))) >= LEAST_WORDS else 0.0


def active_voice(library: Library) -> Iterator[Problem]:
    """An instruction says who does it: "press your foot", not "the foot is pressed" (by a simple rule)."""
    for drill in library.drills.values():
        for step in drill.steps:
            for found in _PASSIVE.finditer(step.lower()):
                if found[2] not in _STATES:
                    message = f"{drill.id}: {found[0]!r} in {step!r}"
                    yield Problem(drill.where, "passive", message, "say it to the athlete: press, hold, bring")


def honest_claims(library: Library) -> Iterator[Problem]:
    """No text claims more than its evidence bears."""
    yield from _each(library, "claim", _claims)


@lru_cache(maxsize=8192)
def _claims(text: str) -> tuple[str, ...]:
    found = ((re.search(stem, text, re.IGNORECASE), because) for stem, because in CLAIMS.items())
    return tuple(f"{one[0]!r} may not be said: {because}" for one, because in found if one)


def plain_words(library: Library) -> Iterator[Problem]:
    """No word of the trade that the glossary has plain words for."""
    forms = {form.replace("_", " "): word.plain for word in library.glossary.values() for form in (word.id, *word.also)}
    if forms:
        yield from _each(library, "jargon", _jargon(tuple(forms.items())))


@lru_cache(maxsize=2)
def _jargon(forms: tuple[tuple[str, str], ...]) -> _Told:
    """What to say of a text that holds one of some words of the trade, each given with plain words for it."""
    plain = dict(forms)
    longest = sorted(plain, key=len, reverse=True)
    search = re.compile(r"\b(" + "|".join(map(re.escape, longest)) + r")\b", re.IGNORECASE)

    @lru_cache(maxsize=8192)
    def told(text: str) -> tuple[str, ...]:
        found = (one[0] for one in search.finditer(text))
        return tuple(f"{one!r} is a word of the trade: write {plain[one.lower()]!r}" for one in found)

    return told


def _each(library: Library, code: str, told: _Told) -> Iterator[Problem]:
    for name, where, texts in _texts(library):
        for text in texts:
            for message in told(text):
                yield Problem(where, code, f"{name}: {message}")


def _texts(library: Library) -> Iterator[tuple[str, Source, tuple[str, ...]]]:
    """Every record that an athlete reads, with its place and its words as printed."""
    read: dict[Place, tuple[str, ...]] = {}
    for drill in library.drills.values():
        read["drills", drill.id] = (drill.name, *map(_filled, drill_words(drill)))
    read |= {("habits", habit.id): (habit.words,) for habit in library.habits.values()}
    read |= {("flags", flag.id): (flag.athlete,) for flag in library.flags.values()}
    read |= {("cautions", caution.id): (caution.athlete,) for caution in library.cautions.values()}
    read |= {("photos", photo.drill): (photo.words,) for photo in library.photos.values()}
    for place, texts in read.items():
        yield place[1], library.entries[place].where, texts


def drill_words(drill: Drill) -> tuple[str, ...]:
    """What an athlete reads of a drill below its name."""
    return (*drill.steps, drill.feel, drill.not_feel, *drill.mistakes, drill.stop_if)


def _filled(text: str) -> str:
    return text.replace("{side}", "left").replace("{other}", "right")


WORD_RULES: tuple[Callable[[Library], Iterator[Problem]], ...] = (
    reads_plainly,
    active_voice,
    honest_claims,
    plain_words,
)
"""Every rule of words, in the order of their telling."""
