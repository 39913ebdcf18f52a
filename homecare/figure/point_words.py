"""Points of the body, surfaces, tools and things held, in the words an athlete would use."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from homecare.core.pose import SIDES
from homecare.figure.room import SURFACES

_POINTS: Mapping[str, str] = {
    "sole": "foot",
    "ball": "front of the foot",
    "big_toe": "big toe",
    "instep": "top of the foot",
    "inner_foot": "inner edge of the foot",
    "outer_foot": "outer edge of the foot",
    "ankle_front": "front of the ankle",
    "ankle_outer": "outer ankle",
    "ankle_inner": "inner ankle",
    "knee_inner": "inner knee",
    "knee_outer": "outer knee",
    "knee_back": "back of the knee",
    "hip_outer": "side of the hip",
    "hip_front": "front of the hip",
    "sitting_bone": "seat",
    "back_pocket": "buttock",
    "shoulder_top": "top of the shoulder",
    "shoulder_blade": "shoulder blade",
    "chest_side": "{} side of the chest",
    "ribs": "{} ribs",
    "low_back_side": "{} side of the low back",
    "elbow_inner": "inner elbow",
    "elbow_outer": "outer elbow",
    "wrist_palm": "wrist",
    "wrist_back": "back of the wrist",
    "palm": "hand",
    "hand_back": "back of the hand",
    "hand_edge": "edge of the hand",
    "fingertips": "fingers",
    "thumb_side": "thumb",
    "neck_side": "{} side of the neck",
    "pelvis_front": "front of the hips",
    "low_back": "low back",
    "mid_back": "middle of the back",
    "upper_back": "upper back",
    "neck_back": "back of the neck",
    "skull_base": "base of the skull",
    "back_of_head": "back of the head",
    "thigh_front": "front of the thigh",
    "thigh_back": "back of the thigh",
    "thigh_outer": "outer thigh",
    "thigh_inner": "inner thigh",
    "shank_front": "shin",
    "shank_back": "calf",
    "shank_outer": "outer shin",
    "shank_inner": "inner shin",
    "upper_arm_front": "front of the upper arm",
    "upper_arm_back": "back of the upper arm",
    "upper_arm_outer": "outer upper arm",
    "upper_arm_inner": "inner upper arm",
    "forearm_front": "thumb side of the forearm",
    "forearm_back": "little finger side of the forearm",
    "forearm_outer": "back of the forearm",
    "forearm_inner": "palm side of the forearm",
    "sacrum": "back of the hips",
}
"""Name of a point without its side to plain words, where the name itself is not the word; {} is where the side goes."""
_SURFACES: Mapping[str, str] = {
    "floor": "the floor",
    "mat": "the floor",
    "step": "a step",
    "chair": "the chair",
    "bench": "a bench",
    "bed": "the bed",
    "table": "a table",
    "wall": "the wall",
    "wall_behind": "the wall behind",
    "wall_left": "the wall at the left",
    "wall_right": "the wall at the right",
    "doorway": "a door frame",
    "corner": "the walls of a corner",
}
_TOOLS: Mapping[str, str] = {
    "roller": "a roller",
    "ball": "a small ball",
    "big_ball": "a ball",
    "towel_roll": "a rolled towel",
    "thin_towel": "a thinly rolled towel",
    "cushion": "a cushion",
}
_THINGS: Mapping[str, str] = {
    "strap": "a strap",
    "band": "a band",
    "towel": "a towel",
    "towel_roll": "a rolled towel",
    "stick": "a stick",
    "dumbbell": "a weight",
    "cushion": "a cushion",
    "post": "a post or door",
}


def point_in_words(point: str) -> str:
    """A point of the body with its side: "right front of the thigh" is said "front of the right thigh"."""
    side, _, rest = point.partition("_")
    if side not in SIDES:
        side, rest = "", point
    plain = _POINTS.get(name := rest.partition("@")[0], name.replace("_", " "))
    if "{}" in plain:
        return plain.format(side)
    if not side or plain == "seat":
        return plain
    before, the, after = plain.partition(" of the ")
    return f"{before} of the {side} {after}" if the else f"{side} {plain}"


def surface_in_words(name: str) -> str:
    """A surface of the room, or another point of the body."""
    return _SURFACES[name] if name in SURFACES else f"the {point_in_words(name)}"


def tool_in_words(tool: str) -> str:
    """What lies between the body and a surface."""
    return _TOOLS[tool]


def thing_in_words(thing: str, points: Sequence[str]) -> str:
    """A thing that is held or worn: "a strap from the right hand to the front of the right foot"."""
    places = list(dict.fromkeys(point_in_words(one) for one in points if not one.startswith("at:")))
    if not places:
        return f"with {_THINGS[thing]}"
    if len(places) == 1:
        return f"{_THINGS[thing]} at the {places[0]}"
    return f"{_THINGS[thing]} from the {places[0]} to the {places[-1]}"
