"""Reads the shipped library, with the clinic's folder laid over it, into one typed Library."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import lru_cache
from pathlib import Path
from types import MappingProxyType
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
Files = Mapping[str, bytes | None]
"""Files of a clinic's folder by their path in it, with their new content; None takes the file away."""
NO_FILES: Files = MappingProxyType({})
_ATLAS, _WORDS = ("tissues", "sites", "zones", "groups"), ("worse_with", "kit", "traits")
"""Sections that the atlas is made of, and those whose words may be searched for beside it."""


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


@dataclass(frozen=True)
class _Record:
    """A record as its file has it, before it is laid over others: typed, None where that cannot be.

    Of its problems those of what frames it, the first `framing`, count also where no more than its `state` is used.
    """

    place: Place
    entry: Entry
    value: Any
    state: Mapping[str, bool]
    references: tuple[Reference, ...]
    problems: tuple[Problem, ...]
    framing: int = 0


@dataclass
class _Records:
    """Records while they are being read, by section and id."""

    values: dict[str, dict[str, Any]] = field(default_factory=lambda: {section: {} for section in SECTIONS})
    entries: dict[Place, Entry] = field(default_factory=dict)
    framed: dict[Place, Source] = field(default_factory=dict)
    references: dict[Place, tuple[Reference, ...]] = field(default_factory=dict)
    problems: list[Problem] = field(default_factory=list)

    def copy(self) -> _Records:
        """The same records, to lay others over: what they name stays there, so it is not looked for again."""
        return _Records({section: dict(found) for section, found in self.values.items()}, dict(self.entries))


def load_library(own: Path | None = None) -> Library:
    """The shipped library with the clinic's folder `own` over it; raises InputFault with every fault."""
    library, problems = read_library(own)
    if library is None or problems:
        raise InputFault(problems)
    return library


def read_library(own: Path | None = None, instead: Files = NO_FILES) -> tuple[Library | None, tuple[Problem, ...]]:
    """As `load_library`, but gives the problems back; the library is None when it cannot be put together.

    `instead` are files of the clinic's folder as they would be: so it is asked what an edit would do before it is done.
    """
    shipped = resource_dir("exercise_library")
    if own is not None and not own.is_dir():
        return None, (Problem(Source(str(own)), "missing", "there is no such folder"),)
    stamp = _stamp(shipped)
    below, problems = _shipped_library(shipped, stamp)
    if own is None or below is None:
        return below, problems
    records = _shipped(shipped, stamp).copy()
    _read_folder(records, own, True, instead)
    records.values["photos"], missing = with_pictures(records.values["photos"], own, instead)
    records.problems += missing
    return _assemble(records, below)


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
    _read_folder(records, folder, False)
    return records


@lru_cache(maxsize=2)
def _shipped_library(folder: Path, stamp: Stamp) -> tuple[Library | None, tuple[Problem, ...]]:
    """The shipped library alone, put together once."""
    return _assemble(_shipped(folder, stamp), None)


def _read_folder(records: _Records, folder: Path, own: bool, instead: Files = NO_FILES) -> None:
    """Lay the records of a folder over those that are there, in the order of its files."""
    added = (Path(name) for name in instead if name.endswith(".yaml"))
    for path in sorted({*(path.relative_to(folder) for path in _files(folder)), *added}):
        name = path.as_posix()
        content = instead.get(name, b"")
        if content is None:
            continue
        try:
            text = content.decode() if name in instead else read_text(folder / path)
            found, problems = _read_file(text, name, own)
        except InputFault as fault:
            records.problems += fault.problems
            continue
        records.problems += problems
        for record in found:
            _lay(records, record)


