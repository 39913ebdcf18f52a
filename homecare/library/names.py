"""Plain names and synonyms that lead to the same record, for visit files and for the desk's search."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from homecare.core.atlas import Atlas, Word
from homecare.core.problems import Problem, Source


def fold(name: str) -> str:
    """A name as it is compared: small letters, words joined by single underscores."""
    return re.sub(r"[^a-z0-9]+", "_", name.lower()).strip("_")


@dataclass(frozen=True)
class NameIndex:
    """Folded names to ids, by vocabulary: `tissues` (with groups), `zones`, `worse_with`, `kit`."""

    by: Mapping[str, Mapping[str, str]]

    def find(self, vocabulary: str, name: str) -> str | None:
        """The id a name leads to, or None."""
        return self.by[vocabulary].get(fold(name))

    def known(self, vocabulary: str) -> tuple[str, ...]:
        """Every folded name of a vocabulary."""
        return tuple(self.by[vocabulary])


def _entries(atlas: Atlas, words: Mapping[str, Mapping[str, Word]]) -> Iterator[tuple[str, str, str, str]]:
    """(vocabulary, section, id, name); ids come first so that an id always wins over a synonym."""
    yield from (("tissues", "tissues", key, key) for key in atlas.tissues)
    yield from (("tissues", "groups", key, key) for key in atlas.groups)
    for key, tissue in atlas.tissues.items():
        yield from (("tissues", "tissues", key, name) for name in (*tissue.also, tissue.name, tissue.plain))
    for key, group in atlas.groups.items():
        yield from (("tissues", "groups", key, name) for name in (*group.also, group.plain))
    synonyms = {"zones": {key: zone.also for key, zone in atlas.zones.items()}}
    synonyms |= {section: {key: word.also for key, word in records.items()} for section, records in words.items()}
    for section, also in synonyms.items():
        yield from ((section, section, key, key) for key in also)
        yield from ((section, section, key, name) for key, names in also.items() for name in names)


def name_index(
    atlas: Atlas, words: Mapping[str, Mapping[str, Word]], places: Mapping[tuple[str, str], Source]
) -> tuple[NameIndex, list[Problem]]:
    """The index, and a problem for each synonym that would lead to two records."""
    by: dict[str, dict[str, str]] = {name: {} for name in ("tissues", "zones", *words)}
    problems = []
    for vocabulary, section, key, name in _entries(atlas, words):
        other = by[vocabulary].setdefault(fold(name), key)
        if other != key:
            message = f"{name!r} leads to both {other!r} and {key!r}"
            problems.append(Problem(places[section, key], "synonym", message, "a name may lead to one record only"))
    return NameIndex(by), problems
