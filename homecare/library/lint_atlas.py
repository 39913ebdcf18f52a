"""The library's rules of the atlas: what its tissues, sites and links say of each other holds together."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from homecare.core.problems import Problem
from homecare.library.load import Library

BED_SUM = 0.011
"""How far the lengthening shares of a nerve's full test may be from 1: rounding of two decimals."""


def beds_whole(library: Library) -> Iterator[Problem]:
    """The lengthening shares of a nerve's full test add up to one."""
    for tissue in library.atlas.tissues.values():
        total = sum(part.share for part in (tissue.bed or {}).values() if part.share > 0)
        if tissue.bed and abs(total - 1) > BED_SUM:
            message = f"{tissue.id}: the lengthening shares of its bed add up to {total:g}, not 1"
            yield Problem(tissue.where, "bed", message)


def kinds_fit(library: Library) -> Iterator[Problem]:
    """References lead to the right kind: joints are crossed, nerves serve, roots feed, sites lie on nerves or roots."""
    wanted = {"crosses": ("joint",), "roots": ("root",), "nerves": ("nerve",), "follows": ("nerve",)}
    tissues = library.atlas.tissues
    for tissue in tissues.values():
        for key, kinds in wanted.items():
            value = getattr(tissue, key)
            for one in (value,) if isinstance(value, str) else value or ():
                if tissues[one].kind not in kinds:
                    message = f"{tissue.id}: {key} names {one}, which is a {tissues[one].kind}"
                    yield Problem(tissue.where, "kind", message)
    for site in library.atlas.sites.values():
        if tissues[site.of].kind not in ("nerve", "root"):
            yield Problem(site.where, "kind", f"{site.id} lies on {site.of}, which is a {tissues[site.of].kind}")


def links_fit(library: Library) -> Iterator[Problem]:
    """A link leads to another tissue, and only `crossed_by_nerve` to a nerve."""
    atlas = library.atlas
    for tissue in atlas.tissues.values():
        for link in tissue.links:
            ends = atlas.members(link.to)
            nerve = any(atlas.tissues[end].kind == "nerve" for end in ends)
            if tissue.id in ends:
                yield Problem(tissue.where, "link", f"{tissue.id}: {link.kind} leads back to itself")
            elif nerve != (link.kind == "crossed_by_nerve"):
                what = "a nerve" if nerve else "no nerve"
                yield Problem(tissue.where, "link", f"{tissue.id}: {link.kind} names {link.to}, which is {what}")


def branches_fit(library: Library) -> Iterator[Problem]:
    """What `leaves_after` a site hangs on the nerve of that site, and no nerve follows itself."""
    atlas = library.atlas
    for tissue in atlas.tissues.values():
        above, seen = tissue.follows, {tissue.id}
        while above is not None and above not in seen:
            seen.add(above)
            above = atlas.tissues[above].follows
        if above is not None:
            yield Problem(tissue.where, "branch", f"{tissue.id}: the nerves that it continues from go round in a ring")
            return  # nothing that walks up a nerve can be asked
    for tissue in atlas.tissues.values():
        site = atlas.sites[tissue.leaves_after] if tissue.leaves_after else None
        lines = [atlas.trunk_line(one) for one in (tissue.nerves or (tissue.id,))]
        if site and not any(site.of in line for line in lines):
            message = f"{tissue.id}: leaves after {site.id}, which lies on {site.of}, a nerve that it does not hang on"
            yield Problem(tissue.where, "branch", message)


def sites_ordered(library: Library) -> Iterator[Problem]:
    """The sites of a nerve stand in one order, and no test speaks both for and against a site."""
    for nerve in library.atlas.tissues:
        taken: dict[int, str] = {}
        for site in library.atlas.sites_of(nerve):
            other = taken.setdefault(site.order, site.id)
            if other != site.id:
                yield Problem(site.where, "order", f"{site.id} and {other} are both number {site.order} on {nerve}")
            for test in sorted(set(site.tests) & set(site.tests_against)):
                yield Problem(site.where, "test", f"{site.id}: {test} cannot speak both for it and against it")


def zones_owned(library: Library) -> Iterator[Problem]:
    """Every patch of skin belongs to a nerve or root, so that a symptom there leads somewhere."""
    tissues = library.atlas.tissues.values()
    owned = {zone for one in tissues for zone in (*one.core, *one.outer)}
    for zone in library.atlas.zones.values():
        if zone.id not in owned:
            yield Problem(zone.where, "zone", f"no nerve or root has the zone {zone.id}", "put it into a core or outer")


ATLAS_RULES: tuple[Callable[[Library], Iterator[Problem]], ...] = (
    branches_fit,
    beds_whole,
    kinds_fit,
    links_fit,
    sites_ordered,
    zones_owned,
)
"""Every rule of the atlas, in the order of their telling."""
