"""The sheet: everything that will be printed, filed or shown on a phone, decided and in order."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Literal, Protocol

from homecare.core.atlas import LinkKind, Side, Strength
from homecare.core.course_types import Course
from homecare.core.drill import Irritability, Kind, Part, Rung

RuleId = Literal["event", "hands-on", "hard-day", "gap", "wanted", "budget", "few"]
Training = Literal["easy", "hard", "long", "rest"]


@dataclass(frozen=True)
class Clinic:
    """Who hands the sheet over, and how the athlete reaches them; empty strings are left off the print."""

    name: str = ""
    address: str = ""
    phone: str = ""
    hours: str = ""
    after_hours: str = ""
    logo: str = ""
    paper: Literal["a4", "letter"] = "a4"
    language: str = "en"
    web: str = "http://homecare.local:8021"
    """Of the phone pages; not said: the name by which a shared desk offers them in the clinic. Empty: nowhere."""
    clock: Mapping[Part, str] | None = None
    few: int = 3
    max_drills: int = 6

    @property
    def web_in_clinic(self) -> bool:
        """Whether the phone pages open on the clinic's own network alone."""
        return self.web == Clinic.web


@dataclass(frozen=True)
class Candidate:
    """One place where a nerve may be irritated, with the evidence and what on the sheet covers it."""

    nerve: str
    site: str
    side: Side
    score: float
    because: tuple[str, ...]
    against: tuple[str, ...]
    not_tested: tuple[str, ...]
    covered_by: tuple[str, ...] = ()
    plain: str = ""
    evidence: str = ""


@dataclass(frozen=True)
class DrillText:
    """The words of one drill for one side, placeholders filled; what the print and the phone show."""

    name: str
    part: str
    address: str
    steps: tuple[str, ...]
    feel: str
    not_feel: str
    mistakes: tuple[str, ...]
    stop_if: str


@dataclass(frozen=True)
class Picture:
    """One panel of a drill's figure as SVG: `caption` says which pose it shows, or is empty; sizes in millimetres."""

    caption: str
    svg: str
    alt: str
    width: float
    height: float


class Drawing(Protocol):
    """The figure of a drill for its side: for paper (`stacked` or side by side), for the phone, and in words.

    Each part may be drawn only when it is asked for: a sheet that is looked at on the desk needs none.
    """

    @property
    def pictures(self) -> tuple[Picture, ...]: ...

    @property
    def stacked(self) -> bool: ...

    @property
    def phone(self) -> str: ...

    @property
    def look(self) -> str: ...


@dataclass(frozen=True)
class Drawn:
    """A figure that is drawn."""

    pictures: tuple[Picture, ...]
    stacked: bool
    phone: str
    look: str


@dataclass(frozen=True)
class Photograph:
    """A clinic's photograph of a drill as a JPEG, what it shows in words, and whether its mirror image is shown."""

    jpeg: bytes
    words: str
    mirrored: bool


@dataclass(frozen=True)
class SheetDrill:
    """One drill of the sheet with its dose, why it is there, and how the plan treats it.

    `revision` is the hash of the library's record that its words, pose and ladder's name came from.
    """

    id: str
    code: str
    side: Side
    kind: Kind
    tissues: tuple[str, ...]
    priority: int
    because: tuple[str, ...]
    ladder: str
    ladder_source: str
    irritability: Irritability
    rungs: tuple[Rung, ...]
    start_rung: int
    climb_days: int
    wanted_per_week: int
    least_per_week: int
    gap_days: int
    gap_exempt: bool
    heavy_lengthening: bool
    carried: bool
    halved: bool
    worse_in_row: int
    days_planned: int
    days_wanted: int
    nerve_load: Mapping[str, float]
    text: DrillText
    text_hash: str
    link: str = ""
    drawing: Drawing | None = None
    photo: Photograph | None = None
    revision: str = ""
    done_at_rung: int = 0


@dataclass(frozen=True)
class Item:
    """One drill on one day: its dose and the part of the day for each of its times."""

    drill: str
    side: Side
    rung: int
    sets: int
    reps: int
    hold_s: int
    times: int
    parts: tuple[Part, ...]
    seconds: int


@dataclass(frozen=True)
class Note:
    """Why a drill of the sheet is not on a day: the first rule that kept it off, in words."""

    drill: str
    side: Side
    rule: RuleId
    because: str


