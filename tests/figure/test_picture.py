"""Stills by their parsed SVG: sizes, mirror, rules of strokes and targets, crops, alt text."""

from __future__ import annotations

import gzip
import re
from xml.etree import ElementTree as ET

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from homecare.core.pose import COORDINATES
from homecare.figure import palette
from homecare.figure.arranging import arranged, look
from homecare.figure.arrows import LONGEST_MM, SHORTEST_MM, laid
from homecare.figure.cropping import Crop, crop
from homecare.figure.marks import curve, hatch, ribbon
from homecare.figure.outline import Camera, camera, inside
from homecare.figure.painting import covered
from homecare.figure.picture import Panel, one_svg, panel_svg, panels
from homecare.figure.pieces import DISC
from homecare.figure.scene import ArrowPath, Posed, Scene, Target
from homecare.figure.strokes import MELT_M, sampled, stroked
from homecare.figure.svg import UNITS, thinned
from tests.figure.drawings import (
    BENT,
    CALF,
    CHEST,
    FLOOR,
    HAMSTRING,
    LUNGE,
    SCIATIC,
    STRAIGHT,
    THINGS,
    ankle_path,
    ends,
    posed,
    scene,
)

BOX = (42.0, 42.0)
RAW, ZIPPED = 12_000, 4_000
NUMBER = re.compile(r"-?\d+(?:\.\d+)?")


def parsed(panel: Panel) -> ET.Element:
    return ET.fromstring(panel_svg(panel, "A person stands."))


def paths(root: ET.Element) -> list[ET.Element]:
    return [one for one in root.iter() if one.tag.endswith("}path")]


def all_points(root: ET.Element) -> np.ndarray[tuple[int, ...], np.dtype[np.float64]]:
    return np.array([point for path in paths(root) for run in ends(path.get("d", "")) for point in run], float)


SCENES: dict[str, Scene] = {
    "lunge": scene(LUNGE, targets=(CALF,)),
    "two": scene(STRAIGHT, BENT, targets=(HAMSTRING, SCIATIC), arrows=(ankle_path(),)),
    "ghost": scene(STRAIGHT, BENT, ghost=True, arrows=(ankle_path(),)),
    "front": scene(LUNGE, view=(0, 0), targets=(CHEST,)),
    "above": scene(LUNGE, view=(-50, 35)),
    "things": scene(posed({}, solids=(FLOOR, *THINGS)), view=(-40, 20)),
    "hand": scene(posed({"right_elbow.flex": 150, "right_fingers.curl": 60}), crop="right_hand", view=(-60, 20)),
    "foot": scene(LUNGE, crop="right_foot", view=(-60, 20), targets=(CALF,)),
    "upper": scene(LUNGE, crop="upper_body", view=(0, 0)),
    "head": scene(LUNGE, crop="head"),
}


@pytest.mark.parametrize("name", SCENES)
def test_a_still_is_small_whole_and_within_its_box(name: str) -> None:
    found = panels(SCENES[name], BOX)
    text = one_svg(found, "A person stands.")
    assert len(text.encode()) <= RAW
    assert len(gzip.compress(text.encode(), 9)) <= ZIPPED
    for panel in found:
        assert panel.width <= BOX[0] + 0.01
        assert panel.height <= BOX[1] + 0.01
        points = all_points(parsed(panel))
        assert len(points) > 100
        room = 0.5 * UNITS
        assert points.min() >= -room
        assert (points <= np.array([panel.width, panel.height]) * UNITS + room).all()


@pytest.mark.parametrize("name", SCENES)
def test_only_presentation_attributes_and_whole_numbers(name: str) -> None:
    for panel in panels(SCENES[name], BOX):
        root = parsed(panel)
        allowed = {"fill", "stroke", "stroke-width", "stroke-linejoin", "stroke-linecap", "stroke-dasharray"}
        allowed |= {"stroke-dashoffset", "d", "cx", "cy", "r"}
        for one in list(root.iter())[2:]:
            assert set(one.attrib) <= allowed
        assert not any("." in one for path in paths(root) for one in NUMBER.findall(path.get("d", "")))


def test_panels_by_start_and_ghost() -> None:
    assert [one.caption for one in panels(SCENES["lunge"], BOX)] == [""]
    assert [one.caption for one in panels(SCENES["ghost"], BOX)] == [""]
    two = panels(SCENES["two"], BOX)
    assert [one.caption for one in two] == ["start", "end"]
    assert two[0].height == two[1].height
    assert palette.GHOST_INK in panels(SCENES["ghost"], BOX)[0].body
    assert palette.GHOST_INK not in two[1].body


def test_both_panels_share_one_scale() -> None:
    """The head does not move between the poses, so it is as large in both."""
    first, second = panels(scene(STRAIGHT, BENT), BOX)

    def hair(panel: Panel) -> tuple[float, float]:
        found = [one.get("d", "") for one in paths(parsed(panel)) if one.get("fill") == palette.TINTS["hair"]]
        points = np.array([point for data in found for run in ends(data) for point in run])
        width, height = np.ptp(points, axis=0).tolist()
        return width, height

    assert hair(first) == pytest.approx(hair(second), abs=2)


