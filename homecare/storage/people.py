"""Who may sign in at the desk: names, hashes of their passphrases, roles, and since when their sessions hold."""

from __future__ import annotations

import unicodedata
from dataclasses import dataclass, field
from datetime import datetime
from typing import Literal

from sqlalchemy import Connection, func, insert, select, update

from homecare.storage.athletes import new_id
from homecare.storage.tables import people

Role = Literal["owner", "member"]


@dataclass(frozen=True)
class Person:
    """One person of the clinic. A session that began before `signed_out` is void; `ended` is None while they work."""

    id: str
    name: str
    passphrase_hash: str = field(repr=False)
    role: Role
    created: datetime
    signed_out: datetime
    ended: datetime | None


class NameTaken(Exception):
    """Somebody, or something, has this name already; capitals do not count."""


class LastOwner(Exception):
    """The only owner left may not end or become a member: nobody could let people in."""


def add_person(connection: Connection, name: str, passphrase_hash: str, role: Role, at: datetime) -> Person:
    """Add a person. Raises NameTaken, or ValueError for an empty name."""
    tidy = tidy_name(name)
    if find_person(connection, tidy) is not None:
        raise NameTaken(tidy)
    person = Person(new_id(), tidy, passphrase_hash, role, at, at, None)
    connection.execute(insert(people).values(**vars(person), name_key=name_key(tidy)))
    return person


def list_people(connection: Connection, *, ended: bool = False) -> tuple[Person, ...]:
    """Those who may sign in, by name; with `ended` also those who might once."""
    question = _PERSON if ended else _PERSON.where(people.c.ended.is_(None))
    rows = connection.execute(question.order_by(people.c.name_key, people.c.created))
    return tuple(Person(**row._mapping) for row in rows)


def find_person(connection: Connection, name: str) -> Person | None:
    """Who may sign in under a name, capitals aside; None when nobody may."""
    question = _PERSON.where(people.c.name_key == name_key(name), people.c.ended.is_(None))
    row = connection.execute(question).one_or_none()
    return Person(**row._mapping) if row else None


def person_of(connection: Connection, id: str) -> Person | None:
    """Who may sign in of an id; None when there is none, or it has ended."""
    row = connection.execute(_PERSON.where(people.c.id == id, people.c.ended.is_(None))).one_or_none()
    return Person(**row._mapping) if row else None


def change_passphrase(connection: Connection, id: str, passphrase_hash: str, at: datetime) -> None:
    """Another passphrase from now on; sessions that began before are void. Raises KeyError."""
    _change(connection, id, passphrase_hash=passphrase_hash, signed_out=at)


def change_role(connection: Connection, id: str, role: Role) -> None:
    """Make a person an owner or a member. Raises KeyError, or LastOwner."""
    if role != "owner":
        _refuse_last_owner(connection, id)
    _change(connection, id, role=role)


def end_person(connection: Connection, id: str, at: datetime) -> None:
    """This person signs in no more, and their sessions are void; the name is free again. Raises KeyError, LastOwner."""
    _refuse_last_owner(connection, id)
    _change(connection, id, ended=at, signed_out=at)


def sign_out(connection: Connection, at: datetime, id: str | None = None) -> None:
    """Make every session void that began before, of one person or (no id) of everybody."""
    changed = update(people).values(signed_out=at)
    connection.execute(changed if id is None else changed.where(people.c.id == id))


def tidy_name(name: str) -> str:
    """A name as it is kept: composed letters, single blanks. Raises ValueError where nothing is left."""
    tidy = " ".join(unicodedata.normalize("NFC", name).split())
    if not tidy:
        raise ValueError("a name needs a letter")
    return tidy


def name_key(name: str) -> str:
    """By this two names are the same."""
    return " ".join(unicodedata.normalize("NFKC", name).casefold().split())


_PERSON = select(*(column for column in people.c if column.name != "name_key"))


def _change(connection: Connection, id: str, **values: object) -> None:
    changed = update(people).where(people.c.id == id, people.c.ended.is_(None)).values(**values)
    if not connection.execute(changed).rowcount:
        raise KeyError(id)


def _refuse_last_owner(connection: Connection, id: str) -> None:
    owners = select(func.count()).select_from(people).where(people.c.role == "owner", people.c.ended.is_(None))
    is_owner = connection.scalar(owners.where(people.c.id == id))
    if is_owner and connection.scalar(owners) == 1:
        raise LastOwner(id)
