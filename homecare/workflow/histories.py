"""The records of one athlete put together: every visit with its sheets, their slips, and what came back."""

from __future__ import annotations

import io
import json
import zipfile
from collections.abc import Mapping
from datetime import date
from typing import Any

from sqlalchemy import Connection

from homecare.core.findings import LastSheet
from homecare.core.history import CameBack, PastSheet, PastVisit
from homecare.render.past_read import read_past_plan, read_past_slip
from homecare.storage import sheets, visits
from homecare.storage.sheets import StoredSheet
from homecare.storage.visits import CheckIn
from homecare.workflow.records import stored_slips

LAST_PLAN = "last_plan.json"
"""The plan before, beside a visit file that is handed out."""


def past_visits(connection: Connection, athlete: str) -> tuple[PastVisit, ...]:
    """An athlete's visits in order. Raises StorageFault where the disk has altered a file."""
    issued: dict[str, list[PastSheet]] = {}
    for stored in sheets.sheets_of_athlete(connection, athlete):
        issued.setdefault(stored.visit, []).append(past_sheet(connection, stored))
    return tuple(
        PastVisit(
            one.id, one.day, one.prepared_by, tuple(sorted(issued.get(one.id, []), key=lambda sheet: sheet.issued))
        )
        for one in visits.list_visits(connection, athlete)
    )


def past_sheet(connection: Connection, stored: StoredSheet) -> PastSheet:
    """One issued sheet with its slips and what came back of it. Raises KeyError when it is there no more."""
    files = sheets.read_sheet(connection, stored.id)
    if files is None:
        raise KeyError(stored.id)
    slips = []
    for one in sheets.list_amendments(connection, stored.id):
        slip = sheets.read_amendment(connection, one.id)
        if slip is not None:
            slips.append(read_past_slip(slip.json, one.id, one.issued))
    back = tuple(_came_back(one) for one in visits.list_check_ins(connection, stored.id))
    return PastSheet(stored.id, stored.issued, read_past_plan(files.plan), tuple(slips), back)


def _came_back(one: CheckIn) -> CameBack:
    told: dict[str, Any] = json.loads(one.json)
    ratings = tuple(sorted((date.fromisoformat(day), float(value)) for day, value in told.get("ratings", ())))
    return CameBack(one.day, one.visit, LastSheet(one.sheet, told.get("done", {}), told.get("response", {}), ratings))


def visit_files(connection: Connection, athlete: str, text: str) -> Mapping[str, bytes]:
    """A visit file's text as a folder that the command line takes: the visit file, and what it names of the last sheet.

    `athlete` is whose visit it is.
    """
    before = next((one.id for one in sheets.sheets_of_athlete(connection, athlete) if one.id in text), None)
    plan = sheets.read_sheet(connection, before) if before else None
    if before is None or plan is None:
        return {"visit.yaml": text.encode()}
    slips = {
        f"last_slip_{number}.json": content for number, (_, content) in enumerate(stored_slips(connection, before), 1)
    }
    lines = text.replace(before, LAST_PLAN).splitlines(keepends=True)
    if slips:  # a filed visit names its slips by their sheet alone
        at = next(number for number, line in enumerate(lines) if LAST_PLAN in line)
        indent = lines[at][: lines[at].index("plan")]
        lines.insert(at + 1, f"{indent}amendments: [{', '.join(slips)}]\n")
    return {"visit.yaml": "".join(lines).encode(), LAST_PLAN: plan.plan, **slips}


def zipped(files: Mapping[str, bytes]) -> bytes:
    """Files by path as one zip; the same bytes for the same files."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as whole:
        for name, content in files.items():
            whole.writestr(zipfile.ZipInfo(name), content, zipfile.ZIP_DEFLATED)
    return out.getvalue()
