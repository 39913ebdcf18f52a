"""All that is kept of one athlete as files by path, to be given away or kept beside another program's records."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any

from sqlalchemy import Connection

from homecare.storage.exporting import WholeAthlete, WholeSheet, export_athlete
from homecare.workflow.histories import visit_files
from homecare.workflow.slips import PHONE_NAME

FORMAT = 1
INDEX, RECORD = "index.html", "record.json"


def athlete_files(connection: Connection, id: str) -> Mapping[str, bytes]:
    """Every visit with its sheets, slips and what came back, the library's texts that they used, and open drafts.

    `record.json` says how they belong together. Raises KeyError, or StorageFault where the disk altered a file.
    """
    whole = export_athlete(connection, id)
    files: dict[str, bytes] = {}
    told: list[dict[str, Any]] = []
    for number, visit in enumerate(whole.visits, 1):
        folder = f"visits/{number:03d}-{visit.day}"
        for name, content in visit_files(connection, id, visit.text).items():
            files[f"{folder}/{name}"] = content
        own = [sheet for sheet in whole.sheets if sheet.sheet.visit == visit.id]
        for count, sheet in enumerate(own, 1):
            files |= _sheet_files(f"{folder}/sheet-{count}", sheet)
        told.append(
            {
                "folder": folder,
                "day": visit.day.isoformat(),
                "prepared_by": visit.prepared_by,
                "entered": visit.entered.isoformat(),
                "sheets": [_sheet_record(f"{folder}/sheet-{count}", sheet) for count, sheet in enumerate(own, 1)],
            }
        )
    for text in (text for sheet in whole.sheets for text in sheet.texts):
        files[f"library/{text.section}/{text.record}-{text.sha256[:12]}.json"] = text.content.encode()
    for number, draft in enumerate(whole.drafts, 1):
        files[f"drafts/{number:03d}.json"] = draft.text.encode()
    files[RECORD] = _json({"format": FORMAT, "athlete": _athlete(whole), "visits": told})
    return files


def _athlete(whole: WholeAthlete) -> dict[str, Any]:
    one = whole.athlete
    born = one.born.isoformat() if one.born else None
    return {"name": one.name, "born": born, "age": one.age, "created": one.created.isoformat()}


def _sheet_files(folder: str, sheet: WholeSheet) -> dict[str, bytes]:
    files = {
        f"{folder}/sheet.pdf": sheet.files.pdf,
        f"{folder}/plan.json": sheet.files.plan,
        f"{folder}/phone.html": sheet.files.phone,
        f"{folder}/note.txt": sheet.files.note,
    }
    for number, one in enumerate(sheet.amendments, 1):
        slip = f"{folder}/slip-{number}"
        files |= {
            f"{slip}/slip.pdf": one.files.pdf,
            f"{slip}/amendment.json": one.files.json,
            f"{slip}/{PHONE_NAME}": one.files.phone,
        }
    return files


def _sheet_record(folder: str, sheet: WholeSheet) -> dict[str, Any]:
    stored = sheet.sheet
    return {
        "folder": folder,
        "issued": stored.issued.isoformat(),
        "first_day": stored.first_day.isoformat(),
        "last_day": stored.last_day.isoformat(),
        "slips": [
            {"folder": f"{folder}/slip-{number}", "day": one.amendment.day.isoformat()}
            for number, one in enumerate(sheet.amendments, 1)
        ],
        "came_back": [{"day": one.day.isoformat(), **json.loads(one.json)} for one in sheet.check_ins],
    }


def _json(document: dict[str, Any]) -> bytes:
    return f"{json.dumps(document, ensure_ascii=False, indent=1)}\n".encode()
