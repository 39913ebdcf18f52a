"""Where the database lies, and the names of the copies that are kept beside it."""

from __future__ import annotations

import os
import secrets
from datetime import UTC, datetime
from pathlib import Path

FILE = "homecare.sqlite"
KEPT = "homecare-*.sqlite"
"""Pattern of the copies beside the database: before a migration, and before a restore."""


def data_folder() -> Path:
    """The user's data folder: $XDG_DATA_HOME or ~/.local/share (XDG Base Directory Specification 0.8)."""
    given = os.environ.get("XDG_DATA_HOME", "")
    base = Path(given) if given.startswith("/") else Path.home() / ".local" / "share"
    return base / "homecare"


def session_key(folder: Path) -> bytes:
    """The key that signs the desk's sessions, made once: 32 random bytes, for this user alone. Raises OSError.

    It is no part of the database, so no backup carries it.
    """
    path = folder / "session.key"
    try:
        descriptor = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    except FileExistsError:
        return path.read_bytes()
    with os.fdopen(descriptor, "wb") as stream:
        stream.write(secrets.token_bytes(32))
    return path.read_bytes()


def make_private(path: Path) -> None:
    """Make the folder and an empty file there, for this user alone; what is there already is left as it is."""
    path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
    os.close(os.open(path, os.O_RDWR | os.O_CREAT, 0o600))


def copy_name(database: Path, what: str) -> Path:
    """A free name beside the database for a copy, with the time in UTC: `homecare-WHAT-20260302T101500Z.sqlite`."""
    stem = f"homecare-{what}-{datetime.now(UTC):%Y%m%dT%H%M%SZ}"
    path, number = database.with_name(f"{stem}.sqlite"), 1
    while path.exists():
        number += 1
        path = database.with_name(f"{stem}-{number}.sqlite")
    return path


def copies(folder: Path) -> tuple[Path, ...]:
    """The copies that are kept beside the database, by name."""
    return tuple(sorted(folder.glob(KEPT)))
