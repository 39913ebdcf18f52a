"""plan.json: the whole result of a visit as one document, the same bytes for the same sheet."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from typing import Any

from homecare.core.drill import Rung
from homecare.core.sheet import Candidate, Day, Item, Refer, Sheet, SheetDrill, Words
from homecare.render.links import link_path

FORMAT = 1
"""Raised whenever a reader of the last format would misread the new one."""


def plan_bytes(sheet: Sheet) -> bytes:
    """The document as UTF-8 text with a newline at its end."""
    text = json.dumps(plan_document(sheet), ensure_ascii=False, indent=1, allow_nan=False, default=_plain)
    return f"{text}\n".encode()


def plan_document(sheet: Sheet) -> dict[str, Any]:
    """The document as values that JSON holds; keys in the order that a reader would ask for them."""
    return {
        "format": FORMAT,
        "athlete": sheet.athlete,
        "prepared_by": sheet.prepared_by,
        "start": sheet.start.isoformat(),
        "review_by": sheet.review_by.isoformat(),
        "days_asked": sheet.days_asked,
        "language": sheet.clinic.language,
        "clinic": _clinic(sheet),
        "defaults": {key: sheet.defaults[key] for key in sorted(sheet.defaults)},
        "screen": sheet.screen,
        "library": {"revision": sheet.library_revision},
        "words": _words(sheet.words),
        "notes": sheet.notes,
        "planner": _fields(sheet.planner),
        "findings": list(sheet.findings),
        "candidates": [_candidate(one) for one in sheet.candidates],
        "drills": [_drill(one, sheet) for one in sheet.drills],
        "left_out": [_fields(one) for one in sheet.left_out],
        "unserved": [_fields(one) for one in sheet.unserved],
        "days": [_day(one) for one in sheet.days],
        "check_in": [_fields(one) for one in sheet.check_in],
        "markers": [_fields(one) for one in sheet.markers],
        "stop_if": list(sheet.words.stop_if),
        "refer": _refer(sheet.refer),
        "advice": list(sheet.advice),
        "ask": list(sheet.ask),
        "symptoms": [_fields(one) for one in sheet.symptoms],
        "neighbours": [_fields(one) for one in sheet.neighbours],
        "link": link_path(sheet.sheet_link) if sheet.sheet_link else "",
        "last": _last(sheet),
    }


def _last(sheet: Sheet) -> dict[str, Any] | None:
    """The sheet before, by the hash of its plan; those of its slips where it had any."""
    if sheet.last_hash is None:
        return None
    return {"plan": sheet.last_hash, **({"amendments": list(sheet.last_slips)} if sheet.last_slips else {})}


def _fields(record: Any) -> dict[str, Any]:
    """The fields of a dataclass in their own order, nothing copied below the first level."""
    return {field.name: getattr(record, field.name) for field in fields(record)}


def _plain(value: object) -> object:
    """What the `defaults` and `screen` of a visit may hold beyond JSON's own types."""
    if is_dataclass(value):
        return _fields(value)
    if isinstance(value, Mapping):
        return {str(key): value[key] for key in sorted(value)}
    if isinstance(value, (set, frozenset)):
        return sorted(value)
    return str(value)


def _clinic(sheet: Sheet) -> dict[str, Any]:
    clinic = _fields(sheet.clinic)
    clinic["clock"] = dict(sorted(sheet.clinic.clock.items())) if sheet.clinic.clock else None
    return clinic


def _words(words: Words) -> dict[str, Any]:
    return {
        "for": words.for_,
        "ease_off": list(words.ease_off),
        "cautions": list(words.cautions),
        "amount": words.amount,
        "judge": [{"answer": answer, "when": when, "then": then} for answer, when, then in words.judge],
        "stop_if": list(words.stop_if),
        "emergency": words.emergency,
        "key": words.key,
    }


def _candidate(one: Candidate) -> dict[str, Any]:
    return {
        "nerve": one.nerve,
        "site": one.site,
        "side": one.side,
        "score": one.score,
        "because": list(one.because),
        "against": list(one.against),
        "not_tested": list(one.not_tested),
        "covered_by": list(one.covered_by),
        "plain": one.plain,
        "evidence": one.evidence,
    }


def _drill(one: SheetDrill, sheet: Sheet) -> dict[str, Any]:
    drill = {
        name: getattr(one, name)
        for name in (
            "id",
            "code",
            "side",
            "kind",
            "tissues",
            "priority",
            "because",
            "ladder",
            "ladder_source",
            "irritability",
            "start_rung",
            "climb_days",
            "wanted_per_week",
            "least_per_week",
            "gap_days",
            "gap_exempt",
            "heavy_lengthening",
            "carried",
            "days_planned",
            "days_wanted",
            "halved",
            "worse_in_row",
            "done_at_rung",
            "revision",
        )
    }
    drill["link"] = link_path(one.link) if one.link else ""
    drill["text"] = one.text_hash
    drill["name"] = one.text.name
    drill["address"] = one.text.address
    drill["nerve_load"] = dict(sorted(one.nerve_load.items()))
    drill["rungs"] = [_rung(rung, one) for rung in one.rungs]
    drill["steps"] = [{"rung": rung, "not_before": day} for rung, day in _steps(one, sheet)]
    return drill


def _rung(rung: Rung, drill: SheetDrill) -> dict[str, Any]:
    return {**_fields(rung), "seconds": rung.seconds(drill.side)}


def _day(one: Day) -> dict[str, Any]:
    return {
        "date": one.date.isoformat(),
        "training": one.training,
        "visit": one.visit,
        "event": one.event,
        "budget_s": one.budget_s,
        "planned_s": one.planned_s,
        "items": [_item(item) for item in one.items],
        "notes": [_fields(note) for note in one.notes],
    }


def _item(one: Item) -> dict[str, Any]:
    return {**_fields(one), "parts": list(one.parts)}


def _refer(refer: Refer | None) -> dict[str, Any] | None:
    return None if refer is None else _fields(refer)


def _steps(one: SheetDrill, sheet: Sheet) -> list[tuple[int, str]]:
    """Each rung that a drill comes to on the sheet, with the first day of it."""
    first: dict[int, str] = {}
    for day in sheet.days:
        for item in day.items:
            if (item.drill, item.side) == (one.id, one.side):
                first.setdefault(item.rung, day.date.isoformat())
    return sorted(first.items())
