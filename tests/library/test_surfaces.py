"""Where tissues lie on the body: faults at their line, every target shown, and each spindle on the skin it belongs to.

The anatomy asserted is that of Moore KL et al., Clinically Oriented Anatomy 8e (from memory).
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from homecare.figure.landmarks import centres, landmark, names
from homecare.figure.skeleton import INDEX, LENGTHS, Array, skeleton
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
OFF_SKIN = 0.02
"""Metres that a ball's edge may end short of the skin of landmarks, which is a coarser body than the one drawn."""


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
    found = [one for one in check(own_folder(tmp_path, text)) if one.code == "surface"]
    assert [(str(one.source), one.message) for one in found] == [
        ("own.yaml:19", "own_muscle: own_drill targets it, but nothing says where it lies on the body")
    ]


def test_a_root_needs_no_surface(tmp_path: Path) -> None:
    own = load_library(own_folder(tmp_path, DRILL.replace("[soleus]", "[soleus, s1]")))
    assert "s1" not in own.surfaces
    assert tuple(targets_drawn(own)) == ()


def test_a_muscle_is_no_line(tmp_path: Path) -> None:
    line = SPINDLE.replace("on:", "line:").replace(", 0.02]", "]")
    found = [one for one in check(own_folder(tmp_path, line)) if one.code == "surface"]
    assert [f"{one.source} {one.message}" for one in found] == ["own.yaml:3 soleus: a muscle is drawn as a line"]


BODY = skeleton({})


def places(lib: Library, tissue: str) -> Array:
    """World places (k, 3) of a surface on the left side of a standing body, where outwards is y."""
    spots = []
    for frame, x, y, z, _ in lib.surfaces[tissue].points:
        spots.append(BODY.points(frame if frame in INDEX else f"left_{frame}", (x, y, z))[0])
    return np.array(spots)


TRUNK = ("pelvis", "lumbar", "thorax_low", "thorax", "neck", "head")
NEAR = {"elbow": ("elbow", "forearm"), "foot": ("foot", "toes", "shank"), "toes": ("foot", "toes")}
"""Segments whose flesh a point of a frame may lie on; else its own, or any of the trunk."""


def flesh(frames: tuple[str, ...]) -> Array:
    """Balls of flesh (k, 4) of segments of a standing body: the landmarks', and those between the trunk's pairs."""
    found = []
    limbs = ("thigh", "shank", "upper_arm", "forearm")
    for name in (*names(), *(f"left_{limb}_front@{share / 20}" for limb in limbs for share in range(21))):
        mark = landmark(name)
        side, _, rest = name.partition("_")
        if mark.frame.removeprefix("left_") not in frames:
            continue
        place = centres(BODY, name)[0]
        found.append((*place, mark.radius))
        if side == "left" and mark.frame in TRUNK:
            other = centres(BODY, f"right_{rest}")[0]
            found += [(*(place * share + other * (1 - share)), mark.radius) for share in (0.2, 0.4, 0.6, 0.8, 1.0)]
    return np.array(found)


def test_every_ball_reaches_the_skin_and_none_floats(lib: Library) -> None:
    off = {}
    for tissue, surface in lib.surfaces.items():
        for place, (frame, _, _, z, radius) in zip(places(lib, tissue), surface.points, strict=True):
            if frame == "hand" and z < -LENGTHS["palm"]:
                continue  # no landmark but one fingertip tells where the fingers are
            balls = flesh(TRUNK if frame in TRUNK else NEAR.get(frame, (frame,)))
            depth = float((np.linalg.norm(balls[:, :3] - place, axis=1) - balls[:, 3]).min())
            if not -radius - OFF_SKIN <= depth <= radius + OFF_SKIN:
                off[tissue, frame, tuple(np.round(place, 3).tolist())] = round(depth, 3)
    assert off == {}


def test_a_spindle_is_a_belly_and_not_half_a_limb(lib: Library) -> None:
    muscles = [one.id for one in lib.atlas.tissues.values() if one.kind == "muscle" and one.id in lib.surfaces]
    assert len(muscles) >= 40
    for tissue in muscles:
        radii = [point[4] for point in lib.surfaces[tissue].points]
        assert 0.015 <= max(radii) <= 0.045, tissue
        assert radii[-1] < max(radii), tissue
        assert len(radii) >= 3, tissue


SEEN_FROM = {
    "front": (
        "rectus_femoris",
        "vastus_intermedius",
        "iliopsoas",
        "tibialis_anterior",
        "biceps_brachii",
        "patellar_tendon",
    ),
    "back": (
        "gastrocnemius",
        "soleus",
        "achilles_tendon",
        "semitendinosus",
        "biceps_femoris_long_head",
        "gluteus_maximus",
    ),
    "outer": ("fibularis_longus", "vastus_lateralis", "iliotibial_band", "gluteus_medius", "extensor_digitorum"),
    "inner": ("adductor_magnus", "flexor_digitorum_superficialis", "tibialis_posterior"),
}
"""Compartments (Moore, from memory); the forearm hangs with its palm towards the body."""
WAYS = {"front": (1, 0), "back": (-1, 0), "outer": (0, 1), "inner": (0, -1)}


