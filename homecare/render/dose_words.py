"""Doses, dates and minutes in plain English words."""

from __future__ import annotations

from datetime import date

from homecare.core.drill import Rung

SLOW_S = 3
"""Seconds a repetition takes from which it is called slow (common practice)."""

HELD_S = 8
"""Seconds of hold from which a repetition is told by its hold alone, the way in and out unsaid (common practice)."""

WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
MONTHS = (
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
)


def duration_words(seconds: int) -> str:
    """Seconds as a person says them: 45 seconds, 1 minute, 1½ minutes, 2 minutes 10 seconds."""
    if seconds == 1:
        return "1 second"
    if seconds < 60 or (seconds < 120 and seconds % 30):
        return f"{seconds} seconds"
    minutes, rest = divmod(seconds, 60)
    if rest == 30:
        return f"{minutes}½ minutes"
    whole = "1 minute" if minutes == 1 else f"{minutes} minutes"
    return f"{whole} {duration_words(rest)}" if rest else whole


def work_words(rung: Rung) -> str:
    """What one time of this dose is, load and all, without how often a day: "3 × 20 seconds", "2 × 8 slow"."""
    if not rung.load:
        return _bare_work(rung)
    joint = ", so that" if rung.load.endswith("would be possible") else " with"
    return f"{_bare_work(rung)}{joint} {rung.load}"


def _bare_work(rung: Rung) -> str:
    sets = f"{rung.sets} × " if rung.sets > 1 else ""
    if rung.reps == 1 and (rung.hold_s or rung.tempo_s):
        return f"{sets}{duration_words(rung.hold_s or rung.tempo_s)}"
    if rung.hold_s and (rung.hold_s >= HELD_S or not rung.tempo_s):
        rounds = f"{rung.sets} rounds of " if rung.sets > 1 else ""
        return f"{rounds}{rung.reps} × {duration_words(rung.hold_s)}"
    pace = "slow" if rung.tempo_s >= SLOW_S else "times" if rung.reps > 1 else "time"
    hold = f", hold {duration_words(rung.hold_s)}" if rung.hold_s else ""
    return f"{sets}{rung.reps} {pace}{hold}"


def times_words(times: int) -> str:
    """How often a day, in words; nothing for once."""
    return f"{times} a day" if times > 1 else ""


def dose_words(rung: Rung) -> str:
    """One dose in words: "10 slow, 2 a day", "1½ minutes", "2 × 8 slow with 6 kg"."""
    return ", ".join(filter(None, (work_words(rung), times_words(rung.times))))


def day_words(day: date, *, weekday: bool = True, year: bool = False) -> str:
    """One date: "Monday 2 March", with its year when asked."""
    words = f"{day.day} {MONTHS[day.month - 1]}"
    if weekday:
        words = f"{WEEKDAYS[day.weekday()]} {words}"
    return f"{words} {day.year}" if year else words


def range_words(first: date, last: date, *, weekday: bool = True) -> str:
    """From one date to another, nothing said twice: "Monday 2 to Sunday 15 March 2026"."""
    end = day_words(last, weekday=weekday, year=True)
    if first == last:
        return end
    if first.year != last.year:
        return f"{day_words(first, weekday=weekday, year=True)} to {end}"
    if first.month != last.month:
        return f"{day_words(first, weekday=weekday)} to {end}"
    start = f"{WEEKDAYS[first.weekday()]} {first.day}" if weekday else str(first.day)
    return f"{start} to {end}"
