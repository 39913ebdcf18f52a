"""What was found as the builder shows it: rows and their words, marks on the body, the screen's questions."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from homecare.core.barring import questions
from homecare.core.findings import Visit
from homecare.core.problems import InputFault
from homecare.desk.form import Form
from homecare.desk.offering import found_words
from homecare.desk.visit_text import visit_text
from homecare.desk.vocabulary import Option
from homecare.figure.body_map import BodyMap, Place
from homecare.figure.body_regions import REGIONS
from homecare.library.load import Library
from homecare.library.visit import parse_visit

REGION_ZONES = {region.id: region.zones for region in REGIONS}


@dataclass(frozen=True)
class TissueWords:
    """A tissue as a row shows it: its name, its plain words, what it may be found to be, whether it has sides."""

    key: str
    name: str
    plain: str
    found: tuple[Option, ...]
    paired: bool


@dataclass(frozen=True)
class Pressed:
    """A place of the body that was pressed: its words, its side, and what can be added there."""

    key: str
    words: str
    side: str
    region: str
    tissues: tuple[TissueWords, ...]
    zones: tuple[str, ...]


@dataclass(frozen=True)
class FoundView:
    """Everything that Found shows beside the form's own values; dictionaries are by row, `finding-0` and the like."""

    numbers: Mapping[str, int]
    tissues: Mapping[str, TissueWords]
    zones: Mapping[str, tuple[Option, ...]]
    orders: Mapping[str, tuple[Option, ...]]
    marks: Mapping[str, tuple[int, ...]]
    pressed: Pressed | None
    questions: tuple[Option, ...]
    before: Mapping[str, str] = field(default_factory=dict)


def found_view(form: Form, done: Form, library: Library, body: BodyMap, at: str) -> FoundView:
    """The view of a form; `done` is the part of it that can be read as a visit, `at` the place that was pressed."""
    rows = [f"{kind}-{index}" for kind in ("finding", "symptom", "firing") for index in form.rows(kind)]
    numbers = {row: number for number, row in enumerate(rows, 1)}
    tissues = {
        row: words
        for row in rows
        if row.startswith("finding") and (words := tissue_words(form.one(f"{row}-tissue"), library))
    }
    place = body.place(at)
    return FoundView(
        numbers=numbers,
        tissues=tissues,
        zones={row: tuple(_zones(form, row, library)) for row in rows if row.startswith("symptom")},
        orders={row: tuple(_muscles(form, row, library)) for row in rows if row.startswith("firing")},
        marks=_marks(form, numbers, tissues, library, body),
        pressed=_pressed(place, library, body) if place else None,
        questions=_questions(form, done, library),
    )


def tissue_words(name: str, library: Library) -> TissueWords | None:
    """The tissue or group that a name leads to, None when there is none."""
    key = library.names.find("tissues", name) if name else None
    if key is None:
        return None
    atlas = library.atlas
    group, tissue = atlas.groups.get(key), atlas.tissues.get(key)
    title = tissue.name if tissue else key.replace("_", " ").capitalize()
    plain = tissue.plain if tissue else group.plain if group else ""
    found = tuple(Option(word, word) for word in found_words(library, key))
    return TissueWords(key, title, plain if plain.lower() != title.lower() else "", found, atlas.is_paired(key))


def _zones(form: Form, row: str, library: Library) -> Iterable[Option]:
    """The zones that a symptom's row offers at once: those chosen, and their neighbours on the body."""
    chosen = form.many(f"{row}-zones")
    near = [zone for zones in REGION_ZONES.values() if set(zones) & set(chosen) for zone in zones]
    near += REGION_ZONES.get(form.one(f"{row}-near"), ())
    for key in dict.fromkeys((*near, *chosen)):
        if key in library.atlas.zones:
            yield Option(key, library.atlas.zones[key].plain)


def _muscles(form: Form, row: str, library: Library) -> Iterable[Option]:
    """The muscles of a firing order, to be pressed in turn: the expected ones, and others that were named."""
    order = library.firing_orders.get(form.one(f"{row}-firing"))
    for key in dict.fromkeys((*(order.expected if order else ()), *form.many(f"{row}-order"))):
        words = tissue_words(key, library)
        yield Option(key, words.name if words else key)


def _marks(
    form: Form, numbers: Mapping[str, int], tissues: Mapping[str, TissueWords], library: Library, body: BodyMap
) -> dict[str, tuple[int, ...]]:
    found: dict[str, list[int]] = {}
    for row, number in numbers.items():
        side, zones, members = form.one(f"{row}-side") or "both", set[str](), set[str]()
        if row in tissues:
            members = set(library.atlas.members(tissues[row].key))
        elif row.startswith("symptom"):
            zones = set(form.many(f"{row}-zones"))
        for place in body.places_of(side, frozenset(members), frozenset(zones)):
            found.setdefault(place.key, []).append(number)
    return {key: tuple(numbers) for key, numbers in found.items()}


def _pressed(place: Place, library: Library, body: BodyMap) -> Pressed:
    side = "" if place.side == "none" else place.side
    here = body.tissues.get(place.region.id, ())
    groups = [key for key in library.atlas.groups if len({*library.atlas.members(key)} & {*here}) > 1]
    known = [one for key in (*groups, *here) if (one := tissue_words(key, library))]
    order = {"muscle": 1, "tendon": 2, "joint": 3, "fascia": 4, "nerve": 6}
    kinds = {key: order.get(library.atlas.tissues[key].kind, 5) for key in here}
    known.sort(key=lambda one: (kinds.get(one.key, 0), one.name))
    zones = tuple(zone for zone in place.region.zones if zone in library.atlas.zones)
    return Pressed(place.key, place.words, side, place.region.id, tuple(known), zones)


def _questions(form: Form, done: Form, library: Library) -> tuple[Option, ...]:
    """The questions of the regions that were found, those of everybody, and what is ticked already."""
    asked = {flag.id for flag in library.flags.values() if not flag.asked_for}
    visit = _read(done, library)
    if visit:
        asked = {flag.id for flag in questions(visit, library.flags, library.atlas)}
    asked |= set(form.many("flags"))
    return tuple(Option(key, flag.ask) for key, flag in library.flags.items() if key in asked)


def _read(done: Form, library: Library) -> Visit | None:
    """The findings alone, read as a visit."""
    kinds = ("finding-", "symptom-", "test-", "firing-")
    found = {name: values for name, values in done.values.items() if name.startswith(kinds)}
    try:
        return parse_visit(
            visit_text(Form({"athlete": ("x",), "start": ("2000-01-01",), **found})).text, "visit", library
        )
    except InputFault:
        return None
