"""Figures as they are written: words to coordinates, the posture under them, and every fault with its line."""

from __future__ import annotations

from pathlib import Path

import pytest

from homecare.core.pose import Contact, Figure
from homecare.library.load import load_library
from tests.library.test_load import DRILL, POSE, faults, own_folder

FIGURE = """    figure:
      from: half_kneeling
      end: {lumbar: flex 10 turn_right 5, right: {hip: ext 12 er 8}, both: {shoulder: flex 40 abd 10}}
"""


def figure_of(folder: Path, figure: str) -> Figure:
    text = DRILL.replace(POSE, figure)
    found = load_library(own_folder(folder, text)).drills["own_drill"].figure
    assert found is not None
    return found


def told(folder: Path, line: str) -> list[tuple[str, str]]:
    """The faults of a figure with one line more, at line 16 of the file."""
    text = DRILL.replace(POSE, FIGURE + f"      {line}\n")
    return faults(own_folder(folder, text))


def test_words_become_coordinates_over_the_posture(tmp_path: Path) -> None:
    figure = figure_of(tmp_path, FIGURE)
    assert figure.end["right_hip.flex"] == -12
    assert figure.end["right_hip.ir"] == -8
    assert figure.end["lumbar.turn"] == -5
    assert figure.end["left_shoulder.abd"] == figure.end["right_shoulder.abd"] == 10
    assert figure.end["left_knee.flex"] == 90  # the posture's own
    assert figure.stance == "upright"
    assert figure.start is None


def test_the_end_says_only_what_changes_from_the_start(tmp_path: Path) -> None:
    figure = figure_of(tmp_path, FIGURE + "      start: {neck: flex 20, right: {hip: ext 3}}\n")
    assert figure.start is not None
    assert figure.start["right_hip.flex"] == -3
    assert figure.end["right_hip.flex"] == -12
    assert figure.end["neck.flex"] == 20


def test_a_contact_takes_the_place_of_the_postures(tmp_path: Path) -> None:
    lines = "      contacts: [right_knee free, left_heel on step x=0.4, both_palm on left_knee slides]\n"
    figure = figure_of(tmp_path, FIGURE + lines)
    found = {contact.point: contact for contact in figure.contacts}
    assert "right_knee" not in found
    assert found["left_heel"] == Contact("left_heel", "step", x=0.4)
    assert found["left_ball"].on == "mat"
    assert {point for point, contact in found.items() if contact.slides} == {"left_palm", "right_palm"}


def test_a_tool_lies_on_the_floor_unless_told(tmp_path: Path) -> None:
    lines = "      contacts: [right_shank_back@0.4 on roller, shoulder on ball at wall_behind]\n".replace(
        "shoulder", "right_shoulder_blade"
    )
    found = {contact.point: contact for contact in figure_of(tmp_path, FIGURE + lines).contacts}
    assert found["right_shank_back@0.4"] == Contact("right_shank_back@0.4", "floor", tool="roller")
    assert found["right_shoulder_blade"] == Contact("right_shoulder_blade", "wall_behind", tool="ball")


def test_motions_of_the_poses_are_the_drills(tmp_path: Path) -> None:
    figure_of(tmp_path, FIGURE)
    drill = load_library(tmp_path).drills["own_drill"]
    assert drill.end is not None
    assert drill.end["hip_extension"] == 12
    assert drill.start is None


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ("start: {right: {kne: flex 10}}", "did you mean knee"),
        ("start: {lumber: flex 10}", "did you mean lumbar"),
        ("start: {right: {knee: ext 10}}", "'ext' is no movement of the knee"),
        ("start: {right: {knee: flex}}", "each with its degrees"),
        ("start: {right: {knee: flex -10}}", "use the opposite word"),
        ("start: {right: {knee: flex ten}}", "no number of degrees"),
        ("contacts: [right_heal on floor]", "did you mean right_heel"),
        ("contacts: [right_heel on flor]", "did you mean floor"),
        ("contacts: [right_heel floor]", "is no contact"),
        ("contacts: [right_thigh_back@7 on chair]", "is no point of the body"),
        ("held: [rope right_palm]", "is nothing that is held"),
        ("held: [strap]", "runs along no point"),
        ("held: ['strap right_palm at:1,2']", "is no point of the body"),
        ("arrows: [right_heel sideways]", "is no arrow"),
        ("arrows: [right_heel]", "a point and its way"),
        ("view: sideways", "cannot be 'sideways'"),
        ("view: [10]", "takes two angles"),
        ("crop: right_han", "did you mean right_hand"),
        ("surfaces: {chiar: 0.4}", "did you mean chair"),
        ("free: [thoracic]", "did you mean thoracic"),
        ("targets: [soleuss]", "did you mean soleus"),
        ("colour: red", "is not known in the figure"),
    ],
)
def test_what_is_wrong_is_told_at_its_line(line: str, words: str, tmp_path: Path) -> None:
    found = told(tmp_path, line)
    assert len(found) == 1, found
    place, message = found[0]
    assert place.startswith("own.yaml:19"), place
    assert words in message


def test_a_posture_that_is_not_there_is_told(tmp_path: Path) -> None:
    text = DRILL.replace(POSE, FIGURE.replace("half_", "half"))
    found = faults(own_folder(tmp_path, text))
    assert "did you mean half_kneeling" in found[0][1]
