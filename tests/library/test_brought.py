"""What a change brings into the library: asked of what it can break alone, it is what the whole check would find."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from random import Random

import pytest

from homecare.core.drill import KINDS, Drill
from homecare.library.lint import OF_EACH_ALONE, RULES, brought, quick_faults
from homecare.library.lint_figure import FIGURE_RULES
from homecare.library.load import Library, load_library

CASES, MOST_CASES = 12, 60
"""Changes that are compared, and at most so many more until each rule was broken by one."""
BESIDE = {"unique_codes", "said_once", "ways_lead_on", "muscles_served", "nerves_served", "woken_by_levels"}
"""Rules that a drill can break for others."""
LONG = "Lean " * 16
STEPS = (LONG, "Lean to the left.", "Lean to {there}.", "The foot is held.", "Lean to cure it.", "Flex the hamstrings.")
HARD = "Continuous uncomfortable sensation radiating posteriorly necessitates immediate discontinuation of everything."

Damage = Callable[[Drill, Drill, Random, Library], Mapping[str, object]]
"""The fields of a drill that are damaged, by another drill and the library."""

DAMAGES: tuple[Damage, ...] = (
    lambda one, other, chance, library: {"code": other.code},
    lambda one, other, chance, library: {"address": other.address},
    lambda one, other, chance, library: {"name": other.name},
    lambda one, other, chance, library: {"clinical": other.clinical},
    lambda one, other, chance, library: {"name": "Long" * 6},
    lambda one, other, chance, library: {"steps": STEPS},
    lambda one, other, chance, library: {"steps": one.steps * 3},
    lambda one, other, chance, library: {"steps": other.steps, "kind": other.kind, "tissues": other.tissues},
    lambda one, other, chance, library: {"feel": HARD},
    lambda one, other, chance, library: {"ladder": chance.choice(list(library.ladders))},
    lambda one, other, chance, library: {"kind": chance.choice(KINDS)},
    lambda one, other, chance, library: {"kind": "glide", "claims": chance.choice(("slider", "tensioner"))},
    lambda one, other, chance, library: {"kind": "stretch", "figure": None, "start": None, "end": None},
    lambda one, other, chance, library: {"start": other.end, "end": other.end},
    lambda one, other, chance, library: {"claims": "slider", "tissues": ("sciatic",), "end": {"hip_flexion": 80.0}},
    lambda one, other, chance, library: {"tissues": (chance.choice(list(library.atlas.tissues)),)},
    lambda one, other, chance, library: {"tissues": ("achilles_tendon",), "kind": "release"},
    lambda one, other, chance, library: {"easier": chance.choice((one.id, other.id))},
    lambda one, other, chance, library: {"harder": chance.choice((one.id, other.id))},
    lambda one, other, chance, library: {"harder": None, "easier": None},
    lambda one, other, chance, library: {"kind": "release", "traits": (), "kit": ("ball",)},
    lambda one, other, chance, library: {"traits": ("deep_pressure",)},
    lambda one, other, chance, library: {"region": other.region},
    lambda one, other, chance, library: {"paired": not one.paired},
    lambda one, other, chance, library: {"retired": True},
    lambda one, other, chance, library: {"hidden": True},
)


@pytest.fixture(scope="module")
def shipped() -> Library:
    """The library as it ships, less a caution that drills must be stopped by."""
    library = load_library()
    return replace(library, cautions={key: one for key, one in library.cautions.items() if key != "anticoagulant"})


def damaged(library: Library, shipped: Library, chance: Random) -> Library:
    """A library with one drill damaged or gone, or all as shipped again; at times another record is damaged, too."""
    one, other = chance.sample(sorted(library.drills), 2)
    drills, entries = dict(library.drills), dict(library.entries)
    fate = chance.random()
    if fate < 0.1 and not any(one in (drill.easier, drill.harder) for drill in drills.values()):
        del drills[one], entries["drills", one]
    elif fate < 0.13:
        drills = dict(shipped.drills)
        entries |= {place: entry for place, entry in shipped.entries.items() if place[0] == "drills"}
    else:
        change = chance.choice(DAMAGES)(drills[one], drills[other], chance, library)
        drills[one] = replace(drills[one], **change)  # type: ignore[arg-type]
    flags = dict(library.flags)
    if fate > 0.97:
        place = ("flags", key := chance.choice(sorted(flags)))
        flags[key] = replace(flags[key], athlete=HARD)
        entries[place] = replace(entries[place], hash="another")
    return replace(library, drills=drills, entries=entries, flags=flags)


def test_the_faults_of_a_change_are_those_of_the_whole_check(shipped: Library) -> None:
    rules = [rule for rule in RULES if rule not in FIGURE_RULES]
    wanted = {rule.__name__ for rule in OF_EACH_ALONE} | BESIDE
    for case in range(MOST_CASES):
        chance = Random(case)
        before = shipped
        for _ in range(chance.randrange(30)):
            before = damaged(before, shipped, chance)
        after = before
        for _ in range(chance.randrange(1, 12)):
            after = damaged(after, shipped, chance)
        whole = quick_faults(after) - quick_faults(before)
        assert brought(before, after) == whole, case
        wanted -= {rule.__name__ for rule in rules if not whole.isdisjoint(rule(after))}
        if case >= CASES and not wanted:
            break
    assert not wanted, "compared in vain: no case broke these"
