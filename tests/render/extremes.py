"""Sheets at the edge of what a clinic can write: generated from a seed, the same for the same seed."""

from __future__ import annotations

import base64
import io
from dataclasses import dataclass, replace
from datetime import timedelta
from functools import cache
from random import Random
from typing import Literal

from PIL import Image

from homecare.core.atlas import Side
from homecare.core.drill import PARTS, Drill, Part
from homecare.core.sheet import Clinic, Day, Item, Photograph, Refer, Sheet, SheetDrill, Words
from homecare.core.words import KEY, clock_words, drill_text
from homecare.library.load import Library
from homecare.render.figures import Model, draw, paper_box
from homecare.render.links import drill_link, sheet_link
from homecare.render.press import Paper
from tests.render.sheets import START, TRAINING, WORDS, make_sheet

Spread = Literal["plain", "wordy", "extreme"]

LONG_WORDS = (
    "Rindfleischetikettierungsueberwachungsaufgabe",
    "Sportphysiotherapiepraxisgemeinschaftsanlagen",
    "Donaudampfschifffahrtsgesellschaftsruderverein",
)
"""German words of 45 letters without a hyphen (made up by the tongue's own rule)."""
NAMES = (
    "Åsa Þórunn Wróblewska-Łoś",
    "Ольга Щербакова-Юрченко",
    "Ελευθερία Παπαδημητρίου",
    "Nguyễn Thị Phương Ửng",
    "Zoë O\u2019Brien-ďAubigné",
    "Æthel Ðorđević Ǆuro ŐŰ",
)
PARTS_OF_DAY: tuple[tuple[Part, ...], ...] = (
    ("morning",),
    ("evening",),
    ("before", "after"),
    ("morning", "before", "after", "evening"),
    ("morning", "evening"),
)


@dataclass(frozen=True)
class Extreme:
    """One generated sheet with the paper and size of print it is set on."""

    sheet: Sheet
    paper: Paper
    large: bool
    words: Spread


def extreme(seed: int, library: Library) -> Extreme:
    """A sheet from a seed; the seed's own remainders choose paper, print and amount, so that few cover all pairs."""
    chance = Random(seed)
    paper: Paper = "letter" if seed % 2 else "a4"
    large = seed % 5 == 4
    words: Spread = ("plain", "wordy", "extreme")[seed % 3]
    leaf = seed % 4 != 3
    drills = chance.choice((1, 2, 3, 4, 5, 5, 6, 6)) if leaf else chance.choice((1, 3, 6, 7, 9, 14))
    days = chance.choice((1, 7, 10, 14, 14, 14)) if leaf else chance.choice((15, 21, 28, 42, 84))
    return Extreme(_sheet(chance, library, drills, days, large, words), paper, large, words)


def _sheet(chance: Random, library: Library, count: int, days: int, large: bool, words: Spread) -> Sheet:
    wordy = words != "plain"
    clinic = _clinic(chance, wordy)
    ids = chance.sample(sorted(library.drills), count)
    rows = [
        (
            _drill(chance, library, library.drills[one], number + 1, count, large, clinic.web),
            chance.choice(PARTS_OF_DAY),
        )
        for number, one in enumerate(ids)
    ]
    plan = tuple(_day(chance, number, rows, wordy) for number in range(days))
    planned = {item.drill for day in plan for item in day.items}
    drills = tuple(drill for drill, _ in rows if drill.id in planned)
    sheet = make_sheet(
        0,
        days,
        athlete=_name(chance, wordy),
        prepared_by=_name(chance, wordy) if chance.random() < 0.8 else "",
        clinic=clinic,
        words=_words(chance, clinic, words),
        notes=_prose(chance, {"plain": 60, "wordy": 240, "extreme": 600}[words]) if chance.random() < 0.7 else "",
        refer=_refer(chance) if chance.random() < 0.15 else None,
    )
    sheet = replace(sheet, drills=drills, days=plan)
    return replace(sheet, sheet_link=sheet_link(clinic.web, sheet))


def _drill(chance: Random, library: Library, drill: Drill, priority: int, of: int, large: bool, web: str) -> SheetDrill:
    side: Side = chance.choice(("left", "right", "both")) if drill.paired else "none"
    rungs = library.ladders[drill.ladder].rungs
    first = chance.randrange(len(rungs))
    drawing = draw(drill, Model(library.atlas, library.surfaces, library.postures), side, paper_box(of, large))
    bare = make_sheet(1, 1).drills[0]
    return replace(
        bare,
        id=drill.id,
        code=drill.code,
        side=side,
        kind=drill.kind,
        tissues=drill.tissues,
        priority=priority,
        ladder=drill.ladder,
        rungs=rungs,
        start_rung=first,
        text=drill_text(drill, side),
        link=drill_link(web, drill.code, side, rungs, first),
        drawing=drawing,
        photo=_photo(chance) if chance.random() < 0.2 else None,
    )


