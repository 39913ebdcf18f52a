"""The list of athletes, one athlete's page, a new one, another name, a record given away, and one erased."""

from __future__ import annotations

import io
import json
import logging
import re
import zipfile
from datetime import UTC, datetime, timedelta
from pathlib import Path
from xml.etree import ElementTree

import pytest
from flask.testing import FlaskClient

from homecare import workflow
from homecare.desk import create_app
from homecare.library.load import Library
from homecare.storage.athletes import add_athlete
from homecare.storage.database import Database, open_database
from homecare.storage.drafts import add_draft
from tests.web.filed import CLINIC, FIRST, NAME, Filed, file_rower
from tests.web.test_desk import HERE, OURS

OTHERS = ("Ailsa Brae", "Åsa Lind-Örtegren", "Brychan Oar", "Zdenka Plachá")


class Desk:
    """A desk over a data folder of its own, asked as its pages ask it."""

    def __init__(self, folder: Path) -> None:
        self.database: Database = open_database(folder)
        self.client: FlaskClient = create_app(data=folder).test_client()

    def get(self, path: str, status: int = 200) -> str:
        answer = self.client.get(path, headers=HERE)
        assert answer.status_code == status, path
        return answer.text

    def content(self, path: str) -> bytes:
        answer = self.client.get(path, headers=HERE)
        assert answer.status_code == 200, path
        content: bytes = answer.data
        return content

    def post(self, path: str, status: int = 200, **fields: str | list[str]) -> str:
        token = re.search(r'name="token" content="([^"]+)"', self.get("/athletes"))
        assert token
        answer = self.client.post(path, data={**fields, "token": token[1]}, headers=OURS)
        assert answer.status_code == status, (path, answer.text)
        return answer.headers.get("Location", answer.text)


@pytest.fixture(scope="module")
def filed(tmp_path_factory: pytest.TempPathFactory, lib: Library) -> tuple[Desk, Filed]:
    desk = Desk(tmp_path_factory.mktemp("records"))
    rower = file_rower(desk.database, lib, refer=True)
    with desk.database.write() as connection:
        for name in OTHERS:
            add_athlete(connection, name, datetime.now(UTC))
    return desk, rower


@pytest.fixture
def desk(filed: tuple[Desk, Filed]) -> Desk:
    return filed[0]


@pytest.fixture
def rower(filed: tuple[Desk, Filed]) -> Filed:
    return filed[1]


def names(page: str) -> list[str]:
    return re.findall(r'class="who" href="[^"]+">([^<]+)<', page)


def test_everybody_is_listed_under_where_they_stand(desk: Desk) -> None:
    page = desk.get("/athletes")
    assert names(page) == [*OTHERS, NAME]
    new, earlier = page.index("No sheet yet"), page.index("Earlier")
    assert new < page.index("Zdenka") < earlier < page.index(NAME)


@pytest.mark.parametrize(
    ("typed", "found"),
    [("od", [NAME]), ("asa lind", ["Åsa Lind-Örtegren"]), ("ortegren", ["Åsa Lind-Örtegren"]), ("sa", []), ("", None)],
)
def test_a_search_finds_by_the_beginning_of_any_word(desk: Desk, typed: str, found: list[str] | None) -> None:
    expected = [*OTHERS, NAME] if found is None else found
    assert names(desk.post("/athletes", typed=typed)) == expected
    rows = desk.post("/athletes", typed=typed, part="rows")
    assert names(rows) == expected
    assert "<html" not in rows


def test_a_name_never_stands_in_an_address(desk: Desk, rower: Filed) -> None:
    pages = [desk.get("/athletes"), desk.post("/athletes", typed="oddveig"), desk.get(f"/athlete/{rower.athlete}")]
    for page in pages:
        addresses = re.findall(r'(?:href|src|action|formaction)="([^"]*)"', page)
        assert addresses
        assert not [one for one in addresses if "ddveig" in one or "typed" in one]


