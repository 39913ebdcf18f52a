"""The faults of a drill put beside the fields that they speak of, and its proofs in words."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from homecare.core.pose import SIDES, Contact
from homecare.core.problems import Problem
from homecare.desk.form import Form
from homecare.desk.shelf_entries import KIND_OF, TOUCHES, field_of_entry, scene_entries
from homecare.desk.shelf_points import BOTH
from homecare.desk.shelf_pose import move_of, moves_in
from homecare.library.figure_words import contact_of
from homecare.library.lint_figure import contact_in_words
from homecare.library.trial import Path, Told

Faults = dict[str, tuple[str, ...]]

_FIELD: Mapping[str, str] = {
    **{code: code for code in ("code", "address", "name", "ladder")},
    **dict.fromkeys(("steps", "step", "placeholder", "side", "grade", "passive"), "steps"),
    **dict.fromkeys(("pose", "through", "stretch", "slider", "load", "limit", "drift"), "pose"),
    **{"glide": "claims", "tender": "kind", "caution": "not_with", "pressure": "traits", "trait": "traits"},
    **{"unreached": "tissues", "contact": "touch", "release": "touch"},
}
"""The field beside which a rule's fault is told, by its code; a fault with no place here is told above the form."""
_FOLLOWS = ("drift", "load")
"""What a body that cannot reach its contacts does besides, by code."""
NEEDED = "This is needed"
_PHASE = re.compile(r"^at the (start|end) the (?:(left|right) )?([a-z ]+?) (?:is at|was written|is raised) ?([a-z_]+)?")
_QUOTED = re.compile(r"'([^']+)'")
_READ = ("steps", "name", "feel", "not_feel", "mistakes", "stop_if")


def unread_faults(told: Iterable[Told], form: Form) -> Faults:
    """What could not be read, by field."""
    found: Faults = {}
    for one in told:
        words = NEEDED if one.problem.code in ("missing", "empty") else _said(one.problem, "")
        _add(found, _field_at(one.path, form), words)
    return found


def rule_faults(problems: Iterable[Problem], form: Form, drill: str) -> Faults:
    """What the library's rules say against a drill, by field, less what only follows from a contact that is off."""
    found: Faults = {}
    for one in _leading(problems):
        _add(found, field_of_rule(one, form, drill), _said(one, drill))
    return found


def _leading(problems: Iterable[Problem]) -> list[Problem]:
    told = list(problems)
    off = any(one.code == "contact" for one in told)
    return [one for one in told if not (off and one.code in _FOLLOWS)]


def saving_faults(problems: Sequence[Problem], form: Form, drill: str) -> Faults:
    """Why a drill could not be saved, by field; what is wrong with other records is told above the form."""
    own = [one for one in problems if one.message.startswith(f"{drill}: ")]
    others = tuple(str(one) if one.source.line else one.message for one in problems if one not in own)
    return rule_faults(own, form, drill) | ({"": others} if others else {})


def _add(found: Faults, field: str, words: str) -> None:
    if words not in found.get(field, ()):
        found[field] = (*found.get(field, ()), words)


def _said(problem: Problem, drill: str) -> str:
    words = problem.message.removeprefix(f"{drill}: ")
    if problem.code in ("limit", "drift") and (phase := _PHASE.match(words)):
        words = _in_plain_words(words, phase[3])
    said = problem.hint.replace("_", " ") if problem.code == "dead-reference" else problem.hint
    hint = f": {said}" if said else ""
    return f"{words[:1].upper()}{words[1:]}{hint}"


def _in_plain_words(message: str, joint: str) -> str:
    """A message with its clinical angles as the form says them: "flex 40" of the knee is "bent 40"."""

    def plain(found: re.Match[str]) -> str:
        move = move_of(f"right_{key}-{found[1]}") or move_of(f"{key}-{found[1]}")
        return found[0] if move is None else f"{move.words.partition(', ')[2]} {found[2]}"

    key = joint.replace(" ", "_")
    return re.sub(r"\b([a-z_]+) (\d+)\b", plain, message).replace("the root ", "the whole body ")