@dataclass(frozen=True)
class Day:
    """One date of the sheet with what is planned, and a note for each drill that is not."""

    date: date
    training: Training
    budget_s: int
    planned_s: int
    items: tuple[Item, ...]
    notes: tuple[Note, ...]
    visit: bool = False
    event: bool = False


@dataclass(frozen=True)
class LeftOut:
    """A drill that would have served but may not, or was taken off; `rule` says which rule did it."""

    id: str
    side: Side
    because: str
    rule: Literal["caution", "irritable", "kit", "flag", "drop", "check-in", "reach", "age"]


@dataclass(frozen=True)
class Unserved:
    """A wish that no drill of the sheet serves, and why."""

    wish: str
    because: str


@dataclass(frozen=True)
class Passed:
    """A drill that would have served a wish and is not on the sheet: why, and the rule where one bars it."""

    id: str
    name: str
    side: Side
    because: str
    rule: str = ""


@dataclass(frozen=True)
class Asked:
    """One wish of a finding: its weight, the drills of the sheet that serve it, and those passed over."""

    says: str
    because: str
    weight: float
    served_by: tuple[str, ...]
    passed: tuple[Passed, ...]


@dataclass(frozen=True)
class Chain:
    """One finding and everything it asked for; a finding that asks for nothing has no wishes."""

    finding: str
    asked: tuple[Asked, ...]


@dataclass(frozen=True)
class SymptomLine:
    """A symptom as the plan keeps it for the next visit: where it was felt and how strong, 0 to 10."""

    symptom: str
    zones: tuple[str, ...]
    side: Side
    irritability: Irritability
    now: float | None


@dataclass(frozen=True)
class Neighbour:
    """A tissue tied to one that was found, worth checking: how it is tied, what that rests on, and the finding."""

    tissue: str
    name: str
    side: Side
    finding: str
    kind: LinkKind
    says: str
    strength: Strength


@dataclass(frozen=True)
class CheckIn:
    """What one drill's response did to its dose."""

    drill: str
    side: Side
    response: str
    change: Literal["up", "hold", "down", "off"]
    because: str


@dataclass(frozen=True)
class MarkerLine:
    """One marker before and after treatment, and at the last visit; units as in the library."""

    test: str
    name: str
    unit: str
    side: Side
    before: float | None
    after: float | None
    last: float | None
    says: str


@dataclass(frozen=True)
class Refer:
    """That the athlete should be seen by someone else, how soon and why; `athlete` is the plain-words version."""

    urgency: Literal["now", "soon"]
    because: tuple[str, ...]
    athlete: tuple[str, ...]


@dataclass(frozen=True)
class Words:
    """The sheet's own sentences: what it is for, what to ease off, how to judge, when to stop."""

    for_: str
    ease_off: tuple[str, ...]
    judge: tuple[tuple[str, str, str], ...]
    stop_if: tuple[str, ...]
    emergency: str
    key: str
    cautions: tuple[str, ...] = ()
    amount: str = ""


@dataclass(frozen=True)
class Planner:
    """The settings and the standing of the day plan."""

    few: int
    max_drills: int
    transition_s: int
    cover_bar: float
    proven: bool


@dataclass(frozen=True)
class Sheet:
    """The whole result of a visit. `drills` stand in the order of doing; `days` are empty when `refer` is now.

    `ask` holds the screening questions for what was found, `chains` the way from each finding to its drills;
    `last_hash` and `last_slips` are the hashes of the last plan.json and of the amendment.json of each of its slips.
    """

    athlete: str
    prepared_by: str
    start: date
    days_asked: int
    review_by: date
    clinic: Clinic
    defaults: Mapping[str, object]
    screen: object
    library_revision: str
    words: Words
    notes: str
    planner: Planner
    candidates: tuple[Candidate, ...]
    drills: tuple[SheetDrill, ...]
    left_out: tuple[LeftOut, ...]
    unserved: tuple[Unserved, ...]
    days: tuple[Day, ...]
    check_in: tuple[CheckIn, ...]
    markers: tuple[MarkerLine, ...]
    findings: tuple[str, ...]
    refer: Refer | None
    advice: tuple[str, ...] = ()
    sheet_link: str = ""
    last_hash: str | None = None
    last_slips: tuple[str, ...] = ()
    neighbours: tuple[Neighbour, ...] = ()
    chains: tuple[Chain, ...] = ()
    ask: tuple[str, ...] = ()
    symptoms: tuple[SymptomLine, ...] = ()
    course: Course | None = None