def test_today_decides_the_group(tmp_path: Path, lib: Library) -> None:
    desk, today = Desk(tmp_path), datetime.now().astimezone().date()
    for name, start, more in (
        ("Due Today", today - timedelta(5), f"clinic_visits: [{today}]\n"),
        ("Ran Out", today - timedelta(18), ""),
        ("On Sheet", today - timedelta(3), f"clinic_visits: [{today + timedelta(2)}]\n"),
    ):
        text = FIRST.replace(NAME, name).replace("2026-03-02", str(start)) + more
        files = workflow.visit_sheet(text, "visit", lib, CLINIC, workflow.stored_plans(desk.database))
        with desk.database.write() as connection:
            athlete = add_athlete(connection, name, datetime.now(UTC)).id
        workflow.issue(desk.database, athlete, text, files, datetime.now(UTC))
    page = desk.get("/athletes")
    assert names(page) == ["Due Today", "Ran Out", "On Sheet"]
    assert "day 4 of 14" in page
    assert re.search(r'<span class="due">ran out \d', page)
    assert len(re.findall(r'href="/athlete/[^"]+/check-in"', page)) == 2


def test_many_are_paged_and_stay_short(tmp_path: Path) -> None:
    desk = Desk(tmp_path)
    with desk.database.write() as connection:
        for number in range(120):
            add_athlete(connection, f"Fencer {number:03d}", datetime.now(UTC))
    found = [names(desk.get(f"/athletes?page={number}")) for number in (1, 2, 3)]
    assert [len(one) for one in found] == [50, 50, 20]
    assert sorted(name for one in found for name in one) == [f"Fencer {number:03d}" for number in range(120)]
    assert len(desk.content("/athletes")) < 150_000
    assert names(desk.get("/athletes?page=nonsense")) == found[0]


def test_a_new_athlete_with_faults_keeps_what_was_typed(desk: Desk) -> None:
    page = desk.post("/athletes/new", 422, name="?!", age="130")
    assert 'id="fault-name"' in page
    assert 'id="fault-age"' in page
    assert 'value="130"' in page
    assert "no letters for 隆" in desk.post("/athletes/new", 422, name="隆 Oda")


def test_a_new_athlete_is_there_and_can_be_renamed(tmp_path: Path) -> None:
    desk = Desk(tmp_path)
    address = desk.post("/athletes/new", 303, name="  Maren   Stang ", age="19")
    assert "<h1>Maren Stang</h1>" in desk.get(address)
    desk.post(f"{address}/name", 303, name="Maren Stang-Holm")
    assert names(desk.get("/athletes")) == ["Maren Stang-Holm"]
    assert names(desk.post("/athletes", typed="holm")) == ["Maren Stang-Holm"]
    page = desk.post(f"{address}/name", 422, name=" ")
    assert 'id="fault-name"' in page
    desk.post("/athlete/nobody/name", 404, name="Anyone")


def test_a_name_is_only_ever_text(tmp_path: Path) -> None:
    desk = Desk(tmp_path)
    address = desk.post("/athletes/new", 303, name='Zoë <i>"Q"</i>')
    for page in (desk.get("/athletes"), desk.get(address), desk.get(f"{address}/erase"), desk.get(f"{address}/course")):
        assert "<i>" not in page
        assert "Zoë &lt;i&gt;&#34;Q&#34;&lt;/i&gt;" in page


def test_one_athlete_shows_every_visit_the_latest_first(desk: Desk, rower: Filed) -> None:
    page = desk.get(f"/athlete/{rower.athlete}")
    order = [page.index(f"<h3>{day}") for day in ("Monday 30 March", "Monday 16 March", "Monday 2 March")]
    assert order == sorted(order)
    for said in (
        "Left deep calf muscle found tight.",
        "before 7 cm, after 9 cm",
        "settled",
        "Referred soon",
        "Bent-knee",
    ):
        assert said in page
    assert f'/sheet/{rower.sheets[0]}/slip/{rower.slip}.pdf"' in page
    assert f'/sheet/{rower.sheets[2]}/letter.pdf"' in page
    assert len(page.encode()) < 150_000


