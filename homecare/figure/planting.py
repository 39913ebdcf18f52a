"""Sets a body down on its contacts: damped least squares over the joints they need, held to the written angles.

The method is that of Levenberg and Marquardt (Marquardt 1963, J Soc Ind Appl Math 11:431-41; from memory), with
every joint kept within its published range at each step. All trial poses of a step are one array operation.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from homecare.core.pose import Angles, Contact, Stance
from homecare.figure.collide import Clearance
from homecare.figure.landmarks import Landmark, landmark
from homecare.figure.limits import LIMITS, stiffness
from homecare.figure.room import SURFACES, TOOLS, plane
from homecare.figure.skeleton import COLUMN, Array, Skeleton, as_row, skeletons

MOST_MISS, MOST_DRIFT = 0.010, 25.0
"""A contact may be off by 10 mm, a joint by 25 degrees from what is written; more is a fault of the figure."""
ROUNDS, ENOUGH = 40, 3e-8
"""Steps at most, and the gain of a step (square metres) below which the pose stands."""
METRE_DEGREES = 60.0
"""Degrees that weigh as much as a metre in a step."""
PULL = 0.012
"""How strongly a joint is held to its written angle, in metres a step's unit (60 degrees)."""
PLACE_WEIGHT, FLAT_WEIGHT, STAY_WEIGHT = 0.6, 0.03, 0.4
_PLACE = ("root.x", "root.y", "root.z", "root.yaw")
"""Where the body stands and which way it faces: the contacts decide, so they cannot drift."""
_FLAT = ("palm", "sole")


@dataclass(frozen=True)
class Planted:
    """A pose on its contacts: its angles and frames, and whatever is wrong with it.

    `misses` are contacts that are off (metres), `drifts` joints that moved from what is written (degrees),
    `through` parts of the body that run into each other (metres).
    """

    angles: Mapping[str, float]
    body: Skeleton
    misses: tuple[tuple[Contact, float], ...]
    drifts: tuple[tuple[str, float], ...]
    through: tuple[tuple[str, str, float], ...]


@lru_cache(maxsize=512)
def chain(point: str) -> tuple[str, ...]:
    """The coordinates that carry a point, its limb's for a limb, the neck's for the head; the trunk's own stay put."""
    frame = landmark(point).frame
    side, _, part = frame.partition("_")
    if point.endswith("_shoulder"):  # no joint of the arm moves the ball of the shoulder itself
        return ()
    arm = ("shoulder.flex", "shoulder.abd", "shoulder.ir")
    leg = ("hip.flex", "hip.abd", "hip.ir")
    joints: Mapping[str, tuple[str, ...]] = {
        "upper_arm": arm,
        "elbow": (*arm, "elbow.flex"),
        "forearm": (*arm, "elbow.flex", "forearm.pron"),
        "hand": (*arm, "elbow.flex", "forearm.pron", "wrist.flex", "wrist.uln"),
        "thigh": leg,
        "shank": (*leg, "knee.flex"),
        "foot": (*leg, "knee.flex", "ankle.df"),
        "toes": (*leg, "knee.flex", "ankle.df", "toes.flex"),
    }
    if side in ("left", "right"):
        return tuple(f"{side}_{one}" for one in joints[part])
    return {"head": ("neck.flex", "head.flex"), "neck": ("neck.flex",)}.get(frame, ())


def _free(stance: Stance, contacts: Sequence[Contact], more: Sequence[str]) -> list[str]:
    """The root and whatever carries the points; a body on its side tilts sideways, any other forwards."""
    tilt = "root.roll" if stance in ("left_side", "right_side") else "root.pitch"
    names = dict.fromkeys(("root.x", "root.y", "root.z", tilt))
    for one in contacts:
        names |= dict.fromkeys(chain(one.point))
        if one.on and one.on not in SURFACES:
            names |= dict.fromkeys(chain(one.on))
    return list(names | dict.fromkeys(more))


