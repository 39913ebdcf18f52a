"""How long somebody waits who gave wrong passphrases: by name and by address, longer each time, never for ever."""

from __future__ import annotations

import threading
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta

FIRST_WAIT = timedelta(seconds=5)
LONGEST_WAIT = timedelta(minutes=15)
"""Each wait is twice the one before, up to this: about a hundred guesses a day (common practice). Nobody is shut out
for good, so that nobody can shut a colleague out."""
FORGOTTEN = timedelta(hours=1)
"""After so long without a wrong one the count begins anew; longer than the longest wait."""


@dataclass(frozen=True)
class Key:
    """What is counted: a name as it was typed, or a network address; `free` wrong ones have no wait."""

    what: str
    free: int


@dataclass(frozen=True)
class _Count:
    wrong: int
    last: datetime
    until: datetime


class Waits:
    """Counts of wrong passphrases, in memory only."""

    def __init__(self) -> None:
        self._counts: dict[str, _Count] = {}
        self._lock = threading.Lock()

    def ask(self, keys: Iterable[Key], now: datetime) -> timedelta:
        """The wait that still stands; when it is none, a try begins, and counts as wrong until `passed` says else.

        So many tries at the same moment are no way around the count.
        """
        keys = tuple(keys)
        with self._lock:
            self._forget(now)
            until = max((count.until for key in keys if (count := self._counts.get(key.what))), default=now)
            if until > now:
                return until - now
            for key in keys:
                before = self._counts.get(key.what)
                wrong = (before.wrong if before else 0) + 1
                self._counts[key.what] = _Count(wrong, now, now + wait_after(wrong - key.free))
        return timedelta(0)

    def passed(self, key: Key) -> None:
        """The passphrase was right: what was counted under a key is forgotten."""
        with self._lock:
            self._counts.pop(key.what, None)

    def _forget(self, now: datetime) -> None:
        """Also keeps the table small, however many names are tried."""
        for what in [what for what, count in self._counts.items() if now - count.last > FORGOTTEN]:
            del self._counts[what]


def wait_after(beyond: int) -> timedelta:
    """The wait after a wrong passphrase that is number `beyond` past the free ones; none up to 0."""
    if beyond <= 0:
        return timedelta(0)
    doublings: int = min(beyond - 1, 16)
    return min(FIRST_WAIT * (1 << doublings), LONGEST_WAIT)


def in_words(wait: timedelta) -> str:
    """A wait as it is told: "20 seconds", "4 minutes", never less than it is."""
    seconds = -(-wait // timedelta(seconds=1))
    minutes = -(-seconds // 60)
    number, unit = (seconds, "second") if seconds < 90 else (minutes, "minute")
    return f"{number} {unit}{'' if number == 1 else 's'}"
