"""From a visit file back to the desk's form: the inverse of visit_text, so that a visit can be gone on with."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping

import yaml

from homecare.desk.form import Form
from homecare.desk.visit_text import DOSE_KEYS, EVERYTHING_LEFT, WEEKDAYS
from homecare.library.nodes import compose, is_nothing

Plain = str | list["Plain"] | dict[str, "Plain"]
"""A node as it is written: scalars as text, lists, mappings; what is empty is left out."""

_ONCE = ("athlete", "age", "prepared_by", "start", "days", "review_by", "notes")
_MANY = ("kit", "cautions", "drop", "cover")


def form_from_visit(text: str) -> Form:
    """The form that would write a visit file's text; raises InputFault where the text is no YAML.

    Nothing is checked: what is wrong in the file is told when the form is made into a sheet.
    """
    root = compose(text, "visit")
    visit = _plain(root) if root is not None else {}
    return Form(_values(visit)) if isinstance(visit, dict) else Form({})


def _plain(node: yaml.Node) -> Plain:
    if isinstance(node, yaml.MappingNode):
        return {str(key.value): _plain(value) for key, value in node.value if not is_nothing(value)}
    if isinstance(node, yaml.SequenceNode):
        return [_plain(item) for item in node.value]
    return str(node.value).strip()


def _values(visit: Mapping[str, Plain]) -> dict[str, tuple[str, ...]]:
    found: dict[str, tuple[str, ...]] = {key: (_text(visit[key]),) for key in _ONCE if key in visit}
    found |= {key: _texts(visit[key]) for key in _MANY if key in visit}
    if visit.get("kit") == []:
        found["no_kit"] = ("1",)
    found |= _minutes(visit.get("minutes")) | _week(visit.get("week")) | _screen(visit.get("screen"))
    found |= _rows("event", [_row(date=day) for day in _list(visit.get("event"))])
    found |= _rows("clinic_visits", [_clinic_visit(one) for one in _list(visit.get("clinic_visits"))])
    found |= _findings(visit) | _rows("marker", _list(visit.get("markers"))) | _changed(visit.get("changed"))
    picks = [one if isinstance(one, dict) else _row(drill=one) for one in _list(visit.get("pick"))]
    return found | _rows("pick", picks) | _doses(visit.get("doses")) | _last(visit.get("last"))


def _minutes(minutes: Plain | None) -> dict[str, tuple[str, ...]]:
    if minutes is None:
        return {}
    by_day = _map(minutes) if isinstance(minutes, dict) else dict.fromkeys(("weekday", "weekend"), minutes)
    named = {"weekday": "0", "weekend": "0", **by_day}  # a day that is not named has none
    return {f"minutes_{key}": (_text(value),) for key, value in named.items()}


def _week(week: Plain | None) -> dict[str, tuple[str, ...]]:
    if week is None:
        return {}
    return {f"week_{day}": (_text(training),) for day, training in (_map(week) or {WEEKDAYS[0]: "easy"}).items()}


def _screen(screen: Plain | None) -> dict[str, tuple[str, ...]]:
    if not isinstance(screen, dict):
        return {"screen": (_text(screen),)} if screen else {}
    found = {"flags": _texts(screen.get("flags", []))}
    found |= {key: (_text(screen[key]),) for key in ("decision", "because") if key in screen}
    return found if any(map(any, found.values())) else {"screen": ("clear",)}


def _clinic_visit(one: Plain) -> Plain:
    if not isinstance(one, dict):
        return {"date": one}
    if "treated" not in one:
        return one
    treated = [f"{depth} {tissue}" for tissue, depth in _depths(one["treated"]).items()]
    return {**one, "treated": list[Plain](treated or [EVERYTHING_LEFT])}


def _depths(treated: Plain) -> dict[str, str]:
    if isinstance(treated, dict):
        return {tissue: _text(depth) for tissue, depth in treated.items()}
    return dict.fromkeys(_texts(treated), "firm")


def _findings(visit: Mapping[str, Plain]) -> dict[str, tuple[str, ...]]:
    kinds = {"tissue": "finding", "symptom": "symptom", "test": "test", "firing": "firing"}
    rows: dict[str, list[Plain]] = {kind: [] for kind in kinds.values()}
    for one in _list(visit.get("findings")):
        kind = next((row for key, row in kinds.items() if isinstance(one, dict) and key in one), None)
        if kind and isinstance(one, dict):
            # What lies on the midline has no side, and the form no word for it.
            rows[kind].append({key: value for key, value in one.items() if (key, value) != ("side", "none")})
    found: dict[str, tuple[str, ...]] = {}
    for kind, ones in rows.items():
        found |= _rows(kind, ones)
    return found | (_treated(_depths(visit["treated"]), rows["finding"]) if "treated" in visit else {})


def _treated(depths: Mapping[str, str], findings: Iterable[Plain]) -> dict[str, tuple[str, ...]]:
    """Depths beside the rows of their tissues; those of a tissue without a row in rows of their own."""
    found: dict[str, tuple[str, ...]] = {"treated_said": ("1",)}
    left = {_key(tissue): (tissue, depth) for tissue, depth in depths.items()}
    seen = set[str]()
    for index, one in enumerate(findings):
        tissue = _key(_text(_map(one).get("tissue", "")))
        found[f"finding-{index}-treated"] = (left[tissue][1] if tissue in left else "not",)
        seen.add(tissue)
    others: list[Plain] = [
        {"tissue": tissue, "depth": depth} for key, (tissue, depth) in left.items() if key not in seen
    ]
    return found | _rows("treated", others)


def _key(name: str) -> str:
    return re.sub(r"[\s_-]+", " ", name).strip().lower()


def _changed(changed: Plain | None) -> dict[str, tuple[str, ...]]:
    """Bare lines into the one field, unless one of them says more than a line can."""
    entries = _list(changed)
    if all(isinstance(one, str) and "\n" not in one for one in entries):
        return {"changed": ("\n".join(_texts(entries)),)} if entries else {}
    return _rows("changed", [one if isinstance(one, dict) else {"what": one} for one in entries])


def _doses(doses: Plain | None) -> dict[str, tuple[str, ...]]:
    found: dict[str, tuple[str, ...]] = {}
    for drill, one in _map(doses).items():
        given = {key: value for key, value in _map(one).items() if key in DOSE_KEYS}
        found |= {f"dose-{drill}-{key}": (_text(value),) for key, value in given.items()}
        found |= {} if given else {f"dose-{drill}-": ("",)}
    return found


def _last(last: Plain | None) -> dict[str, tuple[str, ...]]:
    told = _map(last)
    found: dict[str, tuple[str, ...]] = {"last": (_text(told["plan"]),)} if "plan" in told else {}
    found |= {"amendments": _texts(told["amendments"])} if "amendments" in told else {}
    for key in ("done", "response"):
        found |= {f"{key}-{drill}": (_text(value),) for drill, value in _map(told.get(key)).items()}
    pairs = [one for one in _list(told.get("ratings")) if isinstance(one, list) and len(one) == 2]
    return found | _rows("rating", [{"date": day, "value": value} for day, value in pairs])


def _rows(kind: str, ones: Iterable[Plain]) -> dict[str, tuple[str, ...]]:
    """Fields named kind-row-key, with the empty one that keeps the row."""
    found: dict[str, tuple[str, ...]] = {}
    for index, one in enumerate(ones):
        found[f"{kind}-{index}-"] = ("",)
        found |= {f"{kind}-{index}-{key}": _texts(value) for key, value in _map(one).items()}
    return found


def _row(**fields: Plain) -> Plain:
    return fields


def _map(value: Plain | None) -> dict[str, Plain]:
    return value if isinstance(value, dict) else {}


def _list(value: Plain | None) -> list[Plain]:
    return value if isinstance(value, list) else [] if value is None else [value]


def _text(value: Plain | None) -> str:
    return value if isinstance(value, str) else ""


def _texts(value: Plain) -> tuple[str, ...]:
    return tuple(one for one in _list(value) if isinstance(one, str))
