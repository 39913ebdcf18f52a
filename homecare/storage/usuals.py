"""The clinic's own starting sets: forms filled in once under a name, to begin a visit with."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection, delete, insert, select, update

from homecare.storage.athletes import new_id
from homecare.storage.people import NameTaken, name_key, tidy_name
from homecare.storage.tables import usuals


@dataclass(frozen=True)
class Usual:
    """One starting set; `text` is a form as a draft holds it."""

    id: str
    name: str
    text: str
    saved: datetime


def save_usual(connection: Connection, name: str, text: str, at: datetime) -> Usual:
    """Save a starting set; one of the same name (capitals aside) is written over. Raises ValueError: an empty name."""
    tidy = tidy_name(name)
    there = connection.scalar(select(usuals.c.id).where(usuals.c.name_key == name_key(tidy)))
    usual = Usual(there or new_id(), tidy, text, at)
    if there:
        connection.execute(update(usuals).where(usuals.c.id == there).values(**vars(usual)))
    else:
        connection.execute(insert(usuals).values(**vars(usual), name_key=name_key(tidy)))
    return usual


def list_usuals(connection: Connection) -> tuple[Usual, ...]:
    """Every starting set, by name."""
    return tuple(Usual(**row._mapping) for row in connection.execute(_USUAL.order_by(usuals.c.name_key)))


def find_usual(connection: Connection, id: str) -> Usual | None:
    """The starting set of an id, None when there is none (any more)."""
    row = connection.execute(_USUAL.where(usuals.c.id == id)).one_or_none()
    return Usual(**row._mapping) if row else None


def rename_usual(connection: Connection, id: str, name: str) -> None:
    """Another name. Raises KeyError, NameTaken by another set, or ValueError for an empty name."""
    tidy = tidy_name(name)
    other = select(usuals.c.id).where(usuals.c.name_key == name_key(tidy), usuals.c.id != id)
    if connection.scalar(other):
        raise NameTaken(tidy)
    changed = update(usuals).where(usuals.c.id == id).values(name=tidy, name_key=name_key(tidy))
    if not connection.execute(changed).rowcount:
        raise KeyError(id)


def remove_usual(connection: Connection, id: str) -> None:
    """Remove a starting set; one that is not there is removed already."""
    connection.execute(delete(usuals).where(usuals.c.id == id))


_USUAL = select(*(column for column in usuals.c if column.name != "name_key"))
