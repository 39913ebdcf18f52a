"""Issued documents read back for the records: what plan.json and amendment.json say, as typed values.

They are our own, and their bytes were held to their hashes before; so nothing is asked of them twice.
"""

from __future__ import annotations

import base64
import json
import re
from datetime import date, datetime
from typing import Any

from homecare.core.drill import Rung
from homecare.core.history import PastDay, PastDrill, PastItem, PastPlan, PastSlip
from homecare.core.sheet import CheckIn, MarkerLine, Refer, SymptomLine
from homecare.render.links import whole_link

_CALENDAR = re.compile(rb'href="data:text/calendar;charset=utf-8;base64,([A-Za-z0-9+/=]+)"')


def read_past_plan(data: bytes) -> PastPlan:
    """What an issued plan.json says; its link is empty where it would open nothing."""
    document: dict[str, Any] = json.loads(data)
    refer, web = document["refer"], document["clinic"]["web"]
    return PastPlan(
        start=date.fromisoformat(document["start"]),
        review_by=date.fromisoformat(document["review_by"]),
        athlete=document["athlete"],
        findings=tuple(document["findings"]),
        symptoms=tuple(
            SymptomLine(one["symptom"], tuple(one["zones"]), one["side"], one["irritability"], one["now"])
            for one in document["symptoms"]
        ),
        drills=_drills(document),
        days=_days(document),
        check_in=tuple(CheckIn(**one) for one in document["check_in"]),
        markers=tuple(MarkerLine(**one) for one in document["markers"]),
        refer=Refer(refer["urgency"], tuple(refer["because"]), tuple(refer["athlete"])) if refer else None,
        flagged=frozenset(one["id"] for one in document["left_out"] if one["rule"] == "flag"),
        prepared_by=document["prepared_by"],
        link=whole_link(web, document["link"]) if document["link"] and web else "",
    )


def read_past_slip(data: bytes, id: str, issued: datetime) -> PastSlip:
    """What an issued amendment.json says; `id` and `issued` are those of its record."""
    document: dict[str, Any] = json.loads(data)
    return PastSlip(
        id=id,
        day=date.fromisoformat(document["from"]),
        issued=issued,
        says=tuple(one["says"] for one in document["changes"]),
        drills=_drills(document),
        days=_days(document),
    )


def calendar_of_phone(phone: bytes) -> bytes:
    """The calendar file as it was handed over inside an issued phone page; b"" where there was no plan."""
    found = _CALENDAR.search(phone)
    return base64.b64decode(found[1]) if found else b""


def _drills(document: dict[str, Any]) -> tuple[PastDrill, ...]:
    return tuple(
        PastDrill(
            id=one["id"],
            name=one["name"],
            side=one["side"],
            kind=one["kind"],
            rungs=tuple(map(_rung, one["rungs"])),
            start_rung=one["start_rung"],
            because=tuple(one["because"]),
        )
        for one in document["drills"]
    )


def _rung(one: dict[str, Any]) -> Rung:
    return Rung(**{key: value for key, value in one.items() if key != "seconds"})


def _days(document: dict[str, Any]) -> tuple[PastDay, ...]:
    doses = {one["id"]: tuple(map(_rung, one["rungs"])) for one in document["drills"]}
    return tuple(
        PastDay(
            date.fromisoformat(day["date"]),
            tuple(
                PastItem(one["drill"], one["rung"], doses[one["drill"]][one["rung"]], one["times"])
                for one in day["items"]
            ),
        )
        for day in document["days"]
    )
