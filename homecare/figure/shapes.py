"""The body as pieces on its frames: trunk, head, arms and legs with shirt and shorts."""

from __future__ import annotations

from functools import lru_cache

from homecare.figure.hands import HAND_FRAMES, fingered, mitt
from homecare.figure.pieces import BALL, CAP, DISC, WORLD, Join, Local, Piece, Prim
from homecare.figure.skeleton import FRAMES, LENGTHS

ALL_FRAMES = (*FRAMES, *HAND_FRAMES, WORLD)
FRAME_INDEX = {name: number for number, name in enumerate(ALL_FRAMES)}
_SIDES = (("left", 1), ("right", -1))
HAIR_WAY: Local = (-0.62, 0.0, 0.78)
"""The way in which the hair's cap sits on the head."""
_SKULL: Local = (-0.004, 0.0, 0.085)

Spot = tuple[float, float, float, float]


def _balls(frame: str, *spots: Spot) -> tuple[Prim, ...]:
    return tuple(Prim(BALL, frame, (x, y, z), r) for x, y, z, r in spots)


def _both(frame: str, *spots: Spot) -> tuple[Prim, ...]:
    return tuple(Prim(BALL, frame, (x, s * y, z), r) for x, y, z, r in spots for s in (1, -1))


def _disc(frame: str, at: Local, radius: float, normal: Local = (0, 0, 1)) -> Prim:
    return Prim(DISC, frame, at, radius, normal)


def _trunk() -> tuple[Piece, ...]:
    legs = tuple(
        Join(f"{side}_{part}", f"{side}_thigh", reach=0.17) for side, _ in _SIDES for part in ("shorts", "thigh")
    )
    arms = tuple(
        Join(f"{side}_{part}", f"{side}_upper_arm", reach=0.15)
        for side, _ in _SIDES
        for part in ("sleeve", "upper_arm")
    )
    hem = tuple(_disc("pelvis", (-0.004, s * 0.077, 0.047), 0.0925) for _, s in _SIDES)
    waist = (*_both("lumbar", (0, 0.055, 0, 0.084)), *_both("thorax_low", (0, 0.058, 0, 0.085)))
    ribs = _both("thorax_low", (0, 0.06, 0, 0.087), (0.012, 0.066, 0.09, 0.092))
    top = _both("thorax", (0, 0.07, 0.03, 0.085), (-0.012, 0.105, 0.068, 0.046), (-0.014, 0.022, 0.118, 0.034))
    neck = (
        *_balls("thorax", (-0.015, 0, 0.11, 0.055)),
        *_balls("neck", (0, 0, 0, 0.05)),
        *_balls("head", (-0.012, 0, 0, 0.048)),
    )
    return (
        Piece(
            "pelvis", "shorts", _both("pelvis", (-0.012, 0.075, 0, 0.088), (0, 0.072, 0.07, 0.078)), ("pelvis",), legs
        ),
        Piece(
            "abdomen",
            "shirt",
            (*hem, *waist),
            ("pelvis", "lumbar", "thorax_low"),
            (Join("chest", "lumbar"),),
            ("pelvis",),
        ),
        Piece("chest", "shirt", (*ribs, *top), ("lumbar", "thorax_low", "thorax"), (Join("abdomen", "lumbar"), *arms)),
        Piece("neck", "skin", neck, ("thorax", "neck", "head"), (Join("head", "head", (-0.07, 0, -0.02), 0.07),)),
    )


def _head(from_behind: bool) -> tuple[Piece, ...]:
    jaw = _balls(
        "head",
        (0.035, 0.030, -0.012, 0.040),
        (0.035, -0.030, -0.012, 0.040),
        (0.066, 0.012, -0.030, 0.026),
        (0.066, -0.012, -0.030, 0.026),
    )
    throat = Join("neck", "head", (-0.075, 0, -0.02), 0.07)
    # Its stroke melts into the face but for the forward edge, the bridge and the tip.
    ridge = Join("head", "head", (0.114 - 0.970, 0.0, -0.243), 1.0)
    nose = _balls("head", (0.092, 0, 0.060, 0.010), (0.112, 0, 0.032, 0.011), (0.088, 0, 0.030, 0.008))
    nose_piece = Piece("nose", "skin", nose, ("head",), (ridge,))
    x, _, z = HAIR_WAY
    length = (x * x + z * z) ** 0.5
    if from_behind:
        hair = Piece("hair", "hair", _balls("head", (*_SKULL, 0.098)), ("head",), (Join("nape", "head"),))
        face = (Prim(CAP, "head", _SKULL, 0.0945, (-x / length, 0, -z / length), -0.012), *jaw)
        head = Piece("head", "skin", face, ("head",), (throat,), ("hair",))
        return hair, _nape(), head, nose_piece, *_features()
    head = Piece("head", "skin", (*_balls("head", (0.002, 0, 0.083, 0.093)), *jaw), ("head",), (throat,))
    cap = Prim(CAP, "head", _SKULL, 0.098, (x / length, 0, z / length), 0.012)
    hair = Piece("hair", "hair", (cap,), ("head",), (Join("nape", "head"),), ("head", "nose"))
    return head, nose_piece, _nape(), hair, *_features()


