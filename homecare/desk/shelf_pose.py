"""The pose of a drill as rows of a form: a joint, a movement of it, and the degrees at the start and at the end."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from homecare.core.pose import JOINT_WORDS, LIMB_WORDS
from homecare.desk.form import Form
from homecare.figure.limits import LIMITS
from homecare.library.figures import MOST_DEGREES

Written = Mapping[str, object]
"""A pose as the library writes it: `{right: {knee: flex 40}, neck: flex 10}`."""
PHASES = ("start", "end")
GROUPS = {"right": "working side", "left": "other side", "both": "both sides", "": ""}
"""The sides of a figure, which is written for the right side as the working one; '' is the trunk."""

_SPINE = {
    "flex": "bent forward",
    "ext": "bent back",
    "bend_left": "bent to the left",
    "bend_right": "bent to the right",
    "turn_left": "turned to the left",
    "turn_right": "turned to the right",
}
_SAID: Mapping[str, Mapping[str, str]] = {
    "shoulder blade": {"girdle.elev": "raised", "girdle.depr": "drawn down"}
    | {"girdle.prot": "drawn forward", "girdle.retr": "drawn back"},
    "arm": {"shoulder.flex": "forward", "shoulder.ext": "back", "shoulder.abd": "out to the side"}
    | {"shoulder.add": "across the body", "shoulder.ir": "turned in", "shoulder.er": "turned out"},
    "elbow": {"elbow.flex": "bent"},
    "palm": {"forearm.pron": "turned down", "forearm.sup": "turned up"},
    "wrist": {"wrist.flex": "toward the palm", "wrist.ext": "back"},
    "hand": {"wrist.uln": "to the little finger", "wrist.rad": "to the thumb"},
    "knuckles": {"fingers.flex": "bent", "fingers.ext": "bent back"},
    "fingers": {"fingers.curl": "curled", "fingers.spread": "spread"},
    "thumb": {"thumb.flex": "bent", "thumb.ext": "bent back", "thumb.abd": "out to the side"},
    "hip": {"hip.flex": "bent"},
    "thigh": {"hip.ext": "back", "hip.abd": "out to the side", "hip.add": "across the middle"}
    | {"hip.ir": "turned in", "hip.er": "turned out"},
    "knee": {"knee.flex": "bent"},
    "foot": {"ankle.df": "pulled up", "ankle.pf": "pointed"},
    "sole": {"foot.inv": "turned in", "foot.ev": "turned out"},
    "toes": {"toes.flex": "bent down", "toes.ext": "bent up"},
    "whole body": {"root.lean_forward": "leaning forward", "root.lean_back": "leaning back"}
    | {"root.lean_left": "leaning to the left", "root.lean_right": "leaning to the right"}
    | {"root.turn_left": "facing left", "root.turn_right": "facing right"}
    | {"root.twist_left": "rolled to the left", "root.twist_right": "rolled to the right"},
    "low back": {f"lumbar.{word}": said for word, said in _SPINE.items()},
    "upper back": {f"thoracic.{word}": said for word, said in _SPINE.items()},
    "neck": {f"neck.{word}": said for word, said in _SPINE.items()},
    "head on the neck": {f"head.{word}": said for word, said in _SPINE.items()},
}
_WORDS = {key: f"{part}, {said}" for part, words in _SAID.items() for key, said in words.items()}


@dataclass(frozen=True)
class Move:
    """A movement of a joint on a side: the fields of its degrees are named after it, `end-right_wrist-ext`."""

    group: str
    joint: str
    word: str

    @property
    def key(self) -> str:
        """Its name in the form: `right_wrist-ext`, `neck-flex`."""
        return f"{self.group}_{self.joint}-{self.word}" if self.group else f"{self.joint}-{self.word}"

    @property
    def words(self) -> str:
        """Joint and movement as one reads them: "Wrist, back"."""
        said = _WORDS[f"{self.joint}.{self.word}"]
        return said[0].upper() + said[1:]

    @property
    def side(self) -> str:
        """The side in words, '' for the trunk."""
        return GROUPS[self.group]

    @property
    def coordinate(self) -> str:
        """The coordinate of a pose that it turns; of both sides, the right one's."""
        axis = JOINT_WORDS[self.joint][self.word][0]
        side = "right" if self.group == "both" else self.group
        return f"{side}_{self.joint}.{axis}" if side else f"{self.joint}.{axis}"

    @property
    def most(self) -> float:
        """The most degrees that the published range allows; 180 where there is none, as for the whole body."""
        limit = LIMITS.get(self.coordinate)
        if limit is None:
            return MOST_DEGREES
        return max(0.0, limit.high if JOINT_WORDS[self.joint][self.word][1] > 0 else -limit.low)


