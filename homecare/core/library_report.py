"""What a check of the library found: how much is in it, and rule by rule what is at fault."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from homecare.core.drill import Kind
from homecare.core.problems import Problem


@dataclass(frozen=True)
class Checked:
    """One rule: its name, what it asks for in a sentence, and every fault it found."""

    rule: str
    says: str
    problems: tuple[Problem, ...]


@dataclass(frozen=True)
class LibraryReport:
    """The whole check. `drills` counts the drills in use by region and kind; `own` the clinic's own records.

    A library that cannot be read has no counts, and its faults under the one rule `readable`.
    """

    revision: str
    drills: Mapping[str, Mapping[Kind, int]]
    tissues: int
    out_of_use: int
    own: int
    checked: tuple[Checked, ...]

    @property
    def problems(self) -> tuple[Problem, ...]:
        """Every fault, ordered by file and line."""
        return tuple(sorted(problem for one in self.checked for problem in one.problems))

    @property
    def total(self) -> int:
        """Drills in use."""
        return sum(count for kinds in self.drills.values() for count in kinds.values())
