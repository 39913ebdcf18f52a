"""How surfaces are read: faults at their line, and every target of every drill shown."""

from __future__ import annotations

from pathlib import Path

import pytest

from homecare.library.lint import check
from homecare.library.lint_surfaces import targets_drawn
from homecare.library.load import Library, load_library
from tests.library.test_load import DRILL, faults, own_folder

SPINDLE = """surfaces:
  soleus:
    on: [[shank, -0.05, 0, -0.1, 0.02],
      [shank, -0.04, 0, -0.3, 0.02]]
    facing: [shank, -1, 0, 0]
    source: common practice
"""


def test_a_surface_is_read_as_it_is_written(tmp_path: Path) -> None:
    own = load_library(own_folder(tmp_path, SPINDLE)).surfaces["soleus"]
    assert own.points == (("shank", -0.05, 0.0, -0.1, 0.02), ("shank", -0.04, 0.0, -0.3, 0.02))
    assert own.facing == ("shank", -1.0, 0.0, 0.0)
    assert not own.is_line
    assert str(own.where) == "own.yaml:3"


def test_the_clinic_moves_one_surface_and_keeps_the_others(lib: Library, tmp_path: Path) -> None:
    both = load_library(own_folder(tmp_path, SPINDLE))
    assert {one for one in lib.surfaces if lib.surfaces[one] != both.surfaces[one]} == {"soleus"}
    assert both.revision != lib.revision


def test_a_line_has_no_thickness(lib: Library) -> None:
    assert {one for one, surface in lib.surfaces.items() if surface.is_line} == {
        one.id for one in lib.atlas.tissues.values() if one.kind == "nerve"
    }


@pytest.mark.parametrize(
    ("change", "place", "words"),
    [
        (("[[shank,", "[[shink,"), "own.yaml:3", "'shink' is no frame of the body (did you mean shank?)"),
        (("      [shank,", "      [left_shank,"), "own.yaml:4", "leave the side out: shank"),
        ((", -0.3, 0.02]]", ", -0.3]]"), "own.yaml:4", "has 3 numbers after its frame, not 4"),
        ((", -0.3, 0.02]]", ", -0.3, 0.02, 1]]"), "own.yaml:4", "has 5 numbers after its frame, not 4"),
        ((", -0.3, 0.02]]", ", -3, 0.02]]"), "own.yaml:4", "z of a point of 'on' cannot be -3 (from -0.5 to 0.5)"),
        ((", -0.3, 0.02]]", ", -0.3, 0.2]]"), "own.yaml:4", "radius of a point of 'on' cannot be 0.2"),
        ((", -0.3, 0.02]]", ", deep, 0.02]]"), "own.yaml:4", "should be a number, not 'deep'"),
        ((",\n      [shank, -0.04, 0, -0.3, 0.02]]", "]"), "own.yaml:3", "at least two points"),
        (("[[shank, -0.05, 0, -0.1, 0.02]", "[shank"), "own.yaml:3", "a list of a frame and 4 numbers"),
        (("    facing: [shank, -1, 0, 0]\n", ""), "own.yaml:3", "has no 'facing'"),
        (("[shank, -1, 0, 0]", "[shank, 0, 0, 0]"), "own.yaml:5", "points nowhere"),
        (("[shank, -1, 0, 0]", "[shank, -1, 0]"), "own.yaml:5", "has 2 numbers after its frame, not 3"),
        (("    source: common practice\n", ""), "own.yaml:3", "has no 'source'"),
        (
            ("on: [[shank, -0.05, 0, -0.1, 0.02],", "line: [[shank, 0, 0, 0],"),
            "own.yaml:4",
            "has 4 numbers after its frame",
        ),
        (("    facing:", "    line: [[shank, 0, 0, 0], [foot, 0, 0, 0]]\n    facing:"), "own.yaml:3", "needs one of"),
        (("  soleus:", "  soleuss:"), "own.yaml:3", "not in tissues (did you mean soleus?)"),
        (("surfaces:", "surface:"), "own.yaml:1", "did you mean surfaces?"),
        (("    facing:", "    colour: red\n    facing:"), "own.yaml:5", "'colour' is not known"),
    ],
)
def test_each_fault_with_its_line(change: tuple[str, str], place: str, words: str, tmp_path: Path) -> None:
    assert change[0] in SPINDLE
    found = faults(own_folder(tmp_path, SPINDLE.replace(*change)))
    assert [one for one, message in found if words in message] == [place]


def test_every_target_of_every_drill_is_drawn(lib: Library) -> None:
    assert tuple(targets_drawn(lib)) == ()


def test_a_target_that_nothing_places_is_told_at_the_tissue(tmp_path: Path) -> None:
    text = DRILL.replace("[soleus]", "[soleus, own_muscle]")
    text += "tissues:\n  own_muscle: {kind: muscle, name: Own, plain: own, region: leg, source: common practice}\n"
    found = [one for one in check(own_folder(tmp_path, text)).problems if one.code == "surface"]
    assert [(str(one.source), one.message) for one in found] == [
        ("own.yaml:19", "own_muscle: own_drill targets it, but nothing says where it lies on the body")
    ]


def test_a_root_needs_no_surface(tmp_path: Path) -> None:
    own = load_library(own_folder(tmp_path, DRILL.replace("[soleus]", "[soleus, s1]")))
    assert "s1" not in own.surfaces
    assert tuple(targets_drawn(own)) == ()


def test_a_muscle_is_no_line(tmp_path: Path) -> None:
    line = SPINDLE.replace("on:", "line:").replace(", 0.02]", "]")
    found = [one for one in check(own_folder(tmp_path, line)).problems if one.code == "surface"]
    assert [f"{one.source} {one.message}" for one in found] == ["own.yaml:3 soleus: a muscle is drawn as a line"]
