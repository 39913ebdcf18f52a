"""Puts the furniture and tools of a figure where the planted body touches them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from homecare.core.pose import Contact, Held
from homecare.figure.landmarks import centres, landmark, on_skin
from homecare.figure.room import REACHES, STICK_RADIUS, SURFACES, TOOLS, WALLS, plane
from homecare.figure.skeleton import Array, Skeleton
from homecare.figure.solids import Ball, Box, Cord, Point, Rod, Solid

_Standing = tuple[Skeleton, Sequence[Contact]]
"""A body and what it touches."""
POST, POST_ABOVE, STICK_BEYOND = 0.03, 0.5, 0.12
SEAT, LEG, THICK = 0.42, 0.035, 0.05
_ENDS = ("crown", *(f"{side}_{point}" for side in ("left", "right") for point in ("toes", "heel", "fingertips")))
_SITTING = ("sitting_bone", "hips", "sacrum", "buttock", "thigh_back")


def furniture(bodies: Sequence[_Standing], surfaces: Mapping[str, float], yaw: float = 0.0) -> tuple[Solid, ...]:
    """Everything the bodies (start and end) rest on, once, where their contacts are."""
    touched: dict[str, list[tuple[str, Array]]] = {}
    for body, contacts in bodies:
        for one in contacts:
            if one.on in SURFACES:
                touched.setdefault(one.on, []).append((one.point, centres(body, one.point)[0]))
    end, contacts = bodies[-1]
    found: list[Solid] = []
    for name, points in touched.items():
        at = surfaces.get(name, SURFACES[name])
        reach = surfaces.get(f"{name}_reach", REACHES.get(f"{name}_reach", 0.0))
        found += _surface(name, at, reach, points, bodies)
    for one in contacts:
        if one.tool:
            found += _tool(end, one, surfaces)
    return tuple(found)


def _box(points: Sequence[tuple[str, Array]]) -> tuple[Array, Array]:
    places = np.array([place for _, place in points])
    low: Array = places.min(axis=0)
    high: Array = places.max(axis=0)
    return low, high


def _surface(
    name: str,
    at: float,
    reach: float,
    points: Sequence[tuple[str, Array]],
    bodies: Sequence[_Standing],
) -> list[Solid]:
    low, high = _box(points)
    if name in ("floor", "mat", "bed"):
        return [_ground(name, at, low, high, bodies)]
    if name in WALLS:
        return _wall(name, at, low, high)
    return {"chair": _chair, "bench": _bench, "table": _table, "step": _step}[name](at, reach, points)


def _ground(name: str, at: float, low: Array, high: Array, bodies: Sequence[_Standing]) -> Box:
    """Floor, mat or bed under the whole body."""
    whole_low, whole_high = _extent(bodies)
    pad, thick = (0.11, 0.18) if name == "bed" else (0.06, 0.012)
    x0, x1 = float(whole_low[0]) - pad, float(whole_high[0]) + pad
    y0, y1 = float(min(low[1], whole_low[1])) - pad, float(max(high[1], whole_high[1])) + pad
    return Box(name, (x0, y0, at - thick), (x1, y1, at), "floor" if name == "floor" else "mat")


def _extent(bodies: Sequence[_Standing]) -> tuple[Array, Array]:
    """How far the bodies reach, head and toes and all."""
    places = [on_skin(body, point)[0] for body, _ in bodies for point in _ENDS]
    places += [origin for body, _ in bodies for origin in body.origins[0]]
    low: Array = np.min(places, axis=0)
    high: Array = np.max(places, axis=0)
    return low, high


def _wall(name: str, at: float, low: Array, high: Array) -> list[Solid]:
    top = max(1.9, float(high[2]) + 0.15)
    y0, y1 = float(low[1] - 0.35), float(high[1] + 0.35)
    x0, x1 = float(low[0] - 0.35), float(high[0] + 0.35)
    if name == "wall":
        return [Box(name, (at, y0, 0), (at + 0.06, y1, top), "wall")]
    if name == "wall_behind":
        return [Box(name, (-at - 0.06, y0, 0), (-at, y1, top), "wall")]
    if name == "wall_left":
        return [Box(name, (x0, at, 0), (x1, at + 0.06, top), "wall")]
    if name == "wall_right":
        return [Box(name, (x0, -at - 0.06, 0), (x1, -at, top), "wall")]
    if name == "doorway":
        return _posts(at, float(low[1]), float(high[1]), top)
    long, thick = 0.95, 0.05
    half = long * 2**-0.5 / 2
    found: list[Solid] = []
    for side, s in (("left", 1.0), ("right", -1.0)):
        centre = at - half, s * half
        found.append(
            Box(
                f"corner {side}",
                (centre[0] - long / 2, centre[1] - thick / 2, 0),
                (centre[0] + long / 2, centre[1] + thick / 2, top),
                "wall",
                yaw=-45.0 * s,
            )
        )
    return found


def _posts(at: float, low: float, high: float, top: float) -> list[Solid]:
    """The posts of a doorway that are leaned on."""
    inner, outer, deep = 0.05, 0.09, 0.08
    found: list[Solid] = []
    if high > 0.1:
        found.append(Box("doorway left", (at, high - inner, 0), (at + deep, high + outer, top), "wall"))
    if low < -0.1:
        found.append(Box("doorway right", (at, low - outer, 0), (at + deep, low + inner, top), "wall"))
    return found


def _legs(name: str, low: Point, high: Point, top: float) -> list[Solid]:
    spots = [(x, y) for x in (low[0], high[0] - LEG) for y in (low[1], high[1] - LEG)]
    return [Box(f"{name} leg {n}", (x, y, 0), (x + LEG, y + LEG, top), "furniture") for n, (x, y) in enumerate(spots)]


def _board(name: str, low: Point, high: Point) -> list[Solid]:
    top = Box(name, low, high, "furniture")
    return [top, *_legs(name, (low[0] + 0.01, low[1] + 0.01, 0), (high[0] - 0.01, high[1] - 0.01, 0), low[2])]


def _chair(at: float, reach: float, points: Sequence[tuple[str, Array]]) -> list[Solid]:
    low, high = _box(points)
    middle = float(low[1] + high[1]) / 2
    sitting = [place for point, place in points if point.endswith(_SITTING) or "thigh_back" in point]
    if sitting:
        front = float(min(place[0] for place in sitting)) + reach
        back = front - SEAT
    else:
        back = float(low[0] + high[0]) / 2 - SEAT / 2
        front = back + SEAT
    wide = max(SEAT, float(high[1] - low[1]) + 0.2)
    y0, y1 = middle - wide / 2, middle + wide / 2
    found = _board("chair", (back, y0, at - THICK), (front, y1, at))
    rest = (back - 0.01, back + LEG - 0.01) if sitting else (front - LEG, front)
    found.append(Box("chair back", (rest[0], y0, at), (rest[1], y1, at + 0.40), "furniture"))
    return found


def _bench(at: float, _reach: float, points: Sequence[tuple[str, Array]]) -> list[Solid]:
    low, high = _box(points)
    return _board(
        "bench",
        (float(low[0]) - 0.2, float(low[1]) - 0.16, at - THICK),
        (float(high[0]) + 0.2, float(high[1]) + 0.16, at),
    )


def _table(at: float, reach: float, points: Sequence[tuple[str, Array]]) -> list[Solid]:
    low, high = _box(points)
    return _board(
        "table",
        (float(low[0]) - 0.1, float(low[1]) - 0.22, at - THICK),
        (float(high[0]) + reach, float(high[1]) + 0.22, at),
    )


def _step(at: float, _reach: float, points: Sequence[tuple[str, Array]]) -> list[Solid]:
    low, high = _box(points)
    heels = any(point.endswith("heel") for point, _ in points)
    back = float(low[0]) - (0.10 if heels else 0.035)
    front = float(high[0]) + (0.22 if heels else 0.30)
    return [Box("step", (back, float(low[1]) - 0.16, 0), (front, float(high[1]) + 0.16, at), "furniture")]


def _tool(body: Skeleton, contact: Contact, surfaces: Mapping[str, float]) -> list[Solid]:
    """A roller, ball or roll between a point and the surface (or point) behind it."""
    mark = landmark(contact.point)
    centre = body.points(mark.frame, mark.centre)[0]
    radius = TOOLS[contact.tool]
    if contact.on in SURFACES:
        normal, _ = plane(contact.on, surfaces.get(contact.on, SURFACES[contact.on]), contact.point.partition("_")[0])
        middle = centre - normal * (mark.radius + radius)
    else:
        there = on_skin(body, contact.on)[0]
        normal = (centre - there) / (float(np.linalg.norm(centre - there)) or 1.0)
        middle = there + normal * radius
    name = f"{contact.tool} {contact.point}"
    if contact.tool in ("ball", "big_ball"):
        return [Ball(name, _at(middle), radius, "ball")]
    along = body.vectors(mark.frame, (0, 0, 1))[0]
    axis = np.cross(along, normal)
    length = float(np.linalg.norm(axis))
    axis = axis / length if length > 0.2 else np.array([0.0, 1, 0])
    if contact.tool == "cushion":
        half = np.array([0.2, 0.2, radius])
        return [Box(name, _at(middle - half), _at(middle + half), "cloth")]
    half_length = 0.22 if contact.tool == "roller" else 0.14
    a, b = middle - axis * half_length, middle + axis * half_length
    return [Rod(name, _at(a), _at(b), radius, "roller" if contact.tool == "roller" else "cloth")]


def _at(place: Array) -> Point:
    x, y, z = (float(one) for one in place)
    return x, y, z


def things(body: Skeleton, held: Sequence[Held]) -> tuple[Solid, ...]:
    """Straps, bands, sticks, weights, towels and posts along the points they are held by."""
    found: list[Solid] = []
    for number, one in enumerate(held):
        places = [_place(body, point) for point in one.points]
        name = f"{one.thing} {number}"
        if one.thing == "dumbbell":
            for point, place in zip(one.points, places, strict=True):
                found += _weight(body, point, place, f"{name} {point}")
        elif one.thing in ("cushion", "post"):
            found.append(_block(one.thing, name, places[0]))
        elif one.thing in ("stick", "towel_roll"):
            found.append(_bar(one.thing, name, places))
        else:
            found.append(Cord(name, tuple(_at(place) for place in places)))
    return tuple(found)


def _block(thing: str, name: str, place: Array) -> Box:
    """A cushion about a place, or a post from the floor up past it."""
    if thing == "cushion":
        half = np.array([0.16, 0.16, 0.05])
        return Box(name, _at(place - half), _at(place + half), "cloth")
    x, y, z = _at(place)
    return Box(name, (x - POST, y - POST, 0.0), (x + POST, y + POST, z + POST_ABOVE), "wall")


def _bar(thing: str, name: str, places: Sequence[Array]) -> Rod:
    """A stick past its ends, or a rolled towel between them."""
    a, b = places[0], places[-1] if len(places) > 1 else places[0] + np.array([0.0, 0.3, 0])
    if thing == "towel_roll":
        return Rod(name, _at(a), _at(b), TOOLS["towel_roll"], "cloth")
    way = (b - a) / (float(np.linalg.norm(b - a)) or 1.0)
    return Rod(name, _at(a - way * STICK_BEYOND), _at(b + way * STICK_BEYOND), STICK_RADIUS, "stick")


def _weight(body: Skeleton, point: str, place: Array, name: str) -> list[Solid]:
    axis = body.vectors(landmark(point).frame, (1, 0, 0))[0]
    bar = Rod(f"{name} bar", _at(place - axis * 0.07), _at(place + axis * 0.07), 0.013, "metal")
    ends: list[Solid] = [
        Rod(f"{name} {end}", _at(place + axis * s * 0.055), _at(place + axis * s * 0.095), 0.034, "metal")
        for end, s in (("front", 1.0), ("back", -1.0))
    ]
    return [bar, *ends]


def _place(body: Skeleton, point: str) -> Array:
    """A point of the body, or a place of the room written `at:x,y,z`."""
    if point.startswith("at:"):
        return np.array([float(one) for one in point[3:].split(",")])
    place: Array = on_skin(body, point)[0]
    return place
