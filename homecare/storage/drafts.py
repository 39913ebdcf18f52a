"""Drafts of visits: saved as they are typed, and never written over by somebody who had not seen the last save."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection, delete, insert, select, update

from homecare.storage.athletes import new_id
from homecare.storage.tables import drafts


@dataclass(frozen=True)
class Draft:
    """A form that is being filled in; `revision` counts its saves from 1. `athlete` is None until one is chosen."""

    id: str
    athlete: str | None
    text: str
    revision: int
    saved: datetime


class StaleDraft(Exception):
    """Somebody else saved or issued this draft since it was loaded; `now` is what stands there, None if it is gone."""

    def __init__(self, now: Draft | None) -> None:
        self.now = now
        super().__init__("this draft was saved elsewhere since it was opened here" if now else "this draft is gone")


def add_draft(connection: Connection, text: str, at: datetime, athlete: str | None = None) -> Draft:
    """Begin a draft."""
    draft = Draft(new_id(), athlete, text, 1, at)
    connection.execute(insert(drafts).values(vars(draft)))
    return draft


def load_draft(connection: Connection, id: str) -> Draft | None:
    """The draft of an id as it was last saved, None when there is none (any more)."""
    row = connection.execute(select(drafts).where(drafts.c.id == id)).one_or_none()
    return Draft(**row._mapping) if row else None


def save_draft(
    connection: Connection, id: str, text: str, revision: int, at: datetime, athlete: str | None = None
) -> Draft:
    """Save over the revision that was loaded and return the new one. Raises StaleDraft, and then nothing is saved."""
    draft = Draft(id, athlete, text, revision + 1, at)
    changed = update(drafts).where(drafts.c.id == id, drafts.c.revision == revision).values(vars(draft))
    if not connection.execute(changed).rowcount:
        raise StaleDraft(load_draft(connection, id))
    return draft


def drop_draft(connection: Connection, id: str, revision: int) -> None:
    """Remove a draft, in the transaction that issues its sheet. Raises StaleDraft if it is not that revision."""
    if not connection.execute(delete(drafts).where(drafts.c.id == id, drafts.c.revision == revision)).rowcount:
        raise StaleDraft(load_draft(connection, id))


def list_drafts(connection: Connection) -> tuple[Draft, ...]:
    """Every draft, the one saved last first."""
    return tuple(Draft(**row._mapping) for row in connection.execute(_DRAFTS))


def drafts_of_athlete(connection: Connection, athlete: str) -> tuple[Draft, ...]:
    """The drafts of one athlete, the one saved last first."""
    rows = connection.execute(_DRAFTS.where(drafts.c.athlete == athlete))
    return tuple(Draft(**row._mapping) for row in rows)


_DRAFTS = select(drafts).order_by(drafts.c.saved.desc(), drafts.c.id)
