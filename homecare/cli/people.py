"""`homecare people`: who signs in at the desk, set up on the machine that keeps its records."""

from __future__ import annotations

import argparse
import sys
from datetime import UTC, datetime
from getpass import getpass

from homecare import passphrases
from homecare.cli.errors import USER_FAULT
from homecare.library.clinic import clinic_of_text
from homecare.storage import people
from homecare.storage.clinic import read_settings
from homecare.storage.database import Database, open_database
from homecare.storage.people import LastOwner, NameTaken, Person


def run_add(arguments: argparse.Namespace) -> int:
    """Add a person."""
    database = open_database(arguments.data)
    if not people.name_key(arguments.name):
        return _refused("a name needs a letter")
    hash = _asked(database, arguments.name)
    if hash is None:
        return USER_FAULT
    with database.write() as connection:
        owner = arguments.owner or not people.list_people(connection)
        try:
            made = people.add_person(
                connection, arguments.name, hash, "owner" if owner else "member", datetime.now(UTC)
            )
        except NameTaken:
            return _refused("somebody has this name already")
    print(f"{made.name} may sign in, as {'an owner' if owner else 'a member'}.")
    return 0


def run_passphrase(arguments: argparse.Namespace) -> int:
    """Set another passphrase; sessions of before have ended."""
    database = open_database(arguments.data)
    person = _found(database, arguments.name)
    hash = _asked(database, arguments.name) if person else None
    if person is None or hash is None:
        return USER_FAULT
    with database.write() as connection:
        people.change_passphrase(connection, person.id, hash, datetime.now(UTC))
    print(f"{person.name} has another passphrase, and is signed out everywhere.")
    return 0


def run_end(arguments: argparse.Namespace) -> int:
    """End a person's signing in; their sessions have ended too."""
    database = open_database(arguments.data)
    person = _found(database, arguments.name)
    if person is None:
        return USER_FAULT
    with database.write() as connection:
        try:
            people.end_person(connection, person.id, datetime.now(UTC))
        except LastOwner:
            return _refused("this is the only owner: make somebody else one first")
    print(f"{person.name} signs in no more.")
    return 0


def run_list(arguments: argparse.Namespace) -> int:
    """List who signs in."""
    with open_database(arguments.data).read() as connection:
        everyone = people.list_people(connection)
    for person in everyone:
        print(f"{person.name}  {person.role}")
    if not everyone:
        print("Nobody is set up: the desk is open to whoever uses this machine.")
    return 0


def _asked(database: Database, name: str) -> str | None:
    """The hash of a passphrase that is asked for twice, unseen, or read once from standard input; None: at fault."""
    if sys.stdin.isatty():
        typed = getpass("Passphrase, 12 letters or more: ")
        again = getpass("Once more: ")
    else:
        typed = again = sys.stdin.readline().rstrip("\r\n")
    with database.read() as connection:
        clinic = clinic_of_text(read_settings(connection) or "", "the clinic's settings")
    faults = passphrases.faults(typed, again, (clinic.name, name))
    for fault in faults:
        _refused(fault)
    return None if faults else passphrases.kept(typed)


def _found(database: Database, name: str) -> Person | None:
    with database.read() as connection:
        person = people.find_person(connection, name)
    if person is None:
        _refused(f"nobody signs in as {name!r}; `homecare people list` shows who does")
    return person


def _refused(because: str) -> int:
    print(because, file=sys.stderr)
    return USER_FAULT
