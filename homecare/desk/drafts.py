"""Drafts at the desk: saved at every change, never over what somebody else saved, and undone step by step."""

from __future__ import annotations

import threading
from collections import OrderedDict
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection

from homecare.desk.form import Form, form_text, read_form_text
from homecare.render.dose_words import day_words
from homecare.storage import drafts
from homecare.storage.athletes import find_athlete
from homecare.storage.database import Database
from homecare.storage.drafts import Draft

NOT_KEPT = ("token", "do", "revision", "find", "at", "usual_name")
"""Fields of the page that are no part of the visit."""
STEPS, DRAFTS = 60, 100
"""So many changes of so many drafts can be undone; after a restart of the desk, those made since."""


@dataclass(frozen=True)
class Open:
    """A draft as it was last saved."""

    id: str
    revision: int
    saved: datetime
    form: Form

    @property
    def clock(self) -> str:
        """When it was saved, by this machine's clock: "9:41"."""
        at = self.saved.astimezone()
        return f"{at.hour}:{at.minute:02}"

    @property
    def day(self) -> str:
        """The day on which it was saved, in words."""
        return day_words(self.saved.astimezone().date())


def begin(database: Database, form: Form, at: datetime) -> Open:
    """Save a form for the first time."""
    with database.write() as connection:
        return _opened(drafts.add_draft(connection, form_text(kept(form)), at, _athlete(connection, form)))


def load(database: Database, id: str) -> Open | None:
    """The draft of an id, None when there is none (any more)."""
    with database.read() as connection:
        draft = drafts.load_draft(connection, id)
    return _opened(draft) if draft else None


def save(database: Database, id: str, revision: int, form: Form, at: datetime) -> Open:
    """Save over the revision that the page had. Raises StaleDraft, and then nothing is saved."""
    with database.write() as connection:
        text = form_text(kept(form))
        return _opened(drafts.save_draft(connection, id, text, revision, at, _athlete(connection, form)))


def listed(database: Database) -> tuple[Open, ...]:
    """Every draft, the one saved last first."""
    with database.read() as connection:
        return tuple(_opened(draft) for draft in drafts.list_drafts(connection))


def kept(form: Form) -> Form:
    """The form less what is only of the page."""
    return form.without(*NOT_KEPT)


def _opened(draft: Draft) -> Open:
    return Open(draft.id, draft.revision, draft.saved, read_form_text(draft.text))


def _athlete(connection: Connection, form: Form) -> str | None:
    """The athlete that was chosen, if they are there (still)."""
    chosen = form.one("athlete_id")
    return chosen if chosen and find_athlete(connection, chosen) else None


class Past:
    """The forms before each change, by draft, in memory: what Undo goes back to."""

    def __init__(self) -> None:
        self._steps: OrderedDict[str, list[tuple[str, Form]]] = OrderedDict()
        self._lock = threading.Lock()

    def note(self, draft: str, before: Form, words: str) -> None:
        """Keep the form before a change, said in words; changes of one thing in a row are one step."""
        with self._lock:
            steps = self._steps.setdefault(draft, [])
            self._steps.move_to_end(draft)
            if not steps or steps[-1][0] != words:
                steps.append((words, before))
                del steps[:-STEPS]
            while len(self._steps) > DRAFTS:
                self._steps.popitem(last=False)

    def last(self, draft: str) -> str:
        """The last change in words, '' when there is none to undo."""
        with self._lock:
            steps = self._steps.get(draft)
            return steps[-1][0] if steps else ""

    def take(self, draft: str) -> Form | None:
        """The form before the last change, which is undone with it; None when there is none."""
        with self._lock:
            steps = self._steps.get(draft)
            return steps.pop()[1] if steps else None
