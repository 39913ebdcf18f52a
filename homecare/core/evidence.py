"""The evidence for and against one site, piece by piece, each with what it adds and the sentence that says so."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from homecare.core.atlas import Atlas, ClinicTest, OneSide, Site, Tissue, Word, each_side
from homecare.core.drill import Habit, Weight
from homecare.core.findings import Change, SymptomFinding, TissueFinding, Visit
from homecare.core.plain import listed, sentence

IRRITATING = {"tight", "tender", "painful", "stiff", "strained"}
"""What a tissue on the path must be found to speak for a site (common practice)."""
PAINFUL = frozenset({"ache", "burning"})
"""Symptoms that are pain: felt where the trouble is as well as in the nerve's skin (common practice)."""
MOST_COUNTED = 2
"""At most this many provocations, tissues and weak muscles count for one site, so that a long list proves nothing; of
provocations one, where the symptom touches no more than the edge of what the site can trouble (common practice)."""


@dataclass(frozen=True)
class Knowledge:
    """The parts of the library that reasoning asks."""

    atlas: Atlas
    tests: Mapping[str, ClinicTest]
    habits: Mapping[str, Habit]
    worse_with: Mapping[str, Word]
    evidence: Mapping[str, Weight]


@dataclass(frozen=True)
class Evidence:
    """One piece of evidence: what it adds to the score, the sentence that says so, and which way it speaks.

    `inner` marks zones in the core of what a site can trouble, or where it aches.
    """

    adds: float
    says: str
    against: bool = False
    inner: bool = False


def site_evidence(
    site: Site, side: OneSide, symptom: SymptomFinding, visit: Visit, knowledge: Knowledge
) -> tuple[Evidence, ...]:
    """Every piece of evidence on a site for one symptom; empty when the symptom does not touch what it can trouble."""
    zones = _zones(symptom, site, knowledge)
    if not zones:
        return ()
    return (
        *zones,
        *_at_most(_provocations(site, symptom, knowledge), MOST_COUNTED if any(piece.inner for piece in zones) else 1),
        *_tests(site, side, visit, knowledge),
        *_at_most(_tissues(site, side, visit, knowledge)),
        *_at_most(_weak_muscles(site, side, visit, knowledge)),
        *_changes(site, visit.changed, knowledge),
        *_explained_too(site, side, symptom, visit, knowledge),
    )


def tests_not_done(site: Site, side: OneSide, visit: Visit) -> tuple[str, ...]:
    """Ids of the tests that would speak for or against a site and were not done on this side."""
    done = {one.test for one in visit.tests if side in each_side(one.side)}
    return tuple(test for test in (*site.tests, *site.tests_against) if test not in done)


def territory(site: Site, atlas: Atlas) -> tuple[frozenset[str], frozenset[str]]:
    """Core and outer zones that a site can trouble: its nerve's or root's, and those of branches leaving beyond it."""
    line = [one for one in atlas.beyond[site.id] if one.kind == "nerve"] or [atlas.tissues[site.of]]
    core = {zone for one in line for zone in one.core}
    outer = {zone for one in line for zone in one.outer}
    return frozenset(core), frozenset(outer - core)


def calls_up(habit: Habit, change: Change) -> bool:
    """Whether what changed lately names what a habit is about: one of its stems begins a word of the text.

    A stem with a full stop stands for the whole word, with or without its plural s.
    """
    words = re.findall(r"[^\W\d_]+", str(change).lower())
    return any(_names(word, stem.lower()) for stem in habit.changed for word in words)


def _names(word: str, stem: str) -> bool:
    return word in (stem[:-1], f"{stem[:-1]}s") if stem.endswith(".") else word.startswith(stem)


def _at_most(found: Iterable[Evidence], most: int = MOST_COUNTED) -> list[Evidence]:
    """The pieces, those beyond the first few said but counted as nothing."""
    return [piece if place < most else replace(piece, adds=0.0) for place, piece in enumerate(found)]


def _zones(symptom: SymptomFinding, site: Site, knowledge: Knowledge) -> list[Evidence]:
    """Evidence of the zones; empty when none of them lies in the territory.

    Where trouble at the site is felt as pain, a symptom without pain speaks neither for it nor against it.
    """
    core, outer = territory(site, knowledge.atlas)
    ache = frozenset(site.ache) - core if symptom.symptom in PAINFUL else frozenset()
    name = knowledge.atlas.tissues[site.of].plain
    words = {
        "zone_core": (core, f"within the area of the {name}"),
        "zone_ache": (ache, f"where trouble at {site.plain} is felt as an ache"),
        "zone_outer": (outer - ache, f"at the edge of the area of the {name}"),
        "zone_outside": (frozenset(symptom.zones) - core - outer - set(site.ache), f"outside the area of the {name}"),
    }
    found = []
    for key, (area, says) in words.items():
        zones = [zone for zone in symptom.zones if zone in area]
        if zones:
            share = len(zones) / len(symptom.zones)
            places = listed([knowledge.atlas.zones[zone].plain for zone in zones])
            adds = knowledge.evidence[key].weight * share
            inner = key in ("zone_core", "zone_ache")
            found.append(Evidence(adds, sentence(f"{places} {says}"), key == "zone_outside", inner))
    return found if any(not piece.against for piece in found) else []


