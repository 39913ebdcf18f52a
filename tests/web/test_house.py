"""The clinic's page: what is saved is what is printed, what is wrong stands beside its field, and a copy is whole."""

from __future__ import annotations

import html
import io
import re
from pathlib import Path

import pytest
from PIL import Image

from homecare import workflow
from homecare.core.sheet import Clinic
from homecare.desk import create_app
from homecare.desk.clinic_form import clinic_text, form_of_clinic
from homecare.library.clinic import clinic_of_text, logo_address, plain_logo
from homecare.library.load import Library
from homecare.storage.database import open_database
from tests.web.filed import NAME, file_rower
from tests.web.visitor import OTHER, PASSPHRASE, Visitor

pytestmark = pytest.mark.usefixtures("quick_hashes")

SETTINGS = {
    "name": 'Fen & "Ferry" <b>: Sports',
    "address": "4 Ropewalk, Harbourton",
    "phone": "01632 960 147",
    "hours": "Monday to Friday, 8 to 6",
    "after_hours": "01632 960 999",
    "paper": "letter",
    "language": "en",
    "web": "https://care.example/fen",
    "few": "4",
    "max_drills": "7",
    "clock-morning": "06:45",
    "clock-evening": "21:30",
}
"""An invented clinic; telephone numbers are of the range that is kept for fiction."""
EXPECTED = Clinic(
    name='Fen & "Ferry" <b>: Sports',
    address="4 Ropewalk, Harbourton",
    phone="01632 960 147",
    hours="Monday to Friday, 8 to 6",
    after_hours="01632 960 999",
    paper="letter",
    web="https://care.example/fen",
    clock={"morning": "06:45", "evening": "21:30"},
    few=4,
    max_drills=7,
)


def picture(kind: str = "PNG", size: tuple[int, int] = (600, 200)) -> bytes:
    stream = io.BytesIO()
    Image.linear_gradient("L").resize(size).convert("RGB").save(stream, kind)
    return stream.getvalue()


@pytest.fixture
def visitor(tmp_path: Path) -> Visitor:
    found = Visitor(tmp_path)
    found.get("/clinic")
    return found


def test_what_is_saved_is_what_the_next_sheet_has_also_after_a_new_start(visitor: Visitor, tmp_path: Path) -> None:
    assert visitor.post("/clinic", SETTINGS).status_code == 303
    assert visitor.door.bench.clinic == EXPECTED
    again = Visitor(tmp_path)
    assert again.door.bench.clinic == EXPECTED
    page = again.get("/clinic").text
    for name, value in SETTINGS.items():
        field = re.search(rf'<input id="{name}"[^>]* value="([^"]*)"', page)
        assert html.unescape(field[1]) == value if field else f'<option value="{value}" selected' in page, name


@pytest.mark.parametrize("clinic", [Clinic(), EXPECTED, Clinic(name="O'Neil: #1, yes", hours="- [x]", address="no")])
def test_the_form_of_a_clinic_writes_that_clinic(clinic: Clinic) -> None:
    assert clinic_of_text(clinic_text(form_of_clinic(clinic)), "settings") == clinic


def test_every_fault_stands_beside_its_field_and_nothing_typed_is_lost(visitor: Visitor) -> None:
    wrong = {**SETTINGS, "few": "99", "max_drills": "some", "web": "care", "clock-evening": "25:00", "name": "王"}
    answer = visitor.post("/clinic", wrong)
    assert answer.status_code == 422
    for name in ("few", "max_drills", "web", "clock-evening", "name"):
        assert f'id="fault-{name}"' in answer.text, name
        assert f'<a href="#{name}">' in answer.text, name
        assert re.search(rf'id="{name}"[^>]*value="{wrong[name]}"', answer.text), name
    for name in ("address", "phone", "hours", "clock-morning"):
        assert f'id="fault-{name}"' not in answer.text
        assert SETTINGS[name] in answer.text
    assert "Drills a day cannot be 99 (from 1 to 14)" in html.unescape(answer.text)
    assert visitor.door.bench.clinic == Clinic(web="")


def test_a_logo_is_made_plain_kept_and_taken_away(visitor: Visitor, tmp_path: Path) -> None:
    sent = picture("JPEG")
    visitor.post("/clinic", {**SETTINGS, "logo": (io.BytesIO(sent), "our.jpg")})
    shown = logo_address(plain_logo(sent))
    assert Visitor(tmp_path).door.bench.clinic.logo == shown
    assert shown in visitor.get("/clinic").text
    visitor.post("/clinic", SETTINGS)
    assert visitor.door.bench.clinic.logo == shown  # saving without a file keeps it
    visitor.post("/clinic", {**SETTINGS, "no_logo": "yes"})
    assert Visitor(tmp_path).door.bench.clinic.logo == ""


