"""Outlines against the brute-force hull of sampled points, and the order of painting against plain depth."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from homecare.core.pose import COORDINATES
from homecare.figure.arranging import arranged, look
from homecare.figure.cropping import Crop
from homecare.figure.order import paint_order
from homecare.figure.outline import DIRECTIONS, WAYS, camera, clipped, inside, outlines
from homecare.figure.pieces import BALL, CAP, DISC, Piece, Prim, Stack, cast, mould
from homecare.figure.skeleton import Array
from tests.figure.drawings import posed

ROOM = {"room": 0}
SMALL = st.floats(-0.4, 0.4)
RADIUS = st.floats(0.01, 0.2)


def stacked(*pieces: tuple[Prim, ...]) -> Stack:
    """Pieces of primitives on a frame that is the world."""
    form = mould([Piece(f"{i}", "skin", prims) for i, prims in enumerate(pieces)], ROOM)
    return cast(form, np.zeros((1, 3)), np.eye(3)[None])


def surface_points(prim: Prim) -> Array:
    """Points all over a primitive."""
    turn = np.linspace(0, 2 * np.pi, 240, endpoint=False)
    normal = np.asarray(prim.normal) / np.linalg.norm(prim.normal)
    side = np.cross(normal, [1.0, 0.2, 0.3])
    side /= np.linalg.norm(side)
    other = np.cross(normal, side)
    if prim.kind == DISC:
        ring = np.cos(turn)[:, None] * side + np.sin(turn)[:, None] * other
        flat: Array = np.asarray(prim.centre) + prim.radius * ring
        return flat
    heights = np.linspace(-1, 1, 160)
    ways = np.concatenate(
        [
            h * normal + np.sqrt(1 - h * h) * (np.cos(turn)[:, None] * side + np.sin(turn)[:, None] * other)
            for h in heights
        ]
    )
    if prim.kind == CAP:
        rim = prim.height / prim.radius
        ways = ways[ways @ normal >= rim]
        edge = rim * normal + np.sqrt(1 - rim * rim) * (np.cos(turn)[:, None] * side + np.sin(turn)[:, None] * other)
        ways = np.vstack([ways, edge])
    found: Array = np.asarray(prim.centre) + prim.radius * ways
    return found


def prims() -> st.SearchStrategy[Prim]:
    normal = st.tuples(SMALL, SMALL, st.floats(0.3, 1.0))

    def made(kind: int, x: float, y: float, z: float, r: float, n: tuple[float, float, float]) -> Prim:
        return Prim(kind, "room", (x, y, z), r, n, 0.3 * r if kind == CAP else 0.0)

    return st.builds(made, st.sampled_from([BALL, DISC, CAP]), SMALL, SMALL, SMALL, RADIUS, normal)


@settings(max_examples=40, deadline=None)
@given(st.lists(prims(), min_size=1, max_size=4), st.floats(-180, 180), st.floats(-80, 80))
def test_an_outline_is_the_hull_of_its_primitives(found: list[Prim], azimuth: float, elevation: float) -> None:
    """In each direction the outline reaches as far as any point of any primitive, and its own point lies there."""
    view = camera(azimuth, elevation)
    shapes = outlines(stacked(tuple(found)), view)
    sampled = view.paper(np.concatenate([surface_points(prim) for prim in found]))
    brute = (sampled @ WAYS.T).max(axis=0)
    assert shapes.support[0] == pytest.approx(brute, abs=1.5e-3)
    assert np.einsum("kd,kd->k", shapes.paper[0], WAYS) == pytest.approx(shapes.support[0], abs=1e-6)


@settings(max_examples=30, deadline=None)
@given(st.lists(prims(), min_size=1, max_size=4))
def test_an_outline_is_convex(found: list[Prim]) -> None:
    points = outlines(stacked(tuple(found)), camera(-60, 20)).paper[0]
    assert points.shape == (DIRECTIONS, 2)
    step = np.roll(points, -1, axis=0) - points
    after = np.roll(step, -1, axis=0)
    assert (step[:, 0] * after[:, 1] - step[:, 1] * after[:, 0]).min() > -1e-6


def test_a_ball_is_a_circle_and_a_disc_from_its_edge_a_line() -> None:
    ball = Prim(BALL, "room", (0.1, 0.2, 0.3), 0.05)
    flat = Prim(DISC, "room", (0, 0, 0), 0.1, (0, 0, 1))
    shapes = outlines(stacked((ball,), (flat,)), camera(-90, 0))
    centre = np.array([0.1, -0.3])
    assert np.linalg.norm(shapes.paper[0] - centre, axis=1) == pytest.approx(np.full(96, 0.05), abs=1e-9)
    assert np.abs(shapes.paper[1][:, 1]).max() < 1e-4
    assert np.ptp(shapes.paper[1][:, 0]) == pytest.approx(0.2, abs=1e-4)


@settings(max_examples=25, deadline=None)
@given(prims(), prims(), st.lists(st.tuples(SMALL, SMALL), min_size=1, max_size=30))
def test_inside_agrees_with_the_polygon(one: Prim, two: Prim, spots: list[tuple[float, float]]) -> None:
    shapes = outlines(stacked((one, two)), camera(-90, 0))
    points = np.array(spots)
    found = inside(points, shapes, np.zeros(len(points), np.int64))
    ring = shapes.paper[0]
    step = np.roll(ring, -1, axis=0) - ring
    cross = step[:, 0] * (points[:, None, 1] - ring[:, 1]) - step[:, 1] * (points[:, None, 0] - ring[:, 0])
    long_ = np.linalg.norm(step, axis=1) > 1e-6
    depth = (cross[:, long_] / np.linalg.norm(step, axis=1)[long_]).min(axis=1)
    clear = np.abs(depth) > 1e-6
    assert (found == (depth > 0))[clear].all()


def test_clipping_keeps_what_is_inside() -> None:
    square = np.array([[0.0, 0], [2, 0], [2, 2], [0, 2]])
    sides = np.array([[1.0, 0], [0, 1], [-1, 0], [0, -1]])
    part = clipped(square, np.array([1.0, 3.0, 3.0, 3.0]), sides)
    assert sorted(map(tuple, part.tolist())) == [(0, 0), (0, 2), (1, 0), (1, 2)]
    assert len(clipped(square, np.array([-1.0, 3.0, 3.0, 3.0]), sides)) == 0


def _order(stack: Stack, fixed: tuple[tuple[int, int], ...] = ()) -> list[int]:
    view = camera(-90, 0)
    return paint_order(stack, outlines(stack, view), view, fixed, ())


def test_the_nearer_of_two_is_painted_later_unless_fixed() -> None:
    far = (Prim(BALL, "room", (0, 0.3, 0), 0.1),)
    near = (Prim(BALL, "room", (0.05, -0.3, 0), 0.1),)
    assert _order(stacked(near, far)) == [1, 0]
    assert _order(stacked(near, far), ((0, 1),)) == [0, 1]


def test_three_that_overlap_in_a_ring_are_still_all_painted() -> None:
    """Bars of which each lies over the next: no order is right, every piece is there once."""
    ends = [(0.3, 0.0), (-0.15, 0.26), (-0.15, -0.26)]
    bars = []
    for i in range(3):
        (ax, az), (bx, bz) = ends[i], ends[(i + 1) % 3]
        bars.append((Prim(BALL, "room", (ax, -0.2, az), 0.05), Prim(BALL, "room", (bx, 0.2, bz), 0.05)))
    assert sorted(_order(stacked(*bars))) == [0, 1, 2]


ANGLE = st.floats(-60, 60)


@settings(max_examples=25, deadline=None)
@given(st.dictionaries(st.sampled_from(COORDINATES), ANGLE, max_size=12), st.floats(-180, 180), st.floats(-45, 60))
def test_any_pose_has_a_whole_order_without_a_gap(angles: dict[str, float], azimuth: float, elevation: float) -> None:
    one = posed({name: value for name, value in angles.items() if name not in ("root.x", "root.y", "root.z")})
    view = camera(azimuth, elevation)
    seen = arranged(one, view, look(one.body, view, Crop("")))
    assert sorted(seen.order) == list(range(len(seen.pieces)))
    assert np.isfinite(seen.shapes.paper).all()
    rank: NDArray[np.int64] = seen.rank
    number = {piece.name: i for i, piece in enumerate(seen.pieces)}
    assert all(
        rank[number[early]] < rank[i] for i, piece in enumerate(seen.pieces) for early in piece.after if early in number
    )