def _nape() -> Piece:
    """The hair below the cap, at the back of the head."""
    cap = Prim(CAP, "head", (-0.012, 0, 0.052), 0.088, (-0.97, 0, -0.24), 0.036)
    return Piece("nape", "hair", (cap,), ("head",), (Join("hair", "head"),))


def _features() -> tuple[Piece, ...]:
    found = []
    for side, s in _SIDES:
        way = (-0.2, float(s), 0.0)
        ear = (_disc("head", (-0.004, s * 0.094, 0.055), 0.020, way), _disc("head", (0, s * 0.092, 0.035), 0.013, way))
        eye = (_disc("head", (0.078, s * 0.040, 0.068), 0.0088, EYE_WAY[side]),)
        found += [Piece(f"{side}_ear", "skin", ear, ("head",), after=("head", "hair"))]
        found += [Piece(f"{side}_eye", "eye", eye, after=("head", "hair", "nose"), outlined=False)]
    return tuple(found)


EYE_WAY: dict[str, Local] = {"left": (0.8, 0.6, 0.1), "right": (0.8, -0.6, 0.1)}
"""The way each eye looks out of the head."""


def _arm(side: str, s: int) -> tuple[Piece, ...]:
    upper, elbow, fore, hand = (f"{side}_{part}" for part in ("upper_arm", "elbow", "forearm", "hand"))
    u, f = LENGTHS["upper_arm"], LENGTHS["forearm"]
    arm = _balls(upper, (0, 0, 0, 0.051), (0, 0, -u * 0.45, 0.046), (0, 0, -u, 0.038))
    sleeve = (
        *_balls(upper, (0, 0, 0, 0.0545)),
        *_balls("thorax", (-0.01, s * 0.12, 0.066, 0.046)),
        _disc(upper, (0, 0, -u * 0.42), 0.056),
    )
    lower = _balls(fore, (0, 0, 0, 0.038), (0, 0, -0.07, 0.042), (0.008, 0, -f, 0.025), (-0.008, 0, -f, 0.025))
    return (
        Piece(
            upper, "skin", arm, (upper,), (Join(fore, elbow, reach=0.062), Join("chest", upper, reach=0.085)), side=side
        ),
        Piece(
            f"{side}_sleeve", "shirt", sleeve, (upper, "thorax"), (Join("chest", upper, reach=0.15),), (upper,), side
        ),
        Piece(
            fore,
            "skin",
            lower,
            (fore, elbow),
            (Join(upper, elbow, reach=0.062), Join(f"{side}_palm", hand, reach=0.055)),
            side=side,
        ),
    )


