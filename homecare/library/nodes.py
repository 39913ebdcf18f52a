"""A cursor over YAML nodes that turns them into typed values and collects every fault with its line."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Collection, Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import TypeVar

import yaml

from homecare.core.problems import InputFault, Problem, Source, did_you_mean

T = TypeVar("T")
MAX_BYTES = 1_000_000
MAX_DEPTH = 24
_LOADER: type = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
NOTHING = {"", "~", "null", "Null", "NULL"}
_TRUE, _FALSE = {"true", "yes", "on"}, {"false", "no", "off"}


def read_text(path: Path, max_bytes: int = MAX_BYTES) -> str:
    """The text of a file, or an InputFault of one sentence: missing, a folder, too large, not text."""

    def fault(code: str, message: str, hint: str = "") -> InputFault:
        return InputFault([Problem(Source(str(path)), code, message, hint)])

    try:
        if path.is_dir():
            raise fault("folder", "this is a folder, not a file", "name a file in it")
        size = path.stat().st_size
        if size > max_bytes:
            raise fault("too-large", f"this file has {size:,} bytes; at most {max_bytes:,} are read")
        with path.open("rb") as stream:  # a pipe or device tells no size, so the read is bounded too
            raw = stream.read(max_bytes + 1)
    except FileNotFoundError:
        raise fault("missing", "there is no such file") from None
    except OSError as error:
        raise fault("unreadable", f"this file cannot be read: {error.strerror}") from None
    if len(raw) > max_bytes:
        raise fault("too-large", f"this file has more than {max_bytes:,} bytes")
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise fault("not-text", "this is not a text file in UTF-8") from None
    if "\0" in text:
        raise fault("not-text", "this is not a text file: it holds zero bytes")
    return text


def compose(text: str, file: str) -> yaml.Node | None:
    """The root node of one YAML document, None when it is empty; anchors, aliases and deep nesting are refused."""
    try:
        _refuse_traps(text, file)
        root: yaml.Node | None = yaml.compose(text, Loader=_LOADER)
    except yaml.MarkedYAMLError as error:
        mark = error.problem_mark or error.context_mark
        where = Source(file, mark.line + 1, mark.column + 1) if mark else Source(file)
        raise InputFault(
            [Problem(where, "yaml", f"this is not valid YAML: {error.problem or error.context}")]
        ) from None
    except (yaml.YAMLError, ValueError) as error:
        first = str(error).splitlines()[0]
        raise InputFault([Problem(Source(file), "yaml", f"this is not valid YAML: {first}")]) from None
    return root


def _refuse_traps(text: str, file: str) -> None:
    """Refuse what makes a small file huge or deep before any tree is built."""
    depth = 0
    for event in yaml.parse(text, Loader=_LOADER):
        mark = event.start_mark
        where = Source(file, mark.line + 1, mark.column + 1) if mark else Source(file)
        if isinstance(event, yaml.AliasEvent) or getattr(event, "anchor", None):
            message = "anchors and aliases (& and *) are not read"
            raise InputFault([Problem(where, "alias", message, "write the value out")])
        depth += isinstance(event, yaml.CollectionStartEvent)
        depth -= isinstance(event, yaml.CollectionEndEvent)
        if depth > MAX_DEPTH:
            raise InputFault([Problem(where, "deep", f"this is nested more than {MAX_DEPTH} levels deep")])


def is_nothing(node: yaml.Node) -> bool:
    """Whether a node is an empty value or null, written without quotes (the C loader gives such a style '')."""
    return isinstance(node, yaml.ScalarNode) and not node.style and node.value in NOTHING


def canonical(node: yaml.Node) -> object:
    """A node as plain strings, lists and dicts, for hashing: the same content gives the same value."""
    if isinstance(node, yaml.MappingNode):
        return {str(key.value): canonical(value) for key, value in node.value}
    if isinstance(node, yaml.SequenceNode):
        return [canonical(item) for item in node.value]
    return str(node.value)


def content_hash(value: object) -> str:
    """SHA-256 in hexadecimal of a JSON value, independent of key order and spacing."""
    return hashlib.sha256(canonical_json(value).encode()).hexdigest()


def canonical_json(value: object) -> str:
    """A JSON value in the one way of writing it that its hash is taken of."""
    return json.dumps(value, sort_keys=True, ensure_ascii=False, separators=(",", ":"))


@dataclass(frozen=True)
class Reference:
    """A word that must be the id of a record in one of the sections; checked when all records are read."""

    source: Source
    id: str
    sections: tuple[str, ...]


class Reader:
    """Collects the problems of one input; hands out nodes' places."""

    def __init__(self, file: str) -> None:
        self.file = file
        self.problems: list[Problem] = []
        self.references: list[Reference] = []

    def place(self, node: yaml.Node) -> Source:
        """Where a node stands."""
        return Source(self.file, node.start_mark.line + 1, node.start_mark.column + 1)

    def fault(self, node: yaml.Node, code: str, message: str, hint: str = "") -> None:
        """Note a problem at a node and go on."""
        self.problems.append(Problem(self.place(node), code, message, hint))

    def scalar(self, node: yaml.Node, what: str) -> str | None:
        """The text of a scalar node, or None with a problem noted."""
        if isinstance(node, yaml.ScalarNode):
            if is_nothing(node):
                self.fault(node, "empty", f"{what} is empty")
                return None
            return str(node.value).strip()
        kind = "a list" if isinstance(node, yaml.SequenceNode) else "a mapping"
        self.fault(node, "not-scalar", f"{what} should be one value, not {kind}")
        return None

    def choice(self, node: yaml.Node, what: str, accepted: Collection[str]) -> str | None:
        """A scalar that is one of the accepted words."""
        text = self.scalar(node, what)
        if text is None or text in accepted:
            return text
        self.fault(node, "choice", f"{what} cannot be {text!r}", did_you_mean(text, accepted))
        return None

    def whole(self, node: yaml.Node, what: str, low: int, high: int) -> int | None:
        """A whole number within bounds, both included."""
        value = self.number(node, what, low, high)
        if value is not None and value != int(value):
            self.fault(node, "number", f"{what} should be a whole number, not {node.value}")
            return None
        return None if value is None else int(value)

    def number(self, node: yaml.Node, what: str, low: float, high: float) -> float | None:
        """A number within bounds, both included."""
        text = self.scalar(node, what)
        if text is None:
            return None
        try:
            value = float(text)
        except ValueError:
            self.fault(node, "number", f"{what} should be a number, not {text!r}")
            return None
        if not low <= value <= high:
            self.fault(node, "number", f"{what} cannot be {text}", f"from {low:g} to {high:g}")
            return None
        return value

    def day(self, node: yaml.Node, what: str) -> date | None:
        """A calendar date written YYYY-MM-DD."""
        text = self.scalar(node, what)
        if text is None:
            return None
        try:
            return date.fromisoformat(text)
        except ValueError:
            self.fault(node, "date", f"{what}: {text!r} is no date of the calendar", "write it as 2026-03-02")
            return None

    def boolean(self, node: yaml.Node, what: str) -> bool | None:
        """true or false (also yes and no)."""
        text = self.scalar(node, what)
        if text is None:
            return None
        if text.lower() in _TRUE | _FALSE:
            return text.lower() in _TRUE
        self.fault(node, "boolean", f"{what} should be true or false, not {text!r}")
        return None

    def sequence(self, node: yaml.Node) -> list[yaml.Node]:
        """The items of a list; one value alone counts as a list of one."""
        return list(node.value) if isinstance(node, yaml.SequenceNode) else [node]

    def pairs(self, node: yaml.Node, what: str) -> Iterator[tuple[str, yaml.Node, yaml.Node]]:
        """Key text, key node and value node of a mapping; a key given twice is a problem."""
        if not isinstance(node, yaml.MappingNode):
            self.fault(node, "not-mapping", f"{what} should be a mapping of names to values")
            return
        seen: dict[str, int] = {}
        for key_node, value in node.value:
            key = str(key_node.value) if isinstance(key_node, yaml.ScalarNode) else ""
            if not key:
                self.fault(key_node, "key", f"{what} has a key that is not a plain word")
            elif key in seen:
                self.fault(key_node, "twice", f"{key!r} is given twice in {what}", f"first in line {seen[key]}")
            else:
                seen[key] = key_node.start_mark.line + 1
                yield key, key_node, value


