"""The clinic's settings: one row, the text of a clinic file."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import Connection, insert, select, update

from homecare.storage.tables import clinic

_ONE = 1


def read_settings(connection: Connection) -> str | None:
    """The settings as they were saved, None when none ever were."""
    return connection.scalar(select(clinic.c.settings).where(clinic.c.id == _ONE))


def save_settings(connection: Connection, settings: str, at: datetime) -> None:
    """Save the settings over the ones before."""
    changed = update(clinic).where(clinic.c.id == _ONE).values(settings=settings, saved=at)
    if not connection.execute(changed).rowcount:
        connection.execute(insert(clinic).values(id=_ONE, settings=settings, saved=at))
