"""What an athlete must not do: flags, cautions, irritable nerves, missing kit, tissues too tender to press."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Literal

from homecare.core.atlas import LEG_REGIONS, Atlas, OneSide, each_side, regions_limb
from homecare.core.drill import Caution, Drill, Flag, Stops
from homecare.core.findings import Visit
from homecare.core.nerve_bed import TENSION, worst_load
from homecare.core.plain import listed
from homecare.core.reasoning import Reasoned
from homecare.core.sheet import Refer
from homecare.core.wishes import UNPRESSED

BarRule = Literal["caution", "irritable", "kit", "flag", "drop", "check-in", "reach"]
PASSED_BY_PICK: frozenset[BarRule] = frozenset({"caution", "irritable", "kit", "reach"})
"""What the practitioner's own pick may pass, with a reason; a flag never."""

TENDER = {"tender", "painful", "strained"}


@dataclass(frozen=True)
class Raised:
    """The flags of a visit: all that stand, and those whose stops hold (not restored by a decision to continue)."""

    flags: tuple[Flag, ...]
    held: tuple[Flag, ...]


@dataclass(frozen=True)
class Bar:
    """One reason why a drill may not be done on one side."""

    rule: BarRule
    because: str


@dataclass(frozen=True)
class Bars:
    """Everything that bars, asked drill by drill and side by side."""

    atlas: Atlas
    visit: Visit
    cautions: tuple[Caution, ...]
    raised: Raised
    irritable: Reasoned
    kit: frozenset[str]
    kit_words: Mapping[str, str]
    stopped: Mapping[str, str]

    def of(self, drill: Drill, side: OneSide) -> Bar | None:
        """The first bar of a drill on a side, by the order of its gravity; None when it may be done."""
        return (
            self._flag(drill)
            or self._drop(drill)
            or self._caution(drill)
            or self._irritable(drill, side)
            or self._reach(drill, side)
            or self._kit(drill)
        )

    def _flag(self, drill: Drill) -> Bar | None:
        for flag in self.raised.held:
            if stopped_by(flag.stops, drill, self._regions_found()):
                return Bar("flag", flag.because)
        return None

    def _drop(self, drill: Drill) -> Bar | None:
        if drill.id in self.visit.drops:
            return Bar("drop", "taken off by hand")
        if drill.id in self.stopped:
            return Bar("check-in", self.stopped[drill.id])
        return None

    def _caution(self, drill: Drill) -> Bar | None:
        for caution in self.cautions:
            if caution.id in drill.not_with or stopped_by(caution.stops, drill, self._regions_found()):
                return Bar("caution", f"{caution.name}: {caution.because}")
        return None

    def _irritable(self, drill: Drill, side: OneSide) -> Bar | None:
        """Moderate or high irritability bars every pose that tensions the nerve; a tension needs a calm nerve."""
        for (nerve, where), grade in sorted(self.irritable.irritable.items()):
            if grade == "low" or (side not in ("none", where)):
                continue
            load = worst_load(drill, nerve, self.atlas)
            if load >= TENSION:
                return Bar("irritable", f"it pulls on the {self.atlas.plain(nerve)}, which is easily stirred up now")
            pressed = drill.kind == "release" and "deep_pressure" in drill.traits
            if grade == "high" and pressed and self._presses_site(drill, nerve):
                return Bar("irritable", f"it presses where the {self.atlas.plain(nerve)} is easily stirred up now")
        if drill.claims == "tensioner":
            return Bar("irritable", "a pull on a nerve waits until the slides have settled")
        return None

    def _presses_site(self, drill: Drill, nerve: str) -> bool:
        targets = set(self.atlas.members(drill.tissues))
        forming = {one for site in self.atlas.sites_of(nerve) for one in self.atlas.members(site.formed_by)}
        return bool(targets & forming)

    def _reach(self, drill: Drill, side: OneSide) -> Bar | None:
        if drill.kind not in ("stretch", "release"):
            return None
        targets = set(self.atlas.members(drill.tissues))
        for finding in self.visit.tissues:
            here = side in ("none", *each_side(finding.side)) or finding.side == "none"
            members = targets & set(self.atlas.members(finding.tissue))
            if finding.found not in TENDER or not here or not members:
                continue
            if any(self.atlas.tissues[member].kind in UNPRESSED for member in members):
                return Bar("reach", f"a {finding.found} tendon or bone gets neither pressure nor stretch")
            if drill.reach == "full":
                return Bar("reach", f"{self.atlas.plain(finding.tissue)} found {finding.found}: gentle first")
        return None

    def _kit(self, drill: Drill) -> Bar | None:
        missing = [self.kit_words[one] for one in drill.kit if one not in self.kit]
        return Bar("kit", f"needs {listed(missing)}") if missing else None

    def _regions_found(self) -> frozenset[str]:
        return found_regions(self.visit, self.atlas)


