"""A set of records from clinic to clinic: packed, reviewed, put in whole or not at all; a hostile file does no harm."""

from __future__ import annotations

import io
import zipfile
from pathlib import Path

import pytest
from PIL import Image

from homecare.cli.main import main
from homecare.core.problems import InputFault
from homecare.library import sets, upkeep
from homecare.library.load import load_library
from homecare.library.written import record_text
from tests.library.test_load import LADDER
from tests.library.test_upkeep import DRILL, edited, files


def whole() -> str:
    """A drill of the clinic's own, posed as a shipped one and so proved, on a ladder of its own."""
    own = {
        "code": "OWN",
        "name": "Own stretch",
        "clinical": "A stretch of our own",
        "address": "own-stretch",
        "ladder": "own_ladder",
        "steps": ["Face a wall with the {side} foot behind you.", "Sink until the calf pulls."],
        "feel": "A pull.",
    }
    content = {**load_library().entries["drills", DRILL].content, **own}
    return record_text("drills", "own_drill", content, {}) + LADDER


WHOLE = whole()


@pytest.fixture
def giver(tmp_path: Path) -> Path:
    """A clinic with a changed drill, one of its own on a ladder of its own, and a photograph."""
    own = edited(tmp_path / "giver")
    (own / "own.yaml").write_text(WHOLE)
    Image.new("RGB", (1200, 800), "teal").save(tmp_path / "photo.png")
    upkeep.add_photo(own, "own_drill", tmp_path / "photo.png", "A rower stands on one foot.")
    return own


def packed(entries: dict[str, bytes]) -> bytes:
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as folder:
        for name, content in entries.items():
            folder.writestr(name, content)
    return stream.getvalue()


def test_a_set_goes_in_as_it_came_out(giver: Path, tmp_path: Path) -> None:
    raw, taker = sets.pack(giver), tmp_path / "taker"
    taker.mkdir()
    found = sets.review(taker, raw, "a.set")
    assert {one.place: one.news for one in found.incoming} == {
        ("drills", DRILL): "changed",
        ("drills", "own_drill"): "new",
        ("ladders", "own_ladder"): "new",
        ("photos", "own_drill"): "new",
    }
    (change,) = next(one.changes for one in found.incoming if one.news == "changed")
    assert str(change) == "steps 1: 'Stand facing a wall, hands on it.' becomes 'Stand and face a wall, hands on it.'"
    assert files(taker) == {}
    sets.accept(taker, found)
    mine, theirs = load_library(giver), load_library(taker)
    for place in (("drills", DRILL), ("drills", "own_drill"), ("ladders", "own_ladder")):
        assert theirs.entries[place].hash == mine.entries[place].hash
    assert theirs.photos["own_drill"].words == "A rower stands on one foot."
    assert theirs.entries["drills", DRILL].based_on == load_library().drill_revision(DRILL)
    again = sets.review(taker, sets.pack(taker), "a.set")
    assert {one.news for one in again.incoming} == {"same"}
    assert again.files == {}


def test_the_same_records_make_the_same_bytes_and_a_named_drill_brings_what_it_names(giver: Path) -> None:
    assert sets.pack(giver) == sets.pack(giver)
    with zipfile.ZipFile(io.BytesIO(sets.pack(giver, ["own_drill"]))) as folder:
        text = folder.read(sets.RECORDS).decode()
        assert "own_ladder:" in text
        assert DRILL not in text
        assert folder.namelist() == ["photos/own_drill.jpg", sets.RECORDS]


def test_a_set_with_a_fault_puts_nothing_in_and_a_record_can_be_left_out(giver: Path, tmp_path: Path) -> None:
    path = giver / "own.yaml"
    path.write_text(path.read_text().replace("A pull.", "It breaks up scar tissue."))
    raw, taker = sets.pack(giver), tmp_path / "taker"
    taker.mkdir()
    found = sets.review(taker, raw, "a.set")
    assert "may not be said" in " ".join(map(str, found.faults))
    with pytest.raises(InputFault):
        sets.accept(taker, found)
    assert files(taker) == {}
    rest = sets.review(taker, raw, "a.set", leave=["own_drill", "own_ladder"])
    sets.accept(taker, rest)
    assert [one.place for one in rest.incoming] == [("drills", DRILL)]
    assert load_library(taker).entries["drills", DRILL].own


def test_a_drill_on_a_code_that_is_taken_is_told(tmp_path: Path) -> None:
    raw = packed({sets.RECORDS: WHOLE.replace("code: OWN", "code: SW").encode()})
    (tmp_path / "taker").mkdir()
    assert "is that of" in " ".join(map(str, sets.review(tmp_path / "taker", raw, "a.set").faults))


BOMB = b"0" * 60_000_000


@pytest.mark.parametrize(
    ("raw", "words"),
    [
        (b"", "damaged"),
        (b"PK\x03\x04 and no more", "damaged"),
        (packed({"readme.txt": b"hello"}), "no set of drills"),
        (packed({sets.RECORDS: WHOLE.encode(), "../../evil.yaml": b"x"}), "no set of drills"),
        (packed({sets.RECORDS: WHOLE.encode(), "photos/../x.jpg": b"x"}), "no set of drills"),
        (packed({sets.RECORDS: BOMB}), "too large"),
        (packed({sets.RECORDS: b"\xff\xfe"}), "not a text file"),
        (packed({sets.RECORDS: b"drills: {../x: {code: AA}}"}), "no record with an id"),
        (packed({sets.RECORDS: b"nonsense: {x: {code: AA}}"}), "is no section"),
        (packed({sets.RECORDS: b"photos: {open_book: {file: photos/a.jpg, words: A}}"}), "holds no photograph"),
        (
            packed(
                {
                    sets.RECORDS: b"photos: {open_book: {file: photos/open_book.jpg, words: A}}",
                    "photos/open_book.jpg": b"<svg onload=alert(1)>",
                }
            ),
            "cannot be used",
        ),
    ],
)
def test_what_is_no_set_is_refused_in_one_sentence(raw: bytes, words: str, tmp_path: Path) -> None:
    with pytest.raises(InputFault, match=words):
        sets.review(tmp_path, raw, "a.set")
    assert files(tmp_path) == {}


def test_import_by_command_reviews_first(giver: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out, taker = tmp_path / "clinic.set", tmp_path / "taker"
    assert main(["library", "export", "--library", str(giver), "--out", str(out)]) == 0
    assert main(["library", "import", str(out), "--library", str(taker)]) == 0
    assert "drills/own_drill: new" in capsys.readouterr().out
    assert files(taker) == {}
    assert main(["library", "import", str(out), "--library", str(taker), "--accept"]) == 0
    assert "own_drill" in load_library(taker).drills
    assert main(["library", "import", str(tmp_path / "no.set"), "--library", str(taker)]) == 1
    assert main(["library", "export", "--library", str(tmp_path / "empty"), "--out", str(out)]) == 1
    assert "Traceback" not in capsys.readouterr().err