class _Problem:
    """Residuals of many trial poses at once."""

    def __init__(
        self, stance: Stance, contacts: Sequence[Contact], surfaces: Mapping[str, float], stay: Mapping[str, Array]
    ):
        self.stance, self.contacts, self.stay = stance, contacts, stay
        self.surfaces = {**SURFACES, **surfaces}
        self.clearance = Clearance([(one.point, one.on) for one in contacts])

    def touching(self, body: Skeleton, contact: Contact) -> list[Array]:
        """The distances (n,) that must be zero for one contact: to its surface or point, and to its fixed place."""
        mark = landmark(contact.point)
        centre = body.points(mark.frame, mark.centre)
        reach = mark.radius + 2 * TOOLS.get(contact.tool, 0.0)
        found = []
        if contact.on in SURFACES:
            normal, offset = plane(contact.on, self.surfaces[contact.on], contact.point.partition("_")[0])
            found.append(centre @ normal - offset - reach)
        elif contact.on:
            found += self._point(body, centre, reach, landmark(contact.on))
        return found

    @staticmethod
    def _point(body: Skeleton, centre: Array, reach: float, other: Landmark) -> list[Array]:
        there = body.points(other.frame, other.centre)
        way = np.asarray(other.out)
        if not way.any():
            return [np.linalg.norm(centre - there, axis=1) - reach - other.radius]
        out = body.vectors(other.frame, way / np.linalg.norm(way))
        gap = centre - there - out * (reach + other.radius)
        return [gap[:, axis] for axis in range(3)]

    def placed(self, body: Skeleton, contact: Contact) -> list[Array]:
        """The distances (n,) to the x, y and z that a contact is fixed at."""
        mark = landmark(contact.point)
        centre = body.points(mark.frame, mark.centre)
        fixed = ((0, contact.x), (1, contact.y), (2, contact.z))
        return [centre[:, axis] - value for axis, value in fixed if value is not None]

    def flat(self, body: Skeleton, contact: Contact) -> list[Array]:
        """How far a palm or sole is from lying flat on what it touches (0 to 2)."""
        mark = landmark(contact.point)
        if not contact.on or contact.tool or not contact.point.endswith(_FLAT) or not any(mark.out):
            return []
        out = body.vectors(mark.frame, mark.out)
        if contact.on in SURFACES:
            normal, _ = plane(contact.on, self.surfaces[contact.on], contact.point.partition("_")[0])
            return [out @ normal + 1]
        other = landmark(contact.on)
        if not any(other.out):
            return []
        facing = body.vectors(other.frame, np.asarray(other.out) / np.linalg.norm(other.out))
        return [np.sum(out * facing, axis=1) + 1]

    def residuals(self, rows: Array) -> Array:
        body = skeletons(rows, self.stance)
        found: list[Array] = []
        for contact in self.contacts:
            found += self.touching(body, contact)
            found += [one * PLACE_WEIGHT for one in self.placed(body, contact)]
            found += [one * FLAT_WEIGHT for one in self.flat(body, contact)]
            if contact.point in self.stay:
                mark = landmark(contact.point)
                gap = body.points(mark.frame, mark.centre) - self.stay[contact.point]
                found += [gap[:, 0] * STAY_WEIGHT, gap[:, 1] * STAY_WEIGHT]
        found.append(self.clearance.push(body))
        return np.stack(found, axis=1)


def plant(
    stance: Stance,
    angles: Angles,
    contacts: Sequence[Contact],
    free: Sequence[str] = (),
    surfaces: Mapping[str, float] | None = None,
    stay: Mapping[str, Array] | None = None,
) -> Planted:
    """The pose nearest the written angles that meets its contacts; `stay` keeps points (3,) at their x and y."""
    problem = _Problem(stance, contacts, surfaces or {}, stay or {})
    names = _free(stance, contacts, free)
    written = as_row(angles)
    row = _settle(problem, written, names)
    body = skeletons(row[None], stance)
    planted = {name: float(row[column]) for name, column in COLUMN.items() if row[column]}
    misses = []
    for contact in contacts:
        off = [*problem.touching(body, contact), *problem.placed(body, contact)]
        worst = max((abs(float(one[0])) for one in off), default=0.0)
        if worst > MOST_MISS:
            misses.append((contact, worst))
    moved = {name: float(row[COLUMN[name]] - written[COLUMN[name]]) for name in names if name not in _PLACE}
    drifts = [(name, drift) for name, drift in moved.items() if abs(drift) > MOST_DRIFT]
    return Planted(planted, body, tuple(misses), tuple(drifts), problem.clearance.overlaps(body))


def _settle(problem: _Problem, written: Array, names: Sequence[str]) -> Array:
    columns = np.array([COLUMN[name] for name in names])
    metres = np.array([name in _PLACE[:3] for name in names])
    scale = np.where(metres, 1.0, METRE_DEGREES)
    pull = np.where(metres, 0.0, [PULL * stiffness(name) ** 0.5 for name in names])
    ranges = np.array([_range(name) for name in names])
    low, high = ranges[:, 0] / scale, ranges[:, 1] / scale
    wished = written[columns] / scale

    def cost(steps: Array) -> Array:
        rows = np.repeat(written[None], len(steps), axis=0)
        rows[:, columns] = steps * scale
        return np.concatenate([problem.residuals(rows), (steps - wished) * pull], axis=1)

    at, damping, nudge = np.clip(wished, low, high), 1e-3, 1e-5
    trials = np.eye(len(at)) * nudge
    for _ in range(ROUNDS):
        values = cost(np.concatenate([at[None], at + trials]))
        now, slope = values[0], (values[1:] - values[0]) / nudge
        square, downhill = slope @ slope.T, slope @ now
        tries = np.array([damping, damping * 8, damping * 64])
        steps = np.stack([np.linalg.solve(square + one * np.eye(len(at)), -downhill) for one in tries])
        steps = np.clip(at + np.clip(steps, -0.5, 0.5), low, high)
        costs = np.sum(cost(steps) ** 2, axis=1)
        best = int(np.argmin(costs))
        before = float(now @ now)
        if costs[best] >= before:
            damping *= 100
            if damping > 1e5:
                break
            continue
        at, damping = steps[best], max(float(tries[best]) / 6, 1e-7)
        if before - costs[best] < ENOUGH:
            break
    row: Array = written.copy()
    # Rounded, so that the last bits of one machine's arithmetic draw nothing that another does not.
    row[columns] = np.where(metres, np.round(at, 4), np.round(at * scale, 1))
    return row


def _range(name: str) -> tuple[float, float]:
    """What a coordinate may be: a joint's published range, the root's anything."""
    limit = LIMITS.get(name)
    return (limit.low, limit.high) if limit else (-np.inf, np.inf)
