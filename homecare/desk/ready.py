"""What of the form can be made into a sheet now, and what is still needed."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass

from homecare.core.sheet import Clinic
from homecare.desk.form import Form
from homecare.desk.visit_text import visit_text
from homecare.library.visit_findings import MIDLINE_ZONES
from homecare.render.press import Paper

STAND_IN = "(name)"
"""Stands for the athlete's name on a sheet that is only looked at."""

Needs = Mapping[str, str]
"""What is still needed, in words, by the form's field that would say it."""


def ready(form: Form) -> tuple[Form, Needs]:
    """The form less the rows that are not done yet, with a stand-in for a name, and what those need."""
    needs: dict[str, str] = {}
    if not form.one("athlete"):
        needs["athlete"] = "the athlete's name"
        form = form.with_values(athlete=(STAND_IN,))
    for kind, wants in (("finding", _finding), ("symptom", _symptom), ("test", _test), ("firing", _firing)):
        for index in form.rows(kind):
            found = wants(form, f"{kind}-{index}")
            if found is not None:
                needs |= {f"{kind}-{index}-{found[0]}": found[1]} if found[1] else {}
                form = form.without_row(kind, index)
    for index in form.rows("marker"):
        if not form.one(f"marker-{index}-test"):
            form = form.without_row("marker", index)
    if not has_findings(form) and not needs.keys() - {"athlete"}:
        needs["find"] = "a finding"
    return form, needs


@dataclass(frozen=True)
class Asked:
    """What is to be printed: a visit file's text, the size of print and the paper."""

    text: str
    large: bool
    paper: Paper

    @property
    def mark(self) -> str:
        """Twelve letters that are others where anything of it is another."""
        return hashlib.sha256(repr(self).encode()).hexdigest()[:12]


def asked_of(form: Form, clinic: Clinic) -> Asked:
    """What a form asks to be printed, as far as it is ready; the paper is the clinic's where none is said."""
    paper: Mapping[str, Paper] = {"a4": "a4", "letter": "letter"}
    return Asked(visit_text(ready(form)[0]).text, bool(form.one("large")), paper.get(form.one("paper"), clinic.paper))


def has_findings(form: Form) -> bool:
    """Whether there is anything to make a sheet of."""
    return any(form.rows(kind) for kind in ("finding", "symptom", "test", "firing"))


Lack = tuple[str, str]
"""The key of a row that is still needed, and in words what it would say."""
_EMPTY: Lack = ("", "")


def _finding(form: Form, row: str) -> Lack | None:
    """What a row needs: None when it is done, _EMPTY for a row without anything."""
    tissue, found = form.one(f"{row}-tissue"), form.one(f"{row}-found")
    if tissue and found:
        return None
    if tissue:
        return "found", f"what was found of {tissue.replace('_', ' ')}"
    return ("tissue", "which tissue") if found else _EMPTY


def _symptom(form: Form, row: str) -> Lack | None:
    symptom, zones, side = form.one(f"{row}-symptom"), form.many(f"{row}-zones"), form.one(f"{row}-side")
    if not symptom:
        return ("symptom", "which symptom") if zones else _EMPTY
    if not zones:
        return "zones", f"where the {symptom} is"
    return None if side or set(zones) <= MIDLINE_ZONES else ("side", f"the side of the {symptom}")


def _test(form: Form, row: str) -> Lack | None:
    if not form.one(f"{row}-test"):
        return _EMPTY
    return None if form.one(f"{row}-result") else ("result", "the result of a test")


def _firing(form: Form, row: str) -> Lack | None:
    if not form.one(f"{row}-firing"):
        return _EMPTY
    if not form.one(f"{row}-side"):
        return "side", "the side of a firing order"
    return None if form.many(f"{row}-order") else ("order", "the order in which they fired")
