"""One search over all that can be found at a visit: tissues, symptoms, tests, firing orders, markers, cautions."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import get_args

from homecare.core.atlas import FOUND_BY_KIND, Found
from homecare.core.findings import Symptom
from homecare.library.load import Library

MOST = 8
"""Offers that are shown at once (common practice: what the eye takes in without scrolling)."""
SIDES = {"l": "left", "left": "left", "r": "right", "right": "right", "b": "both", "both": "both"}
RESULTS = ("positive", "negative")
_KINDS = ("tissue", "symptom", "test", "firing", "marker", "care")


@dataclass(frozen=True)
class Offer:
    """One thing to add: the button that adds it, its name, and what it is; `told` is the side and more, as typed."""

    do: str
    name: str
    words: str
    told: str = ""


@dataclass(frozen=True)
class _Entry:
    kind: str
    key: str
    name: str
    words: str
    names: tuple[tuple[str, ...], ...]
    found: tuple[str, ...] = ()
    paired: bool = True
    zone: str = ""


def plain_words(text: str) -> tuple[str, ...]:
    """Small letters without accents, word by word."""
    plain = unicodedata.normalize("NFKD", text.casefold())
    return tuple(re.findall(r"[a-z0-9]+", "".join(one for one in plain if not unicodedata.combining(one))))


def found_words(library: Library, tissue: str) -> tuple[str, ...]:
    """What a tissue or group may be found to be."""
    kinds = {library.atlas.tissues[member].kind for member in library.atlas.members(tissue)}
    allowed = {word for kind in kinds for word in FOUND_BY_KIND[kind]}
    return tuple(word for word in get_args(Found) if word in allowed)


class Offers:
    """The offers of one library, found by any beginning of the words of any of their names."""

    def __init__(self, library: Library) -> None:
        self._entries = tuple(_entries(library))

    def find(self, typed: str, most: int = MOST) -> tuple[Offer, ...]:
        """The best offers for what was typed; its last words may say the side and what was found: "soleus r tight"."""
        words = plain_words(typed)[:8]
        for cut in range(1, len(words) + 1):
            head, tail = words[:cut], words[cut:]
            if all(_tells(word) for word in tail) and (hits := self._matching(head)):
                ranked = sorted(
                    hits, key=lambda hit: (hit[0], _KINDS.index(hit[1].kind), len(hit[1].name), hit[1].name)
                )
                return tuple(_offer(entry, tail) for _, entry in ranked[:most])
        return ()

    def _matching(self, words: Sequence[str]) -> list[tuple[int, _Entry]]:
        found = []
        for entry in self._entries:
            ranks = [rank for name in entry.names if (rank := _rank(words, name)) is not None]
            if ranks:
                found.append((min(ranks) + (entry.names[0] != entry.names[_first(words, entry)]), entry))
        return found


def _first(words: Sequence[str], entry: _Entry) -> int:
    """Which of an entry's names matches best."""
    ranks = [(_rank(words, name), number) for number, name in enumerate(entry.names)]
    return min((rank, number) for rank, number in ranks if rank is not None)[1]


def _rank(words: Sequence[str], name: Sequence[str]) -> int | None:
    """How near what was typed is to a name: 0 is the name itself, None has nothing of it.

    2: the name begins with these very words; 4: with what was typed of them; 6: each begins one of its words.
    """
    if tuple(words) == tuple(name):
        return 0
    if len(words) <= len(name) and all(one.startswith(word) for word, one in zip(words, name, strict=False)):
        return 2 if tuple(words) == tuple(name[: len(words)]) else 4
    return 6 if all(any(one.startswith(word) for one in name) for word in words) else None


def _tells(word: str) -> bool:
    return word in SIDES or any(one.startswith(word) for one in (*get_args(Found), *RESULTS))


def _offer(entry: _Entry, tail: Sequence[str]) -> Offer:
    side = next((SIDES[word] for word in tail if word in SIDES), "") if entry.paired else ""
    allowed = entry.found or (RESULTS if entry.kind == "test" else ())
    rest = [word for word in tail if word not in SIDES]
    more = next((one for word in rest for one in allowed if one.startswith(word)), "")
    told = ", ".join(filter(None, (side, more)))
    if entry.kind == "care":
        return Offer(f"care:{entry.key}", entry.name, entry.words)
    return Offer(f"put:{entry.kind}:{entry.key}:{side}:{more or entry.zone}", entry.name, entry.words, told)


def _entries(library: Library) -> Iterable[_Entry]:
    atlas = library.atlas
    for key, group in atlas.groups.items():
        name = key.replace("_", " ").capitalize()
        yield _Entry(
            "tissue", key, name, group.plain, _names(name, group.plain, *group.also), found_words(library, key)
        )
    for key, tissue in atlas.tissues.items():
        names = _names(tissue.name, tissue.plain, *tissue.also)
        yield _Entry("tissue", key, tissue.name, tissue.plain, names, found_words(library, key), atlas.is_paired(key))
    for symptom in get_args(Symptom):
        yield _Entry("symptom", symptom, symptom.capitalize(), "symptom", _names(symptom))
        for key, zone in atlas.zones.items():
            named = [f"{symptom} {one}" for one in (zone.plain, *(also.replace("_", " ") for also in zone.also))]
            yield _Entry(
                "symptom", symptom, f"{symptom.capitalize()}: {zone.plain}", "symptom", _names(*named), zone=key
            )
    for kind, records, words in (
        ("test", library.tests, "test"),
        ("firing", library.firing_orders, "firing order"),
        ("marker", library.markers, "marker"),
        ("care", library.cautions, "take care with"),
    ):
        for key, one in records.items():
            yield _Entry(kind, key, one.name, words, _names(one.name, key))


def _names(*texts: str) -> tuple[tuple[str, ...], ...]:
    return tuple(dict.fromkeys(words for text in texts if (words := plain_words(text.replace("_", " ")))))