@pytest.mark.parametrize("name", ["lunge", "front", "above", "things", "two"])
def test_the_left_is_the_mirror_of_the_right(name: str) -> None:
    for right, left in zip(panels(SCENES[name], BOX), panels(SCENES[name], BOX, mirror=True), strict=True):
        assert (right.width, right.height) == (left.width, left.height)
        a, b = all_points(parsed(right)), all_points(parsed(left))
        turned = np.column_stack([right.width * UNITS - a[:, 0], a[:, 1]])
        apart = np.abs(turned[:, None] - b[None]).max(axis=2).min(axis=1)
        # Hatching slants the same way in both, so that its ends differ.
        assert np.quantile(apart, 0.9) <= 2


def test_alt_text_is_escaped_and_told_twice() -> None:
    root = ET.fromstring(one_svg(panels(SCENES["lunge"], BOX), 'Bent "knee" <right> & left'))
    assert root.get("role") == "img"
    assert root.get("aria-label") == 'Bent "knee" <right> & left'
    assert root[0].text == 'Bent "knee" <right> & left'


def test_strokes_have_their_width_in_millimetres_at_any_scale() -> None:
    for box in ((20.0, 20.0), (90.0, 90.0)):
        body = panels(SCENES["lunge"], box)[0].body
        assert f'stroke-width="{palette.OUTLINE_MM * UNITS:g}"' in body


def _kept(one: Posed, view: Camera, piece: str, other: str) -> list[bool]:
    """Of the outline of a piece where it runs well inside another painted earlier: which samples are stroked."""
    seen = arranged(one, view, look(one.body, view, Crop("")))
    samples = sampled(seen.shapes, seen.stack.kinds == DISC, np.ones(len(seen.pieces), bool), 0.01)
    later = np.array([pair if seen.rank[pair[0]] < seen.rank[pair[1]] else pair[::-1] for pair in seen.pairs])
    keep, _, _ = stroked(seen.pieces, seen.join_places, seen.shapes, samples, seen.rank, later, MELT_M)
    number = {found.name: i for i, found in enumerate(seen.pieces)}
    i, j = number[piece], number[other]
    assert seen.rank[j] < seen.rank[i]
    rows = np.arange(samples.starts[i], samples.starts[i + 1])
    within = inside(samples.paper[rows], seen.shapes, np.full(len(rows), j), 2 * MELT_M)
    found: list[bool] = keep[rows[within]].tolist()
    return found


def test_limbs_join_without_a_line() -> None:
    view = camera(-90, 0)
    seen = arranged(STRAIGHT, view, look(STRAIGHT.body, view, Crop("")))
    pair = sorted(("right_thigh", "right_shank"), key=[seen.pieces[i].name for i in seen.order].index)
    across = _kept(STRAIGHT, view, pair[1], pair[0])
    assert len(across) > 5
    assert not any(across)


def test_crossing_limbs_keep_their_lines() -> None:
    """From the front the right shank crosses the left one, far from any joint that they share."""
    crossed = posed({"right_hip.abd": -18, "right_hip.flex": 25, "left_hip.abd": -8})
    across = _kept(crossed, camera(0, 0), "right_shank", "left_shank")
    assert len(across) > 5
    assert sum(across) > 0.5 * len(across)


def test_what_lies_wholly_behind_another_is_left_out() -> None:
    view = camera(-90, 0)
    seen = arranged(STRAIGHT, view, look(STRAIGHT.body, view, Crop("")))
    gone = {piece.name for piece, out in zip(seen.pieces, covered(seen), strict=True) if out}
    assert "left_sleeve" in gone
    assert not gone & {"head", "chest", "right_shank", "right_forearm"}


def test_a_target_is_tinted_and_hatched_and_from_the_far_side_dashed() -> None:
    near = panels(scene(LUNGE, view=(180, 0), targets=(CALF,)), BOX)[0]
    fills = [one for one in paths(parsed(near)) if one.get("fill") == palette.MARK]
    lines = [one for one in paths(parsed(near)) if one.get("stroke") == palette.CASING]
    assert fills
    assert len(list(ends(lines[0].get("d", "")))) >= 4
    far = panels(scene(LUNGE, view=(0, 0), targets=(CALF,)), BOX)[0]
    assert not [one for one in paths(parsed(far)) if one.get("fill") == palette.MARK]
    assert [one for one in paths(parsed(far)) if one.get("stroke-dasharray") and one.get("stroke") == palette.MARK]


