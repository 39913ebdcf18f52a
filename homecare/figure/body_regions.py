"""The regions of the body that can be pressed: what each is called, where it lies, and the skin that it has."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

View = Literal["front", "back"]
Spot = tuple[str, float, float, float]


@dataclass(frozen=True)
class Region:
    """A part of the body that is pressed as one: its words, where it lies (a frame and metres in it, y outwards), and
    the zones of skin in it. `paired` ones stand on either side. `middle` is where its tissues lie around, where that is
    not the place to press: those keep apart for a thumb."""

    id: str
    words: str
    view: View
    at: Spot
    zones: tuple[str, ...] = ()
    paired: bool = True
    middle: Spot | None = None


REGIONS = (
    Region("neck_front", "side of the neck", "front", ("neck", 0.02, 0.075, 0.03), ("neck",)),
    Region("shoulder_front", "top of the shoulder", "front", ("upper_arm", 0.03, 0.043, 0.0), ("shoulder_top",)),
    Region("chest", "chest", "front", ("thorax", 0.1, 0.074, -0.012), (), middle=("thorax", 0.1, 0.075, 0.0)),
    Region(
        "belly", "belly and hip flexors", "front", ("pelvis", 0.1, 0.078, 0.145), (), middle=("pelvis", 0.1, 0.055, 0.1)
    ),
    Region(
        "upper_arm_front",
        "front of the upper arm",
        "front",
        ("upper_arm", 0.03, 0.0, -0.138),
        ("lateral_arm", "medial_arm", "armpit"),
    ),
    Region("elbow_front", "front of the elbow", "front", ("elbow", 0.03, 0.0, 0.0), ("lateral_elbow",)),
    Region(
        "forearm_front",
        "front of the forearm",
        "front",
        ("elbow", 0.03, 0.0, -0.152),
        ("anterior_forearm", "lateral_forearm", "medial_forearm"),
        middle=("elbow", 0.03, 0.0, -0.13),
    ),
    Region(
        "palm",
        "palm and fingers",
        "front",
        ("hand", 0.0, 0.0, -0.075),
        (
            "digit_1",
            "digit_2",
            "digit_3",
            "digit_4",
            "digit_4_radial",
            "digit_4_ulnar",
            "digit_5",
            "thenar",
            "hypothenar",
            "palm_radial",
            "palm_ulnar",
        ),
    ),
    Region(
        "groin",
        "groin",
        "front",
        ("pelvis", 0.1, 0.076, 0.0),
        ("groin", "saddle"),
        middle=("pelvis", 0.1, 0.06, -0.015),
    ),
    Region(
        "thigh_outer",
        "outer side of the thigh and hip",
        "front",
        ("thigh", 0.0, 0.106, -0.169),
        ("lateral_thigh",),
        middle=("thigh", 0.0, 0.075, -0.07),
    ),
    Region(
        "thigh_front",
        "front of the thigh",
        "front",
        ("thigh", 0.07, 0.03, -0.297),
        ("anterior_thigh",),
        middle=("thigh", 0.07, 0.0, -0.22),
    ),
    Region(
        "thigh_inner",
        "inner side of the thigh",
        "front",
        ("thigh", 0.03, -0.03, -0.136),
        ("medial_thigh",),
        middle=("thigh", 0.03, -0.055, -0.14),
    ),
    Region("knee_front", "front of the knee", "front", ("shank", 0.05, 0.0, -0.008), ("medial_knee",)),
    Region("shin", "shin", "front", ("shank", 0.04, 0.0, -0.19), ("medial_shin", "lateral_shin")),
    Region(
        "foot_top",
        "top of the foot and toes",
        "front",
        ("foot", 0.1, 0.01, -0.03),
        ("foot_top", "first_web_of_foot", "big_toe", "toes_middle", "lateral_foot", "ankle_outer"),
    ),
    Region("neck_back", "back of the neck", "back", ("neck", -0.05, 0.072, 0.03), ("neck",)),
    Region("shoulder_back", "back of the shoulder", "back", ("upper_arm", -0.03, 0.0, -0.03), ("shoulder_top",)),
    Region(
        "shoulder_blade",
        "shoulder blade",
        "back",
        ("thorax", -0.1, 0.085, -0.12),
        ("shoulder_blade",),
        middle=("thorax", -0.1, 0.085, 0.03),
    ),
    Region(
        "upper_back",
        "upper back",
        "back",
        ("thorax_low", -0.1, 0.0, 0.158),
        (),
        paired=False,
        middle=("thorax_low", -0.1, 0.0, 0.08),
    ),
    Region("low_back", "low back", "back", ("lumbar", -0.1, 0.076, 0.006), (), middle=("lumbar", -0.1, 0.045, 0.06)),
    Region("upper_arm_back", "back of the upper arm", "back", ("upper_arm", -0.03, 0.0, -0.174), ("lateral_arm",)),
    Region("elbow_back", "back of the elbow", "back", ("elbow", -0.03, 0.0, -0.026), ("lateral_elbow",)),
    Region("forearm_back", "back of the forearm", "back", ("elbow", -0.03, 0.0, -0.18), ("posterior_forearm",)),
    Region(
        "hand_back", "back of the hand", "back", ("hand", 0.0, 0.0, -0.075), ("hand_back_radial", "hand_back_ulnar")
    ),
    Region(
        "buttock", "buttock", "back", ("pelvis", -0.1, 0.08, -0.05), ("buttock",), middle=("pelvis", -0.1, 0.08, 0.005)
    ),
    Region("thigh_back", "back of the thigh", "back", ("thigh", -0.07, 0.0, -0.22), ("posterior_thigh",)),
    Region("knee_back", "back of the knee", "back", ("shank", -0.05, 0.0, 0.0), ("posterior_knee",)),
    Region("calf", "calf", "back", ("shank", -0.05, 0.0, -0.16), ("calf",)),
    Region(
        "heel",
        "heel, ankle and sole",
        "back",
        ("foot", -0.05, 0.0, -0.02),
        ("heel", "sole", "medial_sole", "lateral_sole", "ankle_outer"),
    ),
)
"""Every region (our own cut of the body: each large enough for a thumb, and named as a patient would)."""
