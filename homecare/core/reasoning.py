"""From symptoms to the places where a nerve may be irritated, each with the evidence in the open."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from homecare.core.atlas import Atlas, ClinicTest, OneSide, Site, Tissue, Word, each_side, one_side
from homecare.core.drill import GRADES, Habit, Irritability, Weight
from homecare.core.findings import COVER_BAR, Change, SymptomFinding, Visit
from homecare.core.plain import listed, sentence
from homecare.core.sheet import Candidate

IRRITATING = {"tight", "tender", "painful", "stiff", "strained"}
"""What a tissue on the path must be found to speak for a site (common practice)."""
MOST_COUNTED = 2
"""At most this many provocations, and as many tissues, count for one site, so that a long list proves nothing."""


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
    """One piece of evidence: what it adds to the score, and the sentence that says so."""

    adds: float
    says: str


@dataclass(frozen=True)
class Reasoned:
    """Candidates best first; nerves in question with their symptom's irritability, by side; what fits nothing."""

    candidates: tuple[Candidate, ...]
    irritable: Mapping[tuple[str, OneSide], Irritability]
    no_fit: tuple[str, ...]


def reason(visit: Visit, knowledge: Knowledge) -> Reasoned:
    """Every candidate site for every symptom of the visit, on each side it was felt."""
    best: dict[tuple[str, OneSide], Candidate] = {}
    irritable: dict[tuple[str, OneSide], Irritability] = {}
    no_fit = []
    for symptom in visit.symptoms:
        for side in each_side(symptom.side):
            found = _candidates(symptom, side, visit, knowledge)
            wanted = [one for one in found if is_wanted(one, visit.cover)]
            if not wanted:
                no_fit.append(_no_fit_words(symptom, knowledge.atlas))
            for one in wanted:
                for nerve in nerves_at(knowledge.atlas.sites[one.site], knowledge.atlas):
                    known = irritable.get((nerve, side), "low")
                    irritable[nerve, side] = max(known, symptom.irritability, key=GRADES.index)
            for one in found:
                other = best.get((one.site, side))
                best[one.site, side] = one if other is None or one.score > other.score else other
    for one in _asked_for(visit, best, knowledge.atlas):
        best[one.site, one_side(one.side)] = one
    order = sorted(
        best.values(), key=lambda one: (-one.score, one.nerve, knowledge.atlas.sites[one.site].order, one.side)
    )
    return Reasoned(tuple(order), irritable, tuple(dict.fromkeys(no_fit)))


def _asked_for(visit: Visit, found: Mapping[tuple[str, OneSide], Candidate], atlas: Atlas) -> list[Candidate]:
    """Sites to cover by hand that no symptom leads to: on the sides of the symptoms, or on both."""
    sides = {side for symptom in visit.symptoms for side in each_side(symptom.side)} or {"left", "right"}
    return [
        Candidate(
            nerve=atlas.sites[key].of,
            site=key,
            side=side,
            score=0.0,
            because=("Asked for by hand.",),
            against=(),
            not_tested=(),
            plain=atlas.sites[key].plain,
            evidence=atlas.sites[key].evidence,
        )
        for key in visit.cover
        for side in sorted(sides)
        if not any(site == key for site, _ in found)
    ]


def is_wanted(candidate: Candidate, cover: Sequence[str]) -> bool:
    """Whether the sheet should cover a candidate: at or above the bar, or asked for by hand."""
    return candidate.score >= COVER_BAR or candidate.site in cover


def nerves_at(site: Site, atlas: Atlas) -> tuple[str, ...]:
    """The nerves whose bed passes a site: its nerve's family, or for a root's opening the nerves of that root."""
    if atlas.tissues[site.of].kind == "nerve":
        return atlas.nerve_family(site.of)
    return tuple(
        sorted(one for one, tissue in atlas.tissues.items() if tissue.kind == "nerve" and site.of in tissue.roots)
    )


def _candidates(symptom: SymptomFinding, side: OneSide, visit: Visit, knowledge: Knowledge) -> list[Candidate]:
    found = []
    for site in knowledge.atlas.sites.values():
        zones = _zone_evidence(symptom, site, knowledge)
        if zones is None:
            continue
        candidate = _candidate(site, side, zones, symptom, visit, knowledge)
        if candidate.score > 0 or site.id in visit.cover:
            found.append(candidate)
    return found


def _candidate(
    site: Site, side: OneSide, zones: Sequence[Evidence], symptom: SymptomFinding, visit: Visit, knowledge: Knowledge
) -> Candidate:
    tests, not_tested = _test_evidence(site, side, visit, knowledge)
    evidence = [
        *zones,
        *_provoked_evidence(site, symptom, knowledge),
        *tests,
        *_tissue_evidence(site, side, visit, knowledge),
        *_change_evidence(site, visit.changed, knowledge),
    ]
    score = max(0.0, min(1.0, sum(piece.adds for piece in evidence)))
    return Candidate(
        nerve=site.of,
        site=site.id,
        side=side,
        score=round(score, 2),
        because=tuple(piece.says for piece in evidence if piece.adds >= 0),
        against=tuple(piece.says for piece in evidence if piece.adds < 0),
        not_tested=not_tested,
        plain=site.plain,
        evidence=site.evidence,
    )


