"""What each finding asks of the sheet: wishes, each with its weight and the finding behind it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from homecare.core.atlas import Atlas, FiringOrder, Found, OneSide, Tissue, each_side, one_side
from homecare.core.drill import GRADES, Drill, Irritability, Kind
from homecare.core.findings import Depth, FiringFinding, SymptomFinding, TissueFinding, Visit
from homecare.core.plain import listed
from homecare.core.reasoning import Reasoned, is_wanted, nerves_at
from homecare.core.sheet import Candidate

UNPRESSED = ("tendon", "bone")
"""Tender tissues of these kinds get neither pressure nor stretch (Cook and Purdam 2012, from memory); tendons and
bones are never wished to be pressed."""

WEIGHTS: Mapping[Found, Mapping[Kind, float]] = {
    "tight": {"release": 0.6, "stretch": 0.5},
    "tender": {"release": 0.5, "mobilise": 0.3},
    "weak": {"activate": 0.6, "load": 0.4},
    "late": {"activate": 0.6},
    "stiff": {"mobilise": 0.6},
    "painful": {"mobilise": 0.4},
    "strained": {"mobilise": 0.4, "release": 0.3},
}
"""How much each kind of drill is wished for by what was found, beside a site's score of 0 to 1 (common practice)."""

HELPER_WEIGHT, UNCONFIRMED = 0.3, 0.5
"""A helper's release; the share that waking a muscle keeps until a second sign is found, or its nerve was looked at
(common practice)."""

IRRITABILITY_OF: Mapping[Found, Irritability] = {"strained": "high", "painful": "high", "tender": "moderate"}
"""How easily a tissue is stirred up by what was found of it; all else is low (common practice)."""

SIDE_WORDS: Mapping[str, str] = {"left": "left ", "right": "right ", "none": "", "both": ""}


@dataclass(frozen=True)
class Wish:
    """One thing asked of the sheet: any of `kinds` for any of `tissues` (member ids) on one side.

    For a site, `site` is its id, `place` its plain words, `nerves` those whose glide covers it, and `tissues` those
    that form it.
    """

    id: str
    says: str
    because: str
    kinds: tuple[Kind, ...]
    tissues: frozenset[str]
    side: OneSide
    weight: float
    irritability: Irritability
    gentle: bool = False
    site: str | None = None
    place: str = ""
    nerves: frozenset[str] = frozenset()


def finding_words(finding: TissueFinding, atlas: Atlas) -> str:
    """A tissue finding as it is said: "left deep calf muscle found tight"."""
    sides = {"both": "both sides: ", "left": "left ", "right": "right ", "none": ""}
    return f"{sides[finding.side]}{atlas.plain(finding.tissue)} found {finding.found}"


def wishes_by_finding(
    visit: Visit, reasoned: Reasoned, atlas: Atlas, firing_orders: Mapping[str, FiringOrder]
) -> tuple[tuple[str, tuple[Wish, ...]], ...]:
    """Each finding in words with what it asks for, in the visit's order; all symptoms of nerves ask together."""
    found = [(finding_words(one, atlas), tuple(tissue_wishes(one, reasoned, atlas))) for one in visit.tissues]
    for firing in visit.firing:
        order = listed([atlas.plain(one) for one in firing.order], joint="then")
        words = f"{firing_orders[firing.firing].name}, {firing.side}: {order}"
        found.append((words, tuple(firing_wishes(firing, visit, atlas, firing_orders))))
    asked_by_hand = [f"asked to cover {atlas.sites[one].plain}" for one in visit.cover]
    symptoms = [symptom_words(one, atlas) for one in visit.symptoms] + asked_by_hand
    if symptoms:
        found.append(("; ".join(symptoms), tuple(site_wishes(visit, reasoned, atlas))))
    return tuple(found)


def all_wishes(by_finding: Iterable[tuple[str, Sequence[Wish]]]) -> tuple[Wish, ...]:
    """The wishes of all findings of a visit; one wish named twice keeps the greater weight."""
    best: dict[str, Wish] = {}
    for _, wishes in by_finding:
        for wish in wishes:
            if wish.id not in best or best[wish.id].weight < wish.weight:
                best[wish.id] = wish
    return tuple(best.values())


def nerves_in_question(finding: TissueFinding, reasoned: Reasoned, atlas: Atlas) -> tuple[str, ...]:
    """The nerves that serve a weak muscle and are in question on its side: a nerve check comes first."""
    sides = each_side(finding.side) if finding.found == "weak" else ()
    muscles = (one for member in atlas.members(finding.tissue) if (one := atlas.tissues[member]).kind == "muscle")
    serving = (nerve for muscle in muscles for nerve in muscle.nerves)
    return tuple(dict.fromkeys(one for one in serving if any((one, side) in reasoned.irritable for side in sides)))


