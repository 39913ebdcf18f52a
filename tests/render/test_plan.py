"""plan.json: every key of the format, the same bytes each time, and read back; foreign files refused in words."""

from __future__ import annotations

import hashlib
import json
from collections import OrderedDict
from dataclasses import replace
from types import MappingProxyType
from typing import Any

import pytest

from homecare.core.problems import InputFault
from homecare.core.sheet import Sheet
from homecare.render.plan_json import plan_bytes
from homecare.render.plan_read import read_plan
from tests.render.sheets import REFER_NOW, fixtures, make_sheet

TOP = {
    "format",
    "athlete",
    "prepared_by",
    "start",
    "review_by",
    "language",
    "clinic",
    "defaults",
    "screen",
    "library",
    "words",
    "planner",
    "candidates",
    "drills",
    "left_out",
    "unserved",
    "days",
    "check_in",
    "markers",
    "stop_if",
    "refer",
}
PARTS = {
    "candidates": {"nerve", "site", "side", "score", "because", "against", "not_tested", "covered_by"},
    "drills": {
        "id",
        "side",
        "kind",
        "tissues",
        "priority",
        "because",
        "ladder",
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
        "link",
        "text",
        "halved",
        "worse_in_row",
        "nerve_load",
        "rungs",
    },
    "left_out": {"id", "side", "because", "rule"},
    "unserved": {"wish", "because"},
    "days": {"date", "training", "budget_s", "planned_s", "items", "notes"},
    "check_in": {"drill", "side", "response", "change", "because"},
    "markers": {"test", "side", "before", "after", "last", "says"},
}
RUNG = {"sets", "reps", "hold_s", "tempo_s", "rest_s", "setup_s", "times", "seconds"}
ITEM = {"drill", "side", "rung", "sets", "reps", "hold_s", "times", "parts", "seconds"}


def _document(sheet: Sheet) -> dict[str, Any]:
    document: dict[str, Any] = json.loads(plan_bytes(sheet))
    return document


def test_every_key_of_the_format_is_there() -> None:
    plan = _document(make_sheet(5))
    assert set(plan) >= TOP
    assert set(plan["words"]) >= {"for", "ease_off"}
    assert set(plan["planner"]) == {"few", "max_drills", "transition_s", "cover_bar", "proven"}
    for part, keys in PARTS.items():
        assert plan[part], part
        assert all(set(one) >= keys for one in plan[part]), part
    assert all(set(rung) >= RUNG for drill in plan["drills"] for rung in drill["rungs"])
    items = [item for day in plan["days"] for item in day["items"]]
    assert items
    assert all(set(item) == ITEM for item in items)


def test_seconds_count_both_sides_and_the_link_is_a_path() -> None:
    plan = _document(make_sheet(5))
    doorway = plan["drills"][4]
    assert doorway["side"] == "both"
    assert doorway["rungs"][0]["seconds"] == 10 + 2 * 3 * 20
    assert [drill["link"].partition("#")[0] for drill in plan["drills"]] == ["/AG", "/FB", "/PS", "/CL", "/DO"]
    assert plan["refer"] is None


def test_a_referral_keeps_its_urgency_and_reasons() -> None:
    plan = _document(replace(make_sheet(5), refer=REFER_NOW, days=(), drills=()))
    assert plan["refer"]["urgency"] == "now"
    assert plan["refer"]["because"] == list(REFER_NOW.because)
    assert plan["days"] == []


def test_the_same_sheet_gives_the_same_bytes_in_whatever_order_its_mappings_come() -> None:
    sheet = make_sheet(5)
    plan = plan_bytes(sheet)
    assert plan.endswith(b"}\n")
    assert plan == plan_bytes(make_sheet(5))
    turned = replace(sheet, defaults=MappingProxyType(OrderedDict([("week", "easy"), ("irritability", "moderate")])))
    other = replace(sheet, defaults={"irritability": "moderate", "week": "easy"})
    assert plan_bytes(turned) == plan_bytes(other) != plan


@pytest.mark.parametrize("name", fixtures())
def test_a_plan_is_read_back(name: str) -> None:
    sheet = fixtures()[name]
    data = plan_bytes(sheet)
    plan = read_plan(data)
    assert plan.start == sheet.start
    assert plan.hash == hashlib.sha256(data).hexdigest()
    assert [
        (day.date, [(item.drill, item.side, item.rung, item.times) for item in day.items]) for day in plan.days
    ] == [(day.date, [(item.drill, item.side, item.rung, item.times) for item in day.items]) for day in sheet.days]
    for one, drill in zip(plan.drills, sheet.drills, strict=True):
        for field in (
            "id",
            "side",
            "kind",
            "tissues",
            "priority",
            "start_rung",
            "ladder",
            "halved",
            "worse_in_row",
            "gap_exempt",
            "rungs",
        ):
            assert getattr(one, field) == getattr(drill, field)
    assert [(one.test, one.side, one.before, one.after) for one in plan.markers] == [
        (one.test, one.side, one.before, one.after) for one in sheet.markers
    ]


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"\xff\xfe", "not text"),
        (b"{", "not JSON"),
        (b"[]", "not a plan"),
        (b'{"format": 7}', "format 7"),
        (b'{"name": "something else"}', "not a plan"),
        (b'{"format": 1}', "start is missing"),
    ],
)
def test_foreign_and_damaged_files_are_refused_in_words(data: bytes, said: str) -> None:
    with pytest.raises(InputFault, match=said):
        read_plan(data, "last/plan.json")


def test_every_fault_of_a_plan_is_named_at_once_with_its_place() -> None:
    plan = _document(make_sheet(2))
    plan["drills"][1]["side"] = "up"
    plan["drills"][0]["priority"] = True
    plan["days"][3]["date"] = "2026-02-31"
    plan["days"][0]["items"][0].pop("times")
    plan["markers"][0]["before"] = "high"
    with pytest.raises(InputFault) as caught:
        read_plan(json.dumps(plan).encode(), "plan.json")
    text = str(caught.value)
    assert len(caught.value.problems) == 5
    for place in (
        "drills[1].side",
        "drills[0].priority",
        "days[3].date",
        "days[0].items[0].times",
        "markers[0].before",
    ):
        assert place in text