def _provocations(site: Site, symptom: SymptomFinding, knowledge: Knowledge) -> Iterator[Evidence]:
    weight = knowledge.evidence["provoked"].weight
    for one in symptom.worse_with:
        if one in site.worse_with:
            yield Evidence(weight, sentence(f"worse with {knowledge.worse_with[one].plain}"))


def _tests(site: Site, side: OneSide, visit: Visit, knowledge: Knowledge) -> Iterator[Evidence]:
    """A test's result, turned round where a positive one speaks against the site."""
    weights = knowledge.evidence
    for one in dict.fromkeys((found.test, found.result) for found in visit.tests if side in each_side(found.side)):
        key, result = one
        if key not in (*site.tests, *site.tests_against):
            continue
        test = knowledge.tests[key]
        factor = test.if_positive if result == "positive" else test.if_negative
        against = (result == "positive") == (key in site.tests_against)
        weight = weights["test_negative" if against else "test_positive"].weight
        yield Evidence(weight * factor, sentence(f"{test.name} was {result}"), against)


def _tissues(site: Site, side: OneSide, visit: Visit, knowledge: Knowledge) -> Iterator[Evidence]:
    """Tissues found tight or sore: the nerve itself, and what forms the site."""
    atlas, weights = knowledge.atlas, knowledge.evidence
    forming = set(atlas.members(site.formed_by))
    for finding in _found_on(side, visit.tissues):
        members = set(atlas.members(finding.tissue))
        if finding.found not in IRRITATING:
            continue
        if finding.tissue == site.of:
            says = f"the {atlas.plain(finding.tissue)} was found {finding.found}"
            yield Evidence(weights["nerve_found"].weight, sentence(says))
        elif forming & members:
            says = f"{atlas.plain(finding.tissue)} found {finding.found}"
            yield Evidence(weights["tissue_found"].weight, sentence(says))


def _weak_muscles(site: Site, side: OneSide, visit: Visit, knowledge: Knowledge) -> Iterator[Evidence]:
    """Weak muscles: for the site where its nerve or root serves them beyond it, against where they leave above it."""
    atlas, weights = knowledge.atlas, knowledge.evidence
    served = {one.id for one in atlas.beyond[site.id] if one.kind != "nerve"}
    root = atlas.tissues[site.of].kind == "root"
    for finding in _found_on(side, visit.tissues):
        members = [atlas.tissues[one] for one in atlas.members(finding.tissue)]
        muscles = [one for one in members if one.kind == "muscle" and finding.found == "weak"]
        name = atlas.plain(finding.tissue)
        if any(one.id in served or (root and site.of in one.roots) for one in muscles):
            yield Evidence(weights["muscle_weak"].weight, sentence(f"{name} found weak, which it serves beyond here"))
        elif any(_hangs_on(one, site, atlas) for one in muscles):
            says = f"{name} found weak, though its branch leaves above here"
            yield Evidence(weights["muscle_above"].weight, sentence(says), against=True)
        elif not root and any(set(one.roots) & set(atlas.tissues[site.of].roots) for one in muscles):
            says = f"{name} found weak, which shares its roots but is not served by it"
            yield Evidence(weights["muscle_elsewhere"].weight, sentence(says), against=True)


def _hangs_on(muscle: Tissue, site: Site, atlas: Atlas) -> bool:
    """Whether a muscle is served by the site's nerve or one that continues it."""
    return any(site.of in atlas.trunk_line(nerve) for nerve in muscle.nerves)


def _found_on(side: OneSide, findings: Sequence[TissueFinding]) -> Iterator[TissueFinding]:
    return (one for one in findings if "none" in (one.side, side) or side in each_side(one.side))


def _explained_too(
    site: Site, side: OneSide, symptom: SymptomFinding, visit: Visit, knowledge: Knowledge
) -> list[Evidence]:
    """One piece where another symptom of the side lies in the core of what the site troubles, or where it aches."""
    core, _ = territory(site, knowledge.atlas)
    for other in visit.symptoms:
        here = core | set(site.ache) if other.symptom in PAINFUL else core
        if other is not symptom and side in each_side(other.side) and set(other.zones) & here:
            places = listed([knowledge.atlas.zones[zone].plain for zone in other.zones if zone in here])
            says = f"the {other.symptom} in the {places} fits too"
            return [Evidence(knowledge.evidence["explains_too"].weight, sentence(says))]
    return []


def _changes(site: Site, changed: Iterable[Change], knowledge: Knowledge) -> list[Evidence]:
    for change in changed:
        if any(site.id in habit.sites and calls_up(habit, change) for habit in knowledge.habits.values()):
            return [Evidence(knowledge.evidence["changed"].weight, sentence(f"changed lately: {change}"))]
    return []
