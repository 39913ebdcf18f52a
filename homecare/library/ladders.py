"""Reads a ladder of doses."""

from __future__ import annotations

from collections.abc import Mapping
from typing import cast, get_args

from homecare.core.drill import DOSE_LIMITS, GRADES, AgeGroup, Irritability, Ladder, Part, Rung
from homecare.library.nodes import Fields
from homecare.library.reading import read_mark

AGES = get_args(AgeGroup)


def read_rung(fields: Fields) -> Rung:
    """One dose; what is not said has the default of Rung."""
    rung = Rung(
        sets=fields.whole("sets", *DOSE_LIMITS["sets"], 1),
        reps=fields.whole("reps", *DOSE_LIMITS["reps"], 1),
        hold_s=fields.whole("hold_s", *DOSE_LIMITS["hold_s"], 0),
        tempo_s=fields.whole("tempo_s", *DOSE_LIMITS["tempo_s"], 0),
        rest_s=fields.whole("rest_s", *DOSE_LIMITS["rest_s"], 0),
        setup_s=fields.whole("setup_s", *DOSE_LIMITS["setup_s"], 10),
        times=fields.whole("times", *DOSE_LIMITS["times"], 1),
        load=fields.text("load", ""),
    )
    if not rung.hold_s and not rung.tempo_s:
        fields.reader.fault(fields.node, "rung", "a rung needs 'hold_s' or 'tempo_s': it takes no time so")
    fields.finish()
    return rung


def _by_grade(fields: Fields, key: str, low: int, high: int) -> Mapping[Irritability, int]:
    found = fields.numbers(key, GRADES, low, high) or {}
    if missing := [grade for grade in GRADES if grade not in found]:
        fields.reader.fault(fields.node, "missing", f"{key!r} has no {', '.join(missing)}")
    return {grade: int(found.get(grade, low)) for grade in GRADES}


def read_ladder(fields: Fields, key: str) -> Ladder:
    """A ladder with its rungs, days, parts and source."""
    node = fields.need("rungs")
    rungs = (
        [read_rung(Fields(fields.reader, item, "the rung")) for item in fields.reader.sequence(node)] if node else []
    )
    ages_node = fields.node_of("ages")
    ages: dict[AgeGroup, str] = {}
    if ages_node is not None:
        inner = Fields(fields.reader, ages_node, "'ages'")
        for age in AGES:
            if other := inner.ref(age, "ladders"):
                ages[age] = other
        inner.finish()
    return Ladder(
        id=key,
        name=fields.text("name"),
        rungs=tuple(rungs),
        wanted_per_week=fields.whole("wanted_per_week", 1, 7),
        least_per_week=fields.whole("least_per_week", 1, 7),
        gap_days=fields.whole("gap_days", 1, 7, 1),
        parts=cast(tuple[Part, ...], fields.choices("parts", get_args(Part))),
        climb_days=_by_grade(fields, "climb_days", 1, 60),
        start_rung=_by_grade(fields, "start_rung", 0, max(0, len(rungs) - 1)),
        source=read_mark(fields),
        where=fields.reader.place(fields.node),
        gap_exempt=fields.flag("gap_exempt", False),
        heavy_lengthening=fields.flag("heavy_lengthening", False),
        ages=ages,
        ceiling=fields.text("ceiling", ""),
        note=fields.text("note", ""),
    )
