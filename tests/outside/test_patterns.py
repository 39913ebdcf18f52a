"""Textbook patterns of irritated nerves: the place that the book names must come first, or level with the first.

The patterns were written from chapters and papers before the weights of the evidence were settled; each cites its own.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
import yaml

from homecare.core.barring import raised_flags
from homecare.core.evidence import Knowledge
from homecare.core.reasoning import reason
from homecare.library.load import Library, load_library
from homecare.library.visit import parse_visit

FILES = ("patterns_books.yaml", "patterns_arm.yaml", "patterns_leg.yaml")
LEVEL, TIED = 0.02, 0.05
"""How near the best score a place must be to count as first, and how near two that books cannot tell apart."""
LEAST = 170
"""Patterns that there must be at least."""

WRONG: Mapping[str, str] = {
    "neck_and_wrist_at_once": "the neck's test weighs more than the wrist's: both are covered, but not seen as level",
    "double_s1_and_tarsal_tunnel": "two tests for the ankle and none for the root: both are covered, but not level",
    "two_sides_two_places": "each place is the first of its own side; scores of two sides need not be level",
}
"""Patterns that the reasoning does not get right, with the reason: none is left out for it."""


@dataclass(frozen=True)
class Pattern:
    """One textbook case: what is recorded, and the places that may come first, must tie, or stand one above another."""

    id: str
    cite: str
    findings: str
    changed: tuple[str, ...]
    sites: tuple[str, ...]
    tie: tuple[str, ...]
    above: tuple[tuple[str, str], ...]
    refer: bool


def patterns() -> tuple[Pattern, ...]:
    """All patterns of the files, in order."""
    found = []
    for name in FILES:
        text = (Path(__file__).resolve().parents[1] / "data" / name).read_text(encoding="utf-8")
        found += [_pattern(row) for row in yaml.safe_load(text)["patterns"]]
    return tuple(found)


def _pattern(row: Mapping[str, Any]) -> Pattern:
    return Pattern(
        id=row["id"],
        cite=f"{row['cite']} ({row['mark']})",
        findings=row["findings"],
        changed=tuple(row.get("changed", ())),
        sites=tuple(row.get("sites", ())),
        tie=tuple(row.get("tie", ())),
        above=tuple((one, other) for one, other in row.get("above", ())),
        refer=bool(row.get("refer", False)),
    )


def is_right(pattern: Pattern, lib: Library) -> bool:
    """Whether the reasoning comes to what the book says."""
    findings = "".join(f"  {line}\n" for line in pattern.findings.splitlines())
    changed = "".join(f"  - {one!r}\n" for one in pattern.changed)
    text = f"athlete: Invented\nstart: 2026-03-02\nfindings:\n{findings}" + (f"changed:\n{changed}" if changed else "")
    visit = parse_visit(text, pattern.id, lib)
    found = reason(visit, Knowledge(lib.atlas, lib.tests, lib.habits, lib.worse_with, lib.evidence))
    if pattern.refer:
        return bool(found.no_fit or found.refer or raised_flags(visit, lib.flags, (), lib.atlas).flags)
    scores: dict[str, float] = {}
    for one in found.candidates:
        scores[one.site] = max(one.score, scores.get(one.site, 0.0))
    best = max(scores.values(), default=0.0)
    first = not pattern.sites or any(scores.get(one, 0.0) >= best - LEVEL for one in pattern.sites)
    level = all(scores.get(one, 0.0) >= best - TIED for one in pattern.tie)
    above = all(scores.get(one, 0.0) > scores.get(other, 0.0) for one, other in pattern.above)
    return best > 0 and first and level and above


PATTERNS = patterns()


def test_there_are_enough_patterns_and_each_says_what_it_expects() -> None:
    assert len(PATTERNS) >= LEAST
    assert len({one.id for one in PATTERNS}) == len(PATTERNS)
    assert all(one.refer or one.sites or one.tie for one in PATTERNS)


@pytest.mark.parametrize("pattern", PATTERNS, ids=lambda one: one.id)
def test_a_textbook_pattern_leads_to_its_place(lib: Library, pattern: Pattern) -> None:
    assert is_right(pattern, lib) == (pattern.id not in WRONG), f"{pattern.cite}: {WRONG.get(pattern.id, 'not first')}"


if __name__ == "__main__":
    library = load_library()
    wrong = [one.id for one in PATTERNS if not is_right(one, library)]
    print(f"{len(PATTERNS) - len(wrong)} of {len(PATTERNS)} right; wrong: {', '.join(wrong)}")
