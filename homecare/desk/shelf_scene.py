"""What a figure touches and holds, its arrows and its room as rows of a form, and back as the record was written."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from homecare.core.pose import FREE, SIDES
from homecare.desk.form import Form
from homecare.desk.shelf_entries import AXES, KIND_OF, KINDS, LISTS, TOUCHES, Parts, scene_entries
from homecare.desk.shelf_points import BOTH, ONWARD, PLACE, ROOM
from homecare.figure.room import SURFACES
from homecare.library.figure_words import arrow_of, contact_of, metres


def scene_fields(figure: Mapping[str, object]) -> dict[str, tuple[str, ...]]:
    """The rows of a figure as values of form fields."""
    rows: dict[str, list[Parts]] = {kind: [] for kind in KINDS}
    for key in LISTS:
        for text in listed(figure.get(key)):
            rows[KIND_OF[key]] += _rows(key, text)
    surfaces = figure.get("surfaces")
    if isinstance(surfaces, Mapping):
        rows["room"] += [_surface(str(name), str(at)) for name, at in surfaces.items()]
    return {
        f"{kind}-{index}-{part}": (value,)
        for kind, found in rows.items()
        for index, parts in enumerate(found)
        for part, value in parts.items()
    }


def written_scene(form: Form, base: Mapping[str, object]) -> dict[str, object]:
    """The keys of a figure that the rows write; an entry that says what one of `base` said stays as written there."""
    found: dict[str, object] = {}
    entries = scene_entries(form)[0]
    for key in LISTS:
        before = {_text(key, _rows(key, text)): text for text in listed(base.get(key))}
        found[key] = [before.get(one.text, one.text) for one in entries if one.key == key]
    surfaces = base.get("surfaces")
    was_at: Mapping[object, object] = surfaces if isinstance(surfaces, Mapping) else {}
    pairs = (one.text.split() for one in entries if one.key == "surfaces")
    found["surfaces"] = {name: was if _float(was := str(was_at.get(name))) == float(at) else at for name, at in pairs}
    return found


def _surface(name: str, at: str) -> Parts:
    value = _float(at)
    return {"surface": name, "at": at if value is None else _centimetres(value)}


def _rows(key: str, text: str) -> list[Parts]:
    """An entry as rows; as one row of plain text where the fields cannot say it."""
    rows = _told(key, text)
    return rows if rows and _plain(key, _text(key, rows)) == _plain(key, text) else [{**_when(key), "text": text}]


def _told(key: str, text: str) -> list[Parts]:
    if key == "free":
        return [{"freed": text}]
    if key == "held":
        thing, *points = text.split() or [""]
        return [{"thing": ONWARD if index else thing, **_place(point)} for index, point in enumerate(points)]
    if key == "arrows":
        arrow = arrow_of(text)
        if arrow is None:
            return []
        return [{**_point(arrow.point), "way": arrow.way, "both": "true" if arrow.both_ways else ""}]
    one = contact_of(text)
    if one is None:
        return []
    how = {FREE: "free", "": PLACE}.get(one.on, one.tool)
    at = {axis: _centimetres(value) for axis in AXES if (value := getattr(one, axis)) is not None}
    on: Parts = {"on": one.on}
    if one.on in ("", FREE):
        on = {}
    elif one.on not in SURFACES:
        on = dict(zip(("onside", "on", "onalong"), _point(one.on).values(), strict=True))
    return [{**_when(key), **_point(one.point), "how": how, **on, **at, "slides": "true" if one.slides else ""}]


def _when(key: str) -> Parts:
    return {"when": next((when for when, name in TOUCHES.items() if name == key), "")}


def _point(name: str) -> dict[str, str]:
    side, _, rest = name.partition("_")
    if side not in (*SIDES, BOTH):
        side, rest = "", name
    point, _, share = rest.partition("@")
    return {"side": side, "point": point, "along": _centimetres(value) if (value := _float(share)) is not None else ""}


def _place(name: str) -> Parts:
    if not name.startswith("at:"):
        return _point(name)
    at = (_float(one) for one in name.removeprefix("at:").split(","))
    return {"point": ROOM, **{axis: _centimetres(one) for axis, one in zip(AXES, at, strict=False) if one is not None}}


def _text(key: str, rows: list[Parts]) -> str:
    """The letters that rows of one entry write, '' where they write none, or several."""
    kind = KIND_OF[key]
    form = Form({f"{kind}-{index}-{part}": (value,) for index, row in enumerate(rows) for part, value in row.items()})
    entries, faults = scene_entries(form)
    return entries[0].text if len(entries) == 1 and not faults else ""


def _plain(key: str, text: str) -> object:
    """What an entry says, whichever way its numbers and its order are written; None for no entry."""
    if key == "free":
        return text
    if key == "held":
        return tuple(map(_plain_point, text.split()))
    if key == "arrows":
        arrow = arrow_of(text)
        return arrow and replace(arrow, point=_plain_point(arrow.point))
    one = contact_of(text)
    return one and replace(one, point=_plain_point(one.point), on=_plain_point(one.on))


def _plain_point(name: str) -> str:
    head, mark, numbers = name.partition("@" if "@" in name else ":")
    return head + mark + ",".join(f"{_float(one)}" for one in numbers.split(",")) if mark else name


def _centimetres(value: float) -> str:
    return metres(value * 100)


def _float(text: str) -> float | None:
    try:
        return float(text)
    except ValueError:
        return None


def listed(value: object) -> tuple[str, ...]:
    """The texts of a list of a record; one text alone is a list of one."""
    if value is None or value == "":
        return ()
    return tuple(map(str, value)) if isinstance(value, list | tuple) else (str(value),)
