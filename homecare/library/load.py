"""Reads the shipped library, with the clinic's folder laid over it, into one typed Library."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
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
from homecare.library.records import SECTIONS
from homecare.resources import resource_dir

MAX_FILES = 2000
_FRAME = {"based_on", "retired"}
"""Keys of the clinic's own records: the shipped record each was written over, and whether it is retired."""


@dataclass(frozen=True)
class Library:
    """Everything the clinic's library holds, by id; `revisions` is each drill's content hash."""

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
    outlook: Mapping[str, Outlook]
    evidence: Mapping[str, Weight]
    postures: Mapping[str, Posture]
    surfaces: Mapping[str, Surface]
    lengths: Mapping[str, MuscleLength]
    names: NameIndex
    revisions: Mapping[str, str]
    revision: str


@dataclass
class _Records:
    """Records while they are being read, by section and id."""

    values: dict[str, dict[str, Any]] = field(default_factory=lambda: {section: {} for section in SECTIONS})
    places: dict[tuple[str, str], tuple[int, Source]] = field(default_factory=dict)
    hashes: dict[tuple[str, str], str] = field(default_factory=dict)
    references: dict[tuple[str, str], list[Reference]] = field(default_factory=dict)
    problems: list[Problem] = field(default_factory=list)


def load_library(own: Path | None = None) -> Library:
    """The shipped library with the clinic's folder `own` over it; raises InputFault with every fault."""
    library, problems = read_library(own)
    if library is None or problems:
        raise InputFault(problems)
    return library


def read_library(own: Path | None = None) -> tuple[Library | None, tuple[Problem, ...]]:
    """As `load_library`, but gives the problems back; the library is None when it cannot be put together."""
    records = _Records()
    for layer, folder in enumerate([resource_dir("exercise_library"), *([own] if own else [])]):
        if not folder.is_dir():
            return None, (Problem(Source(str(folder)), "missing", "there is no such folder"),)
        for path in sorted(folder.rglob("*.yaml"))[:MAX_FILES]:
            _read_file(records, path, path.relative_to(folder).as_posix(), layer)
    _check_references(records)
    if records.problems:
        return None, tuple(sorted(records.problems))
    return _assemble(records)


def _read_file(records: _Records, path: Path, name: str, layer: int) -> None:
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
            _read_record(records, reader, section, key, key_node, value, layer)
    records.problems += reader.problems


def _read_record(
    records: _Records, reader: Reader, section: str, key: str, key_node: yaml.Node, value: yaml.Node, layer: int
) -> None:
    place = (section, key)
    before = records.places.get(place)
    if before and before[0] == layer:
        reader.fault(key_node, "twice", f"{key!r} is in {section!r} already", f"first in {before[1]}")
        return
    reader.references = []
    fields = Fields(reader, value, f"{key!r}")
    retired = fields.flag("retired", False)
    fields.node_of("based_on")
    if retired:
        if section == "drills" and before:
            records.values[section][key] = replace(records.values[section][key], retired=True)
        else:
            reader.fault(key_node, "retired", f"{key!r} cannot be retired", "only a drill that is shipped can")
        return
    record = SECTIONS[section](fields, key)
    if not fields.finish():
        return
    records.values[section][key] = record
    records.places[place] = (layer, reader.place(key_node))
    records.references[place] = reader.references
    content = canonical(value)
    if isinstance(content, dict):
        content = {name: part for name, part in content.items() if name not in _FRAME}
    records.hashes[place] = content_hash(content)


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


def _assemble(records: _Records) -> tuple[Library | None, tuple[Problem, ...]]:
    values = records.values
    atlas = Atlas(values["tissues"], values["sites"], values["zones"], values["groups"])
    words: dict[str, Mapping[str, Word]] = {key: values[key] for key in ("worse_with", "kit", "traits")}
    names, problems = name_index(atlas, words, _line_of(records))
    if problems:
        return None, tuple(problems)
    alive = {f"{section}/{key}": records.hashes[section, key] for section in values for key in values[section]}
    rest = {key: values[key] for key in SECTIONS if key not in {"tissues", "sites", "zones", "groups"}}
    rest["drills"] = {key: _posed(drill, values["postures"]) for key, drill in values["drills"].items()}
    library = Library(
        atlas=atlas,
        names=names,
        revisions={key: alive[f"drills/{key}"] for key in values["drills"]},
        revision=content_hash(alive),
        **cast(dict[str, Any], rest),
    )
    return library, ()


def _posed(drill: Drill, postures: Mapping[str, Posture]) -> Drill:
    """The drill with its posture under its figure, and the motions that its written poses make."""
    if drill.figure is None:
        return drill
    figure = drill.figure.over(postures[drill.figure.posture])
    start = None if figure.start is None else motions(figure.start, "right")
    return replace(drill, figure=figure, start=start, end=motions(figure.end, "right"))


def _line_of(records: _Records) -> Mapping[tuple[str, str], Source]:
    return {place: source for place, (_, source) in records.places.items()}
