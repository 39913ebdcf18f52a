"""A clinic's own folder over the shipped library: taking, changing, retiring, hiding, coming back; nothing is lost."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

from homecare.cli.main import main
from homecare.core.problems import InputFault
from homecare.library import archive, load, upkeep
from homecare.library.changes import changes
from homecare.library.load import Library, load_library
from homecare.library.written import record_text
from homecare.resources import resource_dir
from homecare.workflow import keep_texts, make_sheet

DRILL = "soleus_wall_stretch"
VISIT = """athlete: Tove H.
start: 2026-03-02
findings: [{tissue: soleus, side: left, found: tight}]
"""
WORDS = ("Stand facing a wall", "Stand and face a wall")


def edited(own: Path) -> Path:
    """A clinic's folder with one drill taken and its first step said otherwise."""
    path = upkeep.take(own, DRILL)
    path.write_text(path.read_text().replace(*WORDS))
    return own


def files(folder: Path) -> dict[str, bytes]:
    return {str(path.relative_to(folder)): path.read_bytes() for path in folder.rglob("*") if path.is_file()}


def test_a_record_written_out_reads_back_as_the_same_content(lib: Library, tmp_path: Path) -> None:
    drills = [key for section, key in lib.entries if section == "drills"]
    for key in drills:
        (tmp_path / f"{key}.yaml").write_text(record_text("drills", key, lib.entries["drills", key].content, {}))
    again = load_library(tmp_path)
    assert all(again.entries["drills", key].own for key in drills)
    assert [again.drill_revision(key) for key in drills] == [lib.drill_revision(key) for key in drills]


def test_a_drill_taken_is_as_shipped_until_it_is_changed(lib: Library, tmp_path: Path) -> None:
    one = tmp_path / "one"
    upkeep.take(one, DRILL)
    taken = load_library(one)
    assert taken.entries["drills", DRILL].own
    assert taken.entries["drills", DRILL].based_on == lib.drill_revision(DRILL) == taken.drill_revision(DRILL)
    edited_lib = load_library(edited(tmp_path / "two"))
    assert edited_lib.drills[DRILL].steps[0].startswith(WORDS[1])
    with pytest.raises(InputFault, match="is in the clinic's folder already"):
        upkeep.take(one, DRILL)


def test_the_shipped_text_comes_back_and_the_clinics_is_kept(lib: Library, tmp_path: Path) -> None:
    own = edited(tmp_path)
    revision = load_library(own).drill_revision(DRILL)
    upkeep.restore(own, DRILL)
    assert load_library(own).drill_revision(DRILL) == lib.drill_revision(DRILL)
    place, content = archive.kept(own, revision) or (("", ""), {})
    assert place == ("drills", DRILL)
    assert str(content["steps"]).count(WORDS[1]) == 1
    with pytest.raises(InputFault, match="is as shipped already"):
        upkeep.restore(own, DRILL)


def test_an_edit_with_a_fault_changes_nothing(tmp_path: Path) -> None:
    own = edited(tmp_path)
    before = files(own)
    content = dict(load_library(own).entries["drills", DRILL].content)
    for change in ({"steps": ["Dorsiflex the foot of the {side} leg."]}, {"ladder": "nerve_slide"}, {"kit": ["bal"]}):
        with pytest.raises(InputFault) as told:
            upkeep.put(own, "drills", DRILL, {**content, **change})
        assert all(problem.source.line for problem in told.value.problems)
        assert files(own) == before


def test_a_pose_that_is_not_proved_is_refused(tmp_path: Path) -> None:
    content = dict(load_library().entries["drills", DRILL].content)
    figure = {
        "from": "split_stance",
        "contacts": ["right_heel on floor"],
        "end": {"right": {"knee": "flex 0", "ankle": "pf 20"}},
    }
    with pytest.raises(InputFault, match=DRILL):
        upkeep.put(tmp_path, "drills", DRILL, {**content, "figure": figure})
    assert not (tmp_path / "drills").exists()


def test_retired_and_hidden(tmp_path: Path) -> None:
    visit, own = tmp_path / "visit.yaml", tmp_path / "own"
    visit.write_text(VISIT)
    assert DRILL in {drill.id for drill in make_sheet(visit).sheet.drills}
    states: tuple[upkeep.State, ...] = ("retired", "hidden")
    for state in states:
        upkeep.set_state(own, DRILL, state)
        assert DRILL not in {drill.id for drill in make_sheet(visit, library=own).sheet.drills}
    visit.write_text(f"{VISIT}pick: [{DRILL}]\n")
    assert DRILL in {drill.id for drill in make_sheet(visit, library=own).sheet.drills}  # hidden, and picked by hand
    upkeep.set_state(own, DRILL, "retired")
    with pytest.raises(InputFault, match=r"visit.yaml:4: .*was retired by the clinic"):
        make_sheet(visit, library=own)
    upkeep.set_state(own, DRILL, "in use")
    assert files(own) == {}
    assert load_library(own).drills[DRILL].offered


def test_a_changed_drill_can_be_retired_and_used_again(tmp_path: Path) -> None:
    own = edited(tmp_path)
    revision = load_library(own).drill_revision(DRILL)
    upkeep.set_state(own, DRILL, "retired")
    assert load_library(own).drills[DRILL].retired
    upkeep.set_state(own, DRILL, "in use")
    library = load_library(own)
    assert (library.drills[DRILL].offered, library.drill_revision(DRILL)) == (True, revision)
    assert library.entries["drills", DRILL].based_on


