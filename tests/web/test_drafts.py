"""Drafts: nothing typed is lost, nobody's work is written over, every change can be undone, a sheet is filed once."""

from __future__ import annotations

import re
from datetime import UTC, datetime
from pathlib import Path

import pytest
import yaml
from flask.testing import FlaskClient

from homecare.desk import create_app
from homecare.desk.form import Form
from homecare.desk.starting import next_form
from homecare.desk.visit_text import WEEKDAYS
from homecare.storage.athletes import search_athletes
from homecare.storage.database import open_database
from homecare.storage.drafts import list_drafts
from homecare.storage.sheets import latest_sheet, read_sheet
from homecare.storage.visits import find_visit, list_visits
from tests.web.fencer import file_fencer
from tests.web.test_desk import HERE, OURS, VISIT, Fields, Values, draft_of, left, post, token

QUICK = {**OURS, "X-Quick": "soon"}


@pytest.fixture(scope="module")
def data(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("data")


@pytest.fixture(scope="module")
def desk(data: Path) -> FlaskClient:
    return create_app(data=data).test_client()


@pytest.fixture(scope="module")
def handed(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, str]:
    """A data folder in which one sheet was printed, and where the desk led to."""
    data = tmp_path_factory.mktemp("handed")
    desk = create_app(data=data).test_client()
    _, page = post(desk, {**VISIT, "age": "31", "marker-0-test": "knee_to_wall", "marker-0-side": "left",
                          "marker-0-before": "7.5", "marker-0-after": "9"})  # fmt: skip
    answer = desk.post(
        f"{draft_of(page)}/issue", data={**left(page), "token": token(desk), "do": "issue"}, headers=OURS
    )
    return data, answer.headers["Location"]


def test_a_restart_loses_nothing(desk: FlaskClient, data: Path) -> None:
    _, page = post(desk, {**VISIT, "notes": "half a sente"})
    again = create_app(data=data).test_client()
    start = again.get("/", headers=HERE).text
    assert f'href="{draft_of(page)}">Go on with Zebulon Q. &lt;b&gt;</a>' in start
    assert Fields(again.get(draft_of(page), headers=HERE).text).sent["notes"] == ["half a sente"]


def test_saving_again_changes_the_one_draft(desk: FlaskClient, data: Path) -> None:
    _, page = post(desk, VISIT)
    with open_database(data).read() as connection:
        before = len(list_drafts(connection))
    _, again = post(desk, {**left(page), "notes": "more"}, path=draft_of(page))
    assert draft_of(again) == draft_of(page)
    with open_database(data).read() as connection:
        drafts = list_drafts(connection)
    assert len(drafts) == before
    assert (f"/draft/{drafts[0].id}", drafts[0].revision) == (draft_of(page), 2)


def test_a_second_devices_edit_is_told_and_not_overwritten(desk: FlaskClient) -> None:
    _, first = post(desk, VISIT)
    post(desk, {**left(first), "notes": "from the tablet"}, path=draft_of(first))
    status, page = post(desk, {**left(first), "notes": "from the desk"}, path=draft_of(first))
    assert status == 409
    assert "Changed elsewhere at" in page
    assert Fields(page).sent["notes"] == ["from the desk"]
    assert Fields(desk.get(draft_of(first), headers=HERE).text).sent["notes"] == ["from the tablet"]
    status, copy = post(desk, left(page), "copy")
    assert status == 200
    assert Fields(copy).sent["notes"] == ["from the desk"]
    assert draft_of(copy) != draft_of(first)


def test_a_draft_that_is_gone_takes_nothing_along(desk: FlaskClient) -> None:
    _, page = post(desk, VISIT)
    desk.post(f"{draft_of(page)}/drop", data={"token": token(desk)}, headers=OURS)
    assert desk.get(draft_of(page), headers=HERE).status_code == 404
    status, told = post(desk, {**left(page), "notes": "typed late"}, path=draft_of(page))
    assert status == 409
    assert "This draft is gone" in told
    status, again = post(desk, left(told), "copy")
    assert status == 200
    assert Fields(again).sent["notes"] == ["typed late"]
    assert draft_of(again) != draft_of(page)


def test_undo_goes_back_step_by_step(desk: FlaskClient) -> None:
    _, page = post(desk, VISIT)
    path = draft_of(page)
    first, second = re.findall(r'value="drop:(\w+)"', page)[:2]
    for drill in (first, second):
        _, page = post(desk, left(page), f"drop:{drill}", path)
    assert re.search(r"Changed: [^<]+ off", page)
    _, page = post(desk, left(page), "undo", path)
    assert Fields(page).sent["drop"] == [first]
    _, page = post(desk, left(page), "undo", path)
    assert "drop" not in Fields(page).sent


def test_undo_takes_back_what_was_typed_a_moment_ago_first(desk: FlaskClient) -> None:
    _, page = post(desk, {**VISIT, "notes": "first"})
    _, page = post(desk, {**left(page), "notes": "second"}, path=draft_of(page))
    _, page = post(desk, {**left(page), "notes": "third"}, "undo", draft_of(page))
    assert Fields(page).sent["notes"] == ["second"]
    _, page = post(desk, left(page), "undo", draft_of(page))
    assert Fields(page).sent["notes"] == ["first"]


def test_the_script_gets_parts_and_the_next_revision(desk: FlaskClient) -> None:
    answer = desk.post("/draft", data={**VISIT, "token": token(desk), "do": "make"}, headers=QUICK).json
    assert answer is not None
    assert answer["revision"] == 1
    assert 'value="drop:' in answer["parts"]["made"]
    path = f"/draft/{answer['draft']}"
    values = {**VISIT, "token": token(desk), "revision": "1", "days": "x"}
    answer = desk.post(path, data=values, headers=QUICK).json
    assert answer is not None
    assert answer["told"]
    assert "made" not in answer["parts"]  # what was made stays in view
    stale = desk.post(path, data=values, headers=QUICK)
    assert stale.status_code == 409
    assert "Changed elsewhere" in stale.json["parts"]["said"]  # type: ignore[index]


def test_what_minutes_lack_is_told_when_there_is_time(desk: FlaskClient) -> None:
    short = {**VISIT, "minutes_weekday": "2", "minutes_weekend": "2", "token": token(desk), "do": "make"}
    soon = desk.post("/draft", data=short, headers=QUICK).json
    assert soon is not None
    assert soon["more"]
    again = {**short, "revision": "1"}
    whole = desk.post(f"/draft/{soon['draft']}", data=again, headers={**OURS, "X-Quick": "whole"}).json
    assert whole is not None
    assert not whole["more"]
    assert "get the days they need" in whole["parts"]["made"]
    assert "get the days they need" not in soon["parts"]["made"]
    assert whole["revision"] == 1  # nothing was saved by it
    beside = {**again, "notes": "typed meanwhile"}
    desk.post(f"/draft/{soon['draft']}", data=beside, headers={**OURS, "X-Quick": "whole"})
    pressed = desk.post(f"/draft/{soon['draft']}", data=beside, headers=QUICK)
    assert (pressed.status_code, pressed.json and pressed.json["revision"]) == (200, 2)


def test_a_printed_sheet_is_filed_and_its_draft_is_gone(handed: tuple[Path, str]) -> None:
    data, address = handed
    with open_database(data).read() as connection:
        (athlete,) = search_athletes(connection, "zebulon")
        sheet = latest_sheet(connection, athlete.id)
        assert sheet is not None
        assert address.endswith(f"/sheet/{sheet.id}")
        assert athlete.age == 31
        assert list_drafts(connection) == ()
        files = read_sheet(connection, sheet.id)
        assert files is not None
        assert files.pdf.startswith(b"%PDF-")
        visit = find_visit(connection, sheet.visit)
        assert visit is not None
        assert yaml.safe_load(visit.text)["athlete"] == "Zebulon Q. <b>"


def test_who_is_found_by_the_beginning_of_a_name(handed: tuple[Path, str]) -> None:
    desk = create_app(data=handed[0]).test_client()
    found = desk.post("/who", data={"athlete": "zeb", "token": token(desk)}, headers=OURS).text
    assert "Zebulon Q. &lt;b&gt;" in found
    assert "last sheet" in found
    assert "who:" not in desk.post("/who", data={"athlete": "nobody", "token": token(desk)}, headers=OURS).text
    button = re.findall(r'value="(who:[^"]+)"', found)[0]
    _, page = post(desk, {"athlete": "zeb"}, button)
    assert Fields(page).sent["athlete"] == ["Zebulon Q. <b>"]
    assert "Start from it" in page


def test_the_next_visit_starts_from_the_last(handed: tuple[Path, str]) -> None:
    data, _ = handed
    desk = create_app(data=data).test_client()
    with open_database(data).read() as connection:
        (athlete,) = search_athletes(connection, "zebulon")
        sheet = latest_sheet(connection, athlete.id)
    assert sheet is not None
    answer = desk.post(f"/athlete/{athlete.id}/start", data={"token": token(desk)}, headers=OURS)
    assert answer.status_code == 303
    sent = Fields(desk.get(answer.headers["Location"], headers=HERE).text).sent
    assert sent["start"] == [f"{datetime.now().astimezone():%Y-%m-%d}"]
    assert (sent["last"], sent["athlete_id"], sent["age"]) == ([sheet.id], [athlete.id], ["31"])
    assert (sent["finding-0-tissue"], sent["finding-0-found"]) == (["soleus"], ["tight"])
    assert sent["kit"] == ["ball", "roller"]
    assert "screen" not in sent  # it is asked anew
    assert sent["marker-0-before"] == [""]
    assert "last time 7.5 to 9" in desk.get(answer.headers["Location"], headers=HERE).text


def test_what_belongs_to_a_day_is_not_carried_over(handed: tuple[Path, str]) -> None:
    database = open_database(handed[0])
    with database.read() as connection:
        (athlete,) = search_athletes(connection, "zebulon")
        (visit,) = list_visits(connection, athlete.id)
        form: Form = next_form(connection, athlete, visit.day)
    assert not {"screen", "review_by", "flags"} & form.values.keys()
    assert not [name for name in form.values if name.startswith(("done-", "dose-", "test-", "rating-"))]


def test_no_address_holds_a_name(handed: tuple[Path, str]) -> None:
    desk = create_app(data=handed[0]).test_client()
    _, page = post(desk, VISIT)
    addresses = re.findall(r'(?:href|src|action|formaction|data-\w+)="([^"]+)"', page)
    assert addresses
    assert not [one for one in addresses if "ebulon" in one]


def test_a_starting_set_is_kept_and_begun_from(desk: FlaskClient) -> None:
    _, page = post(desk, {**VISIT, "minutes_weekday": "17", "drop": ["soleus_wall_stretch"]})
    path = draft_of(page)
    assert "A starting set needs a name" in post(desk, left(page), "keep_usual", path)[1]
    _, page = post(desk, {**left(page), "usual_name": "Upkeep"}, "keep_usual", path)
    start = desk.get("/", headers=HERE).text
    button = re.findall(r'value="(usual:[^"]+)">Upkeep', start)[0]
    _, page = post(desk, {"athlete": "Somebody", "start": "2026-05-04"}, button)
    sent = Fields(page).sent
    assert (sent["minutes_weekday"], sent["drop"], sent["athlete"]) == (["17"], ["soleus_wall_stretch"], ["Somebody"])
    assert "finding-0-tissue" not in sent


def test_two_prints_of_one_draft_file_one_sheet(desk: FlaskClient, data: Path) -> None:
    _, page = post(desk, {**VISIT, "athlete": "Pressed Twice"})
    values: Values = {**left(page), "token": token(desk), "do": "issue"}
    first = desk.post(f"{draft_of(page)}/issue", data=values, headers=OURS)
    assert first.status_code == 303
    assert "/sheet/" in first.headers["Location"]
    assert desk.post(f"{draft_of(page)}/issue", data=values, headers=OURS).status_code == 409
    with open_database(data).read() as connection:
        (athlete,) = search_athletes(connection, "pressed")
        assert len(list_visits(connection, athlete.id)) == 1


def test_the_time_of_saving_is_this_machines(desk: FlaskClient, data: Path) -> None:
    _, page = post(desk, VISIT)
    with open_database(data).read() as connection:
        saved = list_drafts(connection)[0].saved
    assert saved.tzinfo == UTC
    local = saved.astimezone()
    assert f"Saved on this machine, {local.hour}:{local.minute:02}" in page


def test_a_starting_set_gets_another_name_and_goes(tmp_path: Path) -> None:
    desk = create_app(data=tmp_path).test_client()
    for name in ("Upkeep", "Race week"):
        post(desk, {**VISIT, "usual_name": name}, "keep_usual")
    kept = desk.get("/starting-sets", headers=HERE).text
    race, upkeep = re.findall(r'action="(/starting-sets/[^/]+)/name"', kept)  # by name
    for name, said in (("race WEEK", "Another set has this name already."), (" ", "A starting set needs a name.")):
        status, page = post(desk, {"name": name}, path=f"{upkeep}/name")
        assert status == 422
        assert said in page
    assert post(desk, {"name": "Quiet month"}, path=f"{upkeep}/name")[0] == 200
    assert ">Quiet month</button>" in desk.get("/", headers=HERE).text
    post(desk, {}, path=f"{race}/remove")
    assert ">Race week</button>" not in desk.get("/", headers=HERE).text
    assert post(desk, {"name": "x"}, path=f"{race}/name")[0] == 404


def test_a_visit_begins_with_the_name_of_whoever_prepared_the_last(tmp_path: Path) -> None:
    database = open_database(tmp_path)
    desk = create_app(data=tmp_path).test_client()
    assert Fields(desk.get("/", headers=HERE).text).sent["prepared_by"] == [""]
    file_fencer(database)
    assert Fields(desk.get("/", headers=HERE).text).sent["prepared_by"] == ["D. Achterberg"]


@pytest.mark.parametrize(
    ("minutes", "said"),
    [
        ({"minutes_weekday": "12"}, "12 minutes"),
        ({"minutes_weekday": "0", "minutes_tue": "15", "minutes_sat": "30"}, "0 to 30 minutes"),
        ({"minutes_weekday": "10", "minutes_weekend": "20"}, "10 to 20 minutes"),
        ({f"minutes_{day}": "8" for day in WEEKDAYS} | {"minutes_weekday": "0"}, "8 minutes"),
    ],
)
def test_the_fold_says_the_minutes_of_every_day(desk: FlaskClient, minutes: Values, said: str) -> None:
    _, page = post(desk, {**{name: value for name, value in VISIT.items() if name != "minutes_weekday"}, **minutes})
    assert f"; {said};" in page.partition('id="fold-who"')[2].partition("</summary>")[0]
