"""The clinic's photographs: upright, freed of metadata, sized; refused when they are none; shown beside the figure."""

from __future__ import annotations

import base64
import io
import re
from pathlib import Path

import pikepdf
import pytest
from PIL import Image

from homecare.cli.main import main
from homecare.core.problems import InputFault
from homecare.library import upkeep
from homecare.library.load import load_library
from homecare.library.photos import KEPT_BOX, KEPT_BYTES
from homecare.phone import create_app
from homecare.workflow import make_sheet
from tests.library.test_upkeep import DRILL, VISIT, files

ORIENTATION, MAKE, PLACE = 0x0112, 0x010F, 0x8825
"""Exif tags 2.3: turn, maker, and the block of the place where it was taken (CIPA DC-008)."""
WORDS = "A paddler leans on a wall, the heel down."


def photograph(path: Path, size: tuple[int, int] = (4000, 3000)) -> Path:
    """A photograph as a telephone takes it: on its side, with a place, its upper left quarter red once upright."""
    picture = Image.new("RGB", size, "white")
    picture.paste("red", (0, size[1] // 2, size[0] // 2, size[1]))  # turned a quarter clockwise it is upper left
    exif = Image.Exif()
    exif[ORIENTATION], exif[MAKE] = 6, "Own Camera"
    exif.get_ifd(PLACE)[1] = "N"
    picture.save(path, exif=exif, icc_profile=b"profile" * 10)
    return path


def test_a_photograph_is_upright_small_and_bare(tmp_path: Path) -> None:
    kept = upkeep.add_photo(tmp_path / "own", DRILL, photograph(tmp_path / "in.jpg"), WORDS)
    assert kept.stat().st_size <= KEPT_BYTES
    with Image.open(kept) as picture:
        assert picture.width < picture.height <= KEPT_BOX[1]
        red = picture.convert("RGB").getpixel((picture.width // 4, picture.height // 4))
        assert isinstance(red, tuple)
        assert red[0] > 200 > 60 > red[1]
        assert not picture.getexif()
        assert set(picture.info) <= {"jfif", "jfif_version", "jfif_unit", "jfif_density"}
    assert b"Own Camera" not in kept.read_bytes()
    assert b"Exif" not in kept.read_bytes()


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"<svg xmlns='http://www.w3.org/2000/svg' onload='x'/>", "it is no picture"),
        (b"\xff\xd8\xff\xe0 and no more", "it is no picture"),
        (b"", "it is no picture"),
        (b"\0" * 20_000_001, "more than 20 MB"),
    ],
)
def test_what_is_no_picture_is_refused(content: bytes, words: str, tmp_path: Path) -> None:
    (tmp_path / "in.jpg").write_bytes(content)
    with pytest.raises(InputFault, match=words):
        upkeep.add_photo(tmp_path / "own", DRILL, tmp_path / "in.jpg", WORDS)
    assert files(tmp_path / "own") == {}


def test_a_picture_of_too_many_pixels_is_refused(tmp_path: Path) -> None:
    Image.new("1", (12_000, 9_000)).save(tmp_path / "in.png")
    with pytest.raises(InputFault, match="too many"):
        upkeep.add_photo(tmp_path / "own", DRILL, tmp_path / "in.png", WORDS)


@pytest.mark.parametrize("name", ["../in.jpg", "/etc/hostname", "photos/none.jpg", "in.png"])
def test_a_photograph_named_by_hand_must_be_one_that_was_made_fit(name: str, tmp_path: Path) -> None:
    own = tmp_path / "own"
    own.mkdir()
    photograph(tmp_path / "in.jpg")
    Image.new("RGB", (20, 20)).save(own / "in.png")
    (own / "own.yaml").write_text(f"photos: {{{DRILL}: {{file: {name}, words: A}}}}\n")
    with pytest.raises(InputFault, match="cannot be used"):
        load_library(own)


def test_words_are_needed_and_held_to_the_rules(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    picture, own = str(photograph(tmp_path / "in.jpg", (400, 300))), str(tmp_path / "own")
    assert main(["library", "photo", DRILL, picture, "--library", own]) == 1
    assert main(["library", "photo", DRILL, picture, "--words", "It fixes the soleus.", "--library", own]) == 1
    assert "nothing here" not in capsys.readouterr().out
    assert files(tmp_path / "own") == {}
    assert main(["library", "photo", DRILL, picture, "--words", WORDS, "--library", own]) == 0
    assert main(["library", "photo", DRILL, "--remove", "--library", own]) == 0
    assert [name for name in files(tmp_path / "own") if not name.startswith("kept/")] == []


def test_it_stands_beside_the_figure_on_paper_and_phone(tmp_path: Path) -> None:
    own, visit = tmp_path / "own", tmp_path / "visit.yaml"
    visit.write_text(VISIT)
    plain = make_sheet(visit)
    upkeep.add_photo(own, DRILL, photograph(tmp_path / "in.jpg"), WORDS, "right")
    shown = make_sheet(visit, library=own)
    drills = {drill.id: drill for drill in shown.sheet.drills}
    photo = drills[DRILL].photo
    assert photo is not None
    assert photo.mirrored  # taken of the right, printed for the left
    assert drills[DRILL].text_hash != {drill.id: drill for drill in plain.sheet.drills}[DRILL].text_hash
    (source,) = re.findall(
        rf'<img class="photo" src="data:image/jpeg;base64,([^"]+)" alt="{WORDS}">', shown.phone.decode()
    )
    with Image.open(io.BytesIO(base64.b64decode(source))) as picture:
        red = picture.convert("RGB").getpixel((picture.width * 3 // 4, picture.height // 4))
        assert isinstance(red, tuple)
        assert red[0] > 200 > 90 > red[1]
    assert "img-src data:" in shown.phone.decode().partition("</head>")[0]
    assert "img-src" not in plain.phone.decode()
    with pikepdf.open(io.BytesIO(shown.pdf)) as pdf:
        assert len(pdf.pages) == len(pikepdf.open(io.BytesIO(plain.pdf)).pages)
        assert any(one.get("/Filter") == "/DCTDecode" for one in pdf.objects if isinstance(one, pikepdf.Stream))
    page = create_app(load_library(own)).test_client().get("/SW").get_data(as_text=True)
    assert WORDS in page


def test_the_page_of_a_retired_drill_stays_for_sheets_that_have_its_code(tmp_path: Path) -> None:
    upkeep.set_state(tmp_path, DRILL, "retired")
    client = create_app(load_library(tmp_path)).test_client()
    assert client.get("/SW").status_code == 200
    assert "Bent-knee calf" not in client.get("/").get_data(as_text=True)
