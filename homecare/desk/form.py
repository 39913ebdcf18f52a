"""The desk's form as it was sent: its values, its rows, and what a button does to them."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

FIRST_ROWS = {"finding": 3, "symptom": 1, "test": 1, "firing": 0, "marker": 0, "clinic_visits": 1, "event": 1}
"""Rows that an empty form shows, by kind (common practice: a visit notes about three findings)."""

MAX_ROWS = 60
_ROW = re.compile(r"([a-z_]+)-(\d{1,3})-")


@dataclass(frozen=True)
class Form:
    """Every value by field name; a field of a row is named kind-index-key, as `finding-0-side`."""

    values: Mapping[str, tuple[str, ...]]

    def one(self, name: str) -> str:
        """The one value of a field, '' when it was not sent."""
        return self.values.get(name, ("",))[0]

    def many(self, name: str) -> tuple[str, ...]:
        """Every value of a field that is not empty."""
        return tuple(value for value in self.values.get(name, ()) if value)

    def rows(self, kind: str) -> tuple[int, ...]:
        """The indices of the rows of a kind, in order."""
        found = {int(match[2]) for name in self.values if (match := _ROW.match(name)) and match[1] == kind}
        return tuple(sorted(found))[:MAX_ROWS]

    def with_values(self, **changed: tuple[str, ...]) -> Form:
        """The same form with some fields set anew."""
        return Form({**self.values, **changed})

    def without_row(self, kind: str, index: int) -> Form:
        """The same form less one row."""
        start = f"{kind}-{index}"
        kept = {
            name: value for name, value in self.values.items() if name != start and not name.startswith(f"{start}-")
        }
        return Form(kept)

    def with_row(self, kind: str) -> Form:
        """The same form with one more empty row."""
        rows = self.rows(kind)
        if len(rows) >= MAX_ROWS:
            return self
        return Form({**self.values, f"{kind}-{max(rows, default=-1) + 1}-": ("",)})


def blank_form(today: str) -> Form:
    """The form before anything is filled in, with today as the first day."""
    rows = {f"{kind}-{index}-": ("",) for kind, count in FIRST_ROWS.items() for index in range(count)}
    return Form({"start": (today,), "days": ("14",), "minutes_weekday": ("12",), **rows})


def read_form(fields: Iterable[tuple[str, Iterable[str]]]) -> Form:
    """The form from a request's fields; control characters are dropped, line ends kept as single ones."""
    return Form({name: tuple(_clean(value) for value in values) for name, values in fields})


def press(form: Form, button: str) -> Form:
    """What a button does to the form: add:KIND, remove:KIND:ROW, drop:ID, undrop:ID, cover:SITE, uncover:SITE,
    pick:DRILL:SIDE, unpick:ROW; any other (make) leaves it as it is."""
    verb, *what = button.split(":")
    match verb, what:
        case "add", [kind] if kind in FIRST_ROWS:
            return form.with_row(kind)
        case "remove", [kind, index] if kind in FIRST_ROWS and index.isdecimal():
            return form.without_row(kind, int(index))
        case (("drop" | "cover"), [one]):
            return form.with_values(**{verb: tuple(dict.fromkeys([*form.many(verb), one]))})
        case (("undrop" | "uncover"), [one]):
            name = verb.removeprefix("un")
            return form.with_values(**{name: tuple(value for value in form.many(name) if value != one)})
        case "pick", [drill, side]:
            row = f"pick-{max(form.rows('pick'), default=-1) + 1}"
            reason = form.one(f"why-{drill}-{side}")
            return form.with_values(**{f"{row}-drill": (drill,), f"{row}-side": (side,), f"{row}-because": (reason,)})
        case "unpick", [index] if index.isdecimal():
            return form.without_row("pick", int(index))
    return form


def _clean(value: str) -> str:
    plain = value.replace("\r\n", "\n").replace("\r", "\n").strip()
    return "".join(letter for letter in plain if letter.isprintable() or letter == "\n")
