"""The last plan.json read back into typed values, with every fault of a damaged or foreign file at once."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Sequence
from datetime import date
from typing import Any, TypeVar, get_args

from homecare.core.atlas import Side
from homecare.core.drill import Kind, Rung
from homecare.core.last import LastDay, LastDrill, LastItem, LastMarker, LastPlan, LastSymptom
from homecare.core.problems import InputFault, Problem, Source
from homecare.render.plan_json import FORMAT

_Value = TypeVar("_Value", str, int, bool)


def read_plan(data: bytes, name: str = "plan.json") -> LastPlan:
    """The typed plan; InputFault with each thing that is missing or of another kind, by its place in the document."""
    where = Source(name)
    try:
        document = json.loads(data.decode("utf-8"))
    except UnicodeDecodeError:
        raise InputFault([Problem(where, "plan-json", "the last plan is not text in UTF-8")]) from None
    except json.JSONDecodeError as fault:
        place = Source(name, fault.lineno, fault.colno)
        raise InputFault([Problem(place, "plan-json", f"the last plan is not JSON: {fault.msg}")]) from None
    if not isinstance(document, dict) or "format" not in document:
        raise InputFault(
            [
                Problem(
                    where,
                    "plan-format",
                    "this is not a plan of a home-care sheet",
                    "give the plan.json that came with the last sheet",
                )
            ]
        )
    if document["format"] != FORMAT:
        raise InputFault(
            [
                Problem(
                    where,
                    "plan-format",
                    f"the last plan is of format {document['format']!r}",
                    f"format {FORMAT} can be read",
                )
            ]
        )
    reader = _Reader(where)
    plan = _plan(reader, document, hashlib.sha256(data).hexdigest())
    if reader.problems:
        raise InputFault(reader.problems)
    return plan


class _Reader:
    """Takes values of a known kind out of JSON objects, and collects what is wrong with them."""

    def __init__(self, where: Source) -> None:
        self.where = where
        self.problems: list[Problem] = []

    def fault(self, place: str, wanted: str, given: object) -> None:
        said = "is missing" if given is None else f"is {given!r}"
        self.problems.append(Problem(self.where, "plan-key", f"{place} {said}", f"{wanted} is needed"))

    def take(self, record: dict[str, Any], key: str, place: str, kind: type[_Value]) -> _Value:
        """The value under `key`; a blank of its kind, and a fault kept, when it is not there or of another kind."""
        value = record.get(key)
        if isinstance(value, kind) and (kind is bool or not isinstance(value, bool)):
            return value
        self.fault(f"{place}.{key}", {str: "text", int: "a whole number", bool: "true or false"}[kind], value)
        return kind()

    def records(self, record: dict[str, Any], key: str, place: str = "") -> list[tuple[str, dict[str, Any]]]:
        """The objects in the list under `key`, each with its place."""
        value = record.get(key)
        path = f"{place}.{key}" if place else key
        if not isinstance(value, list):
            self.fault(path, "a list", value)
            return []
        found = []
        for number, one in enumerate(value):
            if isinstance(one, dict):
                found.append((f"{path}[{number}]", one))
            else:
                self.fault(f"{path}[{number}]", "an object", one)
        return found

    def one_of(self, record: dict[str, Any], key: str, place: str, accepted: Sequence[str]) -> Any:
        """A word out of a closed set."""
        value = record.get(key)
        if value in accepted:
            return value
        self.fault(f"{place}.{key}", "one of " + ", ".join(accepted), value)
        return accepted[0]

    def day(self, record: dict[str, Any], key: str, place: str) -> date:
        """A calendar date."""
        value = record.get(key)
        try:
            return date.fromisoformat(value if isinstance(value, str) else "")
        except ValueError:
            self.fault(f"{place}.{key}".lstrip("."), "a date such as 2026-03-02", value)
            return date.min

    def measure(self, record: dict[str, Any], key: str, place: str) -> float | None:
        """A number, or null for not measured."""
        value = record.get(key)
        if value is None or (isinstance(value, (int, float)) and not isinstance(value, bool)):
            return value
        self.fault(f"{place}.{key}", "a number or null", value)
        return None


def _plan(reader: _Reader, document: dict[str, Any], digest: str) -> LastPlan:
    return LastPlan(
        format=FORMAT,
        start=reader.day(document, "start", ""),
        days=tuple(_day(reader, place, one) for place, one in reader.records(document, "days")),
        drills=tuple(_drill(reader, place, one) for place, one in reader.records(document, "drills")),
        markers=tuple(_marker(reader, place, one) for place, one in reader.records(document, "markers")),
        hash=digest,
        symptoms=tuple(
            LastSymptom(reader.take(one, "symptom", place, str), _zones(reader, place, one), _side(reader, place, one))
            for place, one in (reader.records(document, "symptoms") if "symptoms" in document else ())
        ),
    )


def _zones(reader: _Reader, place: str, record: dict[str, Any]) -> tuple[str, ...]:
    zones = record.get("zones")
    if isinstance(zones, list) and all(isinstance(one, str) for one in zones):
        return tuple(zones)
    reader.fault(f"{place}.zones", "a list of zones", zones)
    return ()


def _side(reader: _Reader, place: str, record: dict[str, Any]) -> Side:
    side: Side = reader.one_of(record, "side", place, get_args(Side))
    return side


def _day(reader: _Reader, place: str, record: dict[str, Any]) -> LastDay:
    items = tuple(
        LastItem(
            reader.take(one, "drill", where, str),
            _side(reader, where, one),
            reader.take(one, "rung", where, int),
            reader.take(one, "times", where, int),
        )
        for where, one in reader.records(record, "items", place)
    )
    return LastDay(reader.day(record, "date", place), items)


def _drill(reader: _Reader, place: str, record: dict[str, Any]) -> LastDrill:
    kind: Kind = reader.one_of(record, "kind", place, get_args(Kind))
    tissues = record.get("tissues")
    if not isinstance(tissues, list) or not all(isinstance(one, str) for one in tissues):
        reader.fault(f"{place}.tissues", "a list of tissue ids", tissues)
        tissues = []
    return LastDrill(
        id=reader.take(record, "id", place, str),
        side=_side(reader, place, record),
        kind=kind,
        tissues=tuple(tissues),
        priority=reader.take(record, "priority", place, int),
        start_rung=reader.take(record, "start_rung", place, int),
        ladder=reader.take(record, "ladder", place, str),
        halved=reader.take(record, "halved", place, bool),
        worse_in_row=reader.take(record, "worse_in_row", place, int),
        gap_exempt=reader.take(record, "gap_exempt", place, bool),
        rungs=tuple(_rung(reader, where, one) for where, one in reader.records(record, "rungs", place)),
        done_at_rung=reader.take(record, "done_at_rung", place, int) if "done_at_rung" in record else 0,
    )


def _rung(reader: _Reader, place: str, record: dict[str, Any]) -> Rung:
    fields = ("sets", "reps", "hold_s", "tempo_s", "rest_s", "setup_s", "times")
    values = {field: reader.take(record, field, place, int) for field in fields}
    load = record.get("load", "")
    return Rung(**values, load=load if isinstance(load, str) else "")


def _marker(reader: _Reader, place: str, record: dict[str, Any]) -> LastMarker:
    return LastMarker(
        reader.take(record, "test", place, str),
        _side(reader, place, record),
        reader.measure(record, "before", place),
        reader.measure(record, "after", place),
        reader.measure(record, "last", place),
    )
