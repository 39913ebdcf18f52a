"""The course of home care so far, as a letter or a page tells it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from homecare.core.atlas import Side


@dataclass(frozen=True)
class Given:
    """One drill of the last sheet: its days from first to last, boxes planned and ticked (None: not told), and after.

    `first` and `last` are None where no day of it came before the visit. `stopped` says that it is on no sheet now.
    """

    drill: str
    name: str
    side: Side
    first: date | None
    last: date | None
    days: int
    boxes: int
    done: int | None
    response: str
    change: str
    because: str

    @property
    def stopped(self) -> bool:
        """Whether it was taken off at this visit."""
        return self.change == "off"


@dataclass(frozen=True)
class Course:
    """Home care from the last sheet's first day to this visit; ratings are 0 to 10, in order of their dates."""

    since: date
    until: date
    symptoms: tuple[str, ...]
    given: tuple[Given, ...]
    ratings: tuple[tuple[date, float], ...]
