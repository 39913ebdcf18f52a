"""Figures in plain words: what is said is what is posed, for either side, in words a sixth-grader reads."""

from __future__ import annotations

import re

import pytest

from homecare.core.pose import Contact, Figure, Held, Posture
from homecare.core.problems import Source
from homecare.figure.landmarks import names
from homecare.figure.point_words import point_in_words, surface_in_words, thing_in_words, tool_in_words
from homecare.figure.room import SURFACES, THINGS, TOOLS
from homecare.figure.words import alt_text, how_it_looks
from homecare.library.load import Library

NOWHERE = Source("")
FEET = (*(Contact(f"{side}_heel", "floor") for side in ("left", "right")),)
STANDING = Posture("standing", "standing", "upright", {}, FEET, NOWHERE)
JARGON = re.compile(
    r"flexion|extension|abduct|adduct|rotat|supin|pronat|dorsi|plantar flex|lateral|medial|anterior|posterior|thorac|"
    r"lumbar|cervic|shank|girdle|mat\b|_|@|\bs?hip\.|\bcoordinate",
)


def figure(
    end: dict[str, float],
    start: dict[str, float] | None = None,
    contacts: tuple[Contact, ...] = (),
    held: tuple[Held, ...] = (),
) -> Figure:
    return Figure("standing", end, NOWHERE, start, contacts=(*FEET, *contacts), held=held)


CALF = figure(
    {"right_hip.flex": -16, "right_ankle.df": 18, "left_hip.flex": 20, "left_knee.flex": 40},
    contacts=(Contact("left_palm", "wall"), Contact("right_palm", "wall")),
)


def test_a_calf_stretch_is_told_as_a_person_would() -> None:
    assert alt_text(CALF, STANDING, ["upper calf"]) == (
        "Standing, both hands on the wall, right foot pulled up, right thigh back, right knee straight, left "
        "knee bent, left thigh a little forward, right heel on the floor. The upper calf is marked."
    )


def test_the_left_is_the_right_changed_over() -> None:
    told = alt_text(CALF, STANDING, ["upper calf"], "left")
    assert "left heel on the floor" in told
    assert "right knee bent" in told
    back = {"left": "right", "right": "left"}
    assert re.sub(r"\b(left|right)\b", lambda found: back[found[0]], told) == alt_text(CALF, STANDING, ["upper calf"])
    assert how_it_looks(CALF, STANDING, "left") != how_it_looks(CALF, STANDING)


def test_what_moves_is_told_from_start_to_end() -> None:
    bends = figure({"right_elbow.flex": 5}, {"right_elbow.flex": 100})
    assert "The right elbow goes from bent to straight." in alt_text(bends, STANDING, [])
    both = figure({f"{side}_knee.flex": 90 for side in ("left", "right")}, {})
    assert "Both knees go from straight to bent." in alt_text(both, STANDING, [])
    shrug = figure({"right_girdle.elev": 20}, {"right_girdle.elev": -8})
    assert "The right shoulder goes from drawn down to raised." in alt_text(shrug, STANDING, [])


def test_a_figure_that_does_not_move_tells_no_move() -> None:
    assert " goes " not in alt_text(CALF, STANDING, [])
    hardly = figure({"right_elbow.flex": 95}, {"right_elbow.flex": 90})
    assert " goes " not in alt_text(hardly, STANDING, [])


@pytest.mark.parametrize(
    ("end", "says"),
    [
        ({"neck.bend": -20}, "head tipped to the left"),
        ({"neck.turn": -20, "head.turn": -20}, "head turned to the right"),
        ({"lumbar.flex": 20, "thoracic.flex": 10}, "back rounded"),
        ({"lumbar.bend": 15}, "trunk bent to the right"),
        ({"right_shoulder.flex": 160}, "right arm overhead"),
        ({"right_shoulder.abd": 90}, "right arm out to the side"),
        ({"right_hip.flex": 60, "right_knee.flex": 60}, "right thigh forward, right knee bent"),
        ({"left_hip.abd": 30}, "left leg out to the side"),
        ({"right_forearm.pron": -60}, "right palm turned up"),
        ({"right_wrist.flex": -60}, "right wrist bent back"),
    ],
)
def test_each_joint_has_its_words(end: dict[str, float], says: str) -> None:
    assert says in alt_text(figure(end), STANDING, [])


def test_words_follow_the_angles() -> None:
    told = {alt_text(figure({"right_knee.flex": value}), STANDING, []) for value in (0, 25, 60, 130)}
    assert len(told) == 4


def test_one_target_is_and_several_are() -> None:
    def ends(*targets: str) -> str:
        return alt_text(CALF, STANDING, targets).rpartition(". ")[2]

    assert ends("hamstrings") == "The hamstrings are marked."
    assert ends("joint at the back of the pelvis") == "The joint at the back of the pelvis is marked."
    assert ends("calf", "shin") == "The calf and shin are marked."


def test_tools_and_things_are_told() -> None:
    roller = figure(
        {}, contacts=(Contact("right_shank_back@0.4", "mat", "roller"), Contact("right_hip_outer", "wall", "ball"))
    )
    told = alt_text(roller, STANDING, [])
    assert "a roller under the right calf" in told
    assert "a small ball between the side of the right hip and the wall" in told
    held = figure({}, held=(Held("strap", ("right_palm", "right_ball")),))
    assert "a strap from the right hand to the front of the right foot" in alt_text(held, STANDING, [])


def test_how_it_looks_is_one_sentence() -> None:
    assert how_it_looks(figure({}), STANDING) == "You are standing."
    told = how_it_looks(CALF, STANDING)
    assert told.startswith("The right foot is pulled up")
    assert told.count(".") == 1


def test_every_point_surface_and_thing_has_words() -> None:
    for name in (*names(), *SURFACES, *TOOLS, *THINGS):
        if name in SURFACES:
            said = surface_in_words(name)
        elif name in TOOLS:
            said = tool_in_words(name)
        elif name in THINGS:
            said = thing_in_words(name, ())
        else:
            said = point_in_words(name)
        assert said
        assert not JARGON.search(said), said
    assert point_in_words("right_thigh_back@0.7") == "back of the right thigh"


def test_every_drawn_drill_reads_plainly(lib: Library) -> None:
    drawn = [drill.figure for drill in lib.drills.values() if drill.figure]
    assert drawn
    for one in drawn:
        posture = lib.postures[one.posture]
        for side in ("right", "left"):
            told = alt_text(one, posture, ["working part"], side)
            looks = how_it_looks(one, posture, side)
            assert not JARGON.search(told + looks), told
            assert len(told) <= 500, told
            assert len(looks.split()) <= 40, looks
            assert all(len(sentence.split()) <= 60 for sentence in told.split(". "))
