"""Which neighbours of a tissue that was found could be behind it: the atlas's links, read from both ends."""

from __future__ import annotations

from collections.abc import Iterator

from homecare.core.atlas import Atlas, Link, LinkKind, Strength, Tissue
from homecare.core.findings import TissueFinding, Visit
from homecare.core.sheet import Neighbour
from homecare.core.wishes import finding_words

MOST_A_FINDING, MOST = 2, 6
"""Neighbours named a finding and a visit: more are not looked at (common practice)."""
STRENGTHS: tuple[Strength, ...] = ("measured", "mixed", "anatomy", "opinion")
"""What is looked at first: that a tie carries load was measured, then that it is there at all, then what is taught."""
KINDS: tuple[LinkKind, ...] = ("does_work_of", "follows", "shares_fascia_with")
"""Links along which the cause of a finding is looked for; an opponent or a nerve is no part of the chain of load."""


def neighbours(visit: Visit, atlas: Atlas) -> tuple[Neighbour, ...]:
    """Tissues tied to what was found and not looked at themselves, the best grounded first, few of each finding."""
    seen = {member for finding in visit.tissues for member in atlas.members(finding.tissue)}
    found: dict[tuple[str, str], Neighbour] = {}
    for finding in visit.tissues:
        near = sorted(_tied(finding, atlas), key=lambda one: (STRENGTHS.index(one.strength), KINDS.index(one.kind)))
        best: dict[tuple[str, str], Neighbour] = {}
        for one in near:
            if one.tissue not in seen and (one.tissue, one.side) not in found:
                best.setdefault((one.tissue, one.side), one)
        found |= dict(list(best.items())[:MOST_A_FINDING])
    return tuple(found.values())[:MOST]


def _tied(finding: TissueFinding, atlas: Atlas) -> Iterator[Neighbour]:
    members = set(atlas.members(finding.tissue))
    for key, tissue in atlas.tissues.items():
        for link in tissue.links:
            ends = set(atlas.members(link.to))
            if link.kind not in KINDS:
                continue
            if key in members and not ends & members:
                for end in sorted(ends):
                    yield _neighbour(end, finding, tissue, link, atlas)
            elif key not in members and ends & members:
                yield _neighbour(key, finding, tissue, link, atlas)


def _neighbour(one: str, finding: TissueFinding, owner: Tissue, link: Link, atlas: Atlas) -> Neighbour:
    """A neighbour; the sentence of a link speaks of the tissue that it is written with, so that one is named."""
    side = finding.side if atlas.tissues[one].paired else "none"
    says = f"{owner.plain}: {link.says}"
    return Neighbour(
        tissue=one,
        name=atlas.tissues[one].name,
        side=side,
        finding=finding_words(finding, atlas),
        kind=link.kind,
        says=says,
        strength=link.strength,
    )
