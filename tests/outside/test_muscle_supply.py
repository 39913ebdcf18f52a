"""Nerve and roots of every muscle held to two independent tables, with the clashes between them noted in the data."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path

import pytest
import yaml

from homecare.core.atlas import Tissue
from homecare.library.load import Library

DATA = yaml.safe_load((Path(__file__).resolve().parents[1] / "data/muscle_supply.yaml").read_text(encoding="utf-8"))
MUSCLES = sorted(DATA["muscles"])
NOTHING_TO_HOLD = {"erector_spinae", "multifidus"}
"""Dorsal branches of the spinal nerves, segment by segment: tables name neither a nerve of the atlas nor roots."""


@dataclass(frozen=True)
class Entry:
    """What one table says of a muscle; no roots or no nerves where it names none that the atlas could have."""

    nerves: frozenset[str]
    roots: frozenset[str]


def tables(muscle: str) -> tuple[Entry, Entry]:
    """The two tables' entries of a muscle."""
    row = DATA["muscles"][muscle]
    first, second = (Entry(frozenset(row[key][1].split()), frozenset(row[key][2].split())) for key in "ab")
    return first, second


def trunk(tissues: Mapping[str, Tissue], nerve: str) -> list[str]:
    """A nerve and those that it continues from: a branch is within the trunk that a table may name instead."""
    upward = tissues[nerve].follows
    return [nerve, *(trunk(tissues, upward) if upward else [])]


def agreed_nerves(tissues: Mapping[str, Tissue], a: Entry, b: Entry) -> set[str]:
    """The nerves that both tables name; where one names the trunk and the other its branch, the branch."""
    pairs = [(one, other) for one in a.nerves for other in b.nerves]
    return {one for one, other in pairs if other in trunk(tissues, one)} | {
        other for one, other in pairs if one in trunk(tissues, other)
    }


def faults(tissues: Mapping[str, Tissue], muscle: str) -> list[str]:
    """What speaks against the atlas's record of a muscle; empty when it stands within both tables."""
    a, b = tables(muscle)
    record = tissues[muscle]
    found: list[str] = []
    agreed = agreed_nerves(tissues, a, b)
    trunks = {up for nerve in agreed for up in trunk(tissues, nerve)} - agreed
    found += [f"no table names the {nerve} nerve" for nerve in set(record.nerves) - (a.nerves | b.nerves)]
    found += [f"a table names the branch of the {nerve} nerve" for nerve in trunks & set(record.nerves)]
    found += [f"both tables name the {nerve} nerve" for nerve in agreed - set(record.nerves)]
    found += [f"no table names {root}" for root in set(record.roots) - (a.roots | b.roots)]
    # Whether the neck's roots move the muscles of the accessory nerve or only feel them is not settled.
    if "accessory" not in agreed:
        both = a.roots & b.roots if a.roots and b.roots else a.roots | b.roots
        found += [f"both tables name {root}" for root in sorted(both & set(tissues) - set(record.roots))]
    if differ(tissues, a, b) and not record.clash:
        found.append("the tables differ and the record does not say so")
    return found


def differ(tissues: Mapping[str, Tissue], a: Entry, b: Entry) -> bool:
    """Whether the two tables differ in a nerve or in a root that the atlas has."""
    agreed = {up for nerve in agreed_nerves(tissues, a, b) for up in trunk(tissues, nerve)}
    nerves = bool(a.nerves and b.nerves and not a.nerves | b.nerves <= agreed)
    return nerves or bool(a.roots and b.roots and (a.roots ^ b.roots) & set(tissues))


def test_every_muscle_of_the_atlas_has_a_row(lib: Library) -> None:
    assert {key for key, one in lib.atlas.tissues.items() if one.kind == "muscle"} == set(MUSCLES)


def test_rows_are_well_formed(lib: Library) -> None:
    """Two different tables a muscle, nerves of the atlas, and something to hold the record to, but for a named few."""
    roots = {f"{letter}{n}" for letter, last in (("c", 8), ("t", 12), ("l", 5), ("s", 5)) for n in range(1, last + 1)}
    for muscle in MUSCLES:
        row = DATA["muscles"][muscle]
        assert row["a"][0] != row["b"][0], muscle
        assert {row["a"][0], row["b"][0]} <= set(DATA["tables"]), muscle
        a, b = tables(muscle)
        assert all(lib.atlas.tissues[nerve].kind == "nerve" for nerve in a.nerves | b.nerves), muscle
        assert a.roots | b.roots <= roots, muscle
        assert bool(a.nerves | b.nerves | a.roots | b.roots) is (muscle not in NOTHING_TO_HOLD), muscle


def test_nearly_every_entry_was_read() -> None:
    """What is cited from memory is no outside check of records that were written from memory."""
    marks = [DATA["tables"][DATA["muscles"][muscle][key][0]]["mark"] for muscle in MUSCLES for key in "ab"]
    assert set(marks) <= {"read", "from memory"}
    assert marks.count("from memory") <= 3


@pytest.mark.parametrize("muscle", MUSCLES)
def test_nerves_and_roots_stand_within_the_tables(lib: Library, muscle: str) -> None:
    """Each nerve and root is in a table, each that both name is there, and where they differ the record says so."""
    assert faults(lib.atlas.tissues, muscle) == [], tables(muscle)


@pytest.mark.parametrize(
    ("muscle", "wrong", "fault"),
    [
        ("soleus", {"nerves": ("deep_fibular",)}, "no table names the deep_fibular nerve"),
        ("soleus", {"nerves": ()}, "both tables name the tibial nerve"),
        ("tibialis_anterior", {"nerves": ("common_fibular",)}, "both tables name the deep_fibular nerve"),
        ("supinator", {"nerves": ("radial",)}, "both tables name the posterior_interosseous nerve"),
        ("supinator", {"nerves": ("radial",)}, "a table names the branch of the radial nerve"),
        ("deltoid", {"roots": ("c5", "c6", "c8")}, "no table names c8"),
        ("deltoid", {"roots": ("c5",)}, "both tables name c6"),
        ("sartorius", {"clash": ""}, "the tables differ and the record does not say so"),
        ("brachialis", {"clash": ""}, "the tables differ and the record does not say so"),
    ],
)
def test_a_wrong_record_is_told(lib: Library, muscle: str, wrong: Mapping[str, object], fault: str) -> None:
    """The check above can fail, in each of its parts."""
    tissues = dict(lib.atlas.tissues)
    tissues[muscle] = replace(tissues[muscle], **wrong)  # type: ignore[arg-type]
    assert fault in faults(tissues, muscle)


@pytest.mark.parametrize(("root", "row"), DATA["key_muscles"].items())
def test_key_muscles_of_the_standard(lib: Library, root: str, row: Mapping[str, str | list[str]]) -> None:
    """ISNCSCI: the muscles that make the key movement of a root have that root, and the root names the movement."""
    assert [one for one in row["muscles"] if root not in lib.atlas.tissues[one].roots] == []
    assert lib.atlas.tissues[root].key_muscle.lower().startswith(str(row["movement"]))


def test_each_root_with_a_key_muscle_is_held(lib: Library) -> None:
    """The standard has ten key movements, five for the arm and five for the leg, and the atlas no others."""
    named = {key for key, one in lib.atlas.tissues.items() if one.key_muscle}
    assert named == set(DATA["key_muscles"])
    assert len(named) == 10
    assert all(row["muscles"] for row in DATA["key_muscles"].values())
