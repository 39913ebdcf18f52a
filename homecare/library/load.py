"""Reads the shipped library, with the clinic's folder laid over it, into one typed Library."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import lru_cache
from pathlib import Path
from typing import Any, cast

import yaml

from homecare.core.atlas import Atlas, ClinicTest, FiringOrder, MarkerTest, Word
from homecare.core.drill import Caution, Drill, Flag, Habit, Ladder, Outlook, Weight
from homecare.core.pose import Posture, Surface
from homecare.core.problems import InputFault, Problem, Source, did_you_mean
from homecare.figure.lengths import MuscleLength
from homecare.figure.motions import motions
from homecare.library.names import NameIndex, name_index
from homecare.library.nodes import Fields, Reader, Reference, canonical, compose, content_hash, read_text
from homecare.library.photos import Photo, with_pictures
from homecare.library.records import SECTIONS
from homecare.resources import resource_dir

MAX_FILES = 2000
FRAME = ("based_on", "retired", "hidden")
"""Keys of the clinic's own records: the shipped record each was written over, and whether a drill is out of use."""

Place = tuple[str, str]
"""A record's section and id."""


@dataclass(frozen=True)
class Entry:
    """A record as it was read: where it stands, its content as plain values without the frame, the hash of that.

    `own` tells the clinic's records from the shipped ones; `based_on` is the hash of the shipped record that it was
    written over, '' where none is named.
    """

    where: Source
    own: bool
    content: Mapping[str, object]
    hash: str
    based_on: str = ""


@dataclass(frozen=True)
class Library:
    """Everything the clinic's library holds, by id.

    `entries` are the records as they were read, and `revision` is the hash of them all; `framed` says where a clinic
    takes a shipped drill out of use, `photos` are its own photographs by drill.
    """

    atlas: Atlas
    ladders: Mapping[str, Ladder]
    drills: Mapping[str, Drill]
    cautions: Mapping[str, Caution]
    flags: Mapping[str, Flag]
    tests: Mapping[str, ClinicTest]
    markers: Mapping[str, MarkerTest]
    habits: Mapping[str, Habit]
    firing_orders: Mapping[str, FiringOrder]
    worse_with: Mapping[str, Word]
    kit: Mapping[str, Word]
    traits: Mapping[str, Word]
    glossary: Mapping[str, Word]
    outlook: Mapping[str, Outlook]
    evidence: Mapping[str, Weight]
    postures: Mapping[str, Posture]
    surfaces: Mapping[str, Surface]
    lengths: Mapping[str, MuscleLength]
    photos: Mapping[str, Photo]
    names: NameIndex
    entries: Mapping[Place, Entry]
    framed: Mapping[Place, Source]
    revision: str

    def drill_revision(self, drill: str) -> str:
        """The hash of a drill's content: another text, dose or pose gives another."""
        return self.entries["drills", drill].hash


@dataclass
class _Records:
    """Records while they are being read, by section and id."""

    values: dict[str, dict[str, Any]] = field(default_factory=lambda: {section: {} for section in SECTIONS})
    entries: dict[Place, Entry] = field(default_factory=dict)
    framed: dict[Place, Source] = field(default_factory=dict)
    references: dict[Place, list[Reference]] = field(default_factory=dict)
    problems: list[Problem] = field(default_factory=list)

    def copy(self) -> _Records:
        """The same records, to lay others over."""
        return _Records(
            {section: dict(found) for section, found in self.values.items()},
            dict(self.entries),
            dict(self.framed),
            dict(self.references),
            list(self.problems),
        )


def load_library(own: Path | None = None) -> Library:
    """The shipped library with the clinic's folder `own` over it; raises InputFault with every fault."""
    library, problems = read_library(own)
    if library is None or problems:
        raise InputFault(problems)
    return library


def read_library(own: Path | None = None) -> tuple[Library | None, tuple[Problem, ...]]:
    """As `load_library`, but gives the problems back; the library is None when it cannot be put together."""
    shipped = resource_dir("exercise_library")
    if own is not None and not own.is_dir():
        return None, (Problem(Source(str(own)), "missing", "there is no such folder"),)
    stamp = _stamp(shipped)
    if own is None:
        return _shipped_library(shipped, stamp)
    records = _shipped(shipped, stamp).copy()
    _read_folder(records, own, own=True)
    _check_references(records)
    records.values["photos"], problems = with_pictures(records.values["photos"], own)
    records.problems += problems
    if records.problems:
        return None, tuple(sorted(records.problems))
    return _assemble(records, _as_shipped(records, shipped, stamp))


Stamp = tuple[tuple[str, int, int], ...]
"""The files of a folder with their times and sizes: as long as these hold, what was read of them holds."""


def _files(folder: Path) -> list[Path]:
    return sorted(folder.rglob("*.yaml"))[:MAX_FILES]


def _stamp(folder: Path) -> Stamp:
    found = ((path, path.stat()) for path in _files(folder))
    return tuple((str(path), stat.st_mtime_ns, stat.st_size) for path, stat in found)


@lru_cache(maxsize=2)
def _shipped(folder: Path, stamp: Stamp) -> _Records:
    """The records of the shipped library, read once: an edit of the clinic's reads only the clinic's own files."""
    records = _Records()
    _read_folder(records, folder, own=False)
    return records


