"""What would put a fault right, each as one press: an angle brought into its range, the nearest right word."""

from __future__ import annotations

import difflib
import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from urllib.parse import parse_qsl, urlencode

from homecare.core.problems import Problem
from homecare.desk.form import Form
from homecare.desk.shelf_form import Names, commas
from homecare.desk.shelf_pose import Move, move_of, number, opposite
from homecare.library.load import Library
from homecare.library.names import fold

Faults = Mapping[str, tuple[str, ...]]
CURE = "cure"
"""The verb of a button that presses a cure: `cure:FIELD=VALUE`, and `FIELD+=VALUE` to tick one more word."""
_NEAR = 0.6
_DIGITS = re.compile(r"\d+(?:[.,]\d+)?")
_MEANT = re.compile(r"[Dd]id you mean (\S+)\?$")
_GIVEN = re.compile(r"'([^']+)'")
_TRAIT = re.compile(r"^add (\w+) to its traits")


@dataclass(frozen=True)
class Cure:
    """One press that may put a fault right: its words, and the fields that it sets."""

    words: str
    sets: tuple[tuple[str, str], ...]

    @property
    def do(self) -> str:
        """The value of its button."""
        return f"{CURE}:{urlencode(self.sets)}"


Cures = dict[str, tuple[Cure, ...]]


def cured(form: Form, sets: str) -> tuple[Form, str]:
    """The form after the press of a cure, and the field to go on with."""
    first = ""
    for name, value in parse_qsl(sets, keep_blank_values=True):
        field = name.removesuffix("+")
        values = (*form.values.get(field, ()), value) if name.endswith("+") else (value,)
        form, first = form.with_values(**{field: values}), first or field
    return form, first


def typed_cures(form: Form, faults: Faults, library: Library) -> Cures:
    """Cures for what was typed: degrees and distances, and names that lead nowhere."""
    found: Cures = {}
    for field, words in faults.items():
        phase, _, key = field.partition("-")
        move = move_of(key) if phase in ("start", "end") else None
        if move is not None:
            found[field] = _angle(form, field, phase, move)
        elif re.fullmatch(r"(touch|arrow|held|room)-\d+-(along|onalong|x|y|z|at)", field):
            found[field] = _number(form, field)
        else:
            found[field] = tuple(_words(form, field, words, library))
    return {field: cures for field, cures in found.items() if cures}


def _angle(form: Form, field: str, phase: str, move: Move) -> tuple[Cure, ...]:
    text = form.one(field)
    degrees = number(text.replace(",", "."))
    if degrees is None:
        return _number(form, field, move.most)
    if degrees > move.most:
        return (Cure(f"Set it to {move.most:g}", ((field, f"{move.most:g}"),)),)
    other = opposite(move)
    if degrees < 0 and other is not None:
        to = min(-degrees, other.most)
        said = other.words.partition(", ")[2]
        return (Cure(f"Make it {said} {to:g}", ((field, ""), (f"{phase}-{other.key}", f"{to:g}"))),)
    if degrees < 0:
        return (Cure("Set it to 0", ((field, "0"),)),)
    taken = f"{phase}-{other.key}" if other is not None else ""
    return (Cure("Empty this one", ((field, ""),)),) if degrees and form.one(taken) else ()


def _number(form: Form, field: str, most: float | None = None) -> tuple[Cure, ...]:
    """The number that stands in a text, within 0 to 100 per cent where it is a share."""
    typed = _DIGITS.search(form.one(field))
    if typed is None:
        return (Cure("Empty it", ((field, ""),)),) if form.one(field) else ()
    value = float(typed[0].replace(",", "."))
    share = field.endswith("along")
    least = 0.0 if share or most is not None else -200.0
    value = -value if form.one(field).lstrip().startswith("-") else value
    kept = min(max(value, least), 100.0 if share else 200.0 if most is None else most)
    return (Cure(f"Set it to {kept:g}", ((field, f"{kept:g}"),)),)


def _words(form: Form, field: str, faults: Iterable[str], library: Library) -> Iterable[Cure]:
    names = Names(library)
    atlas = library.atlas
    tissues = {*atlas.tissues, *atlas.groups}
    if field in ("tissues", "targets"):
        known = {fold(word): names.tissue(key) for word, key in library.names.by["tissues"].items()}
        yield from _named(form, field, known, lambda name: names.tissue_id(name) in tissues)
    elif field == "strains":
        known = {fold(names.site(key)): names.site(key) for key in atlas.sites}
        yield from _named(form, field, known, lambda name: names.site_id(name) in atlas.sites)
    elif field in ("easier", "harder"):
        known = {fold(one.name): one.name for one in library.drills.values()}
        yield from _named(form, field, known, lambda name: names.drill_id(name) in library.drills)
    else:
        for words in faults:
            meant = _MEANT.search(words)
            given = next((one for one in _GIVEN.findall(words) if one in form.one(field)), "")
            if meant and given:
                yield _instead(form, field, given, meant[1])


def _named(form: Form, field: str, known: Mapping[str, str], good: Callable[[str], bool]) -> Iterable[Cure]:
    """For each name of a list that leads nowhere, the nearest one that leads somewhere."""
    for name in commas(form.one(field)):
        near = [] if good(name) else difflib.get_close_matches(fold(name), known, n=1, cutoff=_NEAR)
        if near:
            yield _instead(form, field, name, known[near[0]])


def _instead(form: Form, field: str, given: str, better: str) -> Cure:
    return Cure(f"Write “{better}”", ((field, form.one(field).replace(given, better, 1)),))


def rule_cures(problems: Iterable[Problem], form: Form, library: Library) -> Cures:
    """Cures for what the rules of the library say."""
    found: Cures = {}
    for one in problems:
        if one.code in ("trait", "pressure") and (told := _TRAIT.search(one.hint)):
            cure = Cure(f"Tick “{library.traits[told[1]].plain}”", (("traits+", told[1]),))
            found["traits"] = tuple(dict.fromkeys((*found.get("traits", ()), cure)))
        elif one.code == "side" and one.hint.startswith("write {side} or"):
            found["steps"] = (Cure("Write {side} for right, {other} for left", tuple(_without_sides(form))),)
    return found


def _without_sides(form: Form) -> Iterable[tuple[str, str]]:
    for field in ("steps", "feel", "not_feel", "mistakes", "stop_if"):
        words = form.one(field)
        better = re.sub(r"\bleft\b", "{other}", re.sub(r"\bright\b", "{side}", words))
        if better != words:
            yield field, better