def _field_at(path: Path, form: Form) -> str:
    match path:
        case ("figure", ("start" | "end") as phase, *rest):
            near = "_".join(rest)
            fields = (f"{phase}-{move.key}" for move in moves_in(form))
            return next((one for one in fields if near and one.startswith(f"{phase}-{near}-")), "pose")
        case ("figure", key, *rest) if key in KIND_OF:
            return field_of_entry(form, key, rest[0] if rest else "")
        case ("figure", key, *_):
            return key
        case ("figure",):
            return "from"
        case ("source", *rest):
            return f"source-{rest[0]}" if rest else "source-mark"
        case (key, *_):
            return key
    return ""


def field_of_rule(problem: Problem, form: Form, drill: str) -> str:
    """The field beside which a fault of a rule is told, '' where it has none."""
    code, message = problem.code, problem.message.removeprefix(f"{drill}: ")
    if code == "contact":
        told = (field for field, one in _touching(form) if contact_in_words(one) in message)
        return next(told, _FIELD[code])
    if code in ("limit", "drift") and (found := _PHASE.match(message)):
        phase, side, joint, word = found[1], found[2] or "", found[3].replace(" ", "_"), found[4]
        groups = (side, "both") if side else ("",)
        for move in moves_in(form):
            if move.group in groups and move.joint == joint and move.word == word:
                return f"{phase}-{move.key}"
    if code == "way":
        return "easier" if message.startswith("easier") else "harder"
    if code == "same":
        return next((key for key in ("name", "clinical") if message.startswith(f"the {key} ")), "steps")
    if code in ("claim", "jargon") and (quoted := _QUOTED.search(message)):
        return next((key for key in _READ if quoted[1].lower() in form.one(key).lower()), "steps")
    return _FIELD.get(code, "")


def _touching(form: Form) -> Iterator[tuple[str, Contact]]:
    """Every contact that the rows say, one for each side, with its field."""
    for entry in scene_entries(form)[0]:
        one = contact_of(entry.text) if entry.key in TOUCHES.values() else None
        if one is not None:
            sides = SIDES if one.point.startswith(f"{BOTH}_") else ("",)
            yield from ((entry.field, replace(one, point=one.point.replace(BOTH, side, 1))) for side in sides)


def rows_of_contact(form: Form, contact: Contact) -> tuple[int, ...]:
    """The numbers of the rows that say a contact."""
    return tuple(int(field.split("-")[1]) for field, one in _touching(form) if one == contact)


@dataclass(frozen=True)
class Proof:
    """One thing that a drill is held to: whether it holds, in words, and what speaks against it."""

    holds: bool
    words: str
    against: tuple[str, ...]


_PROOFS: tuple[tuple[tuple[str, ...], tuple[str, ...], str, str], ...] = (
    ((), ("limit",), "Every joint stays within its range.", "A joint goes beyond its range."),
    ((), ("contact", "drift"), "It rests on what it touches.", "It does not rest on what it says."),
    ((), ("through",), "Nothing passes through the body.", "A part of the body runs into another."),
    (("glide:slider",), ("glide", "slider"), "It slides, it does not pull.", "It pulls, it does not slide."),
    (("glide:tensioner",), ("glide",), "It pulls as far as it says.", "It does not pull as it says."),
    (("stretch",), ("stretch", "pose"), "It lengthens its muscle.", "It does not lengthen its muscle as it says."),
    (("release",), ("release",), "It reaches its tissue.", "It misses its tissue, or presses where it must not."),
    ((), ("caution", "trait", "pressure"), "The usual cautions stop it.", "A caution would not stop it."),
    ((), ("grade", "passive", "claim", "jargon", "step", "steps"), "Its words are plain.", "Its words are not plain."),
)
"""For which kinds (none named: all), the codes of faults that speak against it, and both ways of saying it."""


def proofs(problems: Iterable[Problem], form: Form, drill: str) -> tuple[Proof, ...]:
    """What a drill that could be read is held to, in words."""
    told = [(one.code, _said(one, drill)) for one in _leading(problems)]
    kind = form.one("kind")
    found = []
    for kinds, codes, holds, fails in _PROOFS:
        if kinds and not {kind, f"{kind}:{form.one('claims')}"} & set(kinds):
            continue
        against = tuple(dict.fromkeys(words for code, words in told if code in codes))
        found.append(Proof(not against, fails if against else holds, against))
    return tuple(found)
