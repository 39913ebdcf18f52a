"""One ladder on the terminal: its rungs with seconds and weekly minutes, its days, its ceiling and its source."""

from __future__ import annotations

import textwrap

from homecare.core.drill import GRADES, Ladder, Rung
from homecare.core.plain import listed
from homecare.render.dose_words import dose_words

WIDTH = 100
COLUMNS = ("step", "dose", "s a time", "s a day", "min a week", "of it held or moved")


def ladder_text(ladder: Ladder) -> str:
    """What is known of a ladder as text of at most 100 columns; times are for one side."""
    rows = [COLUMNS, *(_row(number, rung, ladder) for number, rung in enumerate(ladder.rungs, 1))]
    widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
    lines = [f"{ladder.name} ({ladder.id})"]
    lines += [
        "  " + "  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip() for row in rows
    ]
    days = f"{ladder.wanted_per_week} days a week wanted, {ladder.least_per_week} the least"
    gap = "on any day" if ladder.gap_days == 1 else f"{ladder.gap_days} days from one to the next"
    lines += _fact("Days", f"{days}, {gap}")
    lines += _fact("Parts of the day", listed(ladder.parts, joint="or"))
    climbs = ", ".join(f"{ladder.climb_days[grade]} if {grade}" for grade in GRADES)
    starts = ", ".join(f"{ladder.start_rung[grade] + 1} if {grade}" for grade in GRADES)
    lines += _fact("Days done at a step before the next, by irritability", climbs)
    lines += _fact("First step, by irritability", starts)
    lines += _fact(
        "By age", ", ".join(f"{age.replace('_', ' ')}: {other}" for age, other in (ladder.ages or {}).items())
    )
    lines += _fact("Ceiling", ladder.ceiling) + _fact("Note", ladder.note) + _fact("Source", str(ladder.source))
    return "\n".join(lines)


def _row(number: int, rung: Rung, ladder: Ladder) -> tuple[str, ...]:
    a_day = rung.seconds("right")
    work_s = rung.times * rung.sets * rung.reps * (rung.hold_s or rung.tempo_s)
    week, work = (ladder.wanted_per_week * seconds / 60 for seconds in (a_day, work_s))
    return str(number), dose_words(rung), str(a_day // rung.times), str(a_day), f"{week:.1f}", f"{work:.1f} min"


def _fact(label: str, text: str) -> list[str]:
    if not text:
        return []
    lead = f"  {label}: "
    return [textwrap.fill(" ".join(text.split()), WIDTH, initial_indent=lead, subsequent_indent="    ")]
