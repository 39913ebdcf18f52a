"""The rows of what a pose touches and holds, of its arrows and its room, read as entries of the library."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from homecare.core.pose import FREE, SIDES, Arrow, Contact
from homecare.desk.form import Form
from homecare.desk.shelf_points import BOTH, JOINTS, ONWARD, PLACE, POINTS, ROOM
from homecare.desk.shelf_pose import number
from homecare.figure.room import REACHES, SURFACES, THINGS, TOOLS
from homecare.figure.scene import WAYS
from homecare.library.figure_words import arrow_text, contact_text, metres

Parts = Mapping[str, str]
"""What the fields of one row hold, by the last part of their names."""
TOUCHES: Mapping[str, str] = {"": "contacts", "start": "start_contacts", "end": "end_contacts"}
"""When a point touches something, and the key of the record that holds it."""
LISTS = (*TOUCHES.values(), "held", "arrows", "free")
"""The keys of a figure that hold entries in the library's own letters."""
KINDS = ("touch", "held", "arrow", "room", "loose")
"""The kinds of rows; a field is named kind-number-part, as `touch-0-point`."""
KIND_WORDS = {
    **{"touch": "What touches what", "held": "What is held", "arrow": "Arrows", "room": "The room"},
    "loose": "Joints that may also give way",
}
AXES = ("x", "y", "z")
KIND_OF = {
    **dict.fromkeys(TOUCHES.values(), "touch"),
    **{"held": "held", "arrows": "arrow", "surfaces": "room", "free": "loose"},
}
"""The kind of the rows that say a key of a figure."""
SAYING = {
    "touch": ("point", "how", "on", "along", *AXES, "text"),
    "held": ("thing", "point", "along", *AXES, "text"),
    "arrow": ("point", "along", "text"),
    "room": ("surface", "at"),
    "loose": ("freed", "text"),
}
"""The parts of a row that say something: without any of them it is an empty one."""
PARTS = {
    "touch": ("when", "side", "point", "along", "how", "on", "onside", "onalong", *AXES, "slides", "text"),
    "held": ("thing", "side", "point", "along", *AXES, "text"),
    "arrow": ("side", "point", "along", "way", "both", "text"),
    "room": ("surface", "at"),
    "loose": ("freed", "text"),
}
"""Every part of a row, by its kind."""
MOST_AWAY = 200.0
"""Centimetres that a surface may be high or away."""


@dataclass(frozen=True)
class Entry:
    """One entry of a figure as the library writes it: its key, its letters, and the field beside which it is told."""

    key: str
    text: str
    field: str


@dataclass
class Row:
    """One row while it is read, the `place`th of its kind; what is wrong with it is noted by field."""

    kind: str
    number: int
    parts: Parts
    place: int = 0
    faults: dict[str, tuple[str, ...]] = field(default_factory=dict)

    def __getitem__(self, part: str) -> str:
        return self.parts.get(part, "")

    @property
    def says(self) -> bool:
        """Whether it is more than an empty row."""
        return any(self[part] for part in SAYING[self.kind])

    @property
    def exact(self) -> bool:
        """Whether it says more of a place than what lies there."""
        return self["how"] == PLACE or any(self[part] for part in (*AXES, "slides"))

    @property
    def every(self) -> tuple[str, ...]:
        """Every part that a fault may speak of."""
        return PARTS[self.kind]

    def name(self, part: str) -> str:
        """The name of the field of a part."""
        return f"{self.kind}-{self.number}-{part}"

    def fault(self, part: str, words: str) -> None:
        """Note what is wrong with a part."""
        self.faults[self.name(part)] = (words,)

    def amount(self, part: str, low: float | None = None, high: float | None = None, unit: str = "cm") -> float | None:
        """The number in a part, None where it is empty or none; it may have to lie within bounds."""
        if not self[part]:
            return None
        found = number(self[part].replace(",", "."))
        if found is None:
            self.fault(part, f"{self[part]} is no number of {unit}")
        elif low is not None and high is not None and not low <= found <= high:
            self.fault(part, f"{self[part]} is not from {low:g} to {high:g}")
            return None
        return found


def scene_entries(form: Form) -> tuple[tuple[Entry, ...], dict[str, tuple[str, ...]]]:
    """Every entry that the rows say, in order, and what is wrong with the rows by field."""
    found: list[Entry] = []
    faults: dict[str, tuple[str, ...]] = {}
    for kind in KINDS:
        rows = rows_in(form, kind)
        told = _held(rows) if kind == "held" else [one for row in rows if (one := _entry(row)) is not None]
        seen: set[str] = set()
        for one in told:
            surface = one.text.partition(" ")[0]
            if kind == "room" and surface in seen:
                faults[one.field] = ("this is said twice: take one of the two off",)
            else:
                seen.add(surface)
                found.append(one)
        for row in rows:
            faults |= row.faults
    return tuple(found), faults


def rows_in(form: Form, kind: str) -> list[Row]:
    """The rows of a kind that say anything."""
    return [row for row in _all_rows(form, kind) if row.says]


def shown_rows(form: Form, kind: str) -> list[Row]:
    """Every row of a kind, and one that is still empty at the end."""
    rows = _all_rows(form, kind)
    if not rows or rows[-1].says:
        rows.append(Row(kind, rows[-1].number + 1 if rows else 0, {}, len(rows) + 1))
    return rows


def with_row(form: Form, kind: str) -> tuple[Form, str]:
    """The form with one more row of a kind, and the field of it to go on with."""
    more = form.with_row(kind)
    last = shown_rows(more, kind)[-1]
    return more, last.name(SAYING[kind][0])


