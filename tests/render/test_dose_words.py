"""Doses, dates and minutes in words."""

from __future__ import annotations

from datetime import date

import pytest

from homecare.core.drill import Rung
from homecare.core.plain import listed, minutes_words
from homecare.render.dose_words import day_words, dose_words, duration_words, range_words


@pytest.mark.parametrize(
    ("rung", "words"),
    [
        (Rung(1, 10, tempo_s=4, times=2), "10 slow, 2 a day"),
        (Rung(1, 3, hold_s=20), "3 × 20 seconds"),
        (Rung(1, 1, hold_s=60), "1 minute"),
        (Rung(1, 1, hold_s=90), "1½ minutes"),
        (Rung(1, 1, tempo_s=60), "1 minute"),
        (Rung(2, 8, tempo_s=4), "2 × 8 slow"),
        (Rung(5, 1, hold_s=30), "5 × 30 seconds"),
        (Rung(3, 15, tempo_s=6, load="6 kg", times=2), "3 × 15 slow with 6 kg, 2 a day"),
        (Rung(2, 3, hold_s=20), "2 rounds of 3 × 20 seconds"),
        (Rung(1, 8, tempo_s=4, hold_s=5), "8 slow, hold 5 seconds"),
        (Rung(2, 12, tempo_s=2), "2 × 12 times"),
        (Rung(1, 1), "1 time"),
        (Rung(1, 2, tempo_s=4, hold_s=15), "2 × 15 seconds"),
        (Rung(2, 10, tempo_s=6, load="4 more would be possible"), "2 × 10 slow, so that 4 more would be possible"),
    ],
)
def test_dose(rung: Rung, words: str) -> None:
    assert dose_words(rung) == words


@pytest.mark.parametrize(
    ("seconds", "words"),
    [
        (1, "1 second"),
        (45, "45 seconds"),
        (75, "75 seconds"),
        (120, "2 minutes"),
        (150, "2½ minutes"),
        (130, "2 minutes 10 seconds"),
    ],
)
def test_duration(seconds: int, words: str) -> None:
    assert duration_words(seconds) == words


@pytest.mark.parametrize(
    ("first", "last", "words"),
    [
        (date(2026, 3, 2), date(2026, 3, 15), "Monday 2 to Sunday 15 March 2026"),
        (date(2026, 2, 23), date(2026, 3, 8), "Monday 23 February to Sunday 8 March 2026"),
        (date(2026, 12, 28), date(2027, 1, 10), "Monday 28 December 2026 to Sunday 10 January 2027"),
        (date(2026, 3, 2), date(2026, 3, 2), "Monday 2 March 2026"),
    ],
)
def test_range(first: date, last: date, words: str) -> None:
    assert range_words(first, last) == words


def test_dates_without_weekdays() -> None:
    assert range_words(date(2026, 3, 2), date(2026, 3, 15), weekday=False) == "2 to 15 March 2026"
    assert day_words(date(2028, 2, 29)) == "Tuesday 29 February"


def test_minutes_are_rounded_up_and_rest_days_left_out() -> None:
    assert minutes_words([0, 241, 600]) == "5 to 10 minutes"
    assert minutes_words([1]) == "1 minute"
    assert minutes_words([0]) == ""


def test_list() -> None:
    assert [listed([]), listed(["a"]), listed(["a", "b"]), listed(["a", "b", "c"], "or")] == [
        "",
        "a",
        "a and b",
        "a, b or c",
    ]
