"""Whether a symptom has spread along its limb since the last visit, or gone numb: then it is for a doctor first."""

from __future__ import annotations

from collections.abc import Mapping

from homecare.core.atlas import Atlas, OneSide, each_side, regions_limb
from homecare.core.findings import SymptomFinding, Visit
from homecare.core.last import LastPlan
from homecare.core.plain import listed

Spread = Mapping[tuple[SymptomFinding, OneSide], str]
"""Symptoms that have spread, by side, with the words for the letter."""


def spread(visit: Visit, last: LastPlan | None, atlas: Atlas) -> Spread:
    """Symptoms that reach further along the limb than at the last visit, or are numb where nothing was (Butler 2000;
    Nee and Butler 2006, Phys Ther Sport 7:36-49; both from memory)."""
    found = {}
    for symptom in visit.symptoms if last else ():
        for side in each_side(symptom.side):
            words = _words(symptom, side, last, atlas) if last else None
            if words:
                found[symptom, side] = words
    return found


def _words(symptom: SymptomFinding, side: OneSide, last: LastPlan, atlas: Atlas) -> str | None:
    limbs = {limb for zone in symptom.zones for limb in regions_limb(atlas.zones[zone].region)}
    before = [
        one
        for one in last.symptoms
        if side in each_side(one.side)
        and any(zone in atlas.zones and atlas.zones[zone].region in limbs for zone in one.zones)
    ]
    if not before:
        return None
    known = {zone for one in before for zone in one.zones}
    new = [atlas.zones[zone].plain for zone in symptom.zones if zone not in known]
    where = "" if side == "none" else f"{side} "
    if new:
        return (
            f"Since the last visit the {symptom.symptom} has spread to the {where}{listed(new)}. "
            "Please examine power, reflexes and feeling."
        )
    if symptom.symptom == "numbness" and not any(one.symptom == "numbness" for one in before):
        places = listed([atlas.zones[zone].plain for zone in symptom.zones])
        return f"Since the last visit the {where}{places} has gone numb. Please examine power, reflexes and feeling."
    return None
