"""Each rule of figures on a drill that breaks it and on one that keeps it."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from typing import Any

import pytest

from homecare.core.drill import Drill
from homecare.core.pose import FREE, Contact, Figure
from homecare.core.problems import Problem
from homecare.figure.motions import motions
from homecare.library import lint_figure as rules
from homecare.library.load import Library

Rule = Callable[[Library], Iterator[Problem]]
HANDS = (Contact("left_palm", "wall"), Contact("right_palm", "wall"))
HEELS = (Contact("left_heel", "floor", x=0.0), Contact("right_heel", "floor", x=0.0))


def _with(lib: Library, drill: Drill, **figure: Any) -> Library:
    """The library with this drill alone, its figure changed; its written motions follow, as reading does it."""
    assert drill.figure is not None
    changed = replace(drill.figure, **figure)
    start = None if changed.start is None else motions(changed.start, "right")
    own = replace(drill, figure=changed, start=start, end=motions(changed.end, "right"))
    return replace(lib, drills={drill.id: own})


def _posed(lib: Library, posture: str, drill: str, angles: dict[str, float], **figure: Any) -> Library:
    """The library with a drill's figure written anew over a posture."""
    one = lib.drills[drill]
    written = Figure(posture, angles, one.where, **figure).over(lib.postures[posture])
    return _with(lib, replace(one, figure=written))


def _told(rule: Rule, library: Library) -> list[str]:
    found = list(rule(library))
    assert all(problem.message.startswith(f"{next(iter(library.drills))}: ") for problem in found)
    return [problem.message for problem in found]


CALF = {"right_ankle.df": 15.0, "right_hip.flex": -16.0}


def test_a_calf_stretch_as_it_should_be_breaks_no_rule(lib: Library) -> None:
    library = _posed(lib, "split_stance", "gastrocnemius_wall_stretch", CALF)
    assert [one for rule in rules.FIGURE_RULES for one in _told(rule, library)] == []


def test_limits_are_told_with_joint_degrees_and_source(lib: Library) -> None:
    library = _posed(lib, "standing", "gastrocnemius_wall_stretch", {"right_elbow.flex": 165, "left_shoulder.ir": 90})
    found = _told(rules.limits_held, library)
    assert len(found) == 2
    assert any("the right elbow is at flex 165, beyond its range of flex 150 (Norkin" in one for one in found)
    assert any("the left shoulder is at ir 90, beyond its range of ir 80" in one for one in found)


def test_a_contact_out_of_reach_is_told(lib: Library) -> None:
    library = _posed(
        lib, "standing", "gastrocnemius_wall_stretch", {}, contacts=(*HANDS, *HEELS), surfaces={"wall": 2.6}
    )
    assert any("hand with the wall is off by" in one for one in _told(rules.contacts_met, library))


def test_a_joint_that_had_to_go_far_is_told(lib: Library) -> None:
    library = _posed(lib, "standing", "gastrocnemius_wall_stretch", {}, contacts=HANDS)
    assert any("shoulder was written" in one and "had to go to" in one for one in _told(rules.angles_kept, library))


def test_a_limb_through_the_body_is_told(lib: Library) -> None:
    crossed = {"right_hip.abd": -25.0, "left_hip.abd": -25.0}
    lifted = tuple(Contact(f"{side}_{part}", FREE) for side in ("left", "right") for part in ("heel", "ball"))
    library = _posed(lib, "standing", "gastrocnemius_wall_stretch", crossed, contacts=lifted)
    found = _told(rules.body_clear, library)
    assert any("right" in one and "left" in one and "mm into the" in one for one in found)


def test_a_bent_knee_slackens_the_gastrocnemius(lib: Library) -> None:
    bent = {"right_ankle.df": 20.0, "right_knee.flex": 40.0, "right_hip.flex": 20.0}
    told = _told(rules.stretches_proved, _posed(lib, "split_stance", "gastrocnemius_wall_stretch", bent))
    assert told
    assert all("the knee is bent" in one and "straighten the knee" in one for one in told)


