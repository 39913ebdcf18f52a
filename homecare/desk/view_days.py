"""The strip of a sheet's days as the builder shows it: pressed for a clinic visit, pressed again for an event."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

from homecare.core.findings import MAX_DAYS
from homecare.desk.form import Form, whole
from homecare.render.dose_words import day_words

WEEKDAYS = ("Mo", "Tu", "We", "Th", "Fr", "Sa", "Su")
_THEN = {"": "Press for a clinic visit", "visit": "Press for an event", "event": "Press to clear"}
_NOW = {"": "", "visit": ", clinic visit", "event": ", event"}


@dataclass(frozen=True)
class DayCell:
    """One day of the strip: its ISO date, "Mo", "4", what is on it ('' visit event), and all of it in words."""

    iso: str
    weekday: str
    number: int
    kind: str
    label: str


@dataclass(frozen=True)
class DayStrip:
    """The days of the sheet, and the rows (kind, index) of days that lie outside of them."""

    days: tuple[DayCell, ...]
    others: tuple[tuple[str, int], ...]


def day_strip(form: Form) -> DayStrip:
    """The strip of a form's days; none where the first day or the number of days cannot be read."""
    first, count = _first(form), _count(form)
    on = {form.one(f"{kind}-{index}-date"): word for kind, index, word in _rows(form)}
    days = tuple(_cell(first + timedelta(days=number), on) for number in range(count)) if first else ()
    shown = {cell.iso for cell in days}
    others = tuple((kind, index) for kind, index, _ in _rows(form) if form.one(f"{kind}-{index}-date") not in shown)
    return DayStrip(days, others)


def _rows(form: Form) -> Iterable[tuple[str, int, str]]:
    for kind, word in (("clinic_visits", "visit"), ("event", "event")):
        for index in form.rows(kind):
            yield kind, index, word


def _cell(day: date, on: dict[str, str]) -> DayCell:
    iso = day.isoformat()
    kind = on.get(iso, "")
    return DayCell(iso, WEEKDAYS[day.weekday()], day.day, kind, f"{day_words(day)}{_NOW[kind]}. {_THEN[kind]}")


def _first(form: Form) -> date | None:
    try:
        return date.fromisoformat(form.one("start"))
    except ValueError:
        return None


def _count(form: Form) -> int:
    days = whole(form.one("days") or "14") or 0
    return days if days <= MAX_DAYS else 0
