"""Generated visits over the shipped library: whatever a practitioner might record, from a seed."""

from __future__ import annotations

from collections.abc import Sequence
from random import Random

from homecare.core.atlas import FOUND_BY_KIND
from homecare.core.findings import Visit
from homecare.library.load import Library
from homecare.library.visit import parse_visit

SIDES = ("left", "right", "both")


def visit_text(lib: Library, seed: int) -> str:
    """A visit file of one to seven findings, with kit, cautions, minutes, picks and drops as chance has it."""
    chance = Random(seed)
    lines = [f"  - {_tissue(lib, chance)}" for _ in range(chance.randint(1, 5))]
    lines += [f"  - {_symptom(lib, chance)}" for _ in range(chance.choice((0, 0, 1, 1, 2)))]
    text = ["athlete: Invented", "start: 2026-03-02", f"minutes: {chance.choice((2, 4, 8, 12, 12, 20, 30))}"]
    text.append(f"kit: {_some(sorted(lib.kit), chance, 6)}")
    text.append(f"cautions: {_some(sorted(set(lib.cautions) - {'dvt_suspected', 'under_16'}), chance, 1)}")
    text.append(f"drop: {_some(sorted(lib.drills), chance, 3)}")
    if chance.random() < 0.2:
        text.append(f"pick: [{{drill: {chance.choice(sorted(lib.drills))}, because: it helped before}}]")
    return "\n".join([*text, "screen: clear", "findings:", *lines]) + "\n"


def visit_of_seed(lib: Library, seed: int) -> Visit:
    """The visit of one seed."""
    return parse_visit(visit_text(lib, seed), f"seed {seed}", lib)


def _some(names: Sequence[str], chance: Random, most: int) -> str:
    return f"[{', '.join(chance.sample(names, chance.randint(0, most)))}]"


def _tissue(lib: Library, chance: Random) -> str:
    key = chance.choice([*sorted(lib.atlas.tissues), *sorted(lib.atlas.groups)])
    kinds = {lib.atlas.tissues[one].kind for one in lib.atlas.members(key)}
    found = chance.choice(FOUND_BY_KIND[kinds.pop()])
    side = f", side: {chance.choice(SIDES)}" if lib.atlas.is_paired(key) else ""
    return f"{{tissue: {key}{side}, found: {found}}}"


def _symptom(lib: Library, chance: Random) -> str:
    nerves = [one for one in lib.atlas.tissues.values() if len(one.core) > 1 and "saddle" not in one.core]
    nerve = chance.choice(nerves)
    zones = chance.sample(nerve.core, chance.randint(1, len(nerve.core)))
    worse = _some(sorted(lib.worse_with), chance, 2)
    grade = chance.choice(("low", "moderate", "high"))
    side = chance.choice(SIDES[:2])
    kind = chance.choice(("tingling", "ache"))
    return f"{{symptom: {kind}, zones: [{', '.join(zones)}], side: {side}, worse_with: {worse}, irritability: {grade}}}"
