"""The library's rules of drills as a set: each can be reached and barred, every muscle and nerve is served."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from difflib import SequenceMatcher
from functools import lru_cache
from itertools import chain, combinations

from homecare.core.atlas import FOUND_BY_KIND, LEG_REGIONS, REGIONS, Atlas
from homecare.core.barring import stopped_by
from homecare.core.drill import Drill, Kind
from homecare.core.findings import TissueFinding
from homecare.core.problems import Problem
from homecare.core.reasoning import Reasoned, nerves_at
from homecare.core.wishes import serves, tissue_wishes
from homecare.library.load import Library

SAME = 0.9
"""Two drills of one kind for one tissue whose steps are alike to this share say the same (common practice)."""
SERIES = 3
"""Levels that wake a muscle which often fires late, each harder than the one before (common practice)."""
ANYWHERE = tuple(sorted(REGIONS))
PRESSES = frozenset({"ball", "roller", "stick"})
TRUNK = ("neck", "upper_back", "low_back", "pelvis")
_NOTHING = Reasoned((), {}, ())

NEEDED: tuple[tuple[str, tuple[Kind, ...], str, tuple[str, ...], str], ...] = (
    ("recent_fracture", ("release",), "", ANYWHERE, "Bartsch KM et al. 2021, J Clin Med 10:5360"),
    ("open_wound", ("release",), "", ANYWHERE, "Bartsch KM et al. 2021, J Clin Med 10:5360"),
    ("dvt_suspected", ("release",), "", ANYWHERE, "Bartsch KM et al. 2021, J Clin Med 10:5360"),
    ("dvt_suspected", (), "", tuple(sorted(LEG_REGIONS)), "common practice"),
    ("recent_surgery", ("stretch", "load"), "", ANYWHERE, "Kisner C, Colby LA, Therapeutic Exercise, from memory"),
    ("muscle_tear", ("stretch", "load"), "", ANYWHERE, "Kisner C, Colby LA, Therapeutic Exercise, from memory"),
    ("anticoagulant", (), "deep_pressure", ANYWHERE, "common practice"),
    ("reduced_sensation", (), "deep_pressure", ANYWHERE, "common practice"),
    ("varicose_veins", (), "deep_pressure", ("thigh", "knee", "leg", "foot"), "common practice"),
    ("osteoporosis", (), "spine_flexion", ANYWHERE, "Sinaki M, Mikkelsen BA 1984, from memory"),
    ("osteoporosis", (), "deep_pressure", TRUNK, "Clark MA, Lucett SC 2011"),
    ("hypermobile", (), "end_range_joint", ANYWHERE, "Kisner C, Colby LA, Therapeutic Exercise, from memory"),
    ("adjusted_neck", (), "end_range_neck", ANYWHERE, "common practice"),
    ("under_16", (), "high_load", ANYWHERE, "common practice"),
    ("pregnant", (), "supine", ANYWHERE, "ACOG 2020, Committee Opinion 804, from memory"),
)
"""Which caution must stop a drill of these kinds (any), with this trait (any), in these regions, and who says so."""


def cautions_held(library: Library) -> Iterator[Problem]:
    """The usual cautions stop what they must: what a limb's finding rules out counts as found there."""
    for drill in library.drills.values():
        for caution, kinds, trait, regions, source in NEEDED:
            concerned = (not kinds or drill.kind in kinds) and (not trait or trait in drill.traits)
            if not concerned or drill.region not in regions or caution in drill.not_with:
                continue
            record = library.cautions.get(caution)
            if record is None or not stopped_by(record.stops, drill, frozenset({drill.region})):
                yield _fault(drill, "caution", f"the caution {caution!r} does not stop it", source)


def pressure_told(library: Library) -> Iterator[Problem]:
    """A release with a ball, roller or stick says that it presses firmly, so that cautions see it."""
    for drill in library.drills.values():
        if drill.kind == "release" and PRESSES & set(drill.kit) and "deep_pressure" not in drill.traits:
            yield _fault(drill, "pressure", "it presses with a tool", "add deep_pressure to its traits")