def found_regions(visit: Visit, atlas: Atlas) -> frozenset[str]:
    """The limbs and trunk parts of everything that was found."""
    tissues = [member for finding in visit.tissues for member in atlas.members(finding.tissue)]
    tissues += [member for finding in visit.firing for one in finding.order for member in atlas.members(one)]
    regions = {atlas.tissues[member].region for member in tissues}
    regions |= {atlas.zones[zone].region for symptom in visit.symptoms for zone in symptom.zones}
    return frozenset(one for region in regions for one in regions_limb(region))


def stopped_by(stops: Iterable[Stops], drill: Drill, found: frozenset[str]) -> bool:
    """Whether one of the stops matches a drill in every field it fills; `found` stands for the regions found."""
    for stop in stops:
        regions = set(stop.regions) - {"found"} | (found if "found" in stop.regions else frozenset())
        if stop.kinds and drill.kind not in stop.kinds:
            continue
        if stop.traits and not set(stop.traits) & set(drill.traits):
            continue
        if stop.regions and drill.region not in regions:
            continue
        return True
    return False


def raised_flags(visit: Visit, flags: Mapping[str, Flag], cautions: Iterable[Caution], atlas: Atlas) -> Raised:
    """The flags answered at the visit, and those that a symptom or a caution raises by itself."""
    ids = list(visit.screen.flags)
    ids += [caution.raises for caution in cautions if caution.raises]
    ids += [flag.id for flag in flags.values() if _raised_by_symptom(flag, visit, atlas)]
    standing = tuple(flags[one] for one in dict.fromkeys(ids))
    restored = set(visit.screen.flags) if visit.screen.decision == "continue" else set()
    return Raised(standing, tuple(flag for flag in standing if flag.id not in restored))


def _raised_by_symptom(flag: Flag, visit: Visit, atlas: Atlas) -> bool:
    """One of the flag's symptoms in its zones; for a flag of both sides, in both hands or in both feet."""
    sides: dict[bool, set[OneSide]] = {True: set(), False: set()}
    for symptom in visit.symptoms:
        for zone in (
            set(symptom.zones) & set(flag.zones) if not flag.symptoms or symptom.symptom in flag.symptoms else ()
        ):
            sides[atlas.zones[zone].region in LEG_REGIONS].update(each_side(symptom.side))
    return any({"left", "right"} <= found if flag.both_sides else bool(found) for found in sides.values())


SEE_A_DOCTOR = "Please see a doctor about what you feel before you do any drill for it."
"""Said to the athlete where a nerve in question is not for home care."""


def referral(raised: Raised, reasoned: Reasoned) -> Refer | None:
    """What must be seen by someone else and how soon; None when no flag is held and no nerve asks for it."""
    if not raised.held and not reasoned.refer:
        return None
    urgent = [flag for flag in raised.held if flag.urgency == "now"]
    because = (*(flag.because for flag in raised.held), *reasoned.refer)
    # whoever must be seen now gets that one message, and none about drills that may go on
    athlete = tuple(flag.athlete for flag in urgent or raised.held) or (SEE_A_DOCTOR,)
    return Refer("now" if urgent else "soon", because, athlete)


def questions(visit: Visit, flags: Mapping[str, Flag], atlas: Atlas) -> tuple[Flag, ...]:
    """The flags worth asking at a visit, by the regions of everything that was found; those of everybody too."""
    regions = found_regions(visit, atlas)
    return tuple(flag for flag in flags.values() if not flag.asked_for or regions & set(flag.asked_for))
