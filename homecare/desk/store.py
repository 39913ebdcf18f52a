"""The sheets made since the desk was started, in memory only, each under an address that cannot be guessed."""

from __future__ import annotations

import secrets
import threading
from collections import OrderedDict
from dataclasses import dataclass

from homecare.workflow import SheetFiles

KEPT = 24
"""So many sheets are kept; the oldest makes room (a morning's work, common practice)."""


@dataclass(frozen=True)
class Made:
    """One sheet with the visit file it was made from."""

    visit: str
    files: SheetFiles


class Store:
    """Sheets by a random id of 128 bits, so that no address names or numbers an athlete."""

    def __init__(self) -> None:
        self._made: OrderedDict[str, Made] = OrderedDict()
        self._lock = threading.Lock()

    def keep(self, made: Made) -> str:
        """Keep a sheet and return its id."""
        key = secrets.token_urlsafe(16)
        with self._lock:
            self._made[key] = made
            while len(self._made) > KEPT:
                self._made.popitem(last=False)
        return key

    def find(self, key: str) -> Made | None:
        """The sheet of an id, None when it was never there or has made room."""
        with self._lock:
            return self._made.get(key)
