"""How hard a text is to read: the Flesch-Kincaid grade, counted from its own words."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from functools import lru_cache

_SILENT = (
    r"[^aeiouy]e$",  # slide, but not knee
    r"[^aeiouydt]ed$",  # pulled, but not lifted
    r"(?<![cs])[^aeiouycgsxz]es$",  # slides, but not presses, reaches, edges
)
_SOUNDED = (r"[^aeiouy]le$", r"[^aeiouyl]led$", r"[^aeiouy]les$")
"""Endings of a silent e, and where the same letters are sounded after all: little, muscles."""
_WITHIN = re.compile(r"^(side|some|there|here|fore(?![aeiouy]))(?=[a-z]{3})|(?<=[a-z]{2})(e)(?=ly$|ful$|less$|ment$)")
"""A silent e inside a word: sideways, something, loosely."""


def sentences(texts: Iterable[str]) -> list[str]:
    """The sentences of some texts; a colon or semicolon ends one too, as a reader pauses there."""
    parts = [part for text in texts for part in re.split(r"[.!?;:]+\s*", text)]
    return [part for part in parts if re.search(r"[a-z]", part, re.IGNORECASE)]


def words(text: str) -> list[str]:
    """The words of a text; the parts of a hyphened one count alone."""
    return re.findall(r"[A-Za-z0-9']+", text.replace("-", " "))


@lru_cache(maxsize=8192)
def syllables(word: str) -> int:
    """Syllables of an English word by its groups of vowels, silent e left out; each digit counts as one."""
    small = word.lower().strip("'")
    if small.isdigit():
        return len(small)
    count = len(re.findall(r"[aeiouy]+", small))
    for silent, sounded in zip(_SILENT, _SOUNDED, strict=True):
        if count > 1 and re.search(silent, small) and not re.search(sounded, small):
            count -= 1
    if count > 1 and _WITHIN.search(small):
        count -= 1
    count += len(re.findall(r"(?:io|ia|eo)(?!u)", small)) - len(re.findall(r"(?:[tcsgh]io|[tc]ia|peo|geo)", small))
    return max(1, count)


def grade(parts: Sequence[str]) -> float:
    """Flesch-Kincaid grade of some sentences: 0.39 words a sentence + 11.8 syllables a word - 15.59.

    Source: Kincaid JP et al. 1975, Research Branch Report 8-75, Naval Technical Training (from memory). No sentence
    with a word in it: 0.
    """
    found = [word for part in parts for word in words(part)]
    if not found:
        return 0.0
    return 0.39 * len(found) / len(parts) + 11.8 * sum(map(syllables, found)) / len(found) - 15.59
