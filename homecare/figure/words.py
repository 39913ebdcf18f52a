"""A figure in plain words: the text that stands for the picture, and one sentence on how the end looks."""

from __future__ import annotations

import re
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from math import inf

from homecare.core.pose import SIDES, Angles, Contact, Figure, Posture
from homecare.figure.point_words import point_in_words, surface_in_words, thing_in_words, tool_in_words
from homecare.figure.room import WALLS

States = tuple[tuple[float, str], ...]
MOST_DETAILS, MOST_MOVES = 4, 3
LEAST_MOVE, LEAST_WEIGHT = 10.0, 8.0
"""Degrees from which a joint is said to move, and from which it is worth a word beside others (common practice)."""


@dataclass(frozen=True)
class _Part:
    """A part of the body that words speak of: the coordinates added up for it, and its states up to each value."""

    noun: str
    sums: tuple[str, ...]
    states: States
    raised: States = ()

    def state(self, value: float, supine: bool) -> str:
        states = self.raised if supine and self.raised else self.states
        return next(word for most, word in states if value <= most)


_LIMB_PARTS: tuple[_Part, ...] = (
    _Part(
        *("thigh", ("hip.flex",)),
        ((-8, "back"), (15, "in line with the body"), (50, "a little forward"), (100, "forward"), (inf, "drawn up")),
        ((-8, "lowered"), (15, "in line with the body"), (50, "a little raised"), (100, "raised"), (inf, "drawn up")),
    ),
    _Part("leg", ("hip.abd",), ((-8, "across the middle"), (15, "straight ahead"), (inf, "out to the side"))),
    _Part("leg", ("hip.ir",), ((-15, "turned out"), (15, "straight ahead"), (inf, "turned in"))),
    _Part("knee", ("knee.flex",), ((10, "straight"), (35, "a little bent"), (110, "bent"), (inf, "fully bent"))),
    _Part("foot", ("ankle.df",), ((-20, "pointed"), (8, "level"), (inf, "pulled up"))),
    _Part("sole", ("foot.inv",), ((-8, "turned out"), (10, "level"), (inf, "turned in"))),
    _Part("toes", ("toes.flex",), ((-20, "bent up"), (20, "straight"), (inf, "curled"))),
    _Part(
        *("arm", ("shoulder.flex",)),
        ((-15, "behind the body"), (25, "by the side"), (60, "a little forward"), (120, "forward"), (inf, "overhead")),
        ((-15, "lowered"), (25, "by the side"), (60, "a little raised"), (120, "raised"), (inf, "overhead")),
    ),
    _Part(
        *("arm", ("shoulder.abd",)),
        ((-15, "across the chest"), (30, "by the side"), (120, "out to the side"), (inf, "overhead")),
    ),
    _Part("arm", ("shoulder.ir",), ((-30, "turned out"), (30, "straight"), (inf, "turned in"))),
    _Part("shoulder", ("girdle.elev",), ((-4, "drawn down"), (6, "level"), (inf, "raised"))),
    _Part("shoulder", ("girdle.prot",), ((-6, "drawn back"), (6, "level"), (inf, "drawn forward"))),
    _Part("elbow", ("elbow.flex",), ((15, "straight"), (45, "a little bent"), (inf, "bent"))),
    _Part("palm", ("forearm.pron",), ((-30, "turned up"), (30, "facing in"), (inf, "turned down"))),
    _Part("wrist", ("wrist.flex",), ((-20, "bent back"), (20, "straight"), (inf, "bent toward the palm"))),
    _Part("fingers", ("fingers.flex", "fingers.curl"), ((-10, "bent back"), (60, "open"), (inf, "closed"))),
)
_MIDDLE_PARTS: tuple[_Part, ...] = (
    _Part("head", ("neck.flex", "head.flex"), ((-12, "tipped back"), (12, "level"), (inf, "bent forward"))),
    _Part(
        "head", ("neck.bend", "head.bend"), ((-8, "tipped to the left"), (8, "upright"), (inf, "tipped to the right"))
    ),
    _Part(
        "head",
        ("neck.turn", "head.turn"),
        ((-12, "turned to the right"), (12, "facing ahead"), (inf, "turned to the left")),
    ),
    _Part("back", ("lumbar.flex", "thoracic.flex"), ((-8, "arched"), (8, "long"), (inf, "rounded"))),
    _Part(
        "trunk",
        ("lumbar.bend", "thoracic.bend"),
        ((-8, "bent to the left"), (8, "upright"), (inf, "bent to the right")),
    ),
    _Part(
        "trunk",
        ("lumbar.turn", "thoracic.turn"),
        ((-8, "turned to the right"), (8, "facing ahead"), (inf, "turned to the left")),
    ),
)
_PLURAL = {"knee": "knees", "thigh": "thighs", "leg": "legs", "foot": "feet", "sole": "soles", "toes": "toes"} | {
    **{"arm": "arms", "shoulder": "shoulders", "elbow": "elbows", "palm": "palms", "wrist": "wrists"},
    "fingers": "fingers",
}