@lru_cache(maxsize=2)
def _shipped_library(folder: Path, stamp: Stamp) -> tuple[Library | None, tuple[Problem, ...]]:
    """The shipped library alone, put together once."""
    records = _shipped(folder, stamp).copy()
    _check_references(records)
    return (None, tuple(sorted(records.problems))) if records.problems else _assemble(records, {})


def _as_shipped(records: _Records, folder: Path, stamp: Stamp) -> Mapping[str, Drill]:
    """The drills that the clinic's folder left as they ship, posed already."""
    below, (whole, _) = _shipped(folder, stamp).values, _shipped_library(folder, stamp)
    if whole is None or records.values["postures"] != below["postures"]:
        return {}
    drills = records.values["drills"].items()
    return {key: whole.drills[key] for key, drill in drills if drill is below["drills"].get(key)}


def _read_folder(records: _Records, folder: Path, own: bool) -> None:
    for path in _files(folder):
        _read_file(records, path, path.relative_to(folder).as_posix(), own)


def _read_file(records: _Records, path: Path, name: str, own: bool) -> None:
    try:
        root = compose(read_text(path), name)
    except InputFault as fault:
        records.problems += fault.problems
        return
    reader = Reader(name)
    for section, section_node, node in reader.pairs(root, "the file") if root is not None else ():
        if section not in SECTIONS:
            reader.fault(section_node, "section", f"{section!r} is no section", did_you_mean(section, SECTIONS))
            continue
        for key, key_node, value in reader.pairs(node, f"{section!r}"):
            _read_record(records, reader, (section, key), key_node, value, own)
    records.problems += reader.problems


def _read_record(
    records: _Records, reader: Reader, place: Place, key_node: yaml.Node, value: yaml.Node, own: bool
) -> None:
    section, key = place
    before = records.entries.get(place)
    first = records.framed.get(place) or (before.where if before and before.own == own else None)
    if first:
        reader.fault(key_node, "twice", f"{key!r} is in {section!r} already", f"first in {first}")
        return
    reader.references = []
    fields = Fields(reader, value, f"{key!r}")
    state = {name: True for name in ("retired", "hidden") if fields.flag(name, False)}
    based_on = fields.text("based_on", "")
    if state and (section != "drills" or not own):
        message = f"{key!r} cannot be {' or '.join(state)}"
        reader.fault(key_node, "frame", message, "only a drill in a clinic's own folder can")
        return
    content = _content(value)
    if state and not content and before:
        records.framed[place] = reader.place(key_node)
        records.values[section][key] = replace(records.values[section][key], **state)
        return
    record: Any = SECTIONS[section](fields, key)
    if not fields.finish():
        return
    records.values[section][key] = replace(record, **state) if state else record
    records.references[place] = reader.references
    records.entries[place] = Entry(reader.place(key_node), own, content, content_hash(content), based_on)


def _content(node: yaml.Node) -> Mapping[str, object]:
    """A record as plain values, without what frames it in a clinic's folder."""
    plain = canonical(node)
    return {name: part for name, part in plain.items() if name not in FRAME} if isinstance(plain, dict) else {}


def _check_references(records: _Records) -> None:
    for (section, key), references in records.references.items():
        for reference in references:
            if any(reference.id in records.values[target] for target in reference.sections):
                continue
            known = [one for target in reference.sections for one in records.values[target]]
            message = (
                f"{key!r} in {section!r} names {reference.id!r}, which is not in {' or '.join(reference.sections)}"
            )
            records.problems.append(
                Problem(reference.source, "dead-reference", message, did_you_mean(reference.id, known))
            )


def _assemble(records: _Records, done: Mapping[str, Drill]) -> tuple[Library | None, tuple[Problem, ...]]:
    """The library of some records; `done` are drills that are posed already."""
    values, entries = records.values, records.entries
    atlas = Atlas(values["tissues"], values["sites"], values["zones"], values["groups"])
    words: dict[str, Mapping[str, Word]] = {key: values[key] for key in ("worse_with", "kit", "traits")}
    names, problems = name_index(atlas, words, {place: entry.where for place, entry in entries.items()})
    if problems:
        return None, tuple(problems)
    rest = {key: values[key] for key in SECTIONS if key not in {"tissues", "sites", "zones", "groups"}}
    drills = values["drills"].items()
    rest["drills"] = {key: done.get(key) or posed(drill, values["postures"]) for key, drill in drills}
    library = Library(
        atlas=atlas,
        names=names,
        entries=entries,
        framed=records.framed,
        revision=content_hash({"/".join(place): entry.hash for place, entry in entries.items()}),
        **cast(dict[str, Any], rest),
    )
    return library, ()


def posed(drill: Drill, postures: Mapping[str, Posture]) -> Drill:
    """The drill with its posture under its figure, and the motions that its written poses make."""
    if drill.figure is None:
        return drill
    figure = drill.figure.over(postures[drill.figure.posture])
    start = None if figure.start is None else motions(figure.start, "right")
    return replace(drill, figure=figure, start=start, end=motions(figure.end, "right"))