def sides_named(library: Library) -> Iterator[Problem]:
    """The steps of a drill for one side say which side."""
    for drill in library.drills.values():
        if drill.paired and "{side}" not in " ".join(drill.steps):
            yield _fault(drill, "side", "none of its steps says which side", "write {side} where the side comes in")


def said_once(library: Library) -> Iterator[Problem]:
    """No two drills have one name, or the same kind, tissue and all but the same steps."""
    drills = [drill for drill in library.drills.values() if drill.offered]
    for key in ("name", "clinical"):
        for one, two in _pairs(drills, lambda drill: getattr(drill, key).casefold()):  # noqa: B023
            yield _fault(two, "same", f"the {key} {getattr(two, key)!r} is that of {one.id!r}")
    for one, two in _pairs(drills, lambda drill: (drill.kind, drill.tissues[0])):
        if _alike(one.steps, two.steps):
            yield _fault(two, "same", f"its steps say the same as those of {one.id!r}", "retire one of the two")


def _pairs(drills: Iterable[Drill], what: Callable[[Drill], object]) -> Iterator[tuple[Drill, Drill]]:
    """Every two drills that are the same in something."""
    same: dict[object, list[Drill]] = {}
    for drill in drills:
        same.setdefault(what(drill), []).append(drill)
    return chain.from_iterable(combinations(some, 2) for some in same.values())


@lru_cache(maxsize=4096)
def _alike(one: tuple[str, ...], two: tuple[str, ...]) -> bool:
    """Whether the share of words in the same order is `SAME`, asked of quicker upper bounds first."""
    match = SequenceMatcher(None, " ".join(one).split(), " ".join(two).split())
    return match.real_quick_ratio() >= SAME and match.quick_ratio() >= SAME and match.ratio() >= SAME


def ways_lead_on(library: Library) -> Iterator[Problem]:
    """Easier and harder lead to another drill that shares a tissue, and harder never comes round to where it began."""
    members = library.atlas.members
    for drill in library.drills.values():
        for word, other in (("easier", drill.easier), ("harder", drill.harder)):
            if other == drill.id:
                yield _fault(drill, "way", f"{word} names the drill itself")
            elif other and not set(members(drill.tissues)) & set(members(library.drills[other].tissues)):
                yield _fault(drill, "way", f"{word} names {other!r}, which is for other tissues")
        seen, on = {drill.id}, drill.harder
        while on and on not in seen:
            seen.add(on)
            on = library.drills[on].harder
        if on == drill.id and drill.harder != drill.id:
            yield _fault(drill, "way", "harder comes round to the drill itself")


def findings_reach(library: Library) -> Iterator[Problem]:
    """Every drill is asked for by some finding; else it would lie in the library unused."""
    atlas = library.atlas
    glided = {nerve for site in atlas.sites.values() for nerve in nerves_at(site, atlas)}
    pressed = {one for site in atlas.sites.values() for one in atlas.members(site.formed_by)}
    by_site: dict[Kind, set[str]] = {"glide": glided, "release": pressed, "mobilise": pressed}
    for drill in library.drills.values():
        called = not by_site.get(drill.kind, set()).isdisjoint(atlas.members(drill.tissues))
        if not called and not _asked(drill, library):
            yield _fault(drill, "unreached", "no finding asks for it", "name the tissue it is for")


def _asked(drill: Drill, library: Library) -> bool:
    """Whether some finding of one of its tissues asks for a drill."""
    atlas = library.atlas
    return any(
        serves(drill, wish, atlas)
        for tissue in atlas.members(drill.tissues)
        for found in FOUND_BY_KIND[atlas.tissues[tissue].kind]
        for wish in tissue_wishes(TissueFinding(tissue, "right", found), _NOTHING, atlas)
    )


