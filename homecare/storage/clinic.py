"""The clinic's settings: one row, the text of a clinic file, and its logo."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import Connection, insert, select, update

from homecare.storage.tables import clinic

_ONE = 1


def read_settings(connection: Connection) -> str | None:
    """The settings as they were saved, None when none ever were."""
    return connection.scalar(select(clinic.c.settings).where(clinic.c.id == _ONE))


def save_settings(connection: Connection, settings: str, at: datetime) -> None:
    """Save the settings over the ones before; the logo stays."""
    _save(connection, settings=settings, saved=at)


def read_logo(connection: Connection) -> bytes | None:
    """The logo as it was saved, None when there is none. Here it is in every backup."""
    return connection.scalar(select(clinic.c.logo).where(clinic.c.id == _ONE))


def save_logo(connection: Connection, logo: bytes | None, at: datetime) -> None:
    """Save the logo over the one before, or take it away; the settings stay."""
    _save(connection, logo=logo, saved=at)


def _save(connection: Connection, **values: object) -> None:
    if not connection.execute(update(clinic).where(clinic.c.id == _ONE).values(**values)).rowcount:
        connection.execute(insert(clinic).values(**{"id": _ONE, "settings": "", **values}))
