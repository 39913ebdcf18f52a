"""A plan.json or amendment.json read back into typed values, with every fault of a damaged or foreign file at once."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Sequence
from datetime import date
from typing import Any, TypeVar, get_args

from homecare.core.atlas import Side
from homecare.core.drill import Kind, Rung
from homecare.core.findings import Pick, SetDose
from homecare.core.last import LastDay, LastDrill, LastItem, LastMarker, LastPlan, LastSlip, LastSymptom
from homecare.core.problems import InputFault, Problem, Source
from homecare.core.slip import Amendment
from homecare.render import amendment_json, plan_json

WHOLE = ("sets", "reps", "hold_s", "tempo_s", "times")
"""What a dose set by hand may say in whole numbers."""

_Value = TypeVar("_Value", str, int, bool)


def read_plan(data: bytes, name: str = "plan.json") -> LastPlan:
    """The typed plan; InputFault with each thing that is missing or of another kind, by its place in the document."""
    document = _document(data, name, "last plan", "plan of a home-care sheet", "plan.json", plan_json.FORMAT)
    reader = _Reader(Source(name))
    plan = _plan(reader, document, hashlib.sha256(data).hexdigest())
    if reader.problems:
        raise InputFault(reader.problems)
    return plan


def read_slip(data: bytes, name: str = "amendment.json") -> LastSlip:
    """The typed amendment; InputFault as for a plan."""
    what = "change to a home-care sheet"
    document = _document(data, name, "amendment", what, "amendment.json", amendment_json.FORMAT)
    reader = _Reader(Source(name))
    slip = _slip(reader, document, hashlib.sha256(data).hexdigest())
    if reader.problems:
        raise InputFault(reader.problems)
    return slip


def _document(data: bytes, name: str, short: str, what: str, file: str, number: int) -> dict[str, Any]:
    """The JSON object of a file of ours; `short` and `what` say in faults what it should be, `number` its format."""

    def refused(code: str, message: str, hint: str = "", line: int = 0, column: int = 0) -> InputFault:
        return InputFault([Problem(Source(name, line, column), code, message, hint)])

    try:
        document = json.loads(data.decode("utf-8"))
    except UnicodeDecodeError:
        raise refused("plan-json", f"the {short} is not text in UTF-8") from None
    except json.JSONDecodeError as fault:
        message = f"the {short} is not JSON: {fault.msg}"
        raise refused("plan-json", message, line=fault.lineno, column=fault.colno) from None
    except (RecursionError, ValueError):  # nested too deep, or a number of thousands of digits
        raise refused("plan-json", f"the {short} is not JSON that can be read") from None
    if not isinstance(document, dict) or "format" not in document or ("asked" in document) != (short == "amendment"):
        raise refused("plan-format", f"this is not a {what}", f"give the {file} that came with the last sheet")
    if document["format"] != number:
        message = f"the {short} is of format {document['format']!r}"
        raise refused("plan-format", message, f"format {number} can be read")
    return document


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
        self.fault(
            f"{place}.{key}".lstrip("."), {str: "text", int: "a whole number", bool: "true or false"}[kind], value
        )
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

    def record(self, record: dict[str, Any], key: str, place: str) -> dict[str, Any]:
        """The object under `key`."""
        value = record.get(key)
        if isinstance(value, dict):
            return value
        self.fault(f"{place}.{key}".lstrip("."), "an object", value)
        return {}

    def texts(self, record: dict[str, Any], key: str, place: str, wanted: str = "a list of texts") -> tuple[str, ...]:
        """The list of texts under `key`."""
        value = record.get(key)
        if isinstance(value, list) and all(isinstance(one, str) for one in value):
            return tuple(value)
        self.fault(f"{place}.{key}".lstrip("."), wanted, value)
        return ()

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
        format=plan_json.FORMAT,
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


def _slip(reader: _Reader, document: dict[str, Any], digest: str) -> LastSlip:
    return LastSlip(
        asked=_asked(reader, document),
        amends=reader.take(document, "amends", "", str),
        after=reader.texts(document, "after", ""),
        days=tuple(_day(reader, place, one) for place, one in reader.records(document, "days")),
        drills=tuple(_drill(reader, place, one) for place, one in reader.records(document, "drills")),
        hash=digest,
    )


def _asked(reader: _Reader, document: dict[str, Any]) -> Amendment:
    asked = reader.record(document, "asked", "")
    on = []
    for place, one in reader.records(asked, "on", "asked"):
        side = None if one.get("side") is None else _side(reader, place, one)
        drill, because = (reader.take(one, key, place, str) for key in ("drill", "because"))
        on.append(Pick(drill, side, because, reader.where))
    given = reader.record(asked, "doses", "asked")
    doses = {drill: _set_dose(reader, reader.record(given, drill, "asked.doses"), drill) for drill in given}
    return Amendment(reader.day(document, "from", ""), reader.texts(asked, "off", "asked"), tuple(on), doses)


def _set_dose(reader: _Reader, record: dict[str, Any], drill: str) -> SetDose:
    place = f"asked.doses.{drill}"
    values = {key: reader.take(record, key, place, int) for key in WHOLE if key in record}
    return SetDose(**values, load=reader.take(record, "load", place, str) if "load" in record else None)


def _zones(reader: _Reader, place: str, record: dict[str, Any]) -> tuple[str, ...]:
    return reader.texts(record, "zones", place, "a list of zones")


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
    return LastDrill(
        id=reader.take(record, "id", place, str),
        side=_side(reader, place, record),
        kind=kind,
        tissues=reader.texts(record, "tissues", place, "a list of tissue ids"),
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
