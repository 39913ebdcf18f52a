"""The one file of a backup: a zip with the database, the clinic's own library, and the hash of each file."""

from __future__ import annotations

import hashlib
import json
import lzma
import os
import sqlite3
import tempfile
import zipfile
import zlib
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path, PurePosixPath
from typing import IO, Any

from sqlalchemy import Connection, insert, select

from homecare.storage import place, sqlite
from homecare.storage.faults import StorageFault, of_the_system
from homecare.storage.tables import backups

FORMAT = 1
LIST, LIBRARY = "backup.json", "library"
_MOST_LIST_BYTES = 50_000_000
_CHUNK = 1 << 20
_NO_ZIP = (zipfile.BadZipFile, zlib.error, lzma.LZMAError, EOFError, NotImplementedError, RuntimeError)
"""What reading a zip raises that is none, or was altered (RecursionError is a RuntimeError)."""


@dataclass(frozen=True)
class BackedUp:
    """A checked backup: when it was made, the bytes of its file, and what is in it."""

    at: datetime
    size: int
    athletes: int
    sheets: int
    library_files: int


@dataclass(frozen=True)
class Entry:
    """One file of a backup by its path in it, with its bytes' number and hash."""

    path: str
    size: int
    sha256: str


@dataclass(frozen=True)
class Contents:
    """What a backup says of itself."""

    backed_up: BackedUp
    files: tuple[Entry, ...]

    @property
    def library(self) -> Mapping[str, str]:
        """The hashes of the library's files by their paths in its folder."""
        start = f"{LIBRARY}/"
        return {one.path.removeprefix(start): one.sha256 for one in self.files if one.path.startswith(start)}


def write_backup(database: Path, library: Path, target: Path, at: datetime) -> BackedUp:
    """Write a backup of a database that may be in use, and of a folder that need not be there; check it; name it last.

    Raises StorageFault in words where the database is damaged or the file cannot be written; then there is no file, or
    the one that stood under the name before.
    """
    _refuse_target(database, library, target)
    try:
        with tempfile.TemporaryDirectory(dir=database.parent, prefix=place.LEFT_START) as folder:
            copy, counts = Path(folder) / place.FILE, {}

            def check(connection: sqlite3.Connection) -> None:
                sqlite.check_whole(connection, database)
                for name in ("athletes", "sheets"):
                    (counts[name],) = connection.execute(f"SELECT count(*) FROM {name}").fetchone()

            sqlite.copy_whole(database, copy, check)
            with _part(target) as part:
                made = _write_zip(part, copy, library, at, counts)
                check_backup(part)
                sqlite.put_in_place(part, target)
    except OSError as error:
        raise of_the_system(target, "the backup cannot be written", error) from error
    return made


def read_contents(path: Path) -> Contents:
    """What is in a backup. Raises StorageFault where the file is none, or made by a newer program."""
    try:
        with zipfile.ZipFile(path) as whole:
            listed = whole.getinfo(LIST)
            if listed.file_size > _MOST_LIST_BYTES:
                raise ValueError("no list is so long")
            told = json.loads(whole.read(listed))
            names = sorted(whole.namelist())
        if told["format"] != FORMAT:
            raise StorageFault(path, "newer", "a newer version of this program made this backup", "use the newer one")
        return _contents(told, names, path.stat().st_size)
    except OSError as error:
        raise of_the_system(path, "this file cannot be read", error) from error
    except (*_NO_ZIP, OverflowError, ValueError, KeyError, TypeError) as error:
        raise StorageFault(path, "no-backup", "this is no backup of this program, or it is damaged") from error


def check_backup(path: Path) -> Contents:
    """Read all of a backup, and return what is in it. Raises StorageFault when any of it was altered."""
    contents = read_contents(path)
    with _opened(path) as whole:
        for one in contents.files:
            _copy(whole, one, path, None)
    return contents


def unpack(path: Path, contents: Contents, folder: Path) -> None:
    """Write the files of a backup into a folder, each checked. Raises StorageFault when one was altered, or OSError."""
    with _opened(path) as whole:
        for one in contents.files:
            place_of_it = folder / one.path
            place_of_it.parent.mkdir(parents=True, exist_ok=True)
            with place_of_it.open("wb") as out:
                _copy(whole, one, path, out)
                out.flush()
                os.fsync(out.fileno())


def record_backup(connection: Connection, made: BackedUp) -> None:
    """Remember a backup, for the desk to say when the last one was."""
    connection.execute(insert(backups).values(vars(made)))


def find_last(connection: Connection) -> BackedUp | None:
    """The last backup that was remembered, None when there was none yet."""
    row = connection.execute(select(backups).order_by(backups.c.at.desc()).limit(1)).one_or_none()
    return BackedUp(**row._mapping) if row else None


