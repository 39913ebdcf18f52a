"""What a posed body plainly asks of the athlete, in the trait words that cautions look at."""

from __future__ import annotations

from collections.abc import Sequence
from math import hypot

from homecare.core.pose import SIDES, Angles, Contact, Stance
from homecare.figure.limits import LIMITS
from homecare.figure.room import SURFACES

END_OF_RANGE = 0.8
OVERHEAD, OUT, TURNED_OUT, ARCHED, ON_ALL_FOURS = 120.0, 70.0, 60.0, 20.0, 60.0
"""Degrees: the upper arm overhead; out to the side and turned out (the position in which an unstable shoulder slips);
the back bent backward; hips bent over the knees. Like the share of a range that counts as its end, common practice."""
_GROUND = ("floor", "mat")
_FEET = ("heel", "sole", "ball", "toes", "big_toe", "inner_foot", "outer_foot")
_HANDS = ("palm", "fingertips", "hand_edge", "thumb_side", "wrist", "wrist_palm")
_CHEST = ("chest", "breastbone", "belly", "pelvis_front", "chest_side")
_BACK = ("sacrum", "upper_back", "mid_back", "low_back", "back_of_head", "shoulder_blade")
_SEAT = ("sitting_bone", "buttock", "hips", "hip_outer", "back_pocket")


def implied_traits(angles: Angles, stance: Stance, contacts: Sequence[Contact]) -> set[str]:
    """Trait ids that a pose plainly has; one that is in doubt is not named."""
    return _of_place(angles, stance, contacts) | _of_spine(angles) | _of_arms(angles)


def _of_place(angles: Angles, stance: Stance, contacts: Sequence[Contact]) -> set[str]:
    touching = [(_part(one.point), one) for one in contacts if one.on in SURFACES]
    ground = {part for part, one in touching if one.on in _GROUND}
    whole = {part for part, one in touching if not one.tool}
    found = set()
    if stance == "prone" and whole & set(_CHEST):
        found.add("prone")
    if stance == "supine" and whole & set(_BACK):
        found.add("supine")
    lies = stance == "supine" or stance.endswith("_side") or bool(whole & set(_CHEST))
    hips_bent = any(angles.get(f"{side}_hip.flex", 0.0) >= ON_ALL_FOURS for side in SIDES)
    if "knee" in ground and not lies and (stance == "upright" or hips_bent):
        found.add("kneeling")
    if ground - set(_FEET) - set(_HANDS):
        found.add("floor")
    if ground & {"palm"} and not lies and not whole & set(_SEAT):
        found.add("weight_on_hand")
    feet = {one.point.partition("_")[0] for part, one in touching if part in _FEET}
    if stance == "upright" and len(feet) == 1 and not {part for part, _ in touching} - set(_FEET) - set(_HANDS):
        found.add("balance")
    return found


def _of_spine(angles: Angles) -> set[str]:
    found = set()
    neck, trunk = ("neck", "head"), ("lumbar", "thoracic")
    if any(_share(angles, neck, axis) >= END_OF_RANGE for axis in ("flex", "bend", "turn")):
        found.add("end_range_neck")
    bent = sum(angles.get(f"{joint}.flex", 0.0) for joint in trunk)
    if bent > 0 and max(_share(angles, trunk, "flex"), _share(angles, ("lumbar",), "flex")) >= END_OF_RANGE:
        found.add("spine_flexion")
    if -bent >= ARCHED:
        found.add("spine_extension")
    if _share(angles, trunk, "turn") >= END_OF_RANGE:
        found.add("spine_rotation")
    return found


def _share(angles: Angles, joints: Sequence[str], axis: str) -> float:
    """How far the joints together go, as a share of their published range that way."""
    value = sum(angles.get(f"{joint}.{axis}", 0.0) for joint in joints)
    limits = [LIMITS[f"{joint}.{axis}"] for joint in joints]
    most = sum(limit.high for limit in limits) if value > 0 else -sum(limit.low for limit in limits)
    return abs(value) / most


def _of_arms(angles: Angles) -> set[str]:
    found = set()
    for side in SIDES:
        flex, abd, turn = (angles.get(f"{side}_shoulder.{axis}", 0.0) for axis in ("flex", "abd", "ir"))
        if hypot(flex, abd) >= OVERHEAD:
            found.add("overhead")
        if abd >= OUT and turn <= -TURNED_OUT:
            found.add("turned_out_shoulder")
    return found


def _part(point: str) -> str:
    side, _, rest = point.partition("_")
    return (rest if side in SIDES else point).partition("@")[0]
