"""The clinic's folder behind the library's pages: edits one at a time, drafts, and every text that it ever had."""

from __future__ import annotations

import json
import threading
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any
from urllib.parse import quote, unquote

from homecare.core.problems import InputFault, Problem, Source
from homecare.desk.bench import Bench
from homecare.desk.form import Form, form_text, read_form_text
from homecare.library import archive, upkeep
from homecare.library.archive import write_whole
from homecare.library.load import Library, load_library
from homecare.storage.use import athletes_with

DRAFTS = "drafts"
"""Folder of drafts in the clinic's library folder: `.json`, so that no reader of the library takes them for records."""


@dataclass(frozen=True)
class Version:
    """A text that a drill has, has as shipped, or had: by its hash, in words."""

    revision: str
    words: str
    content: Mapping[str, object]


class Keeper:
    """One desk's library folder, changed by one at a time."""

    def __init__(self, bench: Bench) -> None:
        self.bench = bench
        self._writing = threading.Lock()

    @property
    def library(self) -> Library:
        """The library as the next sheet has it."""
        return self.bench.library

    @property
    def shipped(self) -> Library:
        """The library as it ships."""
        return load_library()

    def change(self, edit: Callable[[Path], object]) -> None:
        """Do one edit of the folder and read it anew. Raises InputFault or OSError; then nothing is changed."""
        with self._writing:
            edit(self.bench.folder)
            self.bench.reload_library()

    def put(self, key: str, content: Mapping[str, object], section: str = "drills") -> tuple[Problem, ...]:
        """Save a record, or give the faults for which it was not; an error of the disk is one of them."""
        try:
            self.change(lambda own: upkeep.put(own, section, key, content))
        except InputFault as fault:
            return fault.problems
        except OSError as error:
            message = f"it could not be written into the clinic's folder: {error.strerror}"
            return (Problem(Source("library"), "disk", message),)
        return ()

    def codes(self) -> frozenset[str]:
        """Every short code that a kept text has: it may be printed on a sheet that hangs in a kitchen."""
        found = (_read(path) for path in (self.bench.folder / archive.FOLDER).glob("*.json"))
        return frozenset(str(one["content"].get("code", "")) for one in found if isinstance(one.get("content"), dict))

    def keep_draft(self, key: str, form: Form) -> None:
        """Keep what was typed for a drill that cannot be saved yet, or need not be. Raises OSError."""
        write_whole(self._draft(key), form_text(form).encode())

    def draft(self, key: str) -> Form | None:
        """The draft of a drill, None when there is none that can be read."""
        try:
            return read_form_text(self._draft(key).read_text(encoding="utf-8"))
        except (OSError, ValueError):
            return None

    def drop_draft(self, key: str) -> None:
        """Throw a draft away; none is there to throw away is no fault. Raises OSError."""
        self._draft(key).unlink(missing_ok=True)

    def drafts(self) -> tuple[str, ...]:
        """The ids of the drills that have a draft."""
        return tuple(sorted(unquote(path.stem) for path in (self.bench.folder / DRAFTS).glob("*.json")))

    def _draft(self, key: str) -> Path:
        return self.bench.folder / DRAFTS / f"{quote(key, safe='')}.json"  # no name leads out of the folder

    def versions(self, drill: str) -> tuple[Version, ...]:
        """Every text of a drill: as it is, as it ships, and those kept, the last kept first."""
        place = ("drills", drill)
        entry, below = self.library.entries.get(place), self.shipped.entries.get(place)
        found = {}
        if entry is not None:
            found[entry.hash] = Version(entry.hash, "as it is now", entry.content)
        if below is not None:
            found.setdefault(below.hash, Version(below.hash, "as it ships", below.content))
        for path in sorted((self.bench.folder / archive.FOLDER).glob("*.json"), key=_kept_at, reverse=True):
            if path.stem not in found and (kept := _kept_of(self.bench.folder, path, drill)) is not None:
                day = datetime.fromtimestamp(_kept_at(path), UTC).astimezone()
                found[path.stem] = Version(path.stem, f"kept on {day.day} {day:%B %Y, %H:%M}", kept)
        return tuple(found.values())

    def athletes_with(self, drill: str) -> int:
        """How many athletes have a drill on their latest sheet."""
        with self.bench.database.read() as connection:
            return athletes_with(connection, "drills", drill)

    def bring_back(self, drill: str, revision: str) -> None:
        """Put an earlier text of a drill in the place of today's, which is kept. Raises InputFault."""
        shipped = self.shipped.entries.get(("drills", drill))
        if shipped is not None and shipped.hash == revision:
            self.change(lambda own: upkeep.restore(own, drill))
            return
        content = {one.revision: one.content for one in self.versions(drill)}.get(revision)
        if content is None:
            raise InputFault([Problem(Source("library"), "revision", "this text is not kept")])
        self.change(lambda own: upkeep.put(own, "drills", drill, content))


def _kept_at(path: Path) -> float:
    try:
        return path.stat().st_mtime
    except OSError:
        return 0.0


def _kept_of(folder: Path, path: Path, drill: str) -> Mapping[str, object] | None:
    """The kept content in a file when it is of a drill; other records are passed over before their hash is counted."""
    if _read(path).get("id") != drill:
        return None
    kept = archive.kept(folder, path.stem)
    return kept[1] if kept is not None and kept[0] == ("drills", drill) else None


def _read(path: Path) -> dict[str, Any]:
    """A kept file's object, empty where it cannot be read."""
    try:
        found = json.loads(path.read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return {}
    return found if isinstance(found, dict) else {}
