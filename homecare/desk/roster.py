"""The list of athletes in words: where each stands today, and what is to be done."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from itertools import groupby

from homecare.core.problems import InputFault
from homecare.desk.form import read_form_text
from homecare.desk.history_view import moment_words
from homecare.render.dose_words import day_words, range_words
from homecare.storage.drafts import Draft
from homecare.storage.listing import GROUPS, Group, Listed, Page

TITLES: Mapping[Group, str] = {
    "due": "Check-in due",
    "new": "No sheet yet",
    "on": "On a sheet",
    "earlier": "Earlier",
}


@dataclass(frozen=True)
class Row:
    """One athlete: `due` says that something waits, `sheet` is the latest one's id (empty: none yet)."""

    id: str
    name: str
    sheet: str
    days: str
    now: str
    due: bool
    visit: str


@dataclass(frozen=True)
class Section:
    """The rows of one group on this page, and how many it has in all."""

    title: str
    count: int
    rows: tuple[Row, ...]


@dataclass(frozen=True)
class DraftRow:
    """One open draft: whose it is as far as it is known, and when it was last saved."""

    id: str
    name: str
    saved: str


def sections(page: Page, today: date) -> tuple[Section, ...]:
    """The page's rows under their groups."""
    grouped = {group: list(rows) for group, rows in groupby(page.rows, key=lambda one: one.group)}
    return tuple(
        Section(TITLES[group], page.counts[group], tuple(row(one, today) for one in grouped[group]))
        for group in GROUPS
        if group in grouped
    )


def row(one: Listed, today: date) -> Row:
    """One athlete in words."""
    sheet = one.sheet
    if sheet is None:
        return Row(one.athlete.id, one.athlete.name, "", "none yet", "new", False, "not booked")
    drills = f"{sheet.drills or 'no'} drill{'' if sheet.drills == 1 else 's'}"
    days = f"{_range(sheet.first_day, sheet.last_day, today)}, {drills}"
    due = one.group == "due"
    return Row(
        id=one.athlete.id,
        name=one.athlete.name,
        sheet=sheet.id,
        days=days,
        now=_now(one, today),
        due=due,
        visit=_visit(one.next_visit, today),
    )


def _now(one: Listed, today: date) -> str:
    sheet = one.sheet
    assert sheet is not None
    if sheet.refer:
        return "referred at once" if sheet.refer == "now" else "referred, to be seen soon"
    if sheet.last_day < today:
        return f"{'ran out' if one.group == 'due' else 'ended'} {_day(sheet.last_day, today)}"
    if one.group == "due":
        return "check-in due"
    if one.event is not None:
        return f"event {_day(one.event, today)}"
    number, total = (today - sheet.first_day).days + 1, (sheet.last_day - sheet.first_day).days + 1
    return f"day {number} of {total}" if number > 0 else f"begins {_day(sheet.first_day, today)}"


def _visit(day: date | None, today: date) -> str:
    if day is None:
        return "not booked"
    return "today" if day == today else _day(day, today)


def _day(day: date, today: date) -> str:
    return day_words(day, weekday=False, year=day.year != today.year)


def _range(first: date, last: date, today: date) -> str:
    """From one date to another, the year only where it is not this one."""
    words = range_words(first, last, weekday=False)
    return words.removesuffix(f" {today.year}")


def draft_rows(drafts: Iterable[Draft], names: Mapping[str, str]) -> Sequence[DraftRow]:
    """Open drafts, the one saved last first; `names` are the athletes' by id."""
    return [
        DraftRow(one.id, names.get(one.athlete or "", "") or _typed_name(one.text), moment_words(one.saved))
        for one in drafts
    ]


def _typed_name(text: str) -> str:
    try:
        return read_form_text(text).one("athlete").strip()
    except (InputFault, ValueError):
        return ""


def today() -> date:
    """The day on the clinic's own clock."""
    return datetime.now().astimezone().date()
