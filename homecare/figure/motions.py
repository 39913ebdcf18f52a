"""A pose's coordinates said in the motion words of poses, actions and nerve beds, for one side of the body."""

from __future__ import annotations

from collections.abc import Mapping

from homecare.core.pose import Angles

_LIMB: Mapping[str, tuple[str, str]] = {
    "girdle.elev": ("scapula_elevation", "scapula_depression"),
    "girdle.prot": ("scapula_protraction", "scapula_retraction"),
    "shoulder.flex": ("shoulder_flexion", "shoulder_extension"),
    "shoulder.abd": ("shoulder_abduction", "shoulder_adduction"),
    "shoulder.ir": ("shoulder_internal_rotation", "shoulder_external_rotation"),
    "elbow.flex": ("elbow_flexion", "elbow_extension"),
    "forearm.pron": ("pronation", "supination"),
    "wrist.flex": ("wrist_flexion", "wrist_extension"),
    "wrist.uln": ("ulnar_deviation", "radial_deviation"),
    "thumb.flex": ("thumb_flexion", "thumb_extension"),
    "hip.flex": ("hip_flexion", "hip_extension"),
    "hip.abd": ("hip_abduction", "hip_adduction"),
    "hip.ir": ("hip_internal_rotation", "hip_external_rotation"),
    "knee.flex": ("knee_flexion", "knee_extension"),
    "ankle.df": ("ankle_dorsiflexion", "ankle_plantarflexion"),
    "foot.inv": ("inversion", "eversion"),
    "toes.flex": ("toe_flexion", "toe_extension"),
}
"""Coordinate of one limb to its motion words: above zero, below zero."""
_SPINE: Mapping[str, tuple[str, str]] = {"neck": ("neck", "head"), "trunk": ("lumbar", "thoracic")}
_SMALLEST = 1e-9


def motions(angles: Angles, side: str) -> dict[str, float]:
    """Motion word to degrees (above 0) from the anatomical stance, for the side "left" or "right"; zeros are left out.

    Of two opposite words only the one that the joint is in appears, as the drills are written and the nerve beds
    count: a bed names both directions with shares of their own, and one it does not name leaves the nerve alone. So a
    straight knee is no word at all, and only a knee bent backwards is `knee_extension`. Neck and head, lumbar and
    thoracic spine are added up. Bending or turning to the right is toward the right side and away from the left.
    A bent finger counts as the mean of its knuckle and its curl (a fist of 90 and 90 is 90); a finger bent back counts
    as its knuckle. The arm on the shoulder blade says no upward rotation of its own.
    """
    found: dict[str, float] = {}

    def say(value: float, above: str, below: str) -> None:
        if abs(value) > _SMALLEST:
            found[above if value > 0 else below] = abs(value)

    toward = 1 if side == "right" else -1
    for part, joints in _SPINE.items():
        flex, bend, turn = (
            sum(angles.get(f"{joint}.{axis}", 0.0) for joint in joints) for axis in ("flex", "bend", "turn")
        )
        say(flex, f"{part}_flexion", f"{part}_extension")
        say(bend * toward, f"{part}_bend_toward", f"{part}_bend_away")
        say(-turn * toward, f"{part}_turn_toward", f"{part}_turn_away")
    for coordinate, (above, below) in _LIMB.items():
        say(angles.get(f"{side}_{coordinate}", 0.0), above, below)
    knuckle, curl, spread = (angles.get(f"{side}_fingers.{axis}", 0.0) for axis in ("flex", "curl", "spread"))
    bent = knuckle + curl
    say(bent / 2 if bent > 0 else bent, "finger_flexion", "finger_extension")
    if spread > _SMALLEST:
        found["finger_abduction"] = spread
    return found
