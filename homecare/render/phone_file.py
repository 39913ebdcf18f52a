"""The sheet as one file for the phone: complete without script, without network and without a name on it."""

from __future__ import annotations

import base64
import hashlib
import re
from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache

from homecare.core.drill import PARTS, Part
from homecare.core.plain import minutes_words, sentence
from homecare.core.sheet import Clinic, Day, Sheet
from homecare.core.words import PART_WORDS
from homecare.render import sheet_view
from homecare.render.assets import environment, read_asset
from homecare.render.calendar_file import calendar_uri
from homecare.render.dose_words import day_words, range_words, work_words
from homecare.render.phone_plan import plan_data
from homecare.render.photos import phone_uri

TRAINING_WORDS = {"easy": "an easy day", "hard": "a hard day", "long": "a long day", "rest": "a rest day"}


SCRIPTS = ("app", "qr", "player", "report", "figure")
"""The parts of the file's script, in the order in which they are read."""
MOST_BYTES = 250_000
_MOVING = re.compile(r"<svg[^>]* data-moving=.*?</svg>", re.DOTALL)
_FRAMES = re.compile(r' data-(?:moving|unit|frames)="[^"]*"')
_COMMENT = re.compile(r"^\s*/\*.*?\*/\s*?$", re.MULTILINE | re.DOTALL)
"""A comment that stands on lines of its own, as all of ours do."""
PHOTO_BYTES = 60_000
"""Room for photographs in a file that should open on a slow phone."""


@dataclass(frozen=True)
class Due:
    """One drill at one part of one day: one box to tick."""

    number: int
    name: str
    work: str


@dataclass(frozen=True)
class PartOfDay:
    """A part of a day by name, and what is due in it in the order of doing."""

    name: str
    due: tuple[Due, ...]


@dataclass(frozen=True)
class PhoneDay:
    """One date as the phone shows it; `training` is empty where nobody told the week."""

    id: str
    name: str
    training: str
    minutes: str
    visit: bool
    event: bool
    parts: tuple[PartOfDay, ...]
    rest: tuple[str, ...]


def phone_html(sheet: Sheet) -> str:
    """The whole phone file: style and script inside it, allowed by their hashes and nothing else."""
    style = inline_text("phone/phone.css")
    script = "\n".join(inline_text(f"phone/{name}.js") for name in SCRIPTS)
    planned = any(day.items for day in sheet.days)
    days = tuple(_day(sheet, day) for day in sheet.days) if planned else ()
    dates = (
        range_words(sheet.start, sheet.days[-1].date, weekday=False)
        if sheet.days
        else day_words(sheet.start, weekday=False, year=True)
    )
    html = (
        environment()
        .get_template("phone/sheet.html")
        .render(
            sheet=sheet,
            clinic=sheet.clinic,
            words=sheet.words,
            title=f"Home care, {dates}",
            key=_key(sheet),
            days=days,
            blocks=sheet_view.blocks(sheet),
            review_words=day_words(sheet.review_by),
            sentences=sheet_view.sentences,
            with_photo=_with_photo(sheet),
            calendar=calendar_uri(sheet),
            plan=plan_data(sheet),
            photo_uri=phone_uri,
            now=sheet.refer is not None and sheet.refer.urgency == "now",
            tel=tel,
            style=style,
            script=script,
            style_hash=source_hash(style),
            script_hash=source_hash(script),
        )
    )
    return _within_room(html)


def _within_room(html: str) -> str:
    """The file as it is, or where it is too long with its largest figures still: their steps and poses stay."""
    for figure in sorted(_MOVING.findall(html), key=lambda one: -len(one)):
        if len(html.encode()) <= MOST_BYTES:
            break
        html = html.replace(figure, _FRAMES.sub("", figure), 1)
    return html


@lru_cache(maxsize=8)
def inline_text(address: str) -> str:
    """A style sheet or script to stand inside a page, without comments and indents; what could end it is refused."""
    text = _COMMENT.sub("", read_asset(address)[0].decode())
    text = "\n".join(line.strip() for line in text.splitlines() if line.strip())
    if address.endswith(".css"):
        text = re.sub(r"\s*([{};,])\s*", r"\1", text).replace(": ", ":").replace(";}", "}")
    if "</" in text:
        raise ValueError(f"{address} would end its own element")
    return text


def source_hash(text: str) -> str:
    """The hash of an inline style or script as a Content-Security-Policy names it."""
    return "sha256-" + base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()


def tel(number: str) -> str:
    """A telephone number as a link; what is not part of the number is left out."""
    return "tel:" + re.sub(r"[^0-9+*#]", "", number)


def _with_photo(sheet: Sheet) -> frozenset[str]:
    """The drills whose photographs the file has room for, in the order of doing; the figure always stays."""
    found, room = list[str](), PHOTO_BYTES
    for drill in sheet.drills:
        room -= len(phone_uri(drill.photo)) if drill.photo else 0
        if drill.photo and room >= 0:
            found.append(drill.id)
    return frozenset(found)


def _key(sheet: Sheet) -> str:
    """A name for the ticks that says nothing of the athlete."""
    seed = f"{sheet.start} {[drill.text_hash + drill.link for drill in sheet.drills]}"
    return hashlib.sha256(seed.encode()).hexdigest()[:12]


def _day(sheet: Sheet, day: Day) -> PhoneDay:
    training = sheet_view.trained(sheet, day)
    return PhoneDay(
        id=day.date.isoformat(),
        name=day_words(day.date),
        training=TRAINING_WORDS[training] if training else "",
        minutes=minutes_words([day.planned_s]),
        visit=day.visit,
        event=day.event,
        parts=tuple(_parts(sheet, day)),
        rest=() if day.items else tuple(dict.fromkeys(sentence(note.because) for note in day.notes)),
    )


def _parts(sheet: Sheet, day: Day) -> Iterable[PartOfDay]:
    for part in PARTS:
        due = tuple(_due(sheet, day, part))
        if due:
            yield PartOfDay(_part_name(part, sheet.clinic), due)


def _part_name(part: Part, clinic: Clinic) -> str:
    time = (clinic.clock or {}).get(part)
    return PART_WORDS[part].capitalize() + (f" ({time})" if time else "")


def _due(sheet: Sheet, day: Day, part: Part) -> Iterable[Due]:
    items = {(item.drill, item.side): item for item in day.items}
    for number, drill in enumerate(sheet.drills, 1):
        item = items.get((drill.id, drill.side))
        for _ in range(item.parts.count(part) if item else 0):
            assert item is not None
            yield Due(number, drill.text.name, work_words(drill.rungs[item.rung]))
