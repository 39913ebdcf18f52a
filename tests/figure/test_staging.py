"""From a figure to its scene: things stand where the body touches them, targets and arrows where they belong."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from homecare.core.pose import Arrow, Figure, Held
from homecare.figure.furniture import things
from homecare.figure.landmarks import centres, landmark, on_skin
from homecare.figure.room import TOOLS
from homecare.figure.skeleton import skeleton
from homecare.figure.solids import Ball, Box, Cord, Rod, Solid
from homecare.figure.staging import plant_figure, stage
from homecare.library.load import Library


def figure_of(lib: Library, drill: str) -> Figure:
    figure = lib.drills[drill].figure
    assert figure is not None
    return figure


def solids(lib: Library, drill: str) -> dict[str, Solid]:
    return {one.name: one for one in stage(figure_of(lib, drill), lib.surfaces, []).scene.end.solids}


def test_a_roller_lies_on_the_floor_under_the_point_it_presses(lib: Library) -> None:
    figure = figure_of(lib, "calf_roller")
    (contact,) = [one for one in figure.contacts if one.tool == "roller"]
    _, end = plant_figure(figure)
    (roller,) = [one for one in solids(lib, "calf_roller").values() if isinstance(one, Rod)]
    middle = (np.array(roller.a) + np.array(roller.b)) / 2
    assert middle[2] == pytest.approx(TOOLS["roller"], abs=0.012)
    gap = np.linalg.norm(centres(end.body, contact.point)[0] - middle)
    assert gap == pytest.approx(landmark(contact.point).radius + TOOLS["roller"], abs=0.012)


def test_a_wall_stands_where_the_hands_are(lib: Library) -> None:
    figure = figure_of(lib, "gastrocnemius_wall_stretch")
    wall = solids(lib, "gastrocnemius_wall_stretch")["wall"]
    assert isinstance(wall, Box)
    hand = on_skin(plant_figure(figure)[1].body, "right_palm")[0]
    assert hand[0] == pytest.approx(wall.low[0], abs=0.012)
    assert wall.low[1] < hand[1] < wall.high[1]
    assert hand[2] < wall.high[2]


def test_a_seat_is_under_who_sits_on_it(lib: Library) -> None:
    figure = figure_of(lib, "seated_march")
    seat = solids(lib, "seated_march")["chair"]
    assert isinstance(seat, Box)
    low = on_skin(plant_figure(figure)[1].body, "right_sitting_bone")[0]
    assert low[2] == pytest.approx(seat.high[2], abs=0.012)
    assert seat.low[0] < low[0] < seat.high[0]


def test_held_things_run_through_their_points() -> None:
    body = skeleton({"right_shoulder.flex": 90.0, "left_shoulder.flex": 90.0})
    held = (
        Held("strap", ("right_palm", "right_ball")),
        Held("stick", ("right_palm", "left_palm")),
        Held("dumbbell", ("left_palm",)),
        Held("post", ("at:0.5,0.6,1.0",)),
        Held("towel_roll", ("at:0,0,0.05", "at:1,0,0.05")),
    )
    found = things(body, held)
    strap = next(one for one in found if isinstance(one, Cord))
    assert np.allclose(strap.points[0], on_skin(body, "right_palm")[0])
    assert np.allclose(strap.points[-1], on_skin(body, "right_ball")[0])
    stick = next(one for one in found if one.name.startswith("stick"))
    assert isinstance(stick, Rod)
    assert np.linalg.norm(np.subtract(stick.b, stick.a)) > np.linalg.norm(
        on_skin(body, "left_palm")[0] - on_skin(body, "right_palm")[0]
    )
    assert sum(one.name.startswith("dumbbell") for one in found) == 3  # a bar and two ends
    post = next(one for one in found if one.name.startswith("post"))
    assert isinstance(post, Box)
    assert post.low[2] == 0
    assert post.low[0] < 0.5 < post.high[0]
    assert not any(isinstance(one, Ball) for one in found)


def test_targets_are_marked_on_the_sides_asked_for(lib: Library) -> None:
    figure = figure_of(lib, "soleus_wall_stretch")
    one = stage(figure, lib.surfaces, ["soleus", "s1"]).scene.targets
    assert [(target.surface.id, target.side) for target in one] == [("soleus", "right")]  # a root lies within
    both = stage(figure, lib.surfaces, ["soleus"], ("left", "right")).scene.targets
    assert [target.side for target in both] == ["left", "right"]


def test_a_small_movement_is_a_ghost_and_a_large_one_two_panels(lib: Library) -> None:
    figure = figure_of(lib, "chair_squat")
    assert not stage(figure, {}, []).scene.ghost
    assert figure.start is not None
    small = {**figure.end, "neck.flex": figure.end.get("neck.flex", 0.0) + 8}
    nodding = replace(figure, start=small, start_contacts=figure.contacts)
    assert stage(nodding, {}, []).scene.ghost
    assert not stage(replace(nodding, show="two"), {}, []).scene.ghost
    assert stage(replace(nodding, show="one"), {}, []).scene.start is None


def test_a_path_goes_from_where_the_point_starts_to_where_it_ends(lib: Library) -> None:
    figure = replace(figure_of(lib, "chair_squat"), arrows=(Arrow("hips", "path"), Arrow("left_knee", "up", True)))
    start, end = plant_figure(figure)
    assert start is not None
    path, double = stage(figure, {}, []).scene.arrows
    assert np.allclose(path.points[0], on_skin(start.body, "hips")[0], atol=0.01)
    assert np.allclose(path.points[-1], on_skin(end.body, "hips")[0], atol=0.01)
    assert double.both_ways
    assert double.points[-1][2] > double.points[0][2]


def test_what_stays_on_the_floor_stays_in_place(lib: Library) -> None:
    """Feet that stand at start and end are drawn in one place."""
    start, end = plant_figure(figure_of(lib, "chair_squat"))
    assert start is not None
    for point in ("left_heel", "right_heel"):
        before, after = centres(start.body, point)[0], centres(end.body, point)[0]
        assert np.linalg.norm((before - after)[:2]) < 0.03
