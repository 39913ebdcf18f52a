"""Sessions, waits and passphrases by themselves: when one ends, how long one waits, what is refused."""

from __future__ import annotations

from datetime import timedelta

import pytest

from homecare import passphrases
from homecare.desk.sessions import IDLE, WHOLE, Sessions
from homecare.desk.waits import LONGEST_WAIT, Key, Waits, in_words, wait_after
from tests.web.visitor import moment

SECOND = timedelta(seconds=1)


def test_a_session_ends_when_it_is_idle() -> None:
    sessions, begun = Sessions(), moment()
    key = sessions.begin("imke", begun)
    assert sessions.find(key, begun + IDLE - SECOND)
    assert sessions.find(key, begun + IDLE) is None
    # NIST SP 800-63B 4.2.3: at most 30 minutes untouched, 12 hours whole (from memory).
    assert timedelta(minutes=30) >= IDLE
    assert timedelta(hours=12) >= WHOLE


def test_a_touch_keeps_a_session_but_not_past_its_day() -> None:
    sessions, now = Sessions(), moment()
    key = sessions.begin("imke", now)
    end = now + WHOLE
    while now + IDLE / 2 < end:
        now += IDLE / 2
        assert sessions.find(key, now)
        sessions.touch(key, now)
    assert sessions.find(key, end) is None


def test_what_ended_cannot_be_touched_back() -> None:
    sessions, begun = Sessions(), moment()
    key = sessions.begin("imke", begun)
    sessions.touch(key, begun + IDLE)
    assert sessions.find(key, begun + IDLE) is None


def test_keys_are_never_the_same_and_end_one_by_one() -> None:
    sessions, now = Sessions(), moment()
    keys = {sessions.begin("imke", now) for _ in range(50)}
    assert len(keys) == 50
    assert min(map(len, keys)) * 6 >= 128  # ASVS 5.0, 7.2.3: at least 128 bits, here at six a letter
    one = keys.pop()
    sessions.end(one)
    assert sessions.find(one, now) is None
    assert all(sessions.find(key, now) for key in keys)
    assert sessions.find("", now) is None


def test_waits_grow_to_a_limit_and_are_forgotten_after_an_hour() -> None:
    waits, now, key = Waits(), moment(), Key("name imke", free=3)
    told = list[timedelta]()
    for _ in range(40):
        wait = waits.ask([key], now)
        if wait:
            told.append(wait)
            now += wait  # one waits as long as one was told, and no longer
    assert told == sorted(told)
    assert told[0] < timedelta(minutes=1)
    assert told[-1] == LONGEST_WAIT
    assert len(told) < 20  # after each wait there was a try
    now += timedelta(hours=1, seconds=1)
    assert [waits.ask([key], now) for _ in range(4)] == [timedelta(0)] * 4


def test_tries_at_one_moment_are_all_counted() -> None:
    waits, now, key = Waits(), moment(), Key("name imke", free=3)
    answered = [waits.ask([key], now) for _ in range(40)]
    assert sum(wait == timedelta(0) for wait in answered) == 4


def test_one_address_waits_under_every_name_and_another_does_not() -> None:
    waits, now = Waits(), moment()
    here, there = Key("address 10.0.0.7", free=5), Key("address 10.0.0.8", free=5)
    for number in range(6):
        waits.ask([Key(f"name {number}", free=3), here], now)
    assert waits.ask([Key("name new", free=3), here], now) > timedelta(0)
    assert waits.ask([Key("name new", free=3), there], now) == timedelta(0)


def test_a_right_one_forgets_the_name() -> None:
    waits, now, key = Waits(), moment(), Key("name imke", free=1)
    waits.ask([key], now)
    waits.passed(key)
    waits.ask([key], now)
    assert waits.ask([key], now) == timedelta(0)
    assert waits.ask([key], now) > timedelta(0)


def test_no_wait_is_endless() -> None:
    assert wait_after(10**6) == LONGEST_WAIT


@pytest.mark.parametrize(
    ("wait", "words"),
    [(SECOND / 3, "1 second"), (SECOND * 20, "20 seconds"), (SECOND * 90, "2 minutes"), (LONGEST_WAIT, "15 minutes")],
)
def test_a_wait_is_told_in_words(wait: timedelta, words: str) -> None:
    assert in_words(wait) == words


COMMON = [
    "passwordpassword",
    "qwertyuiop123",
    "1234567890123",
    "iloveyou1234",
    "abcdefghijkl",
    "aaaaaaaaaaaa",
    "letmeinletmein",
]
"""Long ones of the lists of common passwords (from memory; ASVS 5.0, 6.2.4)."""
OWN = ["Saltmarsh Sports Therapy", "saltmarsh2026!", "Imke Sandoval 1987", "homecare homecare", "SandovalSaltmarsh"]


@pytest.mark.parametrize("typed", COMMON)
def test_a_common_passphrase_is_refused(typed: str) -> None:
    assert passphrases.faults(typed, typed, ()) == (passphrases.GUESSED,)


@pytest.mark.parametrize("typed", OWN)
def test_the_clinics_and_ones_own_name_are_no_passphrase(typed: str) -> None:
    """ASVS 5.0, 6.2.11."""
    said = passphrases.faults(typed, typed, ("Saltmarsh Sports Therapy", "Imke Sandoval"))
    assert said in ((passphrases.OURS,), (passphrases.GUESSED,))
    assert passphrases.faults(typed, typed, ("Saltmarsh Sports Therapy", "Imke Sandoval")) != ()


@pytest.mark.parametrize(
    "typed",
    [
        "heron lantern gravel oboe",
        "Saltmarsh heron lantern gravel",
        "ÿ竹 öl-Fähre · quitte",
        "a tall heron keeps the gravel " * 5,
    ],
)
def test_any_letters_make_a_passphrase_and_none_are_asked_for(typed: str) -> None:
    """ASVS 5.0, 6.2.5 and 6.2.9: no rule of composition; 64 letters and more are taken."""
    assert passphrases.faults(typed, typed, ("Saltmarsh Sports Therapy",)) == ()


def test_every_fault_is_told_at_once() -> None:
    assert passphrases.faults("short", "shorter", ()) == (passphrases.TOO_SHORT, passphrases.DIFFERENT)
    long = "heron lantern " * 200
    assert passphrases.faults(long, long, ()) == (passphrases.TOO_LONG,)


def test_a_passphrase_is_kept_as_a_salted_hash_and_compared_whole() -> None:
    typed = "heron lantern gravel oboe " * 6
    kept = passphrases.kept(typed)
    # OWASP Password Storage Cheat Sheet: N = 2^15 with r = 8 and p = 2 is as good as 2^16 with p = 1; ours is p = 3.
    assert kept.startswith("scrypt:32768:8:3$")
    assert "heron" not in kept
    assert passphrases.kept(typed) != kept
    assert passphrases.matches(typed, kept)
    assert not passphrases.matches(typed[:-1] + "x", kept)  # ASVS 5.0, 6.2.8: nothing is cut off
    assert not passphrases.matches(typed.upper(), kept)
    assert not passphrases.matches(typed, None)
    assert passphrases.matches("e\u0301toile heron lantern", passphrases.kept("\u00e9toile heron lantern"))
