"""Each motion word in plain terms: its opposite, the joint it happens at, how a pose shows it, how to ask for it."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache

from homecare.figure.limits import LIMITS
from homecare.figure.motions import motions

_SAID: Mapping[str, tuple[str, str, str]] = {
    "neck_flexion": ("neck", "the neck is bent forward", "bend the neck forward"),
    "neck_extension": ("neck", "the neck is bent back", "bend the neck back"),
    "neck_bend_away": ("neck", "the neck is bent away from this side", "bend the neck away from this side"),
    "neck_bend_toward": ("neck", "the neck is bent toward this side", "bend the neck toward this side"),
    "neck_turn_away": ("neck", "the face is turned away from this side", "turn the face away from this side"),
    "neck_turn_toward": ("neck", "the face is turned toward this side", "turn the face toward this side"),
    "trunk_flexion": ("spine", "the back is bent forward", "round the back"),
    "trunk_extension": ("spine", "the back is arched", "arch the back"),
    "trunk_bend_away": ("spine", "the trunk is bent away from this side", "bend the trunk away from this side"),
    "trunk_bend_toward": ("spine", "the trunk is bent toward this side", "bend the trunk toward this side"),
    "trunk_turn_away": ("spine", "the trunk is turned away from this side", "turn the trunk away from this side"),
    "trunk_turn_toward": ("spine", "the trunk is turned toward this side", "turn the trunk toward this side"),
    "scapula_depression": ("shoulder_blade", "the shoulder blade is drawn down", "draw the shoulder blade down"),
    "scapula_elevation": ("shoulder_blade", "the shoulder blade is raised", "raise the shoulder blade"),
    "scapula_retraction": ("shoulder_blade", "the shoulder blade is drawn back", "draw the shoulder blade back"),
    "scapula_protraction": ("shoulder_blade", "the shoulder blade is drawn forward", "draw the shoulder blade forward"),
    "shoulder_flexion": ("shoulder", "the arm is raised forward", "raise the arm forward"),
    "shoulder_extension": ("shoulder", "the arm is behind the body", "take the arm back"),
    "shoulder_abduction": ("shoulder", "the arm is out to the side", "take the arm out to the side"),
    "shoulder_adduction": ("shoulder", "the arm is across the body", "bring the arm across the body"),
    "shoulder_external_rotation": ("shoulder", "the arm is turned out", "turn the arm out"),
    "shoulder_internal_rotation": ("shoulder", "the arm is turned in", "turn the arm in"),
    "elbow_flexion": ("elbow", "the elbow is bent", "bend the elbow"),
    "elbow_extension": ("elbow", "the elbow is over-straight", "straighten the elbow"),
    "supination": ("elbow", "the palm is turned up", "turn the palm up"),
    "pronation": ("elbow", "the palm is turned down", "turn the palm down"),
    "wrist_extension": ("wrist", "the wrist is bent back", "bend the wrist back"),
    "wrist_flexion": ("wrist", "the wrist is bent toward the palm", "bend the wrist toward the palm"),
    "ulnar_deviation": ("wrist", "the hand leans to the little finger", "lean the hand to the little finger"),
    "radial_deviation": ("wrist", "the hand leans to the thumb", "lean the hand to the thumb"),
    "finger_extension": ("hand", "the fingers are bent back", "bend the fingers back"),
    "finger_flexion": ("hand", "the fingers are closed", "close the fingers"),
    "thumb_extension": ("hand", "the thumb is bent back", "bend the thumb back"),
    "thumb_flexion": ("hand", "the thumb is bent", "bend the thumb"),
    "hip_flexion": ("hip", "the hip is bent", "bend the hip"),
    "hip_extension": ("hip", "the thigh is behind the body", "take the thigh back"),
    "hip_abduction": ("hip", "the thigh is out to the side", "take the thigh out to the side"),
    "hip_adduction": ("hip", "the thigh is across the middle", "bring the thigh across the middle"),
    "hip_internal_rotation": ("hip", "the hip is turned in", "turn the hip in"),
    "hip_external_rotation": ("hip", "the hip is turned out", "turn the hip out"),
    "knee_flexion": ("knee", "the knee is bent", "bend the knee"),
    "knee_extension": ("knee", "the knee is over-straight", "straighten the knee"),
    "ankle_dorsiflexion": ("ankle", "the foot is pulled up", "pull the foot up"),
    "ankle_plantarflexion": ("ankle", "the foot is pointed", "point the foot"),
    "inversion": ("ankle", "the sole is turned in", "turn the sole in"),
    "eversion": ("ankle", "the sole is turned out", "turn the sole out"),
    "toe_extension": ("big_toe", "the toes are bent up", "bend the toes up"),
    "toe_flexion": ("big_toe", "the toes are bent down", "bend the toes down"),
}
_PAIRS = (
    *(("flexion", "extension"), ("away", "toward"), ("depression", "elevation"), ("protraction", "retraction")),
    *(("abduction", "adduction"), ("internal_rotation", "external_rotation"), ("supination", "pronation")),
    *(("ulnar_deviation", "radial_deviation"), ("dorsiflexion", "plantarflexion"), ("inversion", "eversion")),
    ("upward_rotation", "downward_rotation"),
)
_OVER = {one: two for pair in _PAIRS for one, two in (pair, pair[::-1])}
SPINE_JOINTS = ("lumbar_spine", "thoracic_spine")


def opposite(motion: str) -> str:
    """The motion word the other way at the same joint."""
    for ending in sorted(_OVER, key=len, reverse=True):
        if motion.endswith(ending):
            return motion.removesuffix(ending) + _OVER[ending]
    raise KeyError(motion)


def happens_at(motion: str, joint: str) -> bool:
    """Whether a motion is one of the joint (an id of the atlas); both parts of the back share those of the trunk."""
    if motion not in _SAID:
        return joint == "shoulder_blade" and motion.startswith("scapula")
    at = _SAID[motion][0]
    return joint in SPINE_JOINTS if at == "spine" else joint == at


def shown(motion: str, degrees: float) -> str:
    """How a pose shows a motion: "the knee is bent 40 degrees"."""
    return f"{_SAID[motion][1]} {degrees:.0f} degrees"


def asked(motion: str) -> str:
    """How to ask for a motion: "straighten the knee"."""
    return _SAID[motion][2]


def sayable(motion: str) -> bool:
    """Whether a pose can show the motion at all; the shoulder blade's rotation it cannot."""
    return motion in _SAID


@lru_cache(maxsize=1)
def greatest() -> Mapping[str, float]:
    """Motion word to the most degrees of it that the published ranges allow."""
    high = motions({name: limit.high for name, limit in LIMITS.items()}, "right")
    return {**motions({name: limit.low for name, limit in LIMITS.items()}, "right"), **high}