@pytest.mark.parametrize(("way", "tissue"), [(way, one) for way, found in SEEN_FROM.items() for one in found])
def test_the_belly_lies_and_faces_where_its_compartment_is(way: str, tissue: str, lib: Library) -> None:
    surface = lib.surfaces[tissue]
    frame, x, y, _, _ = max(surface.points, key=lambda point: point[4])
    out = np.array(WAYS[way], float)
    middle = 0.07 if frame == "pelvis" else 0.0
    assert np.array([x, y - middle]) @ out > 0
    assert np.array(surface.facing[1:3]) @ out > 0.5


def heights(lib: Library, tissue: str) -> Array:
    """World heights (k,) of a surface's points on a standing body."""
    found: Array = places(lib, tissue)[:, 2]
    return found


def test_origins_and_insertions_stand_above_and_below_their_joints(lib: Library) -> None:
    joint = {
        one: float(BODY.origins[0, INDEX[f"left_{one}"], 2]) for one in ("thigh", "shank", "foot", "elbow", "hand")
    }
    crosses = {
        "gastrocnemius": "shank",
        "rectus_femoris": "thigh",
        "biceps_femoris_long_head": "shank",
        "semitendinosus": "shank",
        "tibialis_anterior": "foot",
        "fibularis_longus": "foot",
        "iliopsoas": "thigh",
        "biceps_brachii": "elbow",
        "flexor_carpi_radialis": "hand",
        "extensor_carpi_radialis_brevis": "elbow",
    }
    for tissue, one in crosses.items():
        assert heights(lib, tissue)[0] > joint[one] > heights(lib, tissue)[-1], tissue
    assert heights(lib, "soleus").max() < joint["shank"]
    assert heights(lib, "biceps_femoris_short_head").max() < joint["thigh"] - 0.1


def test_neighbours_lie_in_their_order(lib: Library) -> None:
    def outwards(tissue: str) -> float:
        return float(places(lib, tissue)[:, 1].mean())

    def height(tissue: str) -> float:
        return float(heights(lib, tissue).mean())

    assert outwards("biceps_femoris_long_head") > outwards("semitendinosus") > outwards("semimembranosus") - 0.02
    assert outwards("vastus_lateralis") > outwards("rectus_femoris") > outwards("vastus_medialis")
    assert height("piriformis") > height("obturator_internus") > height("quadratus_femoris")
    assert height("gastrocnemius") > height("soleus") > height("achilles_tendon")
    assert height("upper_trapezius") > height("rhomboids") > height("lower_trapezius")
    thumb = {one: lib.surfaces[one].points[-1][1] for one in ("flexor_carpi_radialis", "flexor_carpi_ulnaris")}
    assert thumb["flexor_carpi_radialis"] > 0 > thumb["flexor_carpi_ulnaris"]


def at(lib: Library, nerve: str, frame: str, low: float, high: float) -> Array:
    """Local points (k, 3) of a nerve on a frame between two heights."""
    found = np.array(
        [(x, y, z) for name, x, y, z, _ in lib.surfaces[nerve].points if name == frame and low <= z <= high]
    )
    assert len(found), (nerve, frame)
    return found


def test_nerves_pass_where_they_are_touched(lib: Library) -> None:
    behind = at(lib, "ulnar", "elbow", -0.02, 0.02)
    assert (behind[:, 0] < 0).all()
    assert (behind[:, 1] < 0).all()
    assert (at(lib, "median", "elbow", -0.02, 0.02)[:, 0] > 0).all()
    assert (at(lib, "median", "hand", -0.1, 0)[:, 1] < 0).all()
    assert (at(lib, "ulnar", "hand", -0.2, 0)[:, 0] < 0).all()
    groove = at(lib, "radial", "upper_arm", -0.17, -0.09)
    assert (groove[:, 0] < 0).all()
    assert groove[0, 1] < 0 < groove[-1, 1]
    assert (at(lib, "radial", "elbow", -0.03, 0.03)[:, 1] > 0).all()
    assert (at(lib, "sciatic", "thigh", -0.4, 0)[:, 0] < 0).all()
    assert (at(lib, "tibial", "foot", -0.02, 0.0)[:, 1] < 0).all()
    assert (at(lib, "sural", "foot", -0.06, 0.0)[:, 1] > 0).all()
    assert (at(lib, "common_fibular", "shank", -0.05, -0.03)[:, 1] > 0.03).all()
    assert (at(lib, "deep_fibular", "shank", -0.4, -0.3)[:, 0] > 0).all()
    assert (at(lib, "femoral", "thigh", -0.4, 0)[:, 0] > 0).all()
    assert (at(lib, "saphenous", "shank", -0.4, 0)[:, 1] < 0).all()
    assert (at(lib, "lateral_femoral_cutaneous", "thigh", -0.4, 0)[:, 1] > 0).all()


def test_a_branch_runs_on_its_nerve_until_it_leaves(lib: Library) -> None:
    for branch in ("tibial", "sural", "common_fibular", "superficial_fibular", "deep_fibular"):
        assert lib.surfaces[branch].points[:5] == lib.surfaces["sciatic"].points[:5], branch
    assert lib.surfaces["saphenous"].points[:3] == lib.surfaces["femoral"].points[:3]