@dataclass(frozen=True)
class _Said:
    """A part on its side (both, right, left, or none for the middle), its states before and after, and by how much."""

    noun: str
    side: str
    before: str
    after: str
    change: float

    @property
    def named(self) -> str:
        if self.side == "both":
            of = {"fingers": "fingers of both hands", "toes": "toes of both feet"}
            return of.get(self.noun, f"both {_PLURAL[self.noun]}")
        return f"{self.side} {self.noun}".strip()

    @property
    def many(self) -> bool:
        return self.side == "both" or self.noun in ("toes", "fingers")


def alt_text(figure: Figure, posture: Posture, targets: Sequence[str], side: str = "right") -> str:
    """What the picture shows in a few short sentences, for its right side or swapped for its left.

    `figure` lies over its `posture`; `targets` are plain words for what is marked ("upper calf").
    """
    details = [f"{one.named} {one.after}" for one in _details(figure, posture)]
    opening = ", ".join([_capital(posture.plain), *_touching(figure, posture), *details, *_heel(figure)])
    sentences = [f"{opening}.", *_moves(figure)]
    if targets:
        sentences.append(
            f"The {_listed(targets)} {'are' if len(targets) > 1 or _is_many(targets[0]) else 'is'} marked."
        )
    return _for_side(" ".join(sentences), side)


def how_it_looks(figure: Figure, posture: Posture, side: str = "right") -> str:
    """One sentence on the end pose: "The right thigh is back and the right knee is straight."."""
    details = _details(figure, posture)[:3]
    if not details:
        return _for_side(f"You are {posture.plain}.", side)
    phrases = [_with_article(one) for one in details]
    clauses = [
        f"{phrase} {'are' if one.many else 'is'} {one.after}" for phrase, one in zip(phrases, details, strict=True)
    ]
    return _for_side(_capital(_listed(clauses)) + ".", side)


def _details(figure: Figure, posture: Posture) -> list[_Said]:
    """Where the end differs in words from the posture, the working side first, then by how much.

    When the working leg is described, its knee is too, straight or bent.
    """
    supine = figure.stance == "supine"
    found = _compared(posture.angles, figure.end, supine)
    found = [one for one in found if one.before != one.after]
    placed = {one.point.partition("_")[0] for one in figure.contacts if one.point.endswith(_PLACED_HAND)}
    found = [one for one in found if one.noun not in _HAND or not ({one.side} & placed or len(placed) == 2)]
    found.sort(key=lambda one: -_weight(one, placed))
    weighty = [one for one in found if _weight(one, placed) >= LEAST_WEIGHT]
    kept = _once_a_part(weighty or found)[:MOST_DETAILS]
    standing = posture.plain.startswith("standing")
    if standing or any(one.noun in ("thigh", "leg") and one.side == "right" for one in kept):
        knee = next(
            one for one in _sided(posture.angles, figure.end, supine) if (one.noun, one.side) == ("knee", "right")
        )
        if not any(one.noun == "knee" and one.side != "left" for one in kept) and (kept or not standing):
            kept.append(knee)
    return sorted(kept, key=lambda one: one.side == "left")


_HAND, _ARM, _PLACED_HAND = ("palm", "wrist", "fingers"), ("arm", "elbow"), ("palm", "fingertips")


def _weight(one: _Said, placed: Collection[str]) -> float:
    """How much a detail matters: the working side more, a hand less than a limb, an arm less whose hand is placed."""
    weight = one.change * (0.5 if one.side == "left" else 1.0)
    if one.noun in _ARM and (one.side in placed or len(placed) == 2):
        return weight * 0.05
    if one.noun == "fingers":
        return weight * 0.2
    return weight * (0.6 if one.noun in ("palm", "wrist") or one.after.startswith("turned") else 1.0)


def _heel(figure: Figure) -> list[str]:
    """The working heel, where it stays down although the foot is bent up: what a calf stretch hangs on."""
    down = any((one.point, one.on) == ("right_heel", "floor") for one in figure.contacts)
    return ["right heel on the floor"] if down and figure.end.get("right_ankle.df", 0.0) >= LEAST_MOVE else []


def _is_many(target: str) -> bool:
    """Whether plain words name several things: their last word before of, at and the like ends in s."""
    head = re.split(r" (?:of|at|on|in|between|above|under|to) ", target)[0]
    return head.endswith("s") and not head.endswith(("pelvis", "biceps", "triceps"))


