"""The clinic's settings as a form, and as the text of a clinic file that is read by the one parser of such files."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from typing import get_args

from homecare.core.drill import Part
from homecare.core.problems import Problem
from homecare.core.sheet import Clinic
from homecare.desk.form import Form

WORDS = {
    "name": "The name",
    "address": "The address",
    "phone": "The number to call",
    "hours": "The hours",
    "after_hours": "The number after hours",
    "paper": "The paper",
    "language": "The language",
    "web": "The web address",
    "few": "Drills a day",
    "max_drills": "Drills a sheet",
}
"""Every setting but the clock, in the order of the form, as a fault names it."""
CLOCK_WORDS: Mapping[Part, str] = {
    "morning": "Morning",
    "before": "Before training",
    "after": "After training",
    "evening": "Evening",
}


def form_of_clinic(clinic: Clinic) -> Form:
    """A clinic as the form that would write it; a web address that was never set is left empty."""
    values = {key: str(getattr(clinic, key)) for key in WORDS}
    if clinic.web_in_clinic:
        values["web"] = ""
    clock = clinic.clock or {}
    values |= {f"clock-{part}": clock.get(part, "") for part in get_args(Part)}
    return Form({key: (value,) for key, value in values.items()})


def clinic_text(form: Form) -> str:
    """The settings as a clinic file, a setting a line; empty ones are left out."""
    return "".join(f"{line}\n" for line, _ in _lines(form))


def field_faults(form: Form, problems: Iterable[Problem]) -> dict[str, tuple[str, ...]]:
    """What is wrong by form field, in words that name the field as the form does."""
    fields = [field for _, field in _lines(form)]
    found: dict[str, tuple[str, ...]] = {}
    for problem in problems:
        field = fields[min(max(problem.source.line, 1), len(fields)) - 1]
        said = problem.message + (f" ({problem.hint})" if problem.hint else "")
        said = said.replace(f"'{field}'", WORDS.get(field, field))
        found[field] = (*found.get(field, ()), said)
    return found


def _lines(form: Form) -> list[tuple[str, str]]:
    """Each line with the form field that it came from. A JSON text is a YAML one, on one line."""
    lines = [(f"{key}: {_quoted(form.one(key))}", key) for key in WORDS if form.one(key)]
    times = [(part, form.one(f"clock-{part}")) for part in get_args(Part)]
    clock = [(f"  {part}: {_quoted(time)}", f"clock-{part}") for part, time in times if time]
    return [*lines, *([("clock:", clock[0][1]), *clock] if clock else [])]


def _quoted(value: str) -> str:
    return json.dumps(value, ensure_ascii=False)