def muscles_served(library: Library) -> Iterator[Problem]:
    """Every muscle has a release and a stretch, or its record says why that kind is not for home.

    A drill that a clinic retired or hid counts: leaving it out is the clinic's to decide.
    """
    have = _served(library)
    for tissue in library.atlas.tissues.values():
        for kind in ("release", "stretch") if tissue.kind == "muscle" else ():
            served, excused = (kind, tissue.id) in have, kind in tissue.not_at_home
            if not served and not excused:
                hint = f"add a drill, or `not_at_home: {{{kind}: why}}`"
                yield Problem(tissue.where, "unserved", f"{tissue.id}: no drill to {kind} it", hint)
            if served and excused:
                yield Problem(tissue.where, "unserved", f"{tissue.id}: {kind} is not_at_home, but a drill does it")


def nerves_served(library: Library) -> Iterator[Problem]:
    """Every nerve with sites has two slides of rising reach, or its record says why none is for home."""
    atlas = library.atlas
    for tissue in atlas.tissues.values():
        if tissue.kind != "nerve" or not atlas.sites_of(tissue.id) or tissue.refer or "glide" in tissue.not_at_home:
            continue
        slides = {
            drill.ladder for drill in library.drills.values() if drill.claims == "slider" and tissue.id in drill.tissues
        }
        if not {"nerve_slide", "nerve_slide_wide"} <= slides:
            message = f"{tissue.id}: needs a small slide (nerve_slide) and a wider one (nerve_slide_wide)"
            yield Problem(tissue.where, "unserved", message, "add a drill, or `not_at_home: {glide: why}`")


def woken_by_levels(library: Library) -> Iterator[Problem]:
    """A muscle that often fires late has drills of three levels, each harder than the last."""
    for order in library.firing_orders.values():
        for muscle in _often_late(order.expected, library.atlas):
            if _levels(library, muscle) < SERIES:
                where = library.entries["firing_orders", order.id].where
                message = f"{muscle}: its drills that wake and load it make no series of {SERIES} levels"
                yield Problem(where, "series", message, "link them by harder and easier")


def _often_late(expected: Sequence[str], atlas: Atlas) -> list[str]:
    """The first muscle of a firing order, and those whose work others of it do while doing nobody's themselves."""
    muscles = [member for one in expected for member in atlas.members(one)]
    stands_in = {
        muscle: {link.to for link in atlas.tissues[muscle].links if link.kind == "does_work_of"} for muscle in muscles
    }
    late = {one for done in stands_in.values() for to in done for one in atlas.members(to)}
    return [one for one in muscles if one == muscles[0] or (one in late and not stands_in[one] & {*muscles, *expected})]


def _levels(library: Library, muscle: str) -> int:
    """The longest way of `harder` that starts by waking a muscle and stays with it."""

    def on_from(drill: Drill, seen: frozenset[str]) -> int:
        up = library.drills.get(drill.harder or "")
        if up is None or up.id in seen or muscle not in library.atlas.members(up.tissues):
            return 1
        return 1 + on_from(up, seen | {up.id})

    starts = (
        drill
        for drill in library.drills.values()
        if drill.kind == "activate" and muscle in library.atlas.members(drill.tissues)
    )
    return max((on_from(drill, frozenset({drill.id})) for drill in starts), default=0)


def _served(library: Library) -> frozenset[tuple[str, str]]:
    return frozenset(
        (drill.kind, member) for drill in library.drills.values() for member in library.atlas.members(drill.tissues)
    )


def _fault(drill: Drill, code: str, message: str, hint: str = "") -> Problem:
    return Problem(drill.where, code, f"{drill.id}: {message}", hint)


DRILL_RULES: tuple[Callable[[Library], Iterator[Problem]], ...] = (
    cautions_held,
    pressure_told,
    sides_named,
    said_once,
    ways_lead_on,
    findings_reach,
    muscles_served,
    nerves_served,
    woken_by_levels,
)
"""Every rule of drills as a set, in the order of their telling."""

DRILL_RULES_ALONE = (cautions_held, pressure_told, sides_named, findings_reach)
"""Those of them that ask each drill alone, whatever other drills there are."""
