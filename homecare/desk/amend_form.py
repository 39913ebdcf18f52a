"""One change to an issued sheet as it is typed: into what is asked for, with every fault beside its field."""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import Any, cast, get_args

from homecare.core.atlas import Side
from homecare.core.drill import Rung
from homecare.core.findings import Pick, SetDose
from homecare.core.problems import Problem, Source
from homecare.core.slip import Amendment
from homecare.desk.form import Form, whole
from homecare.library.load import Library
from homecare.library.visit_findings import DOSE_BOUNDS

DOSE_FIELDS = (
    ("sets", "Sets"),
    ("reps", "Repetitions"),
    ("hold_s", "Hold, seconds"),
    ("times", "Times a day"),
    ("load", "Load"),
)
"""What of a dose the page asks for; the rest stays as the ladder has it."""
NO_CHANGE = "Say what changes: take a drill off, give another dose, or put a drill on"
NO_DAY = "A day such as 2026-03-08 is needed"
SAME_DOSE = "This is the dose it has now: change one of its numbers"
MOST_LOAD = 40


@dataclass
class _Reading:
    """Values out of the form, and the faults of those that cannot be read."""

    form: Form
    library: Library
    faults: dict[str, list[str]] = field(default_factory=dict)

    def fault(self, name: str, words: str) -> None:
        self.faults.setdefault(name, []).append(words)

    def day(self) -> date | None:
        try:
            return date.fromisoformat(self.form.one("day"))
        except ValueError:
            self.fault("day", NO_DAY)
            return None

    def dose(self, drill: str, now: Rung) -> SetDose:
        """The dose beside a drill, as far as it can be read; what is left empty, and its pace, stay as they are now."""
        values: dict[str, Any] = {"tempo_s": now.tempo_s}
        for key, words in DOSE_FIELDS:
            name = f"dose-{drill}-{key}"
            value = self.form.one(name)
            if not value:
                continue
            low, high = DOSE_BOUNDS.get(key, (0, 0))
            if key == "load":
                if len(value) <= MOST_LOAD:
                    values[key] = value
                else:
                    self.fault(name, f"{words} may have {MOST_LOAD} letters")
            elif (number := whole(value)) is not None and low <= number <= high:
                values[key] = number
            else:
                self.fault(name, f"{words} should be a whole number from {low} to {high}, not {value!r}")
        if not any(name.startswith(f"dose-{drill}-") for name in self.faults):
            if all(getattr(now, key) == value for key, value in values.items()):
                self.fault(f"do-{drill}", SAME_DOSE)
        return SetDose(**{**{key: getattr(now, key) for key in DOSE_BOUNDS}, **values})

    def pick(self) -> Pick | None:
        """The drill that is put on, by its name or id."""
        typed = self.form.one("add")
        if not typed:
            return None
        by_name = {one.name.lower(): key for key, one in self.library.drills.items()}
        drill = typed if typed in self.library.drills else by_name.get(typed.lower())
        if drill is None:
            near = difflib.get_close_matches(typed.lower(), by_name, n=1, cutoff=0.7)
            hint = (
                f": did you mean {self.library.drills[by_name[near[0]]].name}?"
                if near
                else ". Choose one of the names offered as you type"
            )
            self.fault("add", f"No drill is called “{typed}”{hint}")
            return None
        side = self.form.one("add-side")
        where = Source("add")
        return Pick(drill, cast(Side, side) if side in get_args(Side) else None, self.form.one("add-because"), where)


def read_amendment(
    form: Form, drills: Mapping[str, Rung], library: Library
) -> tuple[Amendment | None, dict[str, list[str]]]:
    """What the form asks of a sheet with some drills at their doses, None where that is nothing or cannot be read; and
    its faults."""
    read = _Reading(form, library)
    day = read.day()
    off, doses = [], dict[str, SetDose]()
    for drill, now in drills.items():
        match form.one(f"do-{drill}"):
            case "off":
                off.append(drill)
            case "dose":
                doses[drill] = read.dose(drill, now)
    pick = read.pick()
    if not (off or doses or pick) and "add" not in read.faults:
        read.fault("", NO_CHANGE)
    if day is None or read.faults:
        return None, read.faults
    return Amendment(day, tuple(off), (pick,) if pick else (), doses), {}


def dose_fields(drill: str, now: Rung) -> dict[str, tuple[str, ...]]:
    """The fields of a drill's dose as they begin: as it is now."""
    return {f"dose-{drill}-{key}": (str(getattr(now, key)),) for key, _ in DOSE_FIELDS}


def field_faults(problems: Iterable[Problem], asked: Amendment, library: Library) -> Mapping[str, list[str]]:
    """What is wrong with a change by the field it belongs to: the day, or the drill that is put on."""
    found: dict[str, list[str]] = {}
    for one in problems:
        name = "day" if one.code == "day" else "add" if asked.on else ""
        message = one.message
        for key, drill in library.drills.items():
            message = message.replace(repr(key), f"“{drill.name}”")
        if one.code == "reason":
            name, message = "add-because", "A caution speaks against it: say why it is done all the same"
        found.setdefault(name, []).append(message + (f" ({one.hint})" if one.hint else ""))
    return found


def first_day(today: date, start: date, end: date, earlier: Iterable[date]) -> date:
    """The day that a change begins with unless another is said: today, within what may still change."""
    least = max([start + timedelta(days=1), *earlier])
    return min(max(today, least), end)