def test_a_target_stays_on_its_body_and_side() -> None:
    """The calf's tint lies within the right shank's outline."""
    view = camera(180, 0)
    seen = arranged(LUNGE, view, look(LUNGE.body, view, Crop("")))
    line = curve(Target(CALF, "right"), LUNGE.body, view)
    assert np.isfinite(ribbon(line)).all()
    body = panels(scene(LUNGE, view=(180, 0), targets=(CALF,)), BOX)[0]
    tint = [
        p for one in paths(parsed(body)) if one.get("fill") == palette.MARK for r in ends(one.get("d", "")) for p in r
    ]
    low = min(
        seen.shapes.low[i, 0] for i, piece in enumerate(seen.pieces) if piece.name in ("right_shank", "right_shin")
    )
    high = max(
        seen.shapes.high[i, 0] for i, piece in enumerate(seen.pieces) if piece.name in ("right_shank", "right_shin")
    )
    wide = (max(x for x, _ in tint) - min(x for x, _ in tint)) / UNITS
    assert 0 < wide <= (high - low) * 40


def test_hatching_crosses_its_polygon_at_even_steps() -> None:
    square = np.array([[0.0, 0], [200, 0], [200, 200], [0, 200]])
    found = hatch([square, square])
    sums = [x + y for (x, y), _ in found]
    assert all(abs(sum(a) - sum(b)) <= 1 for a, b in found)
    assert np.diff(sums) == pytest.approx(np.full(len(sums) - 1, palette.HATCH_STEP_MM * UNITS * 2**0.5), abs=1.01)


def test_a_nerve_is_a_dashed_line_on_a_white_casing() -> None:
    body = parsed(panels(scene(STRAIGHT, targets=(SCIATIC,)), BOX)[0])
    dashed = [one for one in paths(body) if one.get("stroke-dasharray")]
    cased = [one for one in paths(body) if one.get("stroke") == palette.CASING]
    assert {one.get("d") for one in dashed} == {one.get("d") for one in cased}


@pytest.mark.parametrize(("length", "both"), [(0.01, False), (0.3, False), (2.0, False), (0.02, True)])
def test_an_arrow_is_neither_a_speck_nor_a_bar(length: float, both: bool) -> None:
    path = laid(ArrowPath(np.array([[0.0, 0, 0], [length, 0, 0]]), both), camera(-90, 0), 24.0)
    long_ = float(np.linalg.norm(np.diff(path, axis=0), axis=1).sum()) * 24
    assert SHORTEST_MM - 0.1 <= long_ <= LONGEST_MM + 1.5


def test_a_loose_arrow_leaves_the_body_and_a_fixed_one_stays() -> None:
    inside = np.array([[0.0, -0.2, 0.3], [0.02, -0.2, 0.45]])

    def shaft(loose: bool) -> list[tuple[int, int]]:
        panel = panels(scene(arrows=(ArrowPath(inside, loose=loose),)), BOX)[0]
        found = [one for one in parsed(panel).iter() if one.tag.endswith("}g") and one.get("stroke") == palette.MARK]
        return next(ends(found[0][0].get("d", "")))

    assert shaft(False) != shaft(True)


def test_a_close_up_draws_fingers_and_leaves_the_rest_out() -> None:
    view = camera(-60, 20)
    one = SCENES["hand"].end
    shown = crop("right_hand", [one.body])
    names = {piece.name for piece in arranged(one, view, look(one.body, view, shown)).pieces}
    assert {"right_palm", "right_index_3", "right_little_1", "right_thumb_tip", "right_forearm"} <= names
    assert not names & {"head", "chest", "pelvis", "left_palm", "left_fingers", "right_fingers", "right_sleeve"}


def test_thinning_strays_no_farther_than_told() -> None:
    turn = np.linspace(0, np.pi, 80)
    points = np.column_stack([100 * np.cos(turn), 100 * np.sin(turn)])
    thin = np.array(thinned(points.tolist(), 0.6))
    assert len(thin) < 30
    assert thin[0].tolist() == points[0].tolist()
    step, start = np.diff(thin, axis=0), thin[:-1]
    share = np.clip(((points[:, None] - start) * step).sum(axis=2) / (step**2).sum(axis=1), 0, 1)
    off = np.linalg.norm(points[:, None] - start - share[..., None] * step, axis=2).min(axis=1)
    assert off.max() <= 0.6 + 1e-9


CROPS = st.sampled_from(["", "upper_body", "lower_body", "head", "right_hand", "left_foot", "right_arm", "left_leg"])


@settings(max_examples=25, deadline=None)
@given(
    st.dictionaries(
        st.sampled_from([one for one in COORDINATES if "root" not in one]), st.floats(-80, 80), max_size=14
    ),
    st.floats(-180, 180),
    st.floats(-40, 70),
    CROPS,
)
def test_any_pose_is_drawn(angles: dict[str, float], azimuth: float, elevation: float, part: str) -> None:
    found = panels(scene(posed(angles), view=(azimuth, elevation), crop=part, targets=(CALF, CHEST)), BOX)
    text = one_svg(found, "x")
    assert "nan" not in text
    assert "inf" not in text
    assert len(all_points(ET.fromstring(text))) > 20