def test_a_straight_knee_spares_the_soleus(lib: Library) -> None:
    (told,) = _told(rules.stretches_proved, _posed(lib, "split_stance", "soleus_wall_stretch", CALF))
    assert "the gastrocnemius is drawn out before it; bend the knee" in told


GLIDING = {"right_shoulder.abd": 40.0, "right_forearm.pron": -60.0}


def test_a_glide_that_pulls_is_no_slider(lib: Library) -> None:
    start = {**GLIDING, "right_elbow.flex": 100.0, "right_wrist.flex": 30.0}
    pulls = {**GLIDING, "right_elbow.flex": 10.0, "right_wrist.flex": -50.0}
    slides = {**GLIDING, "right_elbow.flex": 10.0, "right_wrist.flex": 60.0}
    start_slides = {**GLIDING, "right_elbow.flex": 100.0, "right_wrist.flex": -60.0}
    (told,) = _told(rules.glides_proved_as_drawn, _posed(lib, "standing", "median_slider", pulls, start=start))
    assert "claims to be a slider of the median nerve, its poses are a tensioner" in told
    proved = _posed(lib, "standing", "median_slider", slides, start=start_slides)
    assert _told(rules.glides_proved_as_drawn, proved) == []


def test_a_release_of_another_place_is_told(lib: Library) -> None:
    def pressing(point: str) -> list[str]:
        contact = (Contact(point, "mat", "roller"),)
        return _told(rules.releases_proved, _posed(lib, "long_sitting", "calf_roller", {}, contacts=contact))

    assert pressing("right_shank_back@0.35") == []
    assert "mm away from" in pressing("right_thigh_back@0.4")[0]
    assert "it presses the back of the knee" in pressing("right_knee_back")[-1]
    untouched = _posed(lib, "long_sitting", "calf_roller", {})
    assert "nothing touches the tissue" in _told(rules.releases_proved, untouched)[0]


def test_a_trait_that_is_left_out_is_told(lib: Library) -> None:
    raised = {"right_shoulder.flex": 165.0}
    library = _posed(lib, "standing", "gastrocnemius_wall_stretch", raised)
    (told,) = _told(rules.traits_listed, library)
    assert "its pose means the arm overhead" in told
    listed = replace(library.drills["gastrocnemius_wall_stretch"], traits=("overhead",))
    assert _told(rules.traits_listed, replace(library, drills={listed.id: listed})) == []


def test_a_load_that_setting_down_changes_is_told(lib: Library) -> None:
    written = {"right_hip.flex": 60.0}  # both heels on the floor: the raised leg must come down
    found = _told(rules.loads_agree, _posed(lib, "standing", "gastrocnemius_wall_stretch", written))
    assert len(found) == 1
    assert "of its full test as drawn" in found[0]


def test_retired_drills_and_those_without_a_figure_are_left_alone(lib: Library) -> None:
    library = _posed(lib, "standing", "gastrocnemius_wall_stretch", {"right_elbow.flex": 165})
    (drill,) = library.drills.values()
    for one in (replace(drill, retired=True), replace(drill, figure=None)):
        assert _told(rules.limits_held, replace(lib, drills={one.id: one})) == []


@pytest.mark.parametrize("rule", rules.FIGURE_RULES, ids=lambda rule: str(rule.__name__))
def test_every_rule_says_what_it_holds(rule: Rule) -> None:
    assert (rule.__doc__ or "").endswith(".")


def test_a_hand_across_the_front_of_the_neck_is_told(lib: Library) -> None:
    """Its fingertips press the shoulder blade's corner, as claimed, but the palm lies on the neck."""
    arm = {"left_shoulder.flex": 84.0, "left_shoulder.abd": -35.0, "left_shoulder.ir": 72.0, "left_elbow.flex": 132.0}
    girdle = {"left_girdle.prot": 25.0, "left_girdle.elev": 12.0, "left_forearm.pron": 35.0, "left_wrist.flex": 25.0}
    contacts = (Contact("left_fingertips", "right_blade_top"),)
    library = _posed(lib, "chair_sitting", "upper_back_hand_release", {**arm, **girdle}, contacts=contacts)
    assert any("hand lies on the front of the neck" in one for one in _told(rules.releases_proved, library))
