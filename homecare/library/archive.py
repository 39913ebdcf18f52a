"""Every revision of a record that a sheet ever used or an edit replaced, kept by its hash in the clinic's folder."""

from __future__ import annotations

import json
import os
import tempfile
from collections.abc import Iterable, Mapping
from pathlib import Path

from homecare.core.problems import InputFault, Problem, Source, did_you_mean
from homecare.library.load import Entry, Library, Place
from homecare.library.nodes import content_hash

FOLDER = "kept"
"""Folder of the revisions: one file a hash, `.json`, so that no reader of the library takes it for a record."""


def keep(folder: Path, entries: Mapping[Place, Entry]) -> None:
    """Keep the content of some records; what is kept already is left as it is. Raises OSError."""
    for (section, key), entry in entries.items():
        path = _path(folder, entry.hash)
        if not path.exists():
            record = {"section": section, "id": key, "content": entry.content}
            write_whole(path, json.dumps(record, ensure_ascii=False, indent=1).encode())


def kept(folder: Path, revision: str) -> tuple[Place, Mapping[str, object]] | None:
    """A kept record by the hash of its content, or None; a file that was changed by hand counts as not there."""
    try:
        record = json.loads(_path(folder, revision).read_text(encoding="utf-8"))
        content = record["content"]
    except (OSError, ValueError, KeyError, TypeError):
        return None
    return ((record["section"], record["id"]), content) if content_hash(content) == revision else None


def all_kept(folder: Path) -> tuple[str, ...]:
    """The hashes of everything kept, in order."""
    return tuple(sorted(path.stem for path in (folder / FOLDER).glob("*.json")))


def find(folder: Path, start: str) -> str:
    """The one kept hash that begins so; raises InputFault when there is none, or more than one."""
    known = all_kept(folder)
    found = [one for one in known if one.startswith(start)] if start else []
    if len(found) == 1:
        return found[0]
    message = f"{start!r} begins {len(found)} kept revisions" if found else f"no revision {start!r} is kept"
    raise InputFault([Problem(Source(str(folder / FOLDER)), "revision", message, did_you_mean(start, known))])


def used(library: Library, drills: Iterable[str]) -> Mapping[Place, Entry]:
    """The records that the texts and doses of some drills came from: the drills and their ladders."""
    places: list[Place] = []
    for key in drills:
        ladder = library.ladders[library.drills[key].ladder]
        places += [("drills", key), ("ladders", ladder.id)]
        places += [("ladders", one) for one in (ladder.ages or {}).values()]
    return {place: library.entries[place] for place in places}


def write_whole(path: Path, content: bytes) -> None:
    """Write a file so that it is there whole or not at all, even when the power goes. Raises OSError."""
    path.parent.mkdir(parents=True, exist_ok=True)
    descriptor, name = tempfile.mkstemp(dir=path.parent, prefix=".new-")
    try:
        with os.fdopen(descriptor, "wb") as stream:
            stream.write(content)
            stream.flush()
            os.fsync(stream.fileno())
        Path(name).chmod(0o644)
        Path(name).replace(path)
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise


def _path(folder: Path, revision: str) -> Path:
    return folder / FOLDER / f"{revision}.json"