def test_the_logo_and_the_clinic_reach_the_printed_sheet(visitor: Visitor, lib: Library) -> None:
    visitor.post("/clinic", {**SETTINGS, "logo": (io.BytesIO(picture()), "our.png")})
    bench = visitor.door.bench
    visit = "athlete: A\nstart: 2026-03-02\nfindings:\n  - {tissue: soleus, side: left, found: tight}\n"
    sheet = workflow.visit_sheet(visit, "visit", lib, bench.clinic, bench.plan_of).sheet
    assert sheet.clinic.logo == bench.clinic.logo != ""
    assert sheet.clinic.phone == "01632 960 147"


def test_a_desk_started_with_a_clinic_file_shows_it_and_changes_nothing(tmp_path: Path) -> None:
    file = tmp_path / "clinic.yaml"
    file.write_text("name: Written Elsewhere\nphone: 01632 960 001\n", encoding="utf-8")
    Visitor(tmp_path / "data").post("/clinic", SETTINGS)
    visitor = Visitor(create_app(clinic=file, data=tmp_path / "data").test_client())
    page = visitor.get("/clinic").text
    assert 'value="Written Elsewhere"' in page
    assert "started with a clinic file" in page
    assert '<fieldset class="all" disabled>' in page
    answer = visitor.post("/clinic", SETTINGS)
    assert answer.status_code == 403
    assert visitor.door.bench.clinic.name == "Written Elsewhere"
    assert Visitor(tmp_path / "data").door.bench.clinic == EXPECTED


def test_a_copy_is_handed_over_whole_and_can_be_brought_back(tmp_path: Path, lib: Library) -> None:
    folder = tmp_path / "data"
    file_rower(open_database(folder), lib)
    visitor = Visitor(folder)
    assert "No copy has been made yet" in visitor.get("/clinic").text
    before = {path.name for path in folder.iterdir()}
    answer = visitor.post("/clinic/backup")
    assert answer.status_code == 200
    assert answer.headers["Content-Disposition"].startswith("attachment; filename=homecare-")
    assert not re.search(NAME.split()[0], answer.headers["Content-Disposition"])
    assert {path.name for path in folder.iterdir()} == before  # nothing of it stays behind
    copy = tmp_path / "copy"
    copy.write_bytes(answer.data)
    restored = workflow.restore(copy, tmp_path / "other", tmp_path / "other" / "library")
    assert (restored.backup.athletes, restored.backup.sheets) == (1, 3)
    assert "1 athlete" in visitor.get("/clinic").text


def test_people_are_let_in_changed_and_ended(tmp_path: Path) -> None:
    owner = Visitor(tmp_path)
    owner.set_up()
    second = {"name": "Bo Achterberg", "role": "member", "passphrase": OTHER, "again": OTHER, "present": PASSPHRASE}
    wrong = {**second, "name": "imke  sandoval", "again": "x", "present": OTHER, "role": "king"}
    answer = owner.post("/clinic/people", wrong)
    assert answer.status_code == 422
    for name in ("passphrase", "present", "role"):
        assert f'id="fault-{name}"' in answer.text, name
    assert OTHER not in answer.text
    assert "Somebody has this name" in owner.post("/clinic/people", {**second, "name": "imke  sandoval"}).text
    assert owner.post("/clinic/people", second).status_code == 303
    member = owner.beside()
    assert member.sign_in("Bo Achterberg", OTHER).status_code == 303
    id = re.search(r"/clinic/people/([\w-]+)/passphrase", member.get("/clinic/people").text)
    assert id
    new = {"passphrase": "oboe gravel quince thimble", "again": "oboe gravel quince thimble"}
    assert member.post(f"/clinic/people/{id[1]}/passphrase", {**new, "present": "not this"}).status_code == 422
    elsewhere = owner.beside()
    elsewhere.sign_in("Bo Achterberg", OTHER)
    assert member.post(f"/clinic/people/{id[1]}/passphrase", {**new, "present": OTHER}).status_code == 303
    assert member.get("/").status_code == 200
    assert elsewhere.get("/").status_code == 401  # ASVS 5.0, 7.4.3
    owner.get("/clinic/people")
    assert owner.post(f"/clinic/people/{id[1]}/end").status_code == 303
    assert member.get("/").status_code == 401  # ASVS 5.0, 7.4.2
    assert owner.beside().sign_in("Bo Achterberg", new["passphrase"]).status_code == 422


def test_the_last_owner_stays_and_everybody_can_be_signed_out(tmp_path: Path) -> None:
    owner = Visitor(tmp_path)
    owner.set_up()
    id = re.search(r"/clinic/people/([\w-]+)/end", owner.get("/clinic/people").text)
    assert id
    assert owner.post(f"/clinic/people/{id[1]}/end").status_code == 403
    assert owner.post(f"/clinic/people/{id[1]}/role", {"role": "member"}).status_code == 403
    other = owner.beside()
    other.sign_in()
    owner.get("/clinic/people")
    assert owner.post("/clinic/people/sign-out").status_code == 303  # ASVS 5.0, 7.4.5
    assert other.get("/").status_code == 401
    assert owner.get("/").status_code == 401
    assert owner.sign_in().status_code == 303
