"""The tissue atlas: muscles, nerves, roots, joints, the sites along a nerve, and questions asked of them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import Literal

from homecare.core.problems import Source

Side = Literal["left", "right", "both", "none"]
OneSide = Literal["left", "right", "none"]
TissueKind = Literal["muscle", "tendon", "fascia", "bone", "nerve", "root", "joint"]
MarkKind = Literal["read", "from memory", "common practice"]
Found = Literal["tight", "tender", "weak", "late", "stiff", "painful", "strained"]
LinkKind = Literal["does_work_of", "shares_fascia_with", "opposes", "crossed_by_nerve", "follows"]
Strength = Literal["anatomy", "measured", "mixed", "opinion"]
"""What a link rests on: dissection, measurements that agree, measurements that do not, or what is taught."""

FOUND_BY_KIND: Mapping[TissueKind, tuple[Found, ...]] = {
    "muscle": ("tight", "tender", "weak", "late", "stiff", "painful", "strained"),
    "tendon": ("tight", "tender", "weak", "stiff", "painful", "strained"),
    "fascia": ("tight", "tender", "stiff", "painful", "strained"),
    "bone": ("tender", "painful"),
    "nerve": ("tight", "tender", "painful"),
    "root": ("tight", "tender", "painful"),
    "joint": ("tight", "tender", "stiff", "painful", "strained"),
}
"""What may be found of a tissue, by its kind: a nerve cannot be late nor a joint weak (common practice)."""

ARM_REGIONS = frozenset({"shoulder", "arm", "forearm", "hand"})
LEG_REGIONS = frozenset({"hip", "thigh", "knee", "leg", "foot"})
TRUNK_REGIONS = frozenset({"neck", "upper_back", "low_back", "pelvis"})
REGIONS = ARM_REGIONS | LEG_REGIONS | TRUNK_REGIONS


@dataclass(frozen=True)
class Mark:
    """Where a value comes from: a source that was read, one cited from memory, or common practice."""

    kind: MarkKind
    cite: str = ""

    def __str__(self) -> str:
        if self.kind == "common practice":
            return "common practice"
        return self.cite if self.kind == "read" else f"{self.cite} (from memory)"


@dataclass(frozen=True)
class Link:
    """A tie from one tissue to another, with a sentence, what it rests on and where that is written.

    `does_work_of`: it may stand in for a late one; `follows`: it lies next to it in a chain of load.
    """

    kind: LinkKind
    to: str
    says: str
    strength: Strength
    evidence: Mark


@dataclass(frozen=True)
class BedMotion:
    """One motion's part in a nerve's test: `share` of the full lengthening at `full` degrees; below 0 it slackens."""

    full: float
    share: float


@dataclass(frozen=True)
class Tissue:
    """One tissue of the atlas. Nerves and roots carry zones and a nerve bed; muscles joints, actions and links.

    A nerve `follows` the one it continues from. A branch, or the supply of a muscle, `leaves_after` a site of that
    nerve, so that trouble at the sites beyond it leaves the branch or muscle alone. `clash` says where published
    tables differ on a muscle's supply; `refer` why trouble of a nerve is not for home care; `not_at_home` why a kind of
    drill is not given for it.
    """

    id: str
    kind: TissueKind
    name: str
    plain: str
    region: str
    source: Mark
    where: Source
    paired: bool = True
    also: tuple[str, ...] = ()
    crosses: tuple[str, ...] = ()
    actions: tuple[str, ...] = ()
    nerves: tuple[str, ...] = ()
    roots: tuple[str, ...] = ()
    links: tuple[Link, ...] = ()
    core: tuple[str, ...] = ()
    outer: tuple[str, ...] = ()
    follows: str | None = None
    leaves_after: str | None = None
    bed: Mapping[str, BedMotion] | None = None
    key_point: str = ""
    key_muscle: str = ""
    note: str = ""
    clash: str = ""
    refer: str = ""
    not_at_home: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True)
class Site:
    """A place on the path of a nerve (or the opening of a root) where it is commonly irritated.

    A positive one of `tests` speaks for it, a positive one of `tests_against` against it. `ache` holds the zones
    where trouble here is felt as an ache, beside the skin of the nerve.
    """

    id: str
    of: str
    name: str
    plain: str
    order: int
    region: str
    formed_by: tuple[str, ...]
    worse_with: tuple[str, ...]
    tests: tuple[str, ...]
    source: Mark
    where: Source
    evidence: str = ""
    tests_against: tuple[str, ...] = ()
    ache: tuple[str, ...] = ()


@dataclass(frozen=True)
class Zone:
    """A patch of skin by which a symptom is placed; `also` holds other words for the same place."""

    id: str
    plain: str
    region: str
    where: Source
    also: tuple[str, ...] = ()


@dataclass(frozen=True)
class Word:
    """An entry of a small vocabulary (what makes it worse, kit, traits): id and the plain words for it."""

    id: str
    plain: str
    also: tuple[str, ...] = ()


@dataclass(frozen=True)
class ClinicTest:
    """A test a visit may record, with the nerves it loads and the roots it speaks for.

    `if_positive` and `if_negative` say how much its result counts against that of a usual test, which is 1.
    """

    id: str
    name: str
    nerves: tuple[str, ...]
    roots: tuple[str, ...]
    how: str
    source: Mark
    if_positive: float = 1.0
    if_negative: float = 1.0


@dataclass(frozen=True)
class FiringOrder:
    """An expected order of muscles in one movement; `says` states how mixed the evidence is."""

    id: str
    name: str
    expected: tuple[str, ...]
    says: str
    source: Mark


@dataclass(frozen=True)
class MarkerTest:
    """A measure taken again next time: how, its unit, the smallest change that counts, and whose drills it judges."""

    id: str
    name: str
    unit: str
    better: Literal["higher", "lower"]
    smallest_change: float
    tissues: tuple[str, ...]
    how: str
    source: Mark


@dataclass(frozen=True)
class Group:
    """Several tissues that are one wish and one piece of evidence, and their members for every rule of safety."""

    id: str
    plain: str
    members: tuple[str, ...]
    also: tuple[str, ...] = ()


@dataclass(frozen=True)
class Atlas:
    """All tissues, sites and zones, and the groups over them."""

    tissues: Mapping[str, Tissue]
    sites: Mapping[str, Site]
    zones: Mapping[str, Zone]
    groups: Mapping[str, Group]

    def members(self, wanted: str | Iterable[str]) -> tuple[str, ...]:
        """Tissue ids with every group replaced by its members, in order and once each."""
        ids = (wanted,) if isinstance(wanted, str) else wanted
        flat: dict[str, None] = {}
        for one in ids:
            group = self.groups.get(one)
            flat.update(dict.fromkeys(group.members if group else (one,)))
        return tuple(flat)

    def is_paired(self, tissue: str) -> bool:
        """Whether the tissue (or group) stands on both sides of the body."""
        return any(self.tissues[member].paired for member in self.members(tissue))

    def plain(self, tissue: str) -> str:
        """The plain words for a tissue or a group."""
        group = self.groups.get(tissue)
        return group.plain if group else self.tissues[tissue].plain

    def sites_of(self, nerve: str) -> tuple[Site, ...]:
        """The sites on a nerve's or root's own path, proximal to distal."""
        mine = [site for site in self.sites.values() if site.of == nerve]
        return tuple(sorted(mine, key=lambda site: (site.order, site.id)))

    @cached_property
    def beyond(self) -> Mapping[str, tuple[Tissue, ...]]:
        """For each site of a nerve, the nerves and muscles whose fibres pass it: not those that have left above."""
        return {
            site.id: tuple(one for one in self.tissues.values() if self._passes(one, site))
            for site in self.sites.values()
        }

    def _passes(self, one: Tissue, site: Site) -> bool:
        """Whether a nerve or muscle hangs on the site's nerve, and neither it nor a nerve between has left above."""
        above = self.sites[one.leaves_after] if one.leaves_after else None
        if one.kind != "nerve" and above and above.of in self.trunk_line(site.of)[1:]:
            return False  # its branch has left higher up, on the nerve that the site's own continues
        for nerve in (one.id,) if one.kind == "nerve" else one.nerves:
            line = self.trunk_line(nerve)
            between = line[: line.index(site.of)] if site.of in line else ()
            left = [key for part in (one.id, *between) if (key := self.tissues[part].leaves_after)]
            orders = [self.sites[key].order for key in left if self.sites[key].of == site.of]
            if site.of in line and all(site.order <= order for order in orders):
                return True
        return False

    def trunk_line(self, nerve: str) -> tuple[str, ...]:
        """A nerve and those it continues from, distal to proximal: common_fibular, sciatic."""
        line = [nerve]
        while (above := self.tissues[line[-1]].follows) is not None:
            line.append(above)
        return tuple(line)

    def nerves_apart(self, one: str, other: str) -> int | None:
        """How many steps lie between two nerves of one line: the same 0, a trunk and its branch 1; None for others."""
        for low, high in ((one, other), (other, one)):
            if high in self.trunk_line(low):
                return self.trunk_line(low).index(high)
        return None

    def nerve_family(self, nerve: str) -> tuple[str, ...]:
        """A nerve, the nerves it continues from and those that continue it: they share one nerve bed."""
        line = set(self.trunk_line(nerve))
        below = {
            one for one, tissue in self.tissues.items() if tissue.kind == "nerve" and nerve in self.trunk_line(one)
        }
        return tuple(sorted(line | below))


def regions_limb(region: str) -> frozenset[str]:
    """The limb a region belongs to, as all its regions; a part of the trunk stands for itself."""
    for limb in (ARM_REGIONS, LEG_REGIONS):
        if region in limb:
            return limb
    return frozenset({region})


def each_side(side: Side) -> tuple[OneSide, ...]:
    """The single sides that a side word stands for: both is left and right, none is the midline."""
    return ("left", "right") if side == "both" else (side,)


def one_side(side: Side) -> OneSide:
    """The side of what stands on one side only, such as a candidate, though the type of its field is the wider one."""
    if side == "both":
        raise ValueError("this stands on one side only")
    return side


def join_sides(sides: Iterable[OneSide]) -> Side:
    """The one side word for a set of single sides: left and right merge to both."""
    found = set(sides)
    if {"left", "right"} <= found:
        return "both"
    for side in ("left", "right"):
        if side in found:
            return side
    return "none"
