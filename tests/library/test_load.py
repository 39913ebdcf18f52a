"""The library as it is read: every fault with file and line, the clinic's folder over the shipped one, names."""

from __future__ import annotations

from pathlib import Path

import pytest

from homecare.core.problems import InputFault
from homecare.library.load import Library, load_library, read_library

POSE = "    figure: {from: split_stance, end: {right: {knee: flex 30, ankle: df 20}}}\n"
DRILL = f"""drills:
  own_drill:
    code: OWN
    name: Own stretch
    clinical: A stretch of our own
    address: own-stretch
    kind: stretch
    tissues: [soleus]
    part: calf
    region: leg
    ladder: static_stretch
    steps: ["Stand.", "Lean."]
    feel: "A pull."
    not_feel: "Pain."
    stop_if: "It hurts."
{POSE}    source: common practice
"""

LADDER = """ladders:
  own_ladder:
    name: Own
    rungs: [{reps: 10, tempo_s: 4}, {reps: 12, tempo_s: 4}]
    wanted_per_week: 3
    least_per_week: 2
    gap_days: 2
    parts: [evening]
    climb_days: {low: 3, moderate: 4, high: 5}
    start_rung: {low: 0, moderate: 0, high: 0}
    source: common practice
"""


def own_folder(folder: Path, text: str, name: str = "own.yaml") -> Path:
    """A clinic's folder that holds one file."""
    (folder / name).write_text(text)
    return folder


def faults(folder: Path) -> list[tuple[str, str]]:
    """Place and message (with hint) of each fault of the shipped library under a folder."""
    _, problems = read_library(folder)
    return [(str(one.source), f"{one.message} ({one.hint})") for one in problems]


def test_what_the_first_release_must_hold(lib: Library) -> None:
    kinds = {kind: [t.id for t in lib.atlas.tissues.values() if t.kind == kind] for kind in ("nerve", "root", "muscle")}
    assert {"median", "ulnar", "radial", "sciatic", "tibial", "common_fibular"} <= set(kinds["nerve"])
    assert {"c5", "c6", "c7", "c8", "t1", "l4", "l5", "s1"} <= set(kinds["root"])
    assert len(kinds["muscle"]) >= 30
    assert len({drill.kind for drill in lib.drills.values()}) == 6
    assert len(lib.drills) >= 45
    assert len(lib.flags) >= 17


def test_an_own_drill_is_added(lib: Library, tmp_path: Path) -> None:
    both = load_library(own_folder(tmp_path, DRILL))
    assert set(both.drills) - set(lib.drills) == {"own_drill"}
    assert both.revision != lib.revision


def test_a_record_of_the_clinic_replaces_the_shipped_one_whole(lib: Library, tmp_path: Path) -> None:
    text = DRILL.replace("own_drill", "soleus_wall_stretch").replace("OWN", lib.drills["soleus_wall_stretch"].code)
    both = load_library(own_folder(tmp_path, text + "    based_on: abc\n"))
    assert both.drills["soleus_wall_stretch"].name == "Own stretch"
    assert len(both.drills) == len(lib.drills)
    changed = {key for key in lib.drills if lib.drill_revision(key) != both.drill_revision(key)}
    assert changed == {"soleus_wall_stretch"}


def test_the_revision_does_not_hang_on_spacing_or_key_order(tmp_path: Path) -> None:
    one, two = tmp_path / "one", tmp_path / "two"
    one.mkdir()
    two.mkdir()
    lines = DRILL.splitlines()
    turned = "\n".join([*lines[:2], *reversed(lines[2:])]) + "\n\n# a remark\n"
    first, second = load_library(own_folder(one, DRILL)), load_library(own_folder(two, turned))
    assert first.revision == second.revision


def test_a_shipped_drill_can_be_retired(lib: Library, tmp_path: Path) -> None:
    both = load_library(own_folder(tmp_path, "drills:\n  soleus_wall_stretch: {retired: true}\n"))
    assert both.drills["soleus_wall_stretch"].retired
    assert len(both.drills) == len(lib.drills)


@pytest.mark.parametrize(
    ("change", "place", "words"),
    [
        (("tissues: [soleus]", "tissues: [soleuss]"), "own.yaml:8", "did you mean soleus?"),
        (("kind: stretch", "kind: strech"), "own.yaml:7", "did you mean stretch?"),
        (("    part: calf\n", ""), "own.yaml:3", "has no 'part'"),
        (("    part: calf\n", "    part: calf\n    colour: red\n"), "own.yaml:10", "'colour' is not known"),
        (("    part: calf\n", "    part: calf\n    part: calf\n"), "own.yaml:10", "given twice"),
        (("region: leg", "region: log"), "own.yaml:10", "did you mean leg?"),
        (("knee: flex 30", "kne: flex 30"), "own.yaml:16", "did you mean knee?"),
        (("knee: flex 30", "knee: flex soft"), "own.yaml:16", "no number of degrees"),
        (("source: common practice", "source: the internet"), "own.yaml:17", "where it is from"),
        (("drills:", "drils:"), "own.yaml:1", "did you mean drills?"),
        (("code: OWN", "code: own1"), "own.yaml:3", "capital letters"),
    ],
)
def test_each_fault_with_its_line(change: tuple[str, str], place: str, words: str, tmp_path: Path) -> None:
    found = faults(own_folder(tmp_path, DRILL.replace(*change)))
    assert [one for one, message in found if words in message] == [place]


def test_all_faults_of_all_files_at_once(tmp_path: Path) -> None:
    own_folder(tmp_path, DRILL.replace("soleus", "soleuss").replace("kind: stretch", "kind: strech"))
    own_folder(tmp_path, "drills: [\n", "torn.yaml")
    places = {place for place, _ in faults(tmp_path)}
    assert {"own.yaml:7", "torn.yaml:2"} <= places


def test_the_same_id_in_two_files_of_one_folder(tmp_path: Path) -> None:
    own_folder(tmp_path, DRILL, "a.yaml")
    own_folder(tmp_path, DRILL, "b.yaml")
    assert [place for place, message in faults(tmp_path) if "first in a.yaml:2" in message] == ["b.yaml:2"]


def test_a_name_that_would_lead_to_two_tissues(tmp_path: Path) -> None:
    text = "groups:\n  own_group: {plain: own, members: [soleus], also: [gastrocnemius]}\n"
    assert any("leads to both" in message for _, message in faults(own_folder(tmp_path, text)))


def test_a_folder_that_is_not_there(tmp_path: Path) -> None:
    with pytest.raises(InputFault, match="no such folder"):
        load_library(tmp_path / "nowhere")
