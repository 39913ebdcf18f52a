"""An issued sheet on the desk: every file to the byte, its slips, its pages as pictures, and many printed again."""

from __future__ import annotations

import io
import re
import time
import zipfile
from datetime import UTC, datetime
from pathlib import Path

import pikepdf
import pypdfium2
import pytest
from PIL import Image

from homecare import workflow
from homecare.cli.main import main
from homecare.core.sheet import Clinic
from homecare.desk import reprints
from homecare.library.load import Library
from homecare.render.course_letter import course_letter_pdf
from homecare.render.pdf_pages import Joined
from homecare.storage import filing, place, sheets
from homecare.storage.athletes import add_athlete
from homecare.storage.faults import StorageFault
from homecare.workflow.histories import past_visits
from tests.helpers import until
from tests.web.filed import CLINIC, FIRST, NAME, Filed, file_rower
from tests.web.test_athletes import Desk
from tests.web.test_desk import HERE


@pytest.fixture(scope="module")
def filed(tmp_path_factory: pytest.TempPathFactory, lib: Library) -> tuple[Desk, Filed]:
    desk = Desk(tmp_path_factory.mktemp("sheets"))
    return desk, file_rower(desk.database, lib, refer=True)


@pytest.fixture
def desk(filed: tuple[Desk, Filed]) -> Desk:
    return filed[0]


@pytest.fixture
def rower(filed: tuple[Desk, Filed]) -> Filed:
    return filed[1]


def test_every_file_is_what_was_issued(desk: Desk, rower: Filed) -> None:
    for sheet in rower.sheets:
        with desk.database.read() as connection:
            stored = sheets.read_sheet(connection, sheet)
        assert stored is not None
        for name, content in (
            ("sheet.pdf", stored.pdf),
            ("phone.html", stored.phone),
            ("note.txt", stored.note),
            ("plan.json", stored.plan),
        ):
            assert desk.content(f"/sheet/{sheet}/{name}") == content
    calendar = desk.content(f"/sheet/{rower.sheets[0]}/care.ics")
    assert calendar.startswith(b"BEGIN:VCALENDAR\r\n")
    assert calendar.count(b"BEGIN:VEVENT") > 2


def test_the_page_names_all_that_is_handed_over(desk: Desk, rower: Filed) -> None:
    page = desk.get(f"/sheet/{rower.sheets[0]}")
    leads = {one for one in re.findall(rf'"/sheet/{rower.sheets[0]}/([\w./-]+)', page)}
    slip = rower.slip
    assert leads == {
        "sheet.pdf", "phone.html", "code.svg", "care.ics", "note.txt", "plan.json", "visit.zip", "page-1.png",
        "page-2.png", f"slip/{slip}.pdf", f"slip/{slip}.html",
    }  # fmt: skip
    for lead in leads:
        assert desk.content(f"/sheet/{rower.sheets[0]}/{lead}")
    assert "Home care for Oddveig T." in page
    assert "Cross it out in row 3." in page
    assert "Not filed" not in page
    assert len(page.encode()) < 150_000


def test_a_phone_page_runs_in_a_box_of_its_own(desk: Desk, rower: Filed) -> None:
    for path in ("phone.html", f"slip/{rower.slip}.html"):
        policy = desk.client.get(f"/sheet/{rower.sheets[0]}/{path}", headers=HERE).headers["Content-Security-Policy"]
        assert policy.startswith("sandbox allow-scripts allow-downloads; default-src 'none'")


def test_the_pages_are_shown_as_pictures(desk: Desk, rower: Filed) -> None:
    count = pages(desk.content(f"/sheet/{rower.sheets[0]}/sheet.pdf"))
    sizes = re.findall(r'<img [^>]* width="(\d+)" height="(\d+)"', desk.get(f"/sheet/{rower.sheets[0]}"))
    assert len(sizes) == count
    for number in range(1, count + 1):
        picture = Image.open(io.BytesIO(desk.content(f"/sheet/{rower.sheets[0]}/page-{number}.png")))
        assert picture.size == tuple(map(int, sizes[number - 1]))
        assert len(picture.convert("L").getcolors() or ()) > 2
    desk.get(f"/sheet/{rower.sheets[0]}/page-{count + 1}.png", 404)
    desk.get(f"/sheet/{rower.sheets[0]}/page-0.png", 404)


