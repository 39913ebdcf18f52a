"""How two versions of a record differ, field by field, in words for whoever keeps the library."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

Content = Mapping[str, object]


@dataclass(frozen=True)
class Difference:
    """One field that differs: its path ("steps 2"), and what it says on either side ('' where it is not there)."""

    field: str
    before: str
    after: str

    def __str__(self) -> str:
        if not self.before:
            return f"{self.field}: now {self.after!r}"
        if not self.after:
            return f"{self.field}: {self.before!r} is gone"
        return f"{self.field}: {self.before!r} becomes {self.after!r}"


def differences(before: Content, after: Content) -> tuple[Difference, ...]:
    """What changes from one content of a record to another, in the order of the new one."""
    return tuple(_between("", before, after))


def _between(path: str, before: object, after: object) -> Iterator[Difference]:
    if before == after:
        return
    if isinstance(before, Mapping) and isinstance(after, Mapping):
        for key in [*after, *(key for key in before if key not in after)]:
            yield from _between(f"{path} {key}".strip(), before.get(key, ""), after.get(key, ""))
    elif isinstance(before, list) and isinstance(after, list) and _long(before, after):
        for number in range(max(len(before), len(after))):
            one, two = ("" if number >= len(items) else items[number] for items in (before, after))
            yield from _between(f"{path} {number + 1}".strip(), one, two)
    else:
        yield Difference(path, _said(before), _said(after))


def _long(before: list[object], after: list[object]) -> bool:
    """Lists of sentences are told line by line, lists of words as a whole."""
    return any(" " in str(item) for item in (*before, *after))


def _said(value: object) -> str:
    if isinstance(value, Mapping):
        return "{" + ", ".join(f"{key}: {_said(part)}" for key, part in value.items()) + "}"
    if isinstance(value, list):
        return ", ".join(_said(part) for part in value)
    return str(value)
