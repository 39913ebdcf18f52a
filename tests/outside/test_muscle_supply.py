"""Nerve and roots of every muscle held to two published tables, with the clashes between them noted in the data."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

import pytest
import yaml

from homecare.library.load import Library

DATA = yaml.safe_load((Path(__file__).resolve().parents[1] / "data/muscle_supply.yaml").read_text(encoding="utf-8"))


@dataclass(frozen=True)
class Entry:
    """What one table says of a muscle; no roots where it names the nerve alone."""

    nerves: frozenset[str]
    roots: frozenset[str]
    source: str


def tables(muscle: str) -> tuple[Entry, Entry]:
    """The two tables' entries of a muscle."""
    row = DATA["muscles"][muscle]
    key, nerves, roots = row["a"]
    first = Entry(frozenset(nerves.split()), frozenset(roots.split()), DATA["tables"][key])
    nerves, roots = row["b"]
    return first, Entry(frozenset(nerves.split()), frozenset(roots.split()), DATA["tables"]["mb"])


MUSCLES = sorted(DATA["muscles"])


def test_every_muscle_of_the_atlas_has_a_row(lib: Library) -> None:
    assert {key for key, one in lib.atlas.tissues.items() if one.kind == "muscle"} == set(MUSCLES)


@pytest.mark.parametrize("muscle", MUSCLES)
def test_nerves(lib: Library, muscle: str) -> None:
    """Each nerve is in a table, and each nerve in which both agree is there."""
    a, b = tables(muscle)
    nerves = set(lib.atlas.tissues[muscle].nerves)
    assert nerves <= a.nerves | b.nerves, (a, b)
    assert nerves >= a.nerves & b.nerves, (a, b)


@pytest.mark.parametrize("muscle", MUSCLES)
def test_roots(lib: Library, muscle: str) -> None:
    """Each root is in a table, and each root in which both agree (of those the atlas has) is there.

    The accessory nerve moves the muscles it serves; whether the neck's roots do so too is not settled, so that those
    may be left out.
    """
    a, b = tables(muscle)
    roots = set(lib.atlas.tissues[muscle].roots)
    assert roots <= a.roots | b.roots, (a, b)
    both = a.roots & b.roots if a.roots and b.roots else a.roots | b.roots
    if "accessory" not in a.nerves:
        assert roots >= {one for one in both if one in lib.atlas.tissues}, (a, b)


@pytest.mark.parametrize("muscle", MUSCLES)
def test_where_the_tables_differ_the_record_says_so(lib: Library, muscle: str) -> None:
    a, b = tables(muscle)
    known = set(lib.atlas.tissues)
    roots_differ = bool(a.roots and b.roots and (a.roots ^ b.roots) & known)
    nerves_differ = bool(a.nerves and b.nerves and a.nerves != b.nerves)
    if roots_differ or nerves_differ:
        assert lib.atlas.tissues[muscle].clash, (a, b)


def test_some_tables_do_differ() -> None:
    """Else the check above would hold of nothing."""
    assert sum(a.roots != b.roots for a, b in map(tables, MUSCLES)) >= 10


@pytest.mark.parametrize(("root", "row"), DATA["key_muscles"].items())
def test_key_muscles_of_the_standard(lib: Library, root: str, row: Mapping[str, list[str]]) -> None:
    """ISNCSCI: the muscles that make the key movement of a root have that root, and the root names the movement."""
    assert all(root in lib.atlas.tissues[one].roots for one in row["muscles"]), row["movement"]
    assert lib.atlas.tissues[root].key_muscle