def test_the_visit_file_makes_the_same_plan_on_the_command_line(desk: Desk, rower: Filed, tmp_path: Path) -> None:
    (tmp_path / "clinic.yaml").write_text(f"name: {CLINIC.name}\nweb: {CLINIC.web}\n")
    for number, sheet in enumerate(rower.sheets):
        folder = tmp_path / str(number)
        with zipfile.ZipFile(io.BytesIO(desk.content(f"/sheet/{sheet}/visit.zip"))) as whole:
            whole.extractall(folder)
        given = [
            "sheet",
            str(folder / "visit.yaml"),
            "--out",
            str(folder / "out"),
            "--clinic",
            str(tmp_path / "clinic.yaml"),
        ]
        assert main(given) == 0
        assert (folder / "out" / "plan.json").read_bytes() == desk.content(f"/sheet/{sheet}/plan.json")
    assert (tmp_path / "1" / "last_slip_1.json").exists()


def test_what_is_not_there_is_told(desk: Desk, rower: Filed) -> None:
    for path in ("/sheet/nothing", "/sheet/nothing/sheet.pdf", f"/sheet/{rower.sheets[1]}/slip/{rower.slip}.pdf"):
        assert "not in this clinic" in desk.get(path, 404)
    desk.get(f"/sheet/{rower.sheets[0]}/letter.pdf", 404)
    desk.get(f"/sheet/{rower.sheets[2]}/code.svg", 404)
    desk.get(f"/sheet/{rower.sheets[2]}/care.ics", 404)


def test_the_letter_tells_the_whole_course_on_one_page(desk: Desk, rower: Filed) -> None:
    letter = desk.content(f"/sheet/{rower.sheets[2]}/letter.pdf")
    with desk.database.read() as connection:
        past = past_visits(connection, rower.athlete)
    assert course_letter_pdf(past, Clinic()) == course_letter_pdf(past, Clinic()) != b""
    assert course_letter_pdf(past[:2], Clinic()) == b""
    with pikepdf.open(io.BytesIO(letter)) as whole:
        assert len(whole.pages) == 1
    text = page_text(letter)
    for said in (
        "Referral: Oddveig T.",
        "Constant night pain",
        "2 March 7 to 9; 16 March 8 to 9.5; 30 March 9 to 10",
        "Home care so far, 2 to 30 March 2026",
        "Bent-knee calf (left): 2 to 7 March 2026",
        "stopped on 8 March (taken off)",
        "5 ratings from 0 to 10: 5 on 4 March",
    ):
        assert said in text


def page_text(pdf: bytes) -> str:
    document = pypdfium2.PdfDocument(pdf)
    try:
        text: str = document[0].get_textpage().get_text_range()
    finally:
        document.close()
    return re.sub(r"[\s\ufffe]+", " ", text)


def test_a_sheet_that_refers_at_once_has_no_plan_and_a_letter(tmp_path: Path, lib: Library) -> None:
    desk = Desk(tmp_path)
    with desk.database.write() as connection:
        athlete = add_athlete(connection, NAME, datetime.now(UTC)).id
    text = FIRST.replace("screen: clear", "screen: {flags: [saddle_numbness], decision: refer}")
    files = workflow.visit_sheet(text, "visit", lib, CLINIC, workflow.stored_plans(desk.database))
    sheet = workflow.issue(desk.database, athlete, text, files, datetime.now(UTC)).sheet
    page = desk.get(f"/sheet/{sheet}")
    assert "Referred at once" in page
    assert not re.search(r"code\.svg|care\.ics|/amend", page)
    assert "Please see Oddveig T. today" in page_text(desk.content(f"/sheet/{sheet}/letter.pdf"))
    assert "referred at once" in desk.get("/athletes")
    assert "/amend" not in desk.get(f"/athlete/{athlete}")