class Fields:
    """The fields of one mapping, asked for by name; `finish` reports the names nobody asked for."""

    def __init__(self, reader: Reader, node: yaml.Node, what: str) -> None:
        self.reader, self.node, self.what = reader, node, what
        self._asked: set[str] = set()
        self._before = len(reader.problems)
        self._values: dict[str, tuple[yaml.Node, yaml.Node]] = {
            key: (key_node, value) for key, key_node, value in reader.pairs(node, what)
        }

    def node_of(self, key: str) -> yaml.Node | None:
        """The value node under a key, None when it is not there or empty."""
        self._asked.add(key)
        entry = self._values.get(key)
        if entry is None:
            return None
        return None if is_nothing(entry[1]) else entry[1]

    def given(self, key: str) -> bool:
        """Whether a key is there with a value."""
        return self.node_of(key) is not None

    def need(self, key: str) -> yaml.Node | None:
        """The value node under a key that must be there."""
        node = self.node_of(key)
        if node is None:
            self.reader.fault(self.node, "missing", f"{self.what} has no {key!r}")
        return node

    def _one(self, key: str, default: T | None, read: Callable[[yaml.Node, str], T | None]) -> T | None:
        node = self.node_of(key) if default is not None else self.need(key)
        if node is None:
            return default
        value = read(node, f"{key!r}")
        return default if value is None else value

    def text(self, key: str, default: str | None = None) -> str:
        """A text; without a default it must be there ('' stands in after a problem)."""
        return self._one(key, default, self.reader.scalar) or ""

    def whole(self, key: str, low: int, high: int, default: int | None = None) -> int:
        """A whole number within bounds."""
        return self._one(key, default, lambda node, what: self.reader.whole(node, what, low, high)) or 0

    def number(self, key: str, low: float, high: float, default: float | None = None) -> float:
        """A number within bounds."""
        return self._one(key, default, lambda node, what: self.reader.number(node, what, low, high)) or 0.0

    def flag(self, key: str, default: bool) -> bool:
        """A yes or no."""
        node = self.node_of(key)
        value = None if node is None else self.reader.boolean(node, f"{key!r}")
        return default if value is None else value

    def choice(self, key: str, accepted: Collection[str], default: str | None = None) -> str:
        """One of the accepted words."""
        return self._one(key, default, lambda node, what: self.reader.choice(node, what, accepted)) or ""

    def texts(self, key: str, least: int = 0) -> tuple[str, ...]:
        """A list of texts (one text alone counts as a list of one)."""
        node = self.need(key) if least else self.node_of(key)
        if node is None:
            return ()
        found = [self.reader.scalar(item, f"an entry of {key!r}") for item in self.reader.sequence(node)]
        return tuple(text for text in found if text is not None)

    def refs(self, key: str, *sections: str, least: int = 0) -> tuple[str, ...]:
        """A list of ids of other records, noted so that dead ones are found once all records are read."""
        node = self.need(key) if least else self.node_of(key)
        if node is None:
            return ()
        found = []
        for item in self.reader.sequence(node):
            text = self.reader.scalar(item, f"an entry of {key!r}")
            if text is not None:
                self.reader.references.append(Reference(self.reader.place(item), text, sections))
                found.append(text)
        return tuple(found)

    def ref(self, key: str, *sections: str, needed: bool = False) -> str | None:
        """The id of one other record, None when it is not given."""
        found = self.refs(key, *sections, least=int(needed))
        if len(found) > 1:
            self.reader.fault(self.node, "one", f"{key!r} takes one id, not a list")
        return found[0] if found else None

    def choices(self, key: str, accepted: Collection[str]) -> tuple[str, ...]:
        """A list of accepted words."""
        node = self.node_of(key)
        if node is None:
            return ()
        items = self.reader.sequence(node)
        found = [self.reader.choice(item, f"an entry of {key!r}", accepted) for item in items]
        return tuple(text for text in found if text is not None)

    def numbers(self, key: str, accepted: Collection[str], low: float, high: float) -> Mapping[str, float] | None:
        """A mapping of accepted words to numbers, None when it is not there."""
        node = self.node_of(key)
        if node is None:
            return None
        found: dict[str, float] = {}
        for name, name_node, value in self.reader.pairs(node, f"{key!r}"):
            if name not in accepted:
                message = f"{name!r} is not known in {key!r}"
                self.reader.fault(name_node, "choice", message, did_you_mean(name, accepted))
            elif (number := self.reader.number(value, f"{name!r}", low, high)) is not None:
                found[name] = number
        return found

    def names(self, key: str, *sections: str) -> None:
        """Note that this record's own key is the id of a record in one of the sections."""
        self.reader.references.append(Reference(self.reader.place(self.node), key, sections))

    def finish(self) -> bool:
        """Report keys that are not known; true when this mapping brought no problem."""
        for key, (key_node, _) in self._values.items():
            if key not in self._asked:
                hint = did_you_mean(key, self._asked)
                self.reader.fault(key_node, "unknown", f"{key!r} is not known in {self.what}", hint)
        return len(self.reader.problems) == self._before
