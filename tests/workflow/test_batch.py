"""Many visits at once: which files are meant, each in its own whole folder, faults that stop no other."""

from __future__ import annotations

from pathlib import Path

import pytest

from homecare import workflow
from homecare.core.problems import InputFault
from homecare.workflow.batch import Settings, find_visits, make_batch, make_one

DATA = Path(__file__).parents[1] / "data"
SHORT = (
    "athlete: Sela P.\nstart: 2026-03-02\ndays: 3\nminutes: 10\nfindings: [{tissue: calf, side: left, found: tight}]\n"
)
FILES = {"sheet.pdf", "plan.json", "phone.html", "note.txt"}


def _visit(folder: Path, name: str, text: str = SHORT) -> Path:
    folder.mkdir(parents=True, exist_ok=True)
    path = folder / name
    path.write_text(text)
    return path


def test_a_folder_means_its_visits_and_a_file_itself(tmp_path: Path) -> None:
    folder = tmp_path / "week"
    clinic = _visit(folder, "clinic.yaml", "name: Lowgate\n")
    made = [_visit(folder, name) for name in ("b.yml", "a.yaml", ".hidden.yaml", "notes.txt")]
    other = _visit(tmp_path, "skater.yaml")
    found = find_visits([other, folder, other], clinic)
    assert found == (other, made[1], made[0])
    assert clinic in find_visits([folder])


def test_paths_that_cannot_be_meant_are_all_told(tmp_path: Path) -> None:
    (tmp_path / "empty").mkdir()
    twins = [_visit(tmp_path / "one", "Rower.yaml"), _visit(tmp_path / "two", "rower.yml")]
    with pytest.raises(InputFault) as fault:
        find_visits([tmp_path / "gone.yaml", tmp_path / "empty", *twins])
    assert sorted(problem.code for problem in fault.value.problems) == ["missing", "no-visit", "same-name"]
    assert str(twins[0]) in str(fault.value)


def test_each_visit_has_its_own_folder_with_the_very_files_of_its_sheet(tmp_path: Path) -> None:
    """In worker processes, one of them at fault: what they write is what one sheet alone comes to."""
    visits = [_visit(tmp_path, "skater.yaml"), DATA / "faulty.yaml", DATA / "rower.yaml"]
    out = tmp_path / "out"
    outcomes = {outcome.visit: outcome for outcome in make_batch(visits, Settings(out), workers=2)}
    assert {visit.stem: outcomes[visit].state for visit in visits} == {
        "skater": "made",
        "faulty": "failed",
        "rower": "made",
    }
    with pytest.raises(InputFault) as fault:
        workflow.make_sheet(DATA / "faulty.yaml")
    assert outcomes[visits[1]].told == tuple(map(str, fault.value.problems))
    assert {path.name for path in out.iterdir()} == {"skater", "rower"}
    for visit in (visits[0], visits[2]):
        alone = workflow.make_sheet(visit).by_name()
        assert {path.name: path.read_bytes() for path in (out / visit.stem).iterdir()} == alone


def test_a_sheet_that_comes_out_the_same_is_not_written_again(tmp_path: Path) -> None:
    visit, settings = _visit(tmp_path, "fencer.yaml"), Settings(tmp_path / "out")
    settings.out.mkdir()
    folder = settings.out / "fencer"
    assert make_one(visit, settings).state == "made"
    before = {path.name: path.stat().st_ino for path in folder.iterdir()}
    assert set(before) == FILES
    assert make_one(visit, settings).state == "unchanged"
    assert {path.name: path.stat().st_ino for path in folder.iterdir()} == before
    visit.write_text(SHORT.replace("Sela P.", "Sela Q."))
    assert make_one(visit, settings).state == "made"
    assert "Sela Q." in (folder / "note.txt").read_text()


def test_a_folder_that_cannot_be_written_fails_its_sheet_alone(tmp_path: Path) -> None:
    visit, settings = _visit(tmp_path, "fencer.yaml"), Settings(tmp_path / "out")
    settings.out.mkdir()
    (settings.out / "fencer").write_text("a file in the way")
    outcome = make_one(visit, settings)
    assert outcome.state == "failed"
    assert outcome.told[0].startswith(f"{settings.out / 'fencer'}: the sheet cannot be written there")
    assert [path.name for path in settings.out.iterdir()] == ["fencer"]


def test_a_clinics_own_library_keeps_the_texts(tmp_path: Path) -> None:
    own = tmp_path / "own"
    own.mkdir()
    settings = Settings(tmp_path / "out", library=own)
    settings.out.mkdir()
    assert make_one(_visit(tmp_path, "fencer.yaml"), settings).told == ()
    assert list((own / "kept").glob("*.json"))


def test_a_fault_of_the_library_is_told_before_any_work(tmp_path: Path) -> None:
    own = tmp_path / "own"
    _visit(own, "own.yaml", "drills: {x: {nonsense: 1}}\n")
    with pytest.raises(InputFault):
        next(make_batch([_visit(tmp_path, "fencer.yaml")], Settings(tmp_path / "out", library=own)))
    assert not (tmp_path / "out").exists()
