"""The faults of a drill put beside the fields that they speak of, and its proofs in words."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from homecare.core.problems import Problem
from homecare.desk.form import Form
from homecare.desk.shelf_pose import moves_in
from homecare.library.trial import Path, Told

Faults = dict[str, tuple[str, ...]]

_FIELD: Mapping[str, str] = {
    **{code: code for code in ("code", "address", "name", "ladder")},
    **dict.fromkeys(("steps", "step", "placeholder", "side", "grade", "passive"), "steps"),
    **dict.fromkeys(("pose", "through", "stretch", "slider", "load", "limit", "drift"), "pose"),
    **{"glide": "claims", "tender": "kind", "caution": "not_with", "pressure": "traits", "trait": "traits"},
    **{"unreached": "tissues", "contact": "contacts", "release": "contacts"},
}
"""The field beside which a rule's fault is told, by its code; a fault with no place here is told above the form."""
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
    """What the library's rules say against a drill, by field."""
    found: Faults = {}
    for one in problems:
        _add(found, _field_of(one, one.message.removeprefix(f"{drill}: "), form), _said(one, drill))
    return found


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
    hint = f": {problem.hint}" if problem.hint else ""
    return f"{words[:1].upper()}{words[1:]}{hint}"


def _field_at(path: Path, form: Form) -> str:
    match path:
        case ("figure", ("start" | "end") as phase, *rest):
            near = "_".join(rest)
            fields = (f"{phase}-{move.key}" for move in moves_in(form))
            return next((one for one in fields if near and one.startswith(f"{phase}-{near}-")), "pose")
        case ("figure", key, *_):
            return key
        case ("figure",):
            return "from"
        case ("source", *rest):
            return f"source-{rest[0]}" if rest else "source-mark"
        case (key, *_):
            return key
    return ""


def _field_of(problem: Problem, message: str, form: Form) -> str:
    code = problem.code
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
    told = [(one.code, _said(one, drill)) for one in problems]
    kind = form.one("kind")
    found = []
    for kinds, codes, holds, fails in _PROOFS:
        if kinds and not {kind, f"{kind}:{form.one('claims')}"} & set(kinds):
            continue
        against = tuple(dict.fromkeys(words for code, words in told if code in codes))
        found.append(Proof(not against, fails if against else holds, against))
    return tuple(found)
