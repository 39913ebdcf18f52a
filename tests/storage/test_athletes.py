"""Athletes are found by any beginning of their names, and listed by where they stand today."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from homecare.storage import athletes, listing, sheets
from homecare.storage.athletes import name_words, search_athletes
from homecare.storage.database import Database
from homecare.storage.listing import list_athletes
from homecare.storage.sheets import SheetFacts
from tests.storage.made import AT, FIRST, athlete_in, file, sheet_record

NAMES = ("Åse Brandt", "Łukasz Ørn", "Siobhán O'Neil", "Đorđe Ilić", "José-María de la Cruz", "Ida Æbelø", "李 小龍")


@pytest.mark.parametrize(
    ("typed", "found"),
    [
        ("ase", "Åse Brandt"),
        ("BRA å", "Åse Brandt"),
        ("orn luk", "Łukasz Ørn"),
        ("oneil", "Siobhán O'Neil"),
        ("neil", "Siobhán O'Neil"),
        ("o\u2019neil", "Siobhán O'Neil"),
        ("dorde", "Đorđe Ilić"),
        ("ilic", "Đorđe Ilić"),
        ("jose maria cruz", "José-María de la Cruz"),
        ("maria-jose", "José-María de la Cruz"),
        ("aebelo", "Ida Æbelø"),
        ("小", "李 小龍"),
        ("randt", None),
        ("ase ilic", None),
        ("%", None),
        ("_", None),
        ("  ", None),
    ],
)
def test_each_typed_word_begins_a_word_of_the_name(database: Database, typed: str, found: str | None) -> None:
    for name in NAMES:
        athlete_in(database, name)
    with database.read() as connection:
        assert [one.name for one in search_athletes(connection, typed)] == ([found] if found else [])


@settings(max_examples=200)
@given(st.text(max_size=30))
def test_a_name_is_searched_by_what_it_is_made_of(name: str) -> None:
    words = name_words(name)
    assert all(word == word.casefold() and " " not in word and word for word in words)
    assert name_words(" ".join(words)) == words  # what was found is found by itself


def test_another_name_is_found_and_the_old_one_is_not(database: Database) -> None:
    athlete = athlete_in(database, "Ebbe Lind")
    with database.write() as connection:
        athletes.rename_athlete(connection, athlete.id, "  Ebbe   Sand ")
    with database.read() as connection:
        assert search_athletes(connection, "lind") == ()
        assert [one.name for one in search_athletes(connection, "sand")] == ["Ebbe Sand"]


@pytest.mark.parametrize("name", ["", "  ", "...", "-"])
def test_a_name_without_a_letter_is_refused(database: Database, name: str) -> None:
    with pytest.raises(ValueError, match="needs a letter"):
        athlete_in(database, name)


TODAY = date(2026, 3, 20)


def stands(first: date, days: int = 14, *visits: date) -> SheetFacts:
    return SheetFacts(first, first + timedelta(days=days - 1), 3, first + timedelta(days=9), "", visits, (FIRST,))


CASES = {
    "no sheet yet": (None, "new"),
    "in its middle": (stands(date(2026, 3, 14)), "on"),
    "on its last day": (stands(date(2026, 3, 7)), "on"),
    "it begins tomorrow": (stands(date(2026, 3, 21)), "on"),
    "it ran out yesterday": (stands(date(2026, 3, 6)), "due"),
    "it ran out two weeks ago": (stands(date(2026, 2, 21)), "due"),
    "it ran out longer ago": (stands(date(2026, 2, 20)), "earlier"),
    "comes today": (stands(date(2026, 3, 14), 14, date(2026, 3, 16), TODAY, date(2026, 3, 25)), "due"),
    "comes tomorrow": (stands(date(2026, 3, 14), 14, date(2026, 3, 16), date(2026, 3, 21)), "on"),
    "comes today after it ran out long ago": (stands(date(2026, 1, 5), 14, TODAY), "due"),
}


def test_the_list_says_where_each_one_stands_today(database: Database) -> None:
    ids = {}
    for name, (facts, _) in CASES.items():
        athlete = athlete_in(database, name)
        ids[name] = athlete.id
        if facts:
            # An older sheet, issued later, does not count.
            old = replace(facts, first_day=date(2025, 1, 6), last_day=TODAY, visit_days=(TODAY,))
            file(database, sheet_record(athlete, facts=facts))
            file(database, sheet_record(athlete, facts=old, at=AT + timedelta(days=400)))
    with database.read() as connection:
        page = list_athletes(connection, TODAY)
        alone = {name: listing.stands_today(connection, id, TODAY) for name, id in ids.items()}
    assert {row.athlete.name: row.group for row in page.rows} == {name: group for name, (_, group) in CASES.items()}
    assert {row.athlete.name: row for row in page.rows} == alone
    for row in page.rows:
        facts, _ = CASES[row.athlete.name]
        assert (row.sheet.first_day if row.sheet else None) == (facts.first_day if facts else None)
        coming = [day for day in facts.visit_days if day >= TODAY] if facts else []
        assert row.next_visit == min(coming, default=None)
        assert row.event is None  # it is past
    order = [(listing.GROUPS.index(row.group), row.athlete.name) for row in page.rows]
    assert order == sorted(order)


def test_pages_hold_everybody_once_and_the_counts_are_of_all(database: Database) -> None:
    for number in range(23):
        athlete = athlete_in(database, f"Rower {number:02}")
        if number % 3:
            file(database, sheet_record(athlete, FIRST - timedelta(days=10 * number)))
    with database.read() as connection:
        whole = list_athletes(connection, TODAY)
        pages = [list_athletes(connection, TODAY, start=start, count=5) for start in range(0, 25, 5)]
        new = list_athletes(connection, TODAY, group="new")
        named = list_athletes(connection, TODAY, typed="row 2")
    assert [row for page in pages for row in page.rows] == list(whole.rows)
    assert len(whole.rows) == 23
    assert {page.counts["new"] for page in pages} == {8} == {whole.counts["new"]}
    assert sum(whole.counts.values()) == 23
    assert [row.group for row in new.rows] == ["new"] * 8
    assert {row.athlete.name for row in named.rows} == {"Rower 20", "Rower 21", "Rower 22"}
    assert sum(named.counts.values()) == 3


def test_of_two_sheets_of_one_day_the_one_issued_last_counts(database: Database) -> None:
    athlete = athlete_in(database)
    later = file(database, sheet_record(athlete, at=AT + timedelta(hours=1)))
    file(database, sheet_record(athlete))
    with database.read() as connection:
        latest = sheets.latest_sheet(connection, athlete.id)
    assert latest is not None
    assert latest.id == later.id
