"""A drill tried before it is kept: read from plain content in memory, laid over a library, held to every rule."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

import yaml

from homecare.core.drill import Drill
from homecare.core.problems import Problem, Source, did_you_mean
from homecare.library import lint
from homecare.library.load import Entry, Library, posed
from homecare.library.nodes import Fields, Reader, compose, content_hash
from homecare.library.reading import read_drill
from homecare.library.written import record_text

Path = tuple[str, ...]
"""Where a value stands in a record: `("steps", "2")`, `("figure", "end", "right", "knee")`."""


@dataclass(frozen=True)
class Told:
    """A fault, and the part of the record that it speaks of (() for the record as a whole)."""

    path: Path
    problem: Problem


@dataclass(frozen=True)
class Tried:
    """A drill as it would be: its record typed, what could not be read of it, and the library with it in place.

    `library` is None where something could not be read: then the rules cannot be asked.
    """

    drill: Drill
    unread: tuple[Told, ...]
    library: Library | None


def try_drill(library: Library, key: str, content: Mapping[str, object]) -> Tried:
    """A drill's content read as a library file would be, and laid over a library in memory; nothing is written."""
    name = f"drills/{key}.yaml"
    root = compose(record_text("drills", key, content, {}), name)
    assert isinstance(root, yaml.MappingNode)  # it was written one line above
    node = root.value[0][1].value[0][1]
    reader = Reader(name)
    fields = Fields(reader, node, "the drill")
    drill = read_drill(fields, key)
    fields.finish()
    places = dict(_places(reader, node, ()))
    found = [*reader.problems, *_dead(reader, library)]
    unread = tuple(Told(_named(one) or places.get(one.source, ()), one) for one in found)
    if unread:
        return Tried(drill, unread, None)
    drill = posed(drill, library.postures)
    entry = Entry(drill.where, True, content, content_hash(content))
    return Tried(
        drill,
        (),
        replace(library, drills={**library.drills, key: drill}, entries={**library.entries, ("drills", key): entry}),
    )


def figure_only(library: Library, drill: Drill) -> Drill | None:
    """A drill whose figure can be drawn although other parts of it could not be read; None where it cannot.

    What is wrong with its tissues only leaves them unmarked.
    """
    if drill.figure is None or drill.figure.posture not in library.postures:
        return None
    known = {*library.atlas.tissues, *library.atlas.groups}
    figure = replace(drill.figure, targets=tuple(one for one in drill.figure.targets if one in known))
    tissues = tuple(one for one in drill.tissues if one in known)
    return posed(replace(drill, figure=figure, tissues=tissues), library.postures)


def rule_faults(tried: Tried, library: Library) -> tuple[Problem, ...]:
    """The faults of every rule that a drill would bring into a library, or has there when it stands there so."""
    if tried.library is None:
        return ()
    place = ("drills", tried.drill.id)
    here, now = library.entries.get(place), tried.library.entries[place]
    if here is not None and here.hash == now.hash:
        faults = lint.quick_faults(library, [place[1]])
        found = frozenset(one for one in faults if one.source.file == here.where.file and _is_of(one, place[1]))
    else:
        found = lint.brought(library, tried.library)
    return tuple(sorted(found.union(lint.figure_faults(tried.library, [place[1]]))))


def _is_of(problem: Problem, drill: str) -> bool:
    return problem.message.startswith(f"{drill}: ")


def _dead(reader: Reader, library: Library) -> Iterator[Problem]:
    for one in reader.references:
        known = [key for section, key in library.entries if section in one.sections]
        if one.id not in known:
            message = f"{one.id!r} is not in the library"
            yield Problem(one.source, "dead-reference", message, did_you_mean(one.id, known))


def _named(problem: Problem) -> Path:
    """The part that a fault of a whole mapping names: "the drill has no 'name'", "the figure has no 'from'"."""
    if problem.code in ("code", "address"):
        return (problem.code,)
    if problem.code not in ("missing", "one"):
        return ()
    name = problem.message.split("'")[1]
    within = next((part for part in ("figure", "source") if problem.message.startswith(f"the {part} ")), "")
    return (within, name) if within else (name,)


def _places(reader: Reader, node: yaml.Node, path: Path) -> Iterator[tuple[Source, Path]]:
    """Every value's place in the text, and where it stands in the record; of two at one place the inner one."""
    yield reader.place(node), path
    if isinstance(node, yaml.MappingNode):
        for key, value in node.value:
            inner = (*path, str(key.value))
            yield reader.place(key), inner
            yield from _places(reader, value, inner)
    elif isinstance(node, yaml.SequenceNode):
        for number, item in enumerate(node.value):
            yield from _places(reader, item, (*path, str(number)))