def _all_rows(form: Form, kind: str) -> list[Row]:
    rows = []
    for place, index in enumerate(form.rows(kind), 1):
        start = f"{kind}-{index}-"
        parts = {name.removeprefix(start): form.one(name) for name in form.values if name.startswith(start)}
        rows.append(Row(kind, index, parts, place))
    return rows


def field_of_entry(form: Form, key: str, which: str) -> str:
    """The field of the entry that is the `which`th of its key, or of its name among the surfaces; else its rows."""
    here = [one for one in scene_entries(form)[0] if one.key == key]
    if key == "surfaces":
        return next((one.field for one in here if one.text.split()[0] == which), "room")
    return here[int(which)].field if which.isdecimal() and int(which) < len(here) else KIND_OF[key]


def _entry(row: Row) -> Entry | None:
    if row["text"]:
        key = {"touch": TOUCHES.get(row["when"], "contacts"), "arrow": "arrows", "loose": "free"}[row.kind]
        return Entry(key, row["text"], row.name("text"))
    if row.kind == "touch":
        touch = _touch(row)
        key = TOUCHES.get(row["when"], "contacts")
        return None if touch is None else Entry(key, contact_text(touch), row.name("point"))
    if row.kind == "arrow":
        point = _point(row, SIDES)
        way = row["way"] or "path"
        if way not in WAYS:
            row.fault("way", "choose one of the ways")
        arrow = None if not point or row.faults else Arrow(point, way, bool(row["both"]))
        return None if arrow is None else Entry("arrows", arrow_text(arrow), row.name("point"))
    return _joint(row) if row.kind == "loose" else _surface(row)


def _joint(row: Row) -> Entry | None:
    if any(row["freed"] == one.value for some in JOINTS.values() for one in some):
        return Entry("free", row["freed"], row.name("freed"))
    row.fault("freed", "choose a joint")
    return None


def _surface(row: Row) -> Entry | None:
    name = row["surface"]
    if name not in SURFACES and name not in REACHES:
        row.fault("surface", "choose what stands elsewhere")
    if not row["at"]:
        row.fault("at", "say how many centimetres")
    at = row.amount("at", -MOST_AWAY, MOST_AWAY)
    return None if row.faults or at is None else Entry("surfaces", f"{name} {metres(at / 100)}", row.name("at"))


def _touch(row: Row) -> Contact | None:
    point, on, tool = _point(row, (*SIDES, BOTH)), "", ""
    x, y, z = (row.amount(axis) for axis in AXES)
    match row["how"]:
        case "free":
            on = FREE
        case "place":
            if all(value is None for value in (x, y, z)) and not row.faults:
                row.fault("how", "say where: at least one of the three distances below")
        case how if how in TOOLS or not how:
            tool, on = how, _target(row)
            if on and on in (point, *(point.replace(BOTH, side, 1) for side in SIDES)):
                row.fault("on", "a point cannot touch itself")
        case _:
            row.fault("how", "choose how it touches")
    if not point or (not on and row["how"] != PLACE) or (row.faults.keys() - {row.name(axis) for axis in AXES}):
        return None
    at = {axis: None if value is None else value / 100 for axis, value in zip(AXES, (x, y, z), strict=True)}
    return Contact(point, on, tool, at["x"], at["y"], at["z"], bool(row["slides"]))


def _target(row: Row) -> str:
    """The surface or point that is touched, '' with a fault noted."""
    on = row["on"]
    if on in SURFACES:
        return on
    if on not in POINTS:
        row.fault("on", "say what it touches")
        return ""
    if row["how"]:
        row.fault("on", "this lies on something of the room: choose a surface")
        return ""
    return _sided(row, "on", row["onside"] or "right", "onalong")


def _point(row: Row, sides: Sequence[str]) -> str:
    """The point of a row with its side and share, '' with a fault noted."""
    if row["point"] not in POINTS:
        row.fault("point", "say which part of the body")
        return ""
    side = row["side"] or "right"
    if side not in sides and not POINTS[row["point"]].middle:
        row.fault("side", "choose one side")
        return ""
    return _sided(row, "point", side, "along")


def _sided(row: Row, part: str, side: str, along: str) -> str:
    point = POINTS[row[part]]
    if point.middle:
        return point.value
    if side not in (*SIDES, BOTH):
        row.fault(part, "choose its side anew")
        return ""
    far = row.amount(along, 0, 100, "per cent") if point.limb else None
    return f"{side}_{point.value}" + ("" if far is None else f"@{metres(far / 100)}")


def _held(rows: Sequence[Row]) -> list[Entry]:
    """Things held; a row that only leads on adds its place to the thing of the row above."""
    found: list[Entry] = []
    for row in rows:
        if row["text"]:
            found.append(Entry("held", row["text"], row.name("text")))
            continue
        thing, place = row["thing"], _place(row)
        if thing == ONWARD and found and place:
            last = found.pop()
            found.append(Entry("held", f"{last.text} {place}", last.field))
        elif thing == ONWARD and not found:
            row.fault("thing", "say what is held in the row above first")
        elif thing not in (*THINGS, ONWARD):
            row.fault("thing", "say what is held")
        elif place:
            found.append(Entry("held", f"{thing} {place}", row.name("thing")))
    return found


def _place(row: Row) -> str:
    """Where something is held: a point of the body, or a place of the room; '' with a fault noted."""
    if row["point"] != ROOM:
        return _point(row, SIDES)
    for axis in AXES:
        if not row[axis]:
            row.fault(axis, "say how many centimetres; 0 is where the athlete begins")
    at = [row.amount(axis) for axis in AXES]
    known = [metres(one / 100) for one in at if one is not None]
    return f"at:{','.join(known)}" if len(known) == len(AXES) else ""