def test_charts_are_whole_and_have_their_words(desk: Desk, rower: Filed) -> None:
    assert desk.get(f"/athlete/{rower.athlete}").count('<svg class="chart"') == 2
    page = desk.get(f"/athlete/{rower.athlete}/course")
    drawn = [ElementTree.fromstring(one) for one in re.findall(r'<svg class="chart".*?</svg>', page)]
    said = [one.attrib["aria-label"] for one in drawn]
    assert [one.split(".")[0] for one in said][:2] == ["How it felt", "Knee to wall, left"]
    assert any(one.startswith("Small arm glide, right. Step ") for one in said)
    assert all(one.attrib["role"] == "img" for one in drawn)
    assert page.count("<summary>In numbers</summary>") == len(drawn)
    assert "style=" not in page


def test_open_drafts_are_listed_by_name(tmp_path: Path) -> None:
    desk = Desk(tmp_path)
    with desk.database.write() as connection:
        draft = add_draft(connection, json.dumps({"athlete": ["Unsaved Sculler"]}), datetime.now(UTC))
    page = desk.get("/athletes")
    assert f'href="/draft/{draft.id}"' in page
    assert "Unsaved Sculler" in page


def test_a_record_is_given_away_whole(desk: Desk, rower: Filed) -> None:
    with zipfile.ZipFile(io.BytesIO(desk.content(f"/athlete/{rower.athlete}/record.zip"))) as whole:
        files = {name: whole.read(name) for name in whole.namelist()}
    index = files["index.html"].decode()
    links = [one for one in re.findall(r'href="([^"]+)"', index)]
    assert links
    assert not [one for one in links if one not in files]
    assert NAME in index
    record = json.loads(files["record.json"])
    assert record["athlete"]["name"] == NAME
    assert [one["day"] for one in record["visits"]] == ["2026-03-02", "2026-03-16", "2026-03-30"]
    first = record["visits"][0]["sheets"][0]
    assert files[f"{first['folder']}/sheet.pdf"] == desk.content(f"/sheet/{rower.sheets[0]}/sheet.pdf")
    assert files[f"{first['slips'][0]['folder']}/slip.pdf"].startswith(b"%PDF-")
    assert first["came_back"][0]["ratings"][0] == ["2026-03-04", 5]
    assert any(name.startswith("library/drills/") for name in files)


def test_erasing_asks_once_takes_all_and_tells_what_it_left(tmp_path: Path, lib: Library) -> None:
    desk = Desk(tmp_path)
    gone = file_rower(desk.database, lib)
    with desk.database.write() as connection:
        draft = add_draft(connection, json.dumps({"athlete": [NAME]}), datetime.now(UTC))
    asked = desk.get(f"/athlete/{gone.athlete}/erase")
    assert "3 issued sheets with 1 slip" in asked
    assert "cannot be undone" in asked
    assert desk.get(f"/athlete/{gone.athlete}")
    told = desk.post(f"/athlete/{gone.athlete}/erase")
    assert f'href="/draft/{draft.id}"' in told
    desk.get(f"/athlete/{gone.athlete}", 404)
    desk.get(f"/sheet/{gone.sheets[0]}/sheet.pdf", 404)
    desk.post(f"/athlete/{gone.athlete}/erase", 404)
    assert names(desk.get("/athletes")) == []


def test_no_name_is_logged(desk: Desk, rower: Filed, caplog: pytest.LogCaptureFixture) -> None:
    with caplog.at_level(logging.DEBUG):
        desk.get(f"/athlete/{rower.athlete}")
        desk.post("/athletes", typed="oddveig")
        desk.content(f"/athlete/{rower.athlete}/record.zip")
    assert "ddveig" not in caplog.text
