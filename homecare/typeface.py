"""The one typeface of everything printed: its files, the letters it has, and the nearest to one that it has not."""

from __future__ import annotations

import re
import unicodedata
from functools import lru_cache
from pathlib import Path
from typing import Literal

import font_source_sans_pro
from fontTools.ttLib import TTFont

Weight = Literal["Regular", "Semibold", "Bold"]
WEIGHTS: tuple[Weight, ...] = ("Regular", "Semibold", "Bold")
LETTERS_HINT = "write it in Latin, Greek or Cyrillic letters, as it sounds"
_UNSEEN = ("Cc", "Cf")
"""Categories of letters that print nothing: control and format characters (the Unicode standard, chapter 4)."""

_HYPHENS = "\u2010\u2011\u2043\ufe63\uff0d"
_BEYOND_ASCII = re.compile(r".?[^\x00-\x7f]+", re.DOTALL)
"""Letters beyond ASCII with the one before, which an accent of its own may join."""


def font_folder() -> Path:
    """Where the typeface's files are."""
    return Path(font_source_sans_pro.__file__).parent / "files"


def font_file(weight: Weight) -> Path:
    """The TTF file of a weight."""
    return font_folder() / f"SourceSansPro-{weight}.ttf"


@lru_cache(maxsize=1)
def _letters() -> frozenset[str]:
    """The letters that every weight has."""
    faces = []
    for weight in WEIGHTS:
        with TTFont(font_file(weight), lazy=True) as face:
            faces.append({chr(code) for code in face.getBestCmap()})
    return frozenset.intersection(*map(frozenset, faces))


def printable(text: str) -> str:
    """A text in letters that the typeface has: the nearest one for each (an accent left off, a wide form made narrow).

    A letter with no near one stays; `strangers` names it.
    """
    return _BEYOND_ASCII.sub(lambda found: "".join(map(_nearest, unicodedata.normalize("NFC", found[0]))), text)


def strangers(text: str) -> tuple[str, ...]:
    """The letters of a text that cannot be printed, not even by a near one, in order and once each."""
    beyond = "".join(_BEYOND_ASCII.findall(printable(text)))
    return tuple(dict.fromkeys(letter for letter in beyond if not (letter.isspace() or letter in _letters())))


@lru_cache(maxsize=4096)
def _nearest(letter: str) -> str:
    if letter.isspace() or letter in _letters() or letter in _HYPHENS:
        return "-" if letter in _HYPHENS else letter
    if unicodedata.category(letter) in _UNSEEN:
        return ""
    for form in ("NFKC", "NFKD"):
        parts = [part for part in unicodedata.normalize(form, letter) if part in _letters()]
        if parts and not unicodedata.combining(parts[0]):
            return "".join(part for part in parts if not unicodedata.combining(part))
    return "" if unicodedata.combining(letter) else letter