def tissue_wishes(finding: TissueFinding, reasoned: Reasoned, atlas: Atlas) -> Iterator[Wish]:
    """What one tissue finding asks for, on each of its sides."""
    members = atlas.members(finding.tissue)
    kinds = {atlas.tissues[member].kind for member in members}
    if "nerve" in kinds or "root" in kinds:
        yield from _nerve_wishes(finding, atlas)
        return
    wanted = dict(WEIGHTS[finding.found])
    if kinds & set(UNPRESSED):
        wanted.pop("release", None)
        if finding.found == "tender" or kinds == {"bone"}:
            wanted = {}  # eased off, and loaded once it has settled
    if finding.found == "stiff" and "joint" not in kinds:
        wanted = {"mobilise": 0.4, "stretch": 0.4}
    if finding.found in ("tight", "tender") and kinds == {"joint"}:
        wanted = {"mobilise": 0.5}
    check_first = bool(nerves_in_question(finding, reasoned, atlas))
    if check_first:
        wanted = {"activate": wanted["activate"] * UNCONFIRMED}  # load waits until the nerve has been looked at
    irritability = IRRITABILITY_OF.get(finding.found, "low")
    for side in each_side(finding.side):
        for kind, weight in wanted.items():
            yield Wish(
                id=f"{kind}:{finding.tissue}:{side}",
                says=f"{kind} {SIDE_WORDS[side]}{atlas.plain(finding.tissue)}",
                because=f"{SIDE_WORDS[side]}{atlas.plain(finding.tissue)} found {finding.found}"
                + (" (check its nerve first)" if check_first else ""),
                kinds=(kind,),
                tissues=_reached(members, kind, atlas),
                side=side,
                weight=weight,
                irritability=irritability,
                gentle=finding.found in ("tender", "strained"),
            )
        if finding.found == "late":
            yield from _stand_in_wishes(finding.tissue, side, atlas)


def _stand_in_wishes(late: str, side: OneSide, atlas: Atlas) -> Iterator[Wish]:
    """One of the muscles that the atlas says do the work of a late one is to be eased."""
    members = set(atlas.members(late))
    helpers = frozenset(
        key
        for key, tissue in atlas.tissues.items()
        for link in tissue.links
        if link.kind == "does_work_of" and set(atlas.members(link.to)) & members
    )
    if helpers:
        name = f"{SIDE_WORDS[side]}{atlas.plain(late)}"
        says = f"release what does the work of {name}"
        because = f"{name} found late: {listed(atlas.plain(one) for one in sorted(helpers))} may do its work"
        yield Wish(f"stand-in:{late}:{side}", says, because, ("release",), helpers, side, HELPER_WEIGHT, "low")


def _reached(members: Sequence[str], kind: Kind, atlas: Atlas) -> frozenset[str]:
    """The tissues a drill may name to serve: for mobilising, the joints that a muscle crosses too."""
    joints: Iterable[str] = ()
    if kind == "mobilise":
        joints = (joint for member in members for joint in atlas.tissues[member].crosses)
    return frozenset(members) | frozenset(joints)


def _nerve_wishes(finding: TissueFinding, atlas: Atlas) -> Iterator[Wish]:
    tissue: Tissue = atlas.tissues[finding.tissue]
    if tissue.kind == "root":
        nerves = frozenset(one for one, other in atlas.tissues.items() if finding.tissue in other.roots and other.bed)
    else:
        nerves = frozenset(atlas.nerve_family(finding.tissue))
    for side in each_side(finding.side):
        because = f"{SIDE_WORDS[side]}{tissue.plain} found {finding.found}"
        says = f"glide {SIDE_WORDS[side]}{tissue.plain}"
        wish_id = f"glide:{finding.tissue}:{side}"
        yield Wish(wish_id, says, because, ("glide",), nerves, side, 0.6, "moderate", nerves=nerves)


def firing_wishes(
    finding: FiringFinding, visit: Visit, atlas: Atlas, firing_orders: Mapping[str, FiringOrder]
) -> Iterator[Wish]:
    """A muscle that fired after one that should follow it is to be woken; a helper is eased with a second sign only."""
    order = firing_orders[finding.firing]
    expected = [muscle for muscle in order.expected if muscle in finding.order]
    for place, muscle in enumerate(expected):
        ahead = [other for other in expected[place + 1 :] if finding.order.index(other) < finding.order.index(muscle)]
        for side in each_side(finding.side) if ahead else ():
            confirmed = _second_sign(muscle, side, visit, atlas)
            name = f"{SIDE_WORDS[side]}{atlas.plain(muscle)}"
            because = f"{name} fired after {listed([atlas.plain(one) for one in ahead])}"
            if not confirmed:
                because += " (confirm with a second sign)"
            yield Wish(
                id=f"activate:{muscle}:{side}",
                says=f"activate {name}",
                because=because,
                kinds=("activate",),
                tissues=frozenset(atlas.members(muscle)),
                side=side,
                weight=WEIGHTS["late"]["activate"] * (1 if confirmed else UNCONFIRMED),
                irritability="low",
            )
            yield from _helper_wishes(ahead, name, side, atlas) if confirmed else ()


