"""From symptoms to the places where a nerve may be irritated, ranked, with ties left as ties and no fit said."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from homecare.core.atlas import Atlas, OneSide, Site, each_side, one_side
from homecare.core.drill import GRADES, Irritability
from homecare.core.evidence import Knowledge, site_evidence, tests_not_done
from homecare.core.findings import COVER_BAR, SymptomFinding, Visit
from homecare.core.plain import listed
from homecare.core.sheet import Candidate
from homecare.core.spreading import Spread

TIE = 0.05
"""Nerves whose best places stand this close cannot be told apart (common practice)."""
MOST_TO_TELL = 3
"""Tests named to tell nerves apart: what fits into one visit (common practice)."""


@dataclass(frozen=True)
class Reasoned:
    """Candidates best first; nerves in question with their symptom's irritability, by side.

    `no_fit` says which symptom fits nothing, `ties` which nerves were not told apart and what would tell them, and
    `refer` which nerve in question is for a doctor: the places of its symptom are `held`, no drill is given for them.
    """

    candidates: tuple[Candidate, ...]
    irritable: Mapping[tuple[str, OneSide], Irritability]
    no_fit: tuple[str, ...]
    ties: tuple[str, ...] = ()
    refer: tuple[str, ...] = ()
    held: frozenset[tuple[str, OneSide]] = frozenset()


def reason(visit: Visit, knowledge: Knowledge, spread: Spread | None = None) -> Reasoned:
    """Every candidate site for every symptom of the visit, on each side it was felt; what has `spread` is held."""
    atlas = knowledge.atlas
    best: dict[tuple[str, OneSide], Candidate] = {}
    irritable: dict[tuple[str, OneSide], Irritability] = {}
    no_fit, ties, refer = list[str](), list[str](), list[str]()
    held: set[tuple[str, OneSide]] = set()
    for symptom in visit.symptoms:
        for side in each_side(symptom.side):
            found = _candidates(symptom, side, visit, knowledge)
            wanted = [one for one in found if is_wanted(one, visit.cover)]
            if not wanted:
                no_fit.append(_no_fit_words(symptom, atlas))
            ties += _tie_words(wanted, side, visit, knowledge)
            for_a_doctor = [words for one in wanted if (words := atlas.tissues[one.nerve].refer)]
            for_a_doctor += [words] if (words := (spread or {}).get((symptom, side), "")) else []
            refer += for_a_doctor
            held |= {(one.site, side) for one in found if for_a_doctor}
            for one in wanted:
                for nerve in nerves_at(atlas.sites[one.site], atlas):
                    known = irritable.get((nerve, side), "low")
                    irritable[nerve, side] = max(known, symptom.irritability, key=GRADES.index)
            for one in found:
                other = best.get((one.site, side))
                best[one.site, side] = one if other is None or one.score > other.score else other
    for one in _asked_for(visit, best, atlas):
        best[one.site, one_side(one.side)] = one
    order = sorted(best.values(), key=lambda one: (-one.score, one.nerve, atlas.sites[one.site].order, one.side))
    return Reasoned(
        tuple(order),
        irritable,
        no_fit=tuple(dict.fromkeys(no_fit)),
        ties=tuple(dict.fromkeys(ties)),
        refer=tuple(dict.fromkeys(refer)),
        held=frozenset(held),
    )


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
        evidence = site_evidence(site, side, symptom, visit, knowledge)
        score = round(max(0.0, min(1.0, sum(piece.adds for piece in evidence))), 2)
        if not evidence or (score <= 0 and site.id not in visit.cover):
            continue
        because = [piece.says for piece in evidence if not piece.against]
        against = [piece.says for piece in evidence if piece.against]
        found.append(_candidate(site, side, score, because, against, tests_not_done(site, side, visit), knowledge))
    return found


def _asked_for(visit: Visit, found: Mapping[tuple[str, OneSide], Candidate], atlas: Atlas) -> list[Candidate]:
    """Sites to cover by hand that no symptom leads to: on the sides of the symptoms, or on both."""
    sides = {side for symptom in visit.symptoms for side in each_side(symptom.side)} or {"left", "right"}
    return [
        _candidate(atlas.sites[key], side, 0.0, ["Asked for by hand."], [], (), None)
        for key in visit.cover
        for side in sorted(sides)
        if not any(site == key for site, _ in found)
    ]


def _candidate(
    site: Site,
    side: OneSide,
    score: float,
    because: Sequence[str],
    against: Sequence[str],
    not_done: Sequence[str],
    knowledge: Knowledge | None,
) -> Candidate:
    tests = [knowledge.tests[one] for one in not_done] if knowledge else []
    return Candidate(
        nerve=site.of,
        site=site.id,
        side=side,
        score=score,
        because=tuple(because),
        against=tuple(against),
        not_tested=tuple(f"{test.name}. {test.how}" for test in tests),
        plain=site.plain,
        evidence=site.evidence,
    )


def _tie_words(wanted: Sequence[Candidate], side: OneSide, visit: Visit, knowledge: Knowledge) -> Iterator[str]:
    """That the best nerves stand equal, and the tests, not done yet, that would tell them; nothing where one leads."""
    top = max((one.score for one in wanted), default=0.0)
    level: dict[str, list[Site]] = {}
    for one in wanted:
        if one.score >= top - TIE:
            level.setdefault(one.nerve, []).append(knowledge.atlas.sites[one.site])
    if len(level) < 2:
        return
    names = listed([knowledge.atlas.plain(nerve) for nerve in level])
    where = "" if side == "none" else f", {side}"
    tests = _telling_tests(level, side, visit)
    said = f"Not told apart{where}: {names}."
    if tests:
        said += f" To tell them: {listed([knowledge.tests[one].name for one in tests], joint='or')}."
    yield said


def _telling_tests(level: Mapping[str, Sequence[Site]], side: OneSide, visit: Visit) -> list[str]:
    """Tests that speak in different ways for the sites of different nerves, those that part most of them first."""
    parts: dict[str, set[str]] = {}
    for nerve, sites in level.items():
        for site in sites:
            for test in tests_not_done(site, side, visit):
                parts.setdefault(test, set()).add(f"{nerve} {'against' if test in site.tests_against else 'for'}")
    told = {test: says for test, says in parts.items() if not _says_the_same(says, level)}
    turned = {test for test, says in told.items() if any(one.endswith("against") for one in says)}
    return sorted(told, key=lambda test: (test not in turned, abs(len(told[test]) - len(level) / 2), test))[
        :MOST_TO_TELL
    ]


def _says_the_same(says: Iterable[str], level: Mapping[str, Sequence[Site]]) -> bool:
    """Whether a test speaks for every nerve alike, or against every one."""
    return any({f"{nerve} {way}" for nerve in level} == set(says) for way in ("for", "against"))


def _no_fit_words(symptom: SymptomFinding, atlas: Atlas) -> str:
    places = listed([atlas.zones[zone].plain for zone in symptom.zones])
    return (
        f"The {symptom.symptom} ({places}) fits no nerve or root of the atlas well. "
        "Test further, and think of referral, before home care is aimed at a nerve."
    )