def test_a_file_of_several_records_is_left_to_the_hand_that_wrote_it(tmp_path: Path) -> None:
    path = upkeep.take(tmp_path, DRILL)
    path.write_text(path.read_text() + record_text("drills", "open_book", {}, {"retired": "true"}).split("\n", 1)[1])
    before = files(tmp_path)
    with pytest.raises(InputFault, match="stands in a file with other records"):
        upkeep.restore(tmp_path, DRILL)
    assert files(tmp_path) == before


@pytest.fixture
def update(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Callable[[Path], None]:
    """Make the shipped library say `feel` otherwise, as an update would."""

    def come() -> None:
        shipped = tmp_path / "shipped"
        shutil.copytree(resource_dir("exercise_library"), shipped)
        path = shipped / "tissues" / "soleus.yaml"
        text = path.read_text()
        head, _, tail = text.partition(f"  {DRILL}:\n")
        before = 'feel: "A pull low in the calf."'
        assert before in tail
        path.write_text(head + f"  {DRILL}:\n" + tail.replace(before, 'feel: "A pull above the heel."', 1))
        monkeypatch.setattr(load, "resource_dir", lambda name: shipped)

    return lambda own: come()


def test_an_update_shows_what_it_would_change(tmp_path: Path, update: Callable[[Path], None]) -> None:
    own = edited(tmp_path / "own")
    (before,) = changes(own)
    assert (before.standing, before.update) == ("edited", ())
    update(own)
    (change,) = changes(own)
    assert change.standing == "update"
    assert [one.field for one in change.edits] == ["steps 1"]
    assert [str(one) for one in change.update or ()] == [
        "feel: 'A pull low in the calf.' becomes 'A pull above the heel.'"
    ]
    assert change.both == ()
    assert load_library(own).drills[DRILL].feel == "A pull low in the calf."  # the clinic's record is whole
    upkeep.confirm(own, DRILL)
    assert [one.standing for one in changes(own)] == ["edited"]


def test_an_update_and_an_edit_of_one_field_is_a_choice(tmp_path: Path, update: Callable[[Path], None]) -> None:
    own = edited(tmp_path / "own")
    path = own / "drills" / f"{DRILL}.yaml"
    path.write_text(path.read_text().replace("A pull low in the calf.", "A pull in the calf."))
    update(own)
    (change,) = changes(own)
    assert change.both == ("feel",)
    shutil.rmtree(own / archive.FOLDER)
    (change,) = changes(own)
    assert change.update is None  # what it was written over was not kept: said, not guessed


def test_a_sheet_keeps_its_texts_for_ever(tmp_path: Path) -> None:
    visit, own = tmp_path / "visit.yaml", edited(tmp_path / "own")
    visit.write_text(VISIT)
    issued = make_sheet(visit, library=own)
    keep_texts(issued, own)
    revision = next(drill.revision for drill in issued.sheet.drills if drill.id == DRILL)
    path = own / "drills" / f"{DRILL}.yaml"
    path.write_text(path.read_text().replace(WORDS[1], "Lean on a wall"))
    assert load_library(own).drill_revision(DRILL) != revision
    _, content = archive.kept(own, archive.find(own, revision[:10])) or (("", ""), {})
    assert WORDS[1] in str(content)
    kept_ladders = [one for key in archive.all_kept(own) if (one := archive.kept(own, key)) and one[0][0] == "ladders"]
    assert {drill.ladder for drill in issued.sheet.drills} <= {place[1] for place, _ in kept_ladders}


def test_a_kept_text_that_was_changed_by_hand_does_not_count(tmp_path: Path) -> None:
    edited(tmp_path)
    (revision,) = archive.all_kept(tmp_path)
    path = tmp_path / archive.FOLDER / f"{revision}.json"
    path.write_text(path.read_text().replace(WORDS[0], "Jump at a wall"))
    assert archive.kept(tmp_path, revision) is None
    assert archive.kept(tmp_path, "../visit") is None
    with pytest.raises(InputFault, match="no revision 'zz' is kept"):
        archive.find(tmp_path, "zz")


@pytest.mark.parametrize("verb", ["take", "retire", "hide", "use", "restore", "confirm"])
def test_a_verb_with_an_unknown_drill_says_the_nearest(
    verb: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["library", verb, "soleus_wal_stretch", "--library", str(tmp_path)]) == 1
    assert "did you mean soleus_wall_stretch?" in capsys.readouterr().err


def test_the_round_of_a_change_by_command(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    own = str(tmp_path)
    for verb in ("take", "hide", "use", "retire", "confirm", "restore"):
        assert main(["library", verb, DRILL, "--library", own]) == 0
    assert main(["library", "retire", "open_book", "--library", own]) == 0
    assert main(["library", "changes", "--library", own]) == 0
    assert main(["library", "kept", "--library", own]) == 0
    said = capsys.readouterr()
    assert said.err == ""
    assert "open_book" in said.out
    revision = said.out.splitlines()[-1].split()[0]
    assert main(["library", "kept", revision, "--library", own]) == 0
    assert capsys.readouterr().out.startswith("drills:\n  soleus_wall_stretch:\n")