@lru_cache(maxsize=MAX_FILES)
def _read_file(text: str, name: str, own: bool) -> tuple[tuple[_Record, ...], tuple[Problem, ...]]:
    """The records of a file and what is wrong outside of them, kept by its text, as an edit reads all files again."""
    root = compose(text, name)
    reader, found = Reader(name), []
    for section, section_node, node in reader.pairs(root, "the file") if root is not None else ():
        if section not in SECTIONS:
            reader.fault(section_node, "section", f"{section!r} is no section", did_you_mean(section, SECTIONS))
            continue
        for key, key_node, value in reader.pairs(node, f"{section!r}"):
            found.append(_read_record(name, (section, key), key_node, value, own))
    return tuple(found), tuple(reader.problems)


def _read_record(name: str, place: Place, key_node: yaml.Node, node: yaml.Node, own: bool) -> _Record:
    section, key = place
    reader = Reader(name)
    fields = Fields(reader, node, f"{key!r}")
    state = {word: True for word in ("retired", "hidden") if fields.flag(word, False)}
    based_on = fields.text("based_on", "")
    content = _content(node)
    entry = Entry(reader.place(key_node), own, content, content_hash(content), based_on)
    if state and (section != "drills" or not own):
        message = f"{key!r} cannot be {' or '.join(state)}"
        reader.fault(key_node, "frame", message, "only a drill in a clinic's own folder can")
        return _Record(place, entry, None, {}, (), tuple(reader.problems))
    framing = len(reader.problems)
    value: Any = SECTIONS[section](fields, key)
    value = value if fields.finish() else None
    return _Record(place, entry, value, state, tuple(reader.references), tuple(reader.problems), framing)


def _lay(records: _Records, one: _Record) -> None:
    """Put a record over the one that is there, or its state alone; twice in one folder is a fault."""
    (section, key), where = one.place, one.entry.where
    before = records.entries.get(one.place)
    first = records.framed.get(one.place) or (before.where if before and before.own == one.entry.own else None)
    if first:
        message = f"{key!r} is in {section!r} already"
        records.problems.append(Problem(where, "twice", message, f"first in {first}"))
        return
    if one.state and not one.entry.content and before:
        records.problems += one.problems[: one.framing]
        records.framed[one.place] = where
        records.values[section][key] = replace(records.values[section][key], **one.state)
        return
    records.problems += one.problems
    if one.value is None:
        return
    records.values[section][key] = replace(one.value, **one.state) if one.state else one.value
    records.references[one.place] = one.references
    records.entries[one.place] = one.entry


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


def _assemble(records: _Records, below: Library | None) -> tuple[Library | None, tuple[Problem, ...]]:
    """The library of some records; what they left as it is in the library `below` is not made again."""
    _check_references(records)
    if records.problems:
        return None, tuple(sorted(records.problems))
    values, entries = records.values, records.entries
    if below is not None and all(values[key] == _section(below, key) for key in (*_ATLAS, *_WORDS)):
        atlas, names = below.atlas, below.names
    else:
        atlas = Atlas(*(values[key] for key in _ATLAS))
        places = {place: entry.where for place, entry in entries.items()}
        names, problems = name_index(atlas, {key: values[key] for key in _WORDS}, places)
        if problems:
            return None, tuple(problems)
    done = _posed_already(records, below)
    rest = {key: values[key] for key in SECTIONS if key not in _ATLAS}
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


def _section(library: Library, key: str) -> object:
    return getattr(library.atlas if key in _ATLAS else library, key)


def _posed_already(records: _Records, below: Library | None) -> Mapping[str, Drill]:
    """The drills of the library below that some records left as they are."""
    if below is None or records.values["postures"] != below.postures:
        return {}
    left = (key for key in below.drills if records.entries["drills", key] is below.entries["drills", key])
    return {key: below.drills[key] for key in left if ("drills", key) not in records.framed}


def posed(drill: Drill, postures: Mapping[str, Posture]) -> Drill:
    """The drill with its posture under its figure, and the motions that its written poses make."""
    if drill.figure is None:
        return drill
    figure = drill.figure.over(postures[drill.figure.posture])
    start = None if figure.start is None else motions(figure.start, "right")
    return replace(drill, figure=figure, start=start, end=motions(figure.end, "right"))
