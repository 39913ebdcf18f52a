"""What the phone file's script needs to know of the plan: drills with their doses, and which stands at each box."""

from __future__ import annotations

import json

from markupsafe import Markup

from homecare.core.drill import PARTS, Rung
from homecare.core.phone_report import sheet_mark
from homecare.core.sheet import Day, Sheet, SheetDrill
from homecare.render.dose_words import work_words

SIDES: dict[str, tuple[str, ...]] = {"left": ("left",), "right": ("right",), "both": ("left", "right"), "none": ("",)}


def plan_data(sheet: Sheet) -> Markup:
    """A JSON object that may stand inside a script element; it names no athlete.

    `mark` tells the sheet, `note` is what is noted from 0 to 10, `drills` have their name, part, sides, and rungs up to
    the last that is planned as [sets, reps, hold, tempo, rest, setup (seconds), words]; each of `boxes` names drill
    (from 1) and rung for each box of a day, in the order of the day list; `days` says which of them each day has.
    """
    patterns: dict[str, int] = {}
    days = [patterns.setdefault(_boxes(sheet, day), len(patterns)) for day in sheet.days]
    data = {
        "mark": sheet_mark(sheet.start, [(drill.id, drill.side) for drill in sheet.drills]),
        "start": sheet.start.isoformat(),
        "note": _note(sheet),
        "drills": [_drill(drill, sheet) for drill in sheet.drills],
        "boxes": list(patterns),
        "days": days,
    }
    text = json.dumps(data, ensure_ascii=False, separators=(",", ":"))
    for sign in "<>&":  # nothing may end the element that it stands in
        text = text.replace(sign, f"\\u{ord(sign):04x}")
    return Markup(text)  # every sign that HTML knows is a JSON escape by now


def _note(sheet: Sheet) -> str:
    """What the athlete notes from 0 to 10: the first symptom, or else how sore it is."""
    return sheet.symptoms[0].symptom.capitalize() if sheet.symptoms else "Soreness"


def _boxes(sheet: Sheet, day: Day) -> str:
    return " ".join(
        f"{number}.{item.rung}"
        for part in PARTS
        for number, drill in enumerate(sheet.drills, 1)
        for item in day.items
        if (item.drill, item.side) == (drill.id, drill.side)
        for _ in range(item.parts.count(part))
    )


def _drill(drill: SheetDrill, sheet: Sheet) -> dict[str, object]:
    used = [item.rung for day in sheet.days for item in day.items if item.drill == drill.id]
    return {
        "n": drill.text.name,
        "p": drill.text.part,
        "s": SIDES[drill.side],
        "r": [_rung(rung) for rung in drill.rungs[: max(used, default=drill.start_rung) + 1]],
    }


def _rung(rung: Rung) -> list[object]:
    return [rung.sets, rung.reps, rung.hold_s, rung.tempo_s, rung.rest_s, rung.setup_s, work_words(rung)]