def test_a_sheet_that_waits_to_be_filed_is_shown_and_says_so(
    tmp_path: Path, lib: Library, monkeypatch: pytest.MonkeyPatch
) -> None:
    desk = Desk(tmp_path)
    with desk.database.write() as connection:
        athlete = add_athlete(connection, NAME, datetime.now(UTC)).id
    files = workflow.visit_sheet(FIRST, "visit", lib, CLINIC, workflow.stored_plans(desk.database))

    def full(*_: object) -> None:
        raise StorageFault(desk.database.path, "full", "the disk is full")

    with monkeypatch.context() as patched:
        patched.setattr(filing, "file_sheet", full)
        issued = workflow.issue(desk.database, athlete, FIRST, files, datetime.now(UTC))
    assert not issued.filed
    page = desk.get(f"/sheet/{issued.sheet}")
    assert "Not filed yet" in page
    assert desk.content(f"/sheet/{issued.sheet}/sheet.pdf") == files.pdf
    assert "1 sheet is not filed yet" in desk.get("/athletes")
    desk.post("/athletes/file", 303)
    assert "Not filed yet" not in desk.get(f"/sheet/{issued.sheet}")
    assert "not filed yet" not in desk.get("/athletes")
    assert not list(place.unfiled_folder(tmp_path).glob("*.json"))


def ready(desk: Desk, address: str) -> str:
    """The page of a reprint when it has come to its end."""
    return until(lambda: page if 'id="progress"' not in (page := desk.get(address)) else "")


def test_several_are_reprinted_as_one_pdf_or_as_a_zip(desk: Desk, rower: Filed) -> None:
    chosen = list(rower.sheets)
    address = desk.post("/reprints", 303, sheet=chosen, **{"as": "pdf"})
    assert "Open the PDF" in ready(desk, address)
    each = [desk.content(f"/sheet/{sheet}/sheet.pdf") for sheet in chosen]
    with pikepdf.open(io.BytesIO(desk.content(f"{address}/file"))) as whole:
        assert len(whole.pages) == sum(2 * -(-pages(one) // 2) for one in each)
    address = desk.post("/reprints", 303, sheet=[*chosen, "erased"], **{"as": "zip"})
    assert "its athlete was erased" in ready(desk, address)
    with zipfile.ZipFile(io.BytesIO(desk.content(f"{address}/file"))) as given:
        assert [given.read(name) for name in given.namelist()] == each
    assert desk.post("/reprints", 303).endswith("/athletes?choose=1")


def test_a_part_that_ends_on_a_front_leaves_its_back_empty(desk: Desk, rower: Filed) -> None:
    letter = desk.content(f"/sheet/{rower.sheets[2]}/letter.pdf")
    made = Joined()
    made.add(letter)
    made.add(letter)
    content = made.written()
    made.close()
    with pikepdf.open(io.BytesIO(content)) as whole:
        assert [bool(page.get("/Contents")) for page in whole.pages] == [True, False, True, False]


def test_a_reprint_can_be_stopped(desk: Desk, rower: Filed, monkeypatch: pytest.MonkeyPatch) -> None:
    read = reprints._stored

    def slowly(*given: object) -> tuple[str, bytes]:
        time.sleep(0.05)
        return read(*given)  # type: ignore[arg-type]

    monkeypatch.setattr(reprints, "_stored", slowly)
    address = desk.post("/reprints", 303, sheet=[f"{number}" for number in range(400)], **{"as": "pdf"})
    assert "of 400 read" in desk.get(address)
    page = desk.get(desk.post(f"{address}/stop", 303))
    assert re.search(r"Stopped after \d+ of 400", page)
    desk.get(f"{address}/file", 404)


def pages(pdf: bytes) -> int:
    with pikepdf.open(io.BytesIO(pdf)) as whole:
        return len(whole.pages)


def test_chosen_sheets_stay_chosen_over_a_search(desk: Desk, rower: Filed) -> None:
    page = desk.post("/athletes", typed="nobody", choose="1", sheet=[rower.sheets[2]])
    assert re.search(rf'value="{rower.sheets[2]}" checked', page)
    assert NAME in page
    assert "checked" not in desk.post("/athletes", choose="1")
    assert re.search(rf'value="{rower.sheets[2]}" checked', desk.post("/athletes", choose="1", all="1"))
