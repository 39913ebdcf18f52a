"""How far each joint goes in published ranges, how stiff it is when a pose is set down, and what lies beyond.

Where publications clash the wider value stands and the clash is noted, so that no honest pose is refused. AAOS is
Joint Motion 1965 and Greene and Heckman 1994; AMA and Boone and Azen 1979 as printed beside it in Norkin and White,
Measurement of Joint Motion, table A.1; 38 CFR the plates of the US rating schedule.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from homecare.core.atlas import Mark, MarkKind
from homecare.core.pose import COORDINATES, SIDES, Angles

_TABLE = "Norkin and White, Measurement of Joint Motion, table A.1"
_SOUCIE = "Soucie JM et al. 2011, Haemophilia 17:500-7"
_NEUMANN = "Neumann DA, Kinesiology of the Musculoskeletal System 3e"
_KAPANDJI = "Kapandji AI, The Physiology of the Joints"


@dataclass(frozen=True)
class Limit:
    """The published range of one coordinate in degrees, its source with its mark, and where publications clash."""

    low: float
    high: float
    source: Mark
    clash: str = ""


def _limit(low: float, high: float, kind: MarkKind, cite: str = "", clash: str = "") -> Limit:
    return Limit(low, high, Mark(kind, cite), clash)


_TRUNK: Mapping[str, Limit] = {
    "lumbar.flex": _limit(
        *(-25, 60, "from memory", "AMA Guides to the Evaluation of Permanent Impairment 5e: flexion 60, extension 25"),
        "measured with a surface goniometer 69.9 and 40 (Apti A 2023)",
    ),
    "lumbar.bend": _limit(
        -25,
        25,
        "from memory",
        "AMA Guides to the Evaluation of Permanent Impairment 5e: side bend 25",
        "measured 36 (Apti A 2023)",
    ),
    "lumbar.turn": _limit(
        *(-10, 10, "common practice", ""), "5 to 7 by segments (Neumann), 38 at the skin (Apti A 2023)"
    ),
    "thoracic.flex": _limit(
        *(
            -15,
            30,
            "from memory",
            f"38 CFR: back flexion 90 less 60 of the lumbar spine; extension 15 to 20, {_NEUMANN}",
        ),
        "whole back: AAOS flexion 80, extension 25; 38 CFR 90 and 30; measured extension 40 (Apti A 2023)",
    ),
    "thoracic.bend": _limit(
        *(-10, 10, "from memory", "AAOS: whole back side bend 35, less 25 of the lumbar spine"), "38 CFR 30"
    ),
    "thoracic.turn": _limit(
        *(-35, 35, "from memory", "AAOS: whole back rotation 45, less 10 of the lumbar spine"), "38 CFR 30"
    ),
    "neck.flex": _limit(
        *(-40, 44, "read", "young men, meta-analysis: whole neck flexion 64, extension 63, less the head's part"),
        "AAOS 45 and 45; measured 57.7 and 59.1 (Apti A 2023)",
    ),
    "neck.bend": _limit(
        *(-40, 40, "read", "young men, meta-analysis: whole neck side bend 49, less the head's part"),
        "AAOS 45; measured 42 (Apti A 2023)",
    ),
    "neck.turn": _limit(
        *(-40, 40, "from memory", "38 CFR: whole neck rotation 80, half of it below the second vertebra"),
        "AAOS 60; measured 71 (Apti A 2023)",
    ),
    "head.flex": _limit(-23, 20, "common practice", "", f"the two highest joints: 10 and 20 ({_NEUMANN}, from memory)"),
    "head.bend": _limit(-9, 9, "common practice", "", f"the two highest joints: 5 ({_NEUMANN}, from memory)"),
    "head.turn": _limit(-40, 40, "from memory", f"{_NEUMANN}: 35 to 40 between the first two vertebrae"),
}
_LIMB: Mapping[str, Limit] = {
    "girdle.elev": _limit(-10, 45, "from memory", f"{_NEUMANN}: clavicle up 35 to 45, down 10"),
    "girdle.prot": _limit(-30, 30, "from memory", f"{_NEUMANN}: clavicle forward and back 15 to 30"),
    "shoulder.flex": _limit(
        -62, 180, "read", _TABLE, "extension AMA 50, AAOS 60, Boone and Azen 62; flexion 167 to 180"
    ),
    "shoulder.abd": _limit(
        *(-75, 184, "from memory", f"AAOS: adduction across the front 75; abduction {_TABLE} (read)"),
        "abduction AMA 170, AAOS 180, Boone and Azen 184",
    ),
    "shoulder.ir": _limit(
        *(-104, 80, "read", _TABLE),
        "internal Boone and Azen 69, AAOS 70, AMA 80; external AMA 60, AAOS 90, Boone and Azen 104",
    ),
    "elbow.flex": _limit(0, 150, "read", f"{_TABLE}: AAOS", "AMA 140, Boone and Azen 143; Merck's 160 is left out"),
    "forearm.pron": _limit(
        *(-91, 82, "from memory", f"{_SOUCIE}: passive, women 20 to 44"),
        "AAOS and AMA 80 and 80, Boone and Azen 82 and 76",
    ),
    "wrist.flex": _limit(
        *(-85, 80, "from memory", f"{_KAPANDJI}: extension 85; flexion 80 AAOS, {_TABLE} (read)"),
        "extension AMA 60, AAOS 70, Boone and Azen 75; flexion AMA 60",
    ),
    "wrist.uln": _limit(-22, 36, "read", f"{_TABLE}: Boone and Azen", "AAOS and AMA 20 and 30; Merck's 65 is left out"),
    "fingers.flex": _limit(-45, 90, "from memory", "AAOS: knuckles", "Merck extension 30"),
    "fingers.curl": _limit(0, 100, "from memory", "AAOS: middle joints", "Merck 120"),
    "fingers.spread": _limit(0, 25, "common practice"),
    "thumb.flex": _limit(-20, 60, "common practice"),
    "thumb.abd": _limit(0, 70, "from memory", "AAOS"),
    "hip.flex": _limit(
        *(-30, 134, "from memory", f"AAOS: extension 30; {_SOUCIE}: flexion, passive, women 20 to 44"),
        "extension Merck 15, Soucie 18; flexion AAOS 120, Merck and 38 CFR 125",
    ),
    "hip.abd": _limit(
        -30, 45, "from memory", "AAOS", "adduction 38 CFR 25; Merck's 45 is wide of the others, left out"
    ),
    "hip.ir": _limit(
        -60, 45, "read", "a public table after the plates of 38 CFR", "external AAOS and Merck 45; internal 40"
    ),
    "knee.flex": _limit(
        *(
            0,
            150,
            "from memory",
            "Mulholland SJ, Wyss UP 2001, Int J Rehabil Res 24:191-8: under body weight in kneeling",
        ),
        "unloaded Merck 130, AAOS 135, 38 CFR 140, Soucie 142; kneeling 111 to 165",
    ),
    "ankle.df": _limit(
        *(
            -62,
            38,
            "from memory",
            f"Bennell KL et al. 1998, Aust J Physiother 44:175-80: weight-bearing lunge; {_SOUCIE}",
        ),
        "upward unloaded AAOS and Merck 20, Soucie 14; downward 38 CFR 45, AAOS and Merck 50, Soucie 62",
    ),
    "foot.inv": _limit(-25, 35, "read", "Merck Manual, ranges of joint motion", "eversion AAOS 15"),
    "toes.flex": _limit(
        *(-90, 45, "from memory", f"{_KAPANDJI}: extension, passive; AAOS: flexion"), "extension of the big toe AAOS 70"
    ),
}


def _limits() -> dict[str, Limit]:
    paired = {f"{side}_{name}": limit for side in SIDES for name, limit in _LIMB.items()}
    return {**_TRUNK, **paired}


LIMITS: Mapping[str, Limit] = _limits()
"""The range of every coordinate but the root's. The spine's joints add up to the published range of the whole."""
ARM_RAISED = _limit(0, 184, "read", f"{_TABLE}: abduction, Boone and Azen", "AMA 170, AAOS 180")
"""How far the upper arm is raised in whatever direction: its flexion and abduction taken as one turn."""
UNLOADED: Mapping[str, tuple[float, float]] = {
    "hip.flex": (-30, 120),
    "knee.flex": (0, 140),
    "ankle.df": (-50, 20),
    "toes.flex": (-70, 45),
}
"""Ranges of a limb without body weight on it, where `LIMITS` are wider (AAOS; the knee 38 CFR)."""

_STIFF: Mapping[str, float] = {"root": 3, "lumbar": 6, "thoracic": 6, "neck": 6, "head": 6, "girdle": 3}
_ROUNDING = 0.05


def stiffness(coordinate: str) -> float:
    """How hardly a joint gives way when a pose is set on its contacts; 1 is an ordinary joint (common practice)."""
    joint, _, axis = coordinate.partition(".")
    limb = joint.partition("_")[2] or joint
    return 1.5 if (limb, axis) == ("hip", "ir") else _STIFF.get(limb, 1.0)


def beyond(angles: Angles) -> list[tuple[str, float, Limit]]:
    """Coordinates outside their range, with their value; an arm raised too far in all is `right_shoulder.raised`."""
    found = [
        (name, angles[name], LIMITS[name])
        for name in COORDINATES
        if name in angles and name in LIMITS and not _within(angles[name], LIMITS[name])
    ]
    for side in SIDES:
        raised = math.hypot(angles.get(f"{side}_shoulder.flex", 0.0), angles.get(f"{side}_shoulder.abd", 0.0))
        if not _within(raised, ARM_RAISED):
            found.append((f"{side}_shoulder.raised", raised, ARM_RAISED))
    return found


def _within(value: float, limit: Limit) -> bool:
    return limit.low - _ROUNDING <= value <= limit.high + _ROUNDING
