"""amendment.json: what changes in an issued plan, and the drills and days that hold from then on, as one document."""

from __future__ import annotations

import json
from collections.abc import Sequence

from homecare.core.findings import Pick
from homecare.core.slip import Slip
from homecare.render.plan_json import plan_document
from homecare.render.slip_view import change_words

FORMAT = 1
"""Raised whenever a reader of the last format would misread the new one."""

_HOLDS = ("athlete", "prepared_by", "language", "library", "planner", "drills", "days", "link")
"""What is taken from the plan that holds now, as plan.json says it."""


def amendment_bytes(slip: Slip, picks: Sequence[Pick], amends: str) -> bytes:
    """The document as UTF-8 text with a newline at its end; `amends` is the SHA-256 of the plan.json it goes with."""
    now = plan_document(slip.now)
    why = {pick.drill: pick.because for pick in picks}
    document = {
        "format": FORMAT,
        "amends": amends,
        "start": slip.issued.start.isoformat(),
        "from": slip.now.start.isoformat(),
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