def move_of(key: str) -> Move | None:
    """The movement that a field's name speaks of, None when it is no name of ours."""
    place, _, word = key.partition("-")
    group, _, joint = place.partition("_")
    if group not in ("left", "right", "both"):
        group, joint = "", place
    known = group != "" if joint in LIMB_WORDS else group == ""
    return Move(group, joint, word) if known and word in JOINT_WORDS.get(joint, {}) else None


def opposite(move: Move) -> Move | None:
    """The movement of the same joint the other way, None where it has none."""
    axis, sense = JOINT_WORDS[move.joint][move.word]
    found = (word for word, way in JOINT_WORDS[move.joint].items() if way == (axis, -sense))
    return next((Move(move.group, move.joint, word) for word in found), None)


def every_move() -> tuple[tuple[str, tuple[Move, ...]], ...]:
    """Every movement that a pose may say, by side."""
    limbs = [(joint, word) for joint, words in LIMB_WORDS.items() for word in words]
    trunk = [(joint, word) for joint, words in JOINT_WORDS.items() if joint not in LIMB_WORDS for word in words]
    return tuple(
        (GROUPS[group] or "trunk", tuple(Move(group, *one) for one in (limbs if group else trunk))) for group in GROUPS
    )


def moves_in(form: Form) -> tuple[Move, ...]:
    """The movements that a form has rows for, in its order."""
    keys = dict.fromkeys(name.partition("-")[2] for name in form.values if name.startswith(("start-", "end-")))
    return tuple(move for key in keys if (move := move_of(key)))


def pose_fields(phase: str, written: Written) -> dict[str, tuple[str, ...]]:
    """A pose as the values of form fields."""
    return {f"{phase}-{move.key}": (degrees,) for move, degrees in _told(written)}


def _told(written: Written) -> Iterable[tuple[Move, str]]:
    for group, part in written.items():
        joints = part if isinstance(part, Mapping) else {group: part}
        for joint, text in joints.items():
            words = str(text).split()
            for word, degrees in zip(words[::2], words[1::2], strict=False):
                yield Move(group if isinstance(part, Mapping) else "", str(joint), word), degrees


def written_pose(form: Form, phase: str, clamped: bool = False) -> dict[str, object]:
    """A phase of the form's rows as the library writes it; empty fields are left out.

    `clamped` brings every number into its range, and leaves out what is no number: the pose that can be drawn.
    """
    found: dict[str, object] = {}
    for move in moves_in(form):
        text = form.one(f"{phase}-{move.key}").replace(",", ".")
        degrees = number(text)
        if clamped and degrees is not None:
            text = f"{min(max(degrees, 0.0), move.most):g}"
        if not text or (clamped and degrees is None):
            continue
        inner = found.setdefault(move.group, {}) if move.group else found
        if isinstance(inner, dict):
            before = inner.get(move.joint)
            inner[move.joint] = f"{before} {move.word} {text}" if before else f"{move.word} {text}"
    return found


def pose_faults(form: Form, phases: Iterable[str]) -> dict[str, tuple[str, ...]]:
    """What is wrong with the degrees themselves, by field."""
    found: dict[str, tuple[str, ...]] = {}
    for phase in phases:
        axes: dict[str, Move] = {}
        for move in moves_in(form):
            name, text = f"{phase}-{move.key}", form.one(f"{phase}-{move.key}")
            degrees = number(text.replace(",", "."))
            if not text:
                continue
            if degrees is None:
                found[name] = (f"{text} is no number of degrees",)
            elif degrees < 0:
                found[name] = ("below 0: take the opposite movement",)
            elif degrees > move.most:
                found[name] = (f"{text} is past {move.most:g}",)
            elif degrees and (other := axes.setdefault(f"{move.group} {move.coordinate}", move)) != move:
                found[name] = (f"it cannot be {other.words.partition(', ')[2]} too: empty one of the two",)
    return found


def held_back(form: Form, phases: Iterable[str]) -> tuple[str, ...]:
    """What the drawn pose does not follow, in words: "End drawn with the wrist, back at 85, the most it may be"."""
    found = []
    for phase in phases:
        for move in moves_in(form):
            text = form.one(f"{phase}-{move.key}").replace(",", ".")
            degrees = number(text)
            joint, said = move.words.split(", ", 1)
            if text and degrees is None:
                found.append(f"{phase.capitalize()} drawn without “{joint}, {said}”, until its degrees are a number.")
            elif degrees is not None and not 0 <= degrees <= move.most:
                to, why = (0.0, "least") if degrees < 0 else (move.most, "most")
                found.append(f"{phase.capitalize()} drawn with “{joint}, {said}” at {to:g}, the {why} it may be.")
    return tuple(found)


def number(text: str) -> float | None:
    """The number in a text of at most eight letters, None when it is none."""
    try:
        value = float(text) if len(text) <= 8 else None
    except ValueError:
        return None
    return value if value is not None and abs(value) < 1e4 else None