def _photo(chance: Random) -> Photograph:
    return Photograph(_jpeg(*chance.choice(((640, 480), (300, 900), (1600, 200)))), "A rower on the mat.", False)


@cache
def _jpeg(wide: int, high: int) -> bytes:
    stream = io.BytesIO()
    Image.new("RGB", (wide, high), (90, 120, 140)).save(stream, format="JPEG")
    return stream.getvalue()


@cache
def _logo(wide: int, high: int) -> str:
    stream = io.BytesIO()
    Image.new("RGB", (wide, high), (30, 60, 90)).save(stream, format="PNG")
    return "data:image/png;base64," + base64.b64encode(stream.getvalue()).decode()


def _day(chance: Random, number: int, rows: list[tuple[SheetDrill, tuple[Part, ...]]], busy: bool) -> Day:
    items = []
    for drill, parts in rows:
        if number and chance.random() < 0.35:
            continue
        step = min(drill.start_rung + number // 4, len(drill.rungs) - 1)
        rung = drill.rungs[step]
        at = tuple(parts[place % len(parts)] for place in range(rung.times))
        items.append(
            Item(
                drill.id, drill.side, step, rung.sets, rung.reps, rung.hold_s, rung.times, at, rung.seconds(drill.side)
            )
        )
    return Day(
        START + timedelta(days=number),
        TRAINING[number % 7],
        3600,
        sum(item.seconds for item in items),
        tuple(items),
        (),
        visit=chance.random() < (0.6 if busy else 0.1),
        event=chance.random() < (0.5 if busy else 0.05),
    )


def _name(chance: Random, wordy: bool) -> str:
    name = chance.choice((*NAMES, "Rowan K."))
    if wordy and chance.random() < 0.6:
        name = f"{name} {chance.choice(LONG_WORDS)}"
    return name[:80]


def _clinic(chance: Random, wordy: bool) -> Clinic:
    if not wordy and chance.random() < 0.2:
        return Clinic()
    name = f"{chance.choice(LONG_WORDS)} am Fluss" if wordy and chance.random() < 0.5 else "Lowgate Clinic"
    street = f"{chance.choice(LONG_WORDS)} 114b, 99998 Körner, Hinterhaus links" if wordy else "14 Mill Lane, Durham"
    web = "https://" + (
        "termine.ruder-und-eislaufpraxis-am-unteren-hafen.example/daheim" if wordy else "lowgate.example"
    )
    logo = chance.choice(("", _logo(600, 60), _logo(80, 400), _logo(300, 150)))
    clock: dict[Part, str] = dict(zip(PARTS, ("06:30", "11:45", "17:15", "21:30"), strict=True))
    return Clinic(
        name=name,
        address=street[:80],
        phone="+49 (0) 36042 9988-7766 ext. 1234" if wordy else "01632 960 114",
        hours="Monday to Thursday 7:30 to 12 and 14 to 18:30, Friday 8 to 13" if wordy else "weekdays, 8 to 6",
        after_hours="+49 (0) 36042 9988-7700 ext. 99" if wordy else "01632 960 119",
        logo=logo,
        web=web,
        clock=clock if wordy and chance.random() < 0.5 else None,
    )


def _words(chance: Random, clinic: Clinic, words: Spread) -> Words:
    more = {"plain": 0, "wordy": 3, "extreme": 14}[words]
    signs = WORDS.stop_if + tuple(f"the {place} goes numb or cold and stays so" for place in _places(chance, more))
    purpose = {"plain": 200, "wordy": 420, "extreme": 900}[words]
    return replace(
        WORDS,
        for_=_prose(chance, purpose),
        ease_off=tuple(_prose(chance, 90) for _ in range(0 if words == "plain" else 3)),
        cautions=(_prose(chance, 130),) if words != "plain" else (),
        stop_if=signs,
        key=" ".join(filter(None, (KEY, clock_words(clinic.clock or {})))),
    )


def _places(chance: Random, count: int) -> list[str]:
    parts = ("arm", "hand", "foot", "calf", "hip", "neck", "back", "thigh", "knee", "shin", "heel", "palm")
    return [f"{chance.choice(('left', 'right'))} {chance.choice(parts)}" for _ in range(count)]


def _refer(chance: Random) -> Refer:
    return Refer("soon", (_prose(chance, 120),), tuple(_prose(chance, 100) for _ in range(3)))


def _prose(chance: Random, letters: int) -> str:
    """Short plain words up to so many letters, now and then one of 45 letters; a stop at its end."""
    few = "row skate paddle lunge rest hold ease your left right arm leg slowly after training until it feels looser"
    text = "Keep"
    while True:
        word = chance.choice(LONG_WORDS) if chance.random() < 0.03 else chance.choice(few.split())
        if len(text) + len(word) + 2 > letters:
            return f"{text}."
        text += f" {word}"