def territory(site: Site, atlas: Atlas) -> tuple[frozenset[str], frozenset[str]]:
    """Core and outer zones that a site can trouble: its nerve's or root's, and those of branches leaving beyond it."""
    line = [one for one in atlas.tissues.values() if site.of in atlas.trunk_line(one.id) and _passes(one, site, atlas)]
    core = {zone for one in line for zone in one.core}
    outer = {zone for one in line for zone in one.outer}
    return frozenset(core), frozenset(outer - core)


def _passes(branch: Tissue, site: Site, atlas: Atlas) -> bool:
    """Whether the fibres of a branch of the site's nerve pass the site: not where it has left the nerve above."""
    left = atlas.sites[branch.leaves_after] if branch.leaves_after else None
    return left is None or left.of != site.of or site.order <= left.order


def _zone_evidence(symptom: SymptomFinding, site: Site, knowledge: Knowledge) -> list[Evidence] | None:
    """Evidence of the zones, None when none of them lies in the territory."""
    core, outer = territory(site, knowledge.atlas)
    name = knowledge.atlas.tissues[site.of].plain
    parts = {
        "zone_core": [zone for zone in symptom.zones if zone in core],
        "zone_outer": [zone for zone in symptom.zones if zone in outer],
        "zone_outside": [zone for zone in symptom.zones if zone not in core | outer],
    }
    if not parts["zone_core"] and not parts["zone_outer"]:
        return None
    words = {"zone_core": "within", "zone_outer": "at the edge of", "zone_outside": "outside"}
    found = []
    for key, zones in parts.items():
        if zones:
            share = len(zones) / len(symptom.zones)
            places = listed([knowledge.atlas.zones[zone].plain for zone in zones])
            says = f"{places} {words[key]} the area of the {name}"
            found.append(Evidence(knowledge.evidence[key].weight * share, sentence(says)))
    return found


def _provoked_evidence(site: Site, symptom: SymptomFinding, knowledge: Knowledge) -> list[Evidence]:
    weight = knowledge.evidence["provoked"].weight
    hits = [one for one in symptom.worse_with if one in site.worse_with]
    return [
        Evidence(weight if place < MOST_COUNTED else 0.0, sentence(f"worse with {knowledge.worse_with[one].plain}"))
        for place, one in enumerate(hits)
    ]


def _test_evidence(
    site: Site, side: OneSide, visit: Visit, knowledge: Knowledge
) -> tuple[list[Evidence], tuple[str, ...]]:
    found, not_tested = [], []
    for test in site.tests:
        results = [one.result for one in visit.tests if one.test == test and side in each_side(one.side)]
        name = knowledge.tests[test].name
        if not results:
            not_tested.append(f"{name}. {knowledge.tests[test].how}")
        for result in dict.fromkeys(results):
            found.append(Evidence(knowledge.evidence[f"test_{result}"].weight, sentence(f"{name} was {result}")))
    return found, tuple(not_tested)


def _tissue_evidence(site: Site, side: OneSide, visit: Visit, knowledge: Knowledge) -> list[Evidence]:
    atlas = knowledge.atlas
    forming = set(atlas.members(site.formed_by))
    found = []
    for finding in visit.tissues:
        here = finding.found in IRRITATING and ("none" in (finding.side, side) or side in each_side(finding.side))
        if here and finding.tissue == site.of:
            says = sentence(f"the {atlas.plain(finding.tissue)} was found {finding.found}")
            found.append(Evidence(knowledge.evidence["nerve_found"].weight, says))
        elif here and forming & set(atlas.members(finding.tissue)):
            says = sentence(f"{atlas.plain(finding.tissue)} found {finding.found}")
            found.append(Evidence(knowledge.evidence["tissue_found"].weight, says))
    return [piece if place < MOST_COUNTED else replace(piece, adds=0.0) for place, piece in enumerate(found)]


def _change_evidence(site: Site, changed: Iterable[Change], knowledge: Knowledge) -> list[Evidence]:
    for change in changed:
        if any(site.id in habit.sites and calls_up(habit, change) for habit in knowledge.habits.values()):
            return [Evidence(knowledge.evidence["changed"].weight, sentence(f"changed lately: {change}"))]
    return []


def calls_up(habit: Habit, change: Change) -> bool:
    """Whether what changed lately names what a habit is about: one of its stems begins a word of the text."""
    words = str(change).lower().replace("-", " ").split()
    return any(word.startswith(stem.lower()) for stem in habit.changed for word in words)


def _no_fit_words(symptom: SymptomFinding, atlas: Atlas) -> str:
    places = listed([atlas.zones[zone].plain for zone in symptom.zones])
    return (
        f"The {symptom.symptom} ({places}) fits no nerve or root of the atlas well. "
        "Test further, and think of referral, before home care is aimed at a nerve."
    )