def _leg(side: str, s: int, toes_apart: bool) -> tuple[Piece, ...]:
    thigh, shank, foot, toes = (f"{side}_{part}" for part in ("thigh", "shank", "foot", "toes"))
    t, h = LENGTHS["thigh"], LENGTHS["shank"]
    upper = _balls(thigh, (0, 0, 0, 0.088), (0, 0, -0.2, 0.077), (0, 0, -t, 0.055))
    shorts = (*_balls(thigh, (0, 0, 0, 0.094), (-0.005, 0, -0.1, 0.089)), _disc(thigh, (0, 0, -0.21), 0.090))
    calf = _balls(shank, (0, 0, 0, 0.054), (-0.012, 0, -0.13, 0.054), (-0.004, 0, -0.24, 0.041))
    shin = _balls(shank, (-0.008, 0, -0.20, 0.0475), (0, 0, -0.34, 0.034), (0, 0, -h, 0.034))
    ball = _balls(toes, (0, s * 0.022, -0.001, 0.024), (0, -s * 0.028, 0.002, 0.026))
    # Kin, though never melting: else the far thigh below the shorts would bring the seam back.
    beside = Join(f"{'left' if side == 'right' else 'right'}_thigh", thigh, reach=0.0)
    heel = _balls(foot, (0, 0, 0, 0.036), (-0.042, 0, -0.035, 0.035))
    return (
        Piece(
            thigh,
            "skin",
            upper,
            (thigh,),
            (Join(shank, shank, reach=0.085), Join("pelvis", thigh, reach=0.13)),
            side=side,
        ),
        Piece(
            f"{side}_shorts",
            "shorts",
            shorts,
            (thigh, "pelvis"),
            (Join("pelvis", thigh, reach=0.15), beside),
            (thigh,),
            side,
        ),
        Piece(shank, "skin", calf, (shank,), (Join(thigh, shank, reach=0.085), Join(f"{side}_shin", shank)), side=side),
        Piece(f"{side}_shin", "skin", shin, (shank,), (Join(shank, shank), Join(foot, foot, reach=0.065)), side=side),
        Piece(
            foot, "skin", (*heel, *ball), (foot,), (Join(f"{side}_shin", foot, reach=0.07), Join(toes, toes)), side=side
        ),
        *(_five_toes(side, s) if toes_apart else (_toes(side, s, ball),)),
    )


def _toes(side: str, s: int, ball: tuple[Prim, ...]) -> Piece:
    toes = f"{side}_toes"
    ends = _balls(toes, (0.058, -s * 0.028, -0.004, 0.018), (0.04, s * 0.024, -0.006, 0.016))
    return Piece(toes, "skin", (*ball, *ends), (toes,), (Join(f"{side}_foot", toes),), side=side)


def _five_toes(side: str, s: int) -> tuple[Piece, ...]:
    toes = f"{side}_toes"
    rows = (
        (-0.032, 0.062, 0.0175),
        (-0.009, 0.056, 0.0115),
        (0.007, 0.050, 0.0110),
        (0.022, 0.042, 0.0105),
        (0.036, 0.032, 0.0100),
    )
    found = []
    for number, (y, reach, r) in enumerate(rows):
        prims = _balls(toes, (0.0, s * y * 0.85, -0.006, r + 0.003), (reach - r, s * y, -0.020 + r + 0.002, r))
        joins = (Join(f"{side}_foot", toes, (0.0, s * y * 0.85, 0.0), 0.026),)
        found.append(Piece(toes if number == 0 else f"{toes}_{number + 1}", "skin", prims, (toes,), joins, side=side))
    return tuple(found)


@lru_cache(maxsize=32)
def body_pieces(
    from_behind: bool = False,
    fingers: frozenset[str] = frozenset(),
    toes: frozenset[str] = frozenset(),
) -> tuple[Piece, ...]:
    """The pieces of the body.

    `from_behind` is when the hair's cap faces away from the eye; `fingers` and `toes` are the sides on which they are
    drawn one by one.
    """
    found = [*_trunk(), *_head(from_behind)]
    for side, s in _SIDES:
        found += [
            *_arm(side, s),
            *(fingered(side, s) if side in fingers else mitt(side, s)),
            *_leg(side, s, side in toes),
        ]
    return tuple(found)


@lru_cache(maxsize=1)
def patches() -> tuple[Piece, ...]:
    """What hides the lines between trunk and limbs where a figure moves, a stroke's width inside both."""
    waist = (*_both("lumbar", (0, 0.05, 0.06, 0.070)), *_both("thorax_low", (0.004, 0.054, 0.045, 0.074)))
    found = [Piece("waist_patch", "shirt", waist, after=("abdomen", "chest"), outlined=False)]
    for side, s in _SIDES:
        thigh, arm = f"{side}_thigh", f"{side}_upper_arm"
        hip = (*_balls(thigh, (0, 0, 0, 0.080)), *_balls("pelvis", (-0.005, s * 0.055, 0.02, 0.072)))
        shoulder = (*_balls(arm, (0, 0, 0, 0.042)), *_balls("thorax", (-0.005, s * 0.09, 0.045, 0.042)))
        found += [
            Piece(f"{side}_hip_patch", "shorts", hip, after=("pelvis", f"{side}_shorts"), outlined=False),
            Piece(f"{side}_shoulder_patch", "shirt", shoulder, after=("chest", f"{side}_sleeve"), outlined=False),
        ]
    return tuple(found)