def _helper_wishes(helpers: Sequence[str], late: str, side: OneSide, atlas: Atlas) -> Iterator[Wish]:
    for helper in helpers:
        name = f"{SIDE_WORDS[side]}{atlas.plain(helper)}"
        members = frozenset(atlas.members(helper))
        because = f"{name} does the work of {late}"
        wish_id = f"release:{helper}:{side}"
        yield Wish(wish_id, f"release {name}", because, ("release",), members, side, HELPER_WEIGHT, "low")


def _second_sign(muscle: str, side: OneSide, visit: Visit, atlas: Atlas) -> bool:
    members = set(atlas.members(muscle))
    return any(
        finding.found in ("weak", "tender", "painful")
        and ("none" in (side, finding.side) or side in each_side(finding.side))
        and members & set(atlas.members(finding.tissue))
        for finding in visit.tissues
    )


def site_wish(one: Candidate, reasoned: Reasoned, atlas: Atlas) -> Wish:
    """The wish that a candidate site be covered."""
    site, side = atlas.sites[one.site], one_side(one.side)
    nerves = frozenset(nerves_at(site, atlas))
    return Wish(
        id=f"site:{one.site}:{side}",
        says=f"cover {SIDE_WORDS[side]}{site.plain}",
        because=f"the nerve may be irritated at {site.plain}" + (f", {side}" if side != "none" else ""),
        kinds=("glide", "release", "mobilise"),
        tissues=frozenset(atlas.members(site.formed_by)),
        side=side,
        weight=max(one.score, 0.1),
        irritability=max_irritability(reasoned, nerves, side),
        site=one.site,
        place=site.plain,
        nerves=nerves,
    )


def site_wishes(visit: Visit, reasoned: Reasoned, atlas: Atlas) -> Iterator[Wish]:
    """Every wanted candidate site is to be covered, and each nerve in question to be helped to glide."""
    wanted = [
        one for one in reasoned.candidates if is_wanted(one, visit.cover) and (one.site, one.side) not in reasoned.held
    ]
    best: dict[tuple[str, OneSide], Candidate] = {}
    for one in wanted:
        yield site_wish(one, reasoned, atlas)
        if atlas.tissues[one.nerve].kind == "nerve":
            best.setdefault((one.nerve, one_side(one.side)), one)
    for (nerve, side), one in best.items():
        # the nerve itself, its trunk or a branch: further up or down the line a glide does too little for it
        family = frozenset(one for one in atlas.nerve_family(nerve) if atlas.nerves_apart(one, nerve) in (0, 1))
        yield Wish(
            id=f"glide:{nerve}:{side}",
            says=f"glide {SIDE_WORDS[side]}{atlas.plain(nerve)}",
            because=_asking_symptom(visit.symptoms, side, nerve, atlas),
            kinds=("glide",),
            tissues=family,
            side=side,
            weight=one.score,
            irritability=max_irritability(reasoned, family, side),
            nerves=family,
        )


def max_irritability(reasoned: Reasoned, nerves: Iterable[str], side: OneSide) -> Irritability:
    """The highest irritability among some nerves on a side; low when none is in question."""
    found = [reasoned.irritable.get((nerve, side), "low") for nerve in nerves]
    return max(found, key=GRADES.index, default="low")


def symptom_words(symptom: SymptomFinding, atlas: Atlas) -> str:
    """A symptom as it is said: "tingling in right thumb and index finger"."""
    places = listed([atlas.zones[zone].plain for zone in symptom.zones])
    sides = {"both": "both sides: ", "left": "left ", "right": "right ", "none": ""}
    return f"{symptom.symptom} in {sides[symptom.side]}{places}"


def _asking_symptom(symptoms: Sequence[SymptomFinding], side: OneSide, nerve: str, atlas: Atlas) -> str:
    for symptom in symptoms:
        if side in each_side(symptom.side):
            return symptom_words(replace(symptom, side=side), atlas)
    return f"{atlas.plain(nerve)} in question"


def serves(drill: Drill, wish: Wish, atlas: Atlas) -> bool:
    """Whether a drill does what a wish asks for, sides and bars left aside."""
    if drill.kind not in wish.kinds:
        return False
    targets = set(atlas.members(drill.tissues))
    if wish.site is None:
        return bool(targets & wish.tissues) and not (
            wish.gentle and drill.kind == "release" and drill.reach != "gentle"
        )
    if wish.site in drill.strains:
        return False
    if drill.kind == "glide":
        return bool(targets & wish.nerves)
    pressed = drill.kind == "release" and "deep_pressure" in drill.traits
    return bool(targets & wish.tissues) and not (pressed and wish.irritability != "low")


def treated_tissues(visit: Visit, atlas: Atlas) -> Mapping[str, Depth]:
    """Member tissues treated by hand at the visit, and how deeply: every tissue found, firmly, when nothing is said."""
    said: Mapping[str, Depth] = (
        visit.treated if visit.treated is not None else {finding.tissue: "firm" for finding in visit.tissues}
    )
    return {member: depth for tissue, depth in said.items() for member in atlas.members(tissue)}