def library_files(folder: Path) -> dict[str, Path]:
    """The files of a library folder by their paths in it; what is hidden or only half written is none of them."""
    found = {}
    for path in sorted(folder.rglob("*")):
        inside = path.relative_to(folder)
        if path.is_file() and not any(part.startswith(".") for part in inside.parts):
            found[inside.as_posix()] = path
    return found


def hash_of(path: Path) -> str:
    """The SHA-256 of a file's bytes. Raises OSError."""
    with path.open("rb") as stream:
        return hashlib.file_digest(stream, "sha256").hexdigest()


def _write_zip(part: Path, copy: Path, library: Path, at: datetime, counts: Mapping[str, int]) -> BackedUp:
    # Not packed tighter: what fills a database is packed already, and a backup that is quick is made more often.
    with zipfile.ZipFile(part, "w", zipfile.ZIP_STORED) as whole:
        files = [_add(whole, place.FILE, copy)]
        for name, path in library_files(library).items():
            try:
                files.append(_add(whole, f"{LIBRARY}/{name}", path))
            except FileNotFoundError:  # an edit took it away just now
                continue
        told = {
            "format": FORMAT,
            "made": at.isoformat(),
            **counts,
            "files": [vars(one) for one in files],
        }
        whole.writestr(LIST, json.dumps(told, indent=1))
    return BackedUp(at, part.stat().st_size, counts["athletes"], counts["sheets"], len(files) - 1)


def _add(whole: zipfile.ZipFile, name: str, path: Path) -> Entry:
    digest, size = hashlib.sha256(), 0
    with path.open("rb") as source:
        info = zipfile.ZipInfo(name)
        info.external_attr = 0o600 << 16
        with whole.open(info, "w", force_zip64=True) as out:
            while chunk := source.read(_CHUNK):
                digest.update(chunk)
                size += len(chunk)
                out.write(chunk)
    return Entry(name, size, digest.hexdigest())


def _contents(told: dict[str, Any], names: list[str], size: int) -> Contents:
    files = tuple(Entry(str(one["path"]), int(one["size"]), str(one["sha256"])) for one in told["files"])
    if sorted([LIST, *(one.path for one in files)]) != names or place.FILE not in names:
        raise ValueError("the list is not of these files")
    if not all(one.path == place.FILE or _is_inside(one.path) for one in files):
        raise ValueError("a path that leads elsewhere")
    at = datetime.fromisoformat(told["made"])
    if at.tzinfo is None:
        raise ValueError("a moment needs its time zone")
    made = BackedUp(at, size, int(told["athletes"]), int(told["sheets"]), len(files) - 1)
    return Contents(made, files)


def _is_inside(path: str) -> bool:
    """Whether a path leads into the library's folder and nowhere else, on any system."""
    plain = PurePosixPath(path)
    parts = plain.parts
    strange = any(sign in path for sign in ("\\", ":", "\0"))
    return len(parts) > 1 and parts[0] == LIBRARY and ".." not in parts and str(plain) == path and not strange


def _copy(whole: zipfile.ZipFile, one: Entry, path: Path, out: IO[bytes] | None) -> None:
    """Read one file of a backup, into `out` if there is one; raises StorageFault when it is not what was backed up."""
    digest, size = hashlib.sha256(), 0
    with whole.open(one.path) as source:
        while (chunk := source.read(_CHUNK)) and size <= one.size:
            size += len(chunk)
            digest.update(chunk)
            if out is not None:
                out.write(chunk)
    if (size, digest.hexdigest()) != (one.size, one.sha256):
        raise StorageFault(path, "damaged", f"{one.path} in this backup is not what was backed up", "use another one")


@contextmanager
def _opened(path: Path) -> Iterator[zipfile.ZipFile]:
    try:
        with zipfile.ZipFile(path) as whole:
            yield whole
    except _NO_ZIP as error:
        raise StorageFault(path, "damaged", "this backup is damaged", "use another one") from error


@contextmanager
def _part(target: Path) -> Iterator[Path]:
    descriptor, name = tempfile.mkstemp(dir=target.parent, prefix=place.LEFT_START, suffix=".part")
    os.close(descriptor)
    try:
        yield Path(name)
    finally:
        Path(name).unlink(missing_ok=True)


def _refuse_target(database: Path, library: Path, target: Path) -> None:
    there = target.resolve()
    if target.is_dir():
        raise StorageFault(target, "folder", "this is a folder, not a file", "name a file in it")
    if not target.parent.is_dir():
        raise StorageFault(target, "folder", "there is no such folder", "make it first, or name another")
    among_records = there.parent == database.parent.resolve() and there.name.startswith(place.FILE)
    if among_records or library.resolve() in there.parents:
        raise StorageFault(target, "target", "a backup may not stand among what it keeps", "name a file elsewhere")
