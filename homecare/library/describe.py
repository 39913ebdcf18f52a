"""Everything the library knows of one tissue, gathered from all its records."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from homecare.core.atlas import Atlas, Link, Site, Tissue
from homecare.core.drill import Drill
from homecare.library.load import Library


@dataclass(frozen=True)
class Tie:
    """A link seen from a tissue: the other end, the link as written, and whether it is written with the other one."""

    other: str
    link: Link
    from_other: bool


@dataclass(frozen=True)
class Known:
    """One tissue with what it takes part in; every field holds ids, in the library's order.

    `muscles` are those a nerve or root serves, `branches` the nerves that continue it, `passed_by` the sites that it
    forms, `tests` those that load or examine it.
    """

    tissue: Tissue
    groups: tuple[str, ...]
    sites: tuple[Site, ...]
    passed_by: tuple[Site, ...]
    ties: tuple[Tie, ...]
    muscles: tuple[str, ...]
    branches: tuple[str, ...]
    tests: tuple[str, ...]
    markers: tuple[str, ...]
    habits: tuple[str, ...]
    drills: tuple[Drill, ...]


def known(library: Library, key: str) -> Known:
    """What the library knows of a tissue, its links read from both ends; raises KeyError for an unknown id."""
    atlas = library.atlas
    tissue = atlas.tissues[key]
    tissues, names = atlas.tissues.items(), {key}
    own_sites = atlas.sites_of(key)
    sites = {site.id for site in own_sites}
    return Known(
        tissue=tissue,
        groups=tuple(group.id for group in atlas.groups.values() if key in group.members),
        sites=own_sites,
        passed_by=tuple(site for site in atlas.sites.values() if key in atlas.members(site.formed_by)),
        ties=_ties(tissue, atlas),
        muscles=tuple(one for one, other in tissues if other.kind not in ("nerve", "root") and _serves(tissue, other)),
        branches=tuple(one for one, other in tissues if other.follows == key),
        tests=tuple(test.id for test in library.tests.values() if key in (*test.nerves, *test.roots)),
        markers=_naming(atlas, names, ((one.id, one.tissues) for one in library.markers.values())),
        habits=tuple(
            habit.id
            for habit in library.habits.values()
            if sites & set(habit.sites) or names & set(atlas.members(habit.tissues))
        ),
        drills=tuple(
            drill
            for _, drill in sorted(library.drills.items())
            if drill.offered and key in atlas.members(drill.tissues)
        ),
    )


def _serves(tissue: Tissue, other: Tissue) -> bool:
    return tissue.id in other.nerves or tissue.id in other.roots


def _ties(tissue: Tissue, atlas: Atlas) -> tuple[Tie, ...]:
    own = [Tie(link.to, link, from_other=False) for link in tissue.links]
    from_others = [
        Tie(one, link, from_other=True)
        for one, other in atlas.tissues.items()
        for link in other.links
        if one != tissue.id and tissue.id in atlas.members(link.to)
    ]
    return (*own, *from_others)


def _naming(atlas: Atlas, names: set[str], records: Iterable[tuple[str, tuple[str, ...]]]) -> tuple[str, ...]:
    return tuple(key for key, tissues in records if names & set(atlas.members(tissues)))


def as_json(one: Known) -> Mapping[str, object]:
    """What is known of a tissue as plain values for JSON."""
    tissue = one.tissue
    return {
        "id": tissue.id,
        "kind": tissue.kind,
        "name": tissue.name,
        "plain": tissue.plain,
        "region": tissue.region,
        "also": list(tissue.also),
        "paired": tissue.paired,
        "source": str(tissue.source),
        "note": tissue.note,
        "clash": tissue.clash,
        "refer": tissue.refer,
        "not_at_home": dict(tissue.not_at_home),
        "groups": list(one.groups),
        "crosses": list(tissue.crosses),
        "actions": list(tissue.actions),
        "nerves": list(tissue.nerves),
        "roots": list(tissue.roots),
        "follows": tissue.follows,
        "branches": list(one.branches),
        "muscles": list(one.muscles),
        "core": list(tissue.core),
        "outer": list(tissue.outer),
        "bed": {motion: {"full": part.full, "share": part.share} for motion, part in (tissue.bed or {}).items()},
        "sites": [_site_json(site) for site in one.sites],
        "forms": [site.id for site in one.passed_by],
        "links": [_tie_json(tie) for tie in one.ties],
        "tests": list(one.tests),
        "markers": list(one.markers),
        "habits": list(one.habits),
        "drills": [drill.id for drill in one.drills],
    }


def _site_json(site: Site) -> Mapping[str, object]:
    return {
        "id": site.id,
        "name": site.name,
        "plain": site.plain,
        "formed_by": list(site.formed_by),
        "worse_with": list(site.worse_with),
        "tests": list(site.tests),
        "tests_against": list(site.tests_against),
        "ache": list(site.ache),
        "evidence": site.evidence,
        "source": str(site.source),
    }


def _tie_json(tie: Tie) -> Mapping[str, object]:
    link = tie.link
    return {
        "kind": link.kind,
        "other": tie.other,
        "from_other": tie.from_other,
        "says": link.says,
        "strength": link.strength,
        "evidence": str(link.evidence),
    }
