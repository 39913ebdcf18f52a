"""What was typed into a form that could not be taken: kept in memory until its person sends it again."""

from __future__ import annotations

import secrets
import threading
from dataclasses import dataclass

from flask import Request

KEPT = 40
"""So many forms of a person are kept, and of strangers together; their own oldest makes room, and nobody else's."""
NOT_SENT_AGAIN = frozenset({"token", "passphrase", "again", "present"})
"""Fields that belong to the page or the moment, not to what was typed."""


@dataclass(frozen=True)
class Held:
    """A form as it was sent: by whom ('' where nobody signs in), where to, and its fields in order.

    `files` says that files came with it; they are not kept.
    """

    person: str
    path: str
    fields: tuple[tuple[str, str], ...]
    files: bool


class HeldForms:
    """Forms under keys that cannot be guessed; each is given out once, and to nobody but its person."""

    def __init__(self) -> None:
        self._held: dict[str, Held] = {}
        self._lock = threading.Lock()

    def keep(self, request: Request, person: str) -> str:
        """Keep a request's form and return its key, '' when there is nothing to keep."""
        typed = [(name, value) for name, values in request.form.lists() for value in values]
        fields = tuple((name, value) for name, value in typed if name not in NOT_SENT_AGAIN)
        if not fields:
            return ""
        key = secrets.token_urlsafe(16)
        with self._lock:
            self._held[key] = Held(person, request.path, fields, bool(request.files))
            own = [one for one, form in self._held.items() if form.person == person]
            for oldest in own[:-KEPT]:
                del self._held[oldest]
        return key

    def take(self, key: str, person: str) -> Held | None:
        """The form of a key, if it is this person's; it is kept no longer then."""
        with self._lock:
            found = self._held.get(key)
            if found is None or found.person != person:
                return None
            del self._held[key]
        return found
