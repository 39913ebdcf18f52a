"""amendment.json read back: what it says, and every damage told in words."""

from __future__ import annotations

import copy
import json
from datetime import date
from functools import lru_cache
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from homecare.core.findings import Pick, SetDose
from homecare.core.problems import InputFault, Source
from homecare.core.sheet import Clinic
from homecare.core.slip import Amendment
from homecare.library.load import load_library
from homecare.render.plan_read import read_slip
from homecare.workflow import visit_slip

ROWER = (Path(__file__).resolve().parents[1] / "data/rower.yaml").read_text(encoding="utf-8")
ASKED = Amendment(
    date(2026, 5, 8),
    off=("wrist_back_stretch",),
    on=(Pick("open_book", "none", "stiff again", Source("here")),),
    doses={"median_slider": SetDose(sets=1, reps=5, load="a light band")},
)


@lru_cache(maxsize=1)
def document() -> dict[str, Any]:
    """An amendment.json that was just written."""
    files = visit_slip(ROWER, "rower.yaml", load_library(), Clinic(), lambda last: (), ASKED, None)
    told: dict[str, Any] = json.loads(files.amendment)
    return told


def test_what_was_asked_for_comes_back() -> None:
    slip = read_slip(json.dumps(document()).encode(), "here")
    assert slip.asked == ASKED
    assert slip.after == ()
    assert slip.days[0].date == ASKED.day
    assert {"open_book", "median_slider"} <= {drill.id for drill in slip.drills}


def places(value: Any, path: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    """Every place in a document, the first three of each list."""
    found = [path] if path else []
    inner = value.items() if isinstance(value, dict) else enumerate(value[:3]) if isinstance(value, list) else ()
    for key, one in inner:
        found += places(one, (*path, key))
    return found


WRONG: tuple[Any, ...] = (None, True, -1, 3.5, "word", [], {}, [None], {"x": 1}, "2026-02-30")


@settings(max_examples=200, deadline=None)
@given(st.data(), st.sampled_from(WRONG), st.booleans())
def test_whatever_is_damaged_is_read_or_told(data: st.DataObject, wrong: Any, gone: bool) -> None:
    damaged = copy.deepcopy(document())
    place = data.draw(st.sampled_from(places(damaged)))
    holder = damaged
    for key in place[:-1]:
        holder = holder[key]
    if gone:
        del holder[place[-1]]
    else:
        holder[place[-1]] = wrong
    told = []
    try:
        read_slip(json.dumps(damaged).encode())
    except InputFault as fault:
        told = [str(problem) for problem in fault.problems]
    assert all(told)


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"\xff", "not text in UTF-8"),
        (b"{", "not JSON"),
        (b"[]", "not a change to a home-care sheet"),
        (b'{"format": 1}', "not a change to a home-care sheet"),
        (b'{"format": 9, "asked": {}}', "format 9"),
        (b'{"format": 1, "asked": {}}', "amends is missing"),
    ],
)
def test_another_file_is_told(content: bytes, words: str) -> None:
    with pytest.raises(InputFault) as fault:
        read_slip(content)
    assert words in " ".join(str(problem) for problem in fault.value.problems)
