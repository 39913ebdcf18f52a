"""Who is signed in where, in memory only: a session ends when it is idle, when it is old, and when it is told to."""

from __future__ import annotations

import hashlib
import secrets
import threading
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

IDLE = timedelta(minutes=15)
"""So long a desk may lie untouched (common practice for health records; NIST SP 800-63B allows 30 minutes)."""
WHOLE = timedelta(hours=12)
"""So long a session lasts at most: a working day (NIST SP 800-63B 4.2.3, from memory)."""


@dataclass(frozen=True)
class Session:
    """One browser that a person signed in with."""

    person: str
    begun: datetime
    touched: datetime

    def left(self, now: datetime) -> timedelta:
        """The time until it ends untouched; not above zero when it has ended."""
        return min(self.touched + IDLE, self.begun + WHOLE) - now


class Sessions:
    """The sessions by the hash of a random key of 256 bits, which only the browser's cookie has.

    They are kept here and not in the cookie alone, so that a copied cookie ends with its session. A person may have
    any number of them: a room each.
    """

    def __init__(self) -> None:
        self._by_hash: dict[bytes, Session] = {}
        self._lock = threading.Lock()

    def begin(self, person: str, now: datetime) -> str:
        """A new session, and the key for its cookie."""
        key = secrets.token_urlsafe(32)
        with self._lock:
            ended = [one for one, session in self._by_hash.items() if session.left(now) <= timedelta(0)]
            for one in ended:
                del self._by_hash[one]
            self._by_hash[_hash(key)] = Session(person, now, now)
        return key

    def find(self, key: str, now: datetime) -> Session | None:
        """The session of a key, None when it ended or never was."""
        with self._lock:
            session = self._by_hash.get(_hash(key))
        return session if session and session.left(now) > timedelta(0) else None

    def touch(self, key: str, now: datetime) -> None:
        """Its person is there: the idle time begins anew."""
        with self._lock:
            session = self._by_hash.get(_hash(key))
            if session and session.left(now) > timedelta(0):
                self._by_hash[_hash(key)] = replace(session, touched=now)

    def end(self, key: str) -> None:
        """End the session of a key."""
        with self._lock:
            self._by_hash.pop(_hash(key), None)


def _hash(key: str) -> bytes:
    return hashlib.sha256(key.encode()).digest()
