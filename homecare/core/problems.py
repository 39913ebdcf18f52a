"""Faults of an input, each with the place where it stands and what would be accepted instead."""

from __future__ import annotations

import difflib
from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True, order=True)
class Source:
    """A place in a file; `line` and `column` count from 1, and 0 means the file as a whole."""

    file: str
    line: int = 0
    column: int = 0

    def __str__(self) -> str:
        return f"{self.file}:{self.line}" if self.line else self.file


@dataclass(frozen=True, order=True)
class Problem:
    """One fault: where it stands, a stable code, what was found, and what would do."""

    source: Source
    code: str
    message: str
    hint: str = ""

    def __str__(self) -> str:
        hint = f" ({self.hint})" if self.hint else ""
        return f"{self.source}: {self.message}{hint}"


class InputFault(Exception):
    """An input cannot be used; carries every problem found in it, ordered by place."""

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems = tuple(sorted(problems))
        super().__init__("\n".join(str(problem) for problem in self.problems))


def did_you_mean(given: str, accepted: Iterable[str], listed: int = 12) -> str:
    """A hint that names the nearest accepted word, or else the accepted words when they are few."""
    words = sorted(accepted) if isinstance(accepted, set | frozenset) else list(dict.fromkeys(accepted))
    plain = given.strip().lower().replace(" ", "_").replace("-", "_")
    near = difflib.get_close_matches(plain, words, n=1, cutoff=0.6)
    if near:
        return f"did you mean {near[0]}?"
    if len(words) <= listed:
        return "one of " + ", ".join(words)
    return ""