def _moves(figure: Figure) -> list[str]:
    """A sentence for each of the parts that move most from start to end."""
    if figure.start is None:
        return []
    found = [one for one in _compared(figure.start, figure.end, figure.stance == "supine") if one.before != one.after]
    found.sort(key=lambda one: -one.change)
    sentences = []
    for one in _once_a_part(found)[:MOST_MOVES]:
        goes = "go" if one.many else "goes"
        sentences.append(f"{_capital(_with_article(one))} {goes} from {one.before} to {one.after}.")
    return sentences


def _with_article(one: _Said) -> str:
    return one.named if one.named.startswith("both") else f"the {one.named}"


def _once_a_part(found: Sequence[_Said]) -> list[_Said]:
    """The first word for each part of each side: an arm is forward or out to the side, not both."""
    kept: dict[tuple[str, str], _Said] = {}
    for one in found:
        kept.setdefault((one.noun, one.side), one)
    return list(kept.values())


def _compared(before: Angles, after: Angles, supine: bool) -> list[_Said]:
    """Every part of the body before and after that moved, both sides said together when they do the same."""
    sided = [one for one in _sided(before, after, supine) if one.change >= LEAST_MOVE or one.noun == "shoulder"]
    found: list[_Said] = []
    for one in sided:
        twin = next((two for two in sided if _twins(one, two)), None)
        if twin is None:
            found.append(one)
        elif one.side == "right":
            found.append(_Said(one.noun, "both", one.before, one.after, max(one.change, twin.change)))
    return [*found, *_middle(before, after, supine)]


def _twins(one: _Said, two: _Said) -> bool:
    return (one.noun, one.before, one.after) == (two.noun, two.before, two.after) and one.side != two.side


def _sided(before: Angles, after: Angles, supine: bool) -> list[_Said]:
    return [
        _said(part, side, [f"{side}_{name}" for name in part.sums], before, after, supine)
        for side in reversed(SIDES)
        for part in _LIMB_PARTS
    ]


def _middle(before: Angles, after: Angles, supine: bool) -> list[_Said]:
    found = [_said(part, "", part.sums, before, after, supine) for part in _MIDDLE_PARTS]
    return [one for one in found if one.change >= LEAST_MOVE]


def _said(
    part: _Part, side: str, names: Sequence[str], before: Mapping[str, float], after: Mapping[str, float], supine: bool
) -> _Said:
    was, is_now = (sum(angles.get(name, 0.0) for name in names) for angles in (before, after))
    return _Said(part.noun, side, part.state(was, supine), part.state(is_now, supine), abs(is_now - was))


def _touching(figure: Figure, posture: Posture) -> list[str]:
    """What the body touches beyond its posture, and what is held."""
    known = {(one.point, one.on) for one in posture.contacts}
    new = [one for one in figure.contacts if (one.point, one.on) not in known and one.on]
    phrases = [_contact(one) for one in _whole_feet(new)]
    for one in [phrase for phrase in phrases if phrase.startswith("left ")]:
        right = one.replace("left ", "right ", 1)
        if right in phrases:
            phrases.remove(one)
            phrases[phrases.index(right)] = "both " + _many(one.removeprefix("left "))
    held = [thing_in_words(one.thing, one.points) for one in figure.held]
    return list(dict.fromkeys(phrases))[:3] + held


def _whole_feet(contacts: Sequence[Contact]) -> list[Contact]:
    """The contacts with a heel and a ball of one foot on one thing said as its sole."""
    places = {(one.point, one.on) for one in contacts}
    found: list[Contact] = []
    for one in contacts:
        side, _, part = one.point.partition("_")
        flat = {(f"{side}_heel", one.on), (f"{side}_ball", one.on)} <= places
        if part == "heel" and flat:
            found.append(replace(one, point=f"{side}_sole"))
        elif not (part == "ball" and flat):
            found.append(one)
    return found


def _contact(contact: Contact) -> str:
    point = point_in_words(contact.point)
    if contact.tool:
        tool = tool_in_words(contact.tool)
        return f"{tool} between the {point} and the wall" if contact.on in WALLS else f"{tool} under the {point}"
    return f"{point} on {surface_in_words(contact.on)}"


_MANY = {"foot": "feet", "toes": "toes", "fingers": "fingers", "calf": "calves"}


def _many(phrase: str) -> str:
    noun, _, rest = phrase.partition(" on ")
    return f"{_MANY.get(noun, f'{noun}s')} on {rest}"


def _listed(words: Sequence[str]) -> str:
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def _for_side(text: str, side: str) -> str:
    """The text with left and right changed over for the left side."""
    if side != "left":
        return text
    swap = {"left": "right", "right": "left", "Left": "Right", "Right": "Left"}
    return "".join(swap.get(word, word) for word in _words(text))


def _words(text: str) -> list[str]:
    """The text in runs of letters and of anything else."""
    runs: list[str] = []
    for letter in text:
        if runs and letter.isalpha() == runs[-1][-1].isalpha():
            runs[-1] += letter
        else:
            runs.append(letter)
    return runs
