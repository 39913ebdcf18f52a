"""What the athlete does at home: a drill, its ladder of doses, and what bars it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from homecare.core.atlas import Mark, Side
from homecare.core.pose import Figure
from homecare.core.problems import Source

Kind = Literal["glide", "stretch", "release", "activate", "load", "mobilise"]
KINDS: tuple[Kind, ...] = ("release", "mobilise", "glide", "stretch", "activate", "load")
"""The six kinds, in the order of doing within a part of the day (common practice)."""

Part = Literal["morning", "before", "after", "evening"]
PARTS: tuple[Part, ...] = ("morning", "before", "after", "evening")
Irritability = Literal["low", "moderate", "high"]
GRADES: tuple[Irritability, ...] = ("low", "moderate", "high")
"""Irritability from the calmest to the most easily stirred up."""
AgeGroup = Literal["under_16", "adult", "older"]


@dataclass(frozen=True)
class Rung:
    """One dose of a ladder. Seconds are whole; `load` is in words ("6 kg", "yellow band")."""

    sets: int
    reps: int
    hold_s: int = 0
    tempo_s: int = 0
    rest_s: int = 0
    setup_s: int = 10
    times: int = 1
    load: str = ""

    def seconds(self, side: Side) -> int:
        """Seconds of one day at this dose, all its times counted; `both` is done twice."""
        sides = 2 if side == "both" else 1
        one_side = self.sets * self.reps * (self.tempo_s + self.hold_s) + (self.sets - 1) * self.rest_s
        return self.times * (self.setup_s + sides * one_side)


DOSE_LIMITS: Mapping[str, tuple[int, int]] = {
    "sets": (1, 10),
    "reps": (1, 50),
    "hold_s": (0, 600),
    "tempo_s": (0, 30),
    "rest_s": (0, 300),
    "setup_s": (0, 120),
    "times": (1, 3),
}
"""The least and the most that a dose may say, wherever it comes from: a ladder, a visit or a link (common practice)."""


@dataclass(frozen=True)
class Ladder:
    """The ordered doses a drill climbs, with how often, how far apart, when in the day, and by what source."""

    id: str
    name: str
    rungs: tuple[Rung, ...]
    wanted_per_week: int
    least_per_week: int
    gap_days: int
    parts: tuple[Part, ...]
    climb_days: Mapping[Irritability, int]
    start_rung: Mapping[Irritability, int]
    source: Mark
    where: Source
    gap_exempt: bool = False
    heavy_lengthening: bool = False
    ages: Mapping[AgeGroup, str] | None = None
    ceiling: str = ""
    note: str = ""


@dataclass(frozen=True)
class Drill:
    """One thing to do at home, with its words, its target tissues and the traits that cautions look at.

    A clinic's `retired` drill goes on no new sheet; a `hidden` one only where it is picked by hand.

    `start` and `end` are the motions (degrees) that the written poses of its `figure` make on the working side.
    """

    id: str
    code: str
    name: str
    clinical: str
    address: str
    kind: Kind
    tissues: tuple[str, ...]
    part: str
    paired: bool
    region: str
    ladder: str
    steps: tuple[str, ...]
    feel: str
    not_feel: str
    mistakes: tuple[str, ...]
    stop_if: str
    source: Mark
    where: Source
    reach: Literal["gentle", "full"] = "full"
    kit: tuple[str, ...] = ()
    traits: tuple[str, ...] = ()
    not_with: tuple[str, ...] = ()
    strains: tuple[str, ...] = ()
    start: Mapping[str, float] | None = None
    end: Mapping[str, float] | None = None
    claims: Literal["slider", "tensioner"] | None = None
    easier: str | None = None
    harder: str | None = None
    figure: Figure | None = None
    retired: bool = False
    hidden: bool = False

    @property
    def offered(self) -> bool:
        """Whether the tool may choose it and lists show it: a hidden one is left to the practitioner's own pick."""
        return not (self.retired or self.hidden)


@dataclass(frozen=True)
class Stops:
    """What a caution or flag takes off: drills that match every filled field; an empty field matches all.

    `regions` may hold the word `found`: the limbs and trunk parts of what the visit found.
    """

    kinds: tuple[Kind, ...] = ()
    regions: tuple[str, ...] = ()
    traits: tuple[str, ...] = ()


@dataclass(frozen=True)
class Caution:
    """Something about the athlete that forbids some drills; `raises` names a flag it raises by itself.

    `name` goes on after the athlete's name ("takes blood thinners"), `athlete` is the same said to them.
    With `not_today` it forbids only on the day of the visit. `also` holds words that hint at it.
    """

    id: str
    name: str
    athlete: str
    stops: tuple[Stops, ...]
    because: str
    source: Mark
    raises: str | None = None
    not_today: bool = False
    also: tuple[str, ...] = ()


@dataclass(frozen=True)
class Flag:
    """A sign that must be referred: how urgent, what it stops, and the words for letter and athlete.

    A symptom in one of `zones` raises it by itself: only one of `symptoms` where these are filled, and with
    `both_sides` only when it is on both sides. It is `asked_for` where something is found in one of these regions;
    of everybody when they are empty.
    """

    id: str
    ask: str
    urgency: Literal["now", "soon"]
    stops: tuple[Stops, ...]
    because: str
    athlete: str
    source: Mark
    zones: tuple[str, ...] = ()
    symptoms: tuple[str, ...] = ()
    both_sides: bool = False
    asked_for: tuple[str, ...] = ()
    also: tuple[str, ...] = ()


@dataclass(frozen=True)
class Habit:
    """A thing to ease off: the sites and tissues it unloads, the words that call it up, the athlete's words."""

    id: str
    words: str
    sites: tuple[str, ...]
    tissues: tuple[str, ...]
    worse_with: tuple[str, ...]
    changed: tuple[str, ...]
    source: Mark


@dataclass(frozen=True)
class Outlook:
    """Days from the visit until a kind of finding should be clearly better."""

    id: str
    days: int
    source: Mark


@dataclass(frozen=True)
class Weight:
    """How much one kind of evidence adds to (or takes from) a candidate site, and why so much."""

    id: str
    weight: float
    says: str
    source: Mark


MOTIONS = frozenset(
    """neck_flexion neck_extension neck_bend_away neck_bend_toward neck_turn_away neck_turn_toward trunk_flexion
    trunk_extension trunk_bend_away trunk_bend_toward trunk_turn_away trunk_turn_toward scapula_depression
    scapula_elevation scapula_retraction scapula_protraction scapula_upward_rotation scapula_downward_rotation
    shoulder_flexion shoulder_extension shoulder_abduction shoulder_adduction shoulder_external_rotation
    shoulder_internal_rotation elbow_flexion elbow_extension supination pronation wrist_extension wrist_flexion
    ulnar_deviation radial_deviation finger_extension finger_flexion finger_abduction thumb_extension thumb_flexion
    hip_flexion hip_extension hip_abduction hip_adduction hip_internal_rotation hip_external_rotation knee_flexion
    knee_extension ankle_dorsiflexion ankle_plantarflexion inversion eversion toe_extension toe_flexion""".split()
)
"""Motion words of poses, actions and nerve beds, in degrees from the anatomical stance."""
