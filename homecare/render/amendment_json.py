"""amendment.json: what changes in an issued plan, and the drills and days that hold from then on, as one document."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import asdict
from typing import Any

from homecare.core.slip import Amendment, Slip
from homecare.render.plan_json import plan_document
from homecare.render.slip_view import change_words

FORMAT = 1
"""Raised whenever a reader of the last format would misread the new one."""

_HOLDS = ("athlete", "prepared_by", "language", "library", "planner", "drills", "days", "link")
"""What is taken from the plan that holds now, as plan.json says it."""


def amendment_bytes(slip: Slip, asked: Amendment, amends: str, after: Sequence[str] = ()) -> bytes:
    """The document as UTF-8 text with a newline at its end.

    `amends` is the SHA-256 of the plan.json that it goes with, `after` those of the slips before it, in order.
    """
    now = plan_document(slip.now)
    why = {pick.drill: pick.because for pick in asked.on}
    document = {
        "format": FORMAT,
        "amends": amends,
        "after": list(after),
        "start": slip.issued.start.isoformat(),
        "from": slip.now.start.isoformat(),
        "asked": _asked(asked),
        "changes": [
            {
                "change": line.change,
                "drill": line.drill.id,
                "side": line.drill.side,
                "row": line.number,
                "because": why.get(line.drill.id, ""),
                "says": change_words(line, slip.now.start),
            }
            for line in slip.lines
        ],
        **{key: now[key] for key in _HOLDS},
    }
    return f"{json.dumps(document, ensure_ascii=False, indent=1, allow_nan=False)}\n".encode()


def _asked(asked: Amendment) -> dict[str, Any]:
    """What was asked for, so that it can be done again: a later slip starts from where this one led."""
    return {
        "off": list(asked.off),
        "on": [{"drill": pick.drill, "side": pick.side, "because": pick.because} for pick in asked.on],
        "doses": {
            drill: {key: value for key, value in asdict(dose).items() if value is not None}
            for drill, dose in sorted(asked.doses.items())
        },
    }
