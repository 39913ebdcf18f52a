"""Where the database lies, and the names of the copies that are kept beside it."""

from __future__ import annotations

import os
import secrets
import shutil
from contextlib import suppress
from datetime import UTC, datetime
from pathlib import Path

FILE = "homecare.sqlite"
LIBRARY = "library"
"""The clinic's own library in the data folder, where no other was named."""
KEPT = "homecare-*.sqlite*"
"""Pattern of the copies beside the database: before a migration, before a restore, and what could not be used."""

LEFT_START = ".homecare-"
"""How the names begin of what is only there while something is copied."""
_LEFT_S = 24 * 3600.0


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


def unfiled_folder(folder: Path) -> Path:
    """Where sheets lie that were handed over while the database could not be written."""
    return folder / "unfiled"


def copy_name(path: Path, what: str) -> Path:
    """A free name beside a file or folder for a copy, with the time in UTC: `homecare-WHAT-20260302T101500Z.sqlite`."""
    stem = f"{path.stem}-{what}-{datetime.now(UTC):%Y%m%dT%H%M%SZ}"
    name, number = path.with_name(f"{stem}{path.suffix}"), 1
    while name.exists():
        number += 1
        name = path.with_name(f"{stem}-{number}{path.suffix}")
    return name


def copies(folder: Path) -> tuple[Path, ...]:
    """The copies that are kept beside the database, by name; also what a copying left that was ended by force."""
    return tuple(sorted([*folder.glob(KEPT), *folder.glob(f"{LEFT_START}*")]))


def clear_leftovers(folder: Path, now: float) -> None:
    """Remove what a copying left that was ended by force; what is younger than a day may still be in use."""
    for path in folder.glob(f"{LEFT_START}*"):
        with suppress(OSError):
            if now - path.stat().st_mtime > _LEFT_S:
                shutil.rmtree(path) if path.is_dir() else path.unlink()
