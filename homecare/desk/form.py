"""The desk's form as it was sent: its values by field name, and its rows."""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

MAX_ROWS = 60
_ROW = re.compile(r"([a-z_]+)-(\d{1,3})-")


@dataclass(frozen=True)
class Form:
    """Every value by field name; a field of a row is named kind-index-key, as `finding-0-side`."""

    values: Mapping[str, tuple[str, ...]]

    def one(self, name: str) -> str:
        """The one value of a field, '' when it was not sent."""
        return next(iter(self.values.get(name, ())), "")

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

    def without(self, *names: str) -> Form:
        """The same form less some fields."""
        return Form({name: value for name, value in self.values.items() if name not in names})

    def without_row(self, kind: str, index: int) -> Form:
        """The same form less one row."""
        start = f"{kind}-{index}"
        kept = {
            name: value for name, value in self.values.items() if name != start and not name.startswith(f"{start}-")
        }
        return Form(kept)

    def with_row(self, kind: str, **fields: str) -> Form:
        """The same form with one more row, empty but for the fields."""
        rows = self.rows(kind)
        if len(rows) >= MAX_ROWS:
            return self
        row = f"{kind}-{max(rows, default=-1) + 1}-"
        return Form({**self.values, row: ("",), **{f"{row}{key}": (value,) for key, value in fields.items() if value}})


def blank_form(today: str) -> Form:
    """The form before anything is filled in, with today as the first day."""
    return Form({"start": (today,), "days": ("14",), "minutes_weekday": ("12",)})


def read_form(fields: Iterable[tuple[str, Iterable[str]]]) -> Form:
    """The form from a request's fields; control characters are dropped, line ends kept as single ones."""
    return Form({name: tuple(_clean(value) for value in values) for name, values in fields})


def form_text(form: Form) -> str:
    """A form as the text that a draft holds: JSON of every field's values."""
    return json.dumps({name: list(values) for name, values in form.values.items()}, ensure_ascii=False, sort_keys=True)


def read_form_text(text: str) -> Form:
    """The form that `form_text` wrote; raises ValueError for any other text."""
    fields = json.loads(text)
    if not isinstance(fields, dict) or not all(isinstance(values, list) for values in fields.values()):
        raise ValueError("this is not the text of a form")
    return Form({name: tuple(str(value) for value in values) for name, values in fields.items()})


def whole(typed: str) -> int | None:
    """The whole number that was typed, None when it is none or has more than six digits: no field asks for more."""
    return int(typed) if typed.isdecimal() and len(typed) <= 6 else None


def _clean(value: str) -> str:
    plain = value.replace("\r\n", "\n").replace("\r", "\n").strip()
    return "".join(letter for letter in plain if letter.isprintable() or letter == "\n")
