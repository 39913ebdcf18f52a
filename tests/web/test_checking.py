"""The check-in at the desk: what is asked, what becomes of each dose, phones' codes, what is made and kept of it."""

from __future__ import annotations

import io
import json
import re
from datetime import UTC, date, datetime, timedelta
from html import unescape

import pytest

from homecare.core.phone_report import DrillReport, PhoneReport, Response, report_code, sheet_mark
from homecare.desk import checking
from homecare.desk.drafts import listed
from homecare.desk.form import Form
from homecare.library.load import Library
from homecare.library.visit import parse_visit
from homecare.storage.athletes import add_athlete, rename_athlete
from homecare.storage.sheets import latest_sheet, read_sheet
from homecare.storage.visits import find_visit, list_check_ins, list_visits
from homecare.workflow.phone_codes import PhonePage
from tests.web.fencer import NAME, START, Fencer, file_slip
from tests.web.test_phone_code import photograph
from tests.web.visitor import Visitor

TODAY = date(2026, 3, 16)
SLIP = date(2026, 3, 8)


@pytest.fixture(autouse=True)
def _today(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(checking, "today", lambda: TODAY)


def draft_of(fencer: Fencer) -> Form:
    """The form of the one draft that was begun."""
    (form,) = [one.form for one in listed(fencer.database) if one.form.one("athlete_id") == fencer.athlete]
    return form


def address(fencer: Fencer) -> str:
    return f"/athlete/{fencer.athlete}/check-in"


def send(desk: Visitor, fencer: Fencer, do: str, status: int = 200, /, **fields: object) -> str:
    """The page after a button, or where it leads."""
    answer = desk.post(address(fencer), {"sheet": fencer.sheet, "do": do, **fields})
    assert answer.status_code == status, answer.text
    return str(answer.headers.get("Location", unescape(answer.text)))


def everything(fencer: Fencer, word: str = "settled") -> dict[str, object]:
    """Every planned box ticked, and every drill answered with one word; no stop sign."""
    plan, found = fencer.last().plan, {"stop": "none"}
    for drill in plan.drills:
        boxes = sum(item.times for day in plan.days for item in day.items if item.drill == drill.id)
        found |= {f"done-{drill.id}": str(boxes), f"response-{drill.id}": word}
    return dict(found)


def row(page: str, drill: str) -> str:
    """What the page says becomes of a drill."""
    found = re.search(rf'id="becomes-{drill}"[^>]*>(.*?)</div>', page, re.DOTALL)
    assert found
    return found[1]


def code_of(page: PhonePage, done: int, word: Response | None, note: int) -> str:
    """What an athlete's phone shows for one phone page: so many boxes of each drill, one note on its second day."""
    drills = [(drill.id, drill.side) for drill in page.drills]
    told = PhoneReport(tuple(DrillReport(done, word) for _ in drills), ((page.start + timedelta(days=1), note),))
    return report_code(sheet_mark(page.start, drills), page.start, told)


def test_each_drill_is_asked_with_its_boxes_and_each_measure_with_its_last_value(
    desk: Visitor, fencer: Fencer, lib: Library
) -> None:
    """Boxes counted here from the stored plan.json itself."""
    page = unescape(desk.get(address(fencer)).text)
    with fencer.database.read() as connection:
        files = read_sheet(connection, fencer.sheet)
    assert files
    plan = json.loads(files.plan)
    for drill in plan["drills"]:
        boxes = sum(item["times"] for day in plan["days"] for item in day["items"] if item["drill"] == drill["id"])
        assert f'name="done-{drill["id"]}" value="" data-planned="{boxes}"' in page
        assert lib.drills[drill["id"]].name in page
    assert NAME in page
    assert "was 5 of 10" in page
    assert "was 7 before and 9 after" in page
    assert "ended 15 March" in page


def test_what_is_told_decides_what_becomes_of_each_dose(desk: Visitor, fencer: Fencer) -> None:
    first, second, *_ = fencer.drills
    told = everything(fencer)
    page = send(desk, fencer, "look", **{**told, f"response-{second}": "worse"})
    assert "stair down" in row(page, second)
    assert "one step back and half as often" in row(page, second)
    assert "settled" in row(page, first)
    assert "a second time takes it off" in page
    assert "no answer was given" in row(send(desk, fencer, "look"), first).lower()


def test_boxes_before_a_slip_end_there_and_its_new_drill_is_asked_too(
    desk: Visitor, fencer: Fencer, lib: Library
) -> None:
    off = fencer.drills[-1]
    before = fencer.last().plan
    planned = sum(item.times for day in before.days if day.date < SLIP for item in day.items if item.drill == off)
    file_slip(fencer, lib, SLIP, off)
    page = unescape(desk.get(address(fencer)).text)
    assert "taken off from Sunday 8 March" in page
    assert "put on from Sunday 8 March" in page
    assert 'name="done-open_book"' in page
    assert (f'name="done-{off}" value="" data-planned="{planned}"' in page) == (planned > 0)
    assert "a slip took it off" in row(page, off).lower()


def test_one_press_fills_in_all_boxes_or_all_answers(desk: Visitor, fencer: Fencer) -> None:
    page = send(desk, fencer, "ticked")
    filled = re.findall(r'name="done-\w+" value="(\d+)" data-planned="(\d+)"', page)
    assert len(filled) == len(fencer.drills)
    assert all(value == planned for value, planned in filled)
    assert send(desk, fencer, "settled").count('value="settled" checked') == len(fencer.drills)


def test_the_next_sheet_is_made_at_once_and_what_came_back_is_kept(desk: Visitor, fencer: Fencer, lib: Library) -> None:
    """Typed from paper in one go: the sheet's own visit says it all, and a second press makes no second sheet."""
    fields = {**everything(fencer), "symptom-0-now": "2", "marker-0-before": "8.5"}
    where = send(desk, fencer, "make", 303, **fields)
    with fencer.database.read() as connection:
        newest = latest_sheet(connection, fencer.athlete)
        assert newest
        assert where.endswith(f"/sheet/{newest.id}")
        stored = find_visit(connection, newest.visit)
        (kept,) = list_check_ins(connection, fencer.sheet)
    assert stored
    visit = parse_visit(stored.text, "visit", lib)
    assert (visit.start, visit.screen.recorded, visit.clinic_visits) == (TODAY, True, ())
    assert visit.last
    assert (visit.last.plan, set(visit.last.done)) == (fencer.sheet, set(fencer.drills))
    assert (visit.symptoms[0].now, visit.markers[0].before, visit.markers[0].after) == (2, 8.5, None)
    assert json.loads(kept.json)["done"] == dict(visit.last.done)
    assert kept.visit == newest.visit
    assert "Another sheet was made" in send(desk, fencer, "make", 409, **fields)
    with fencer.database.read() as connection:
        assert len(list_visits(connection, fencer.athlete)) == 2


def test_the_stop_signs_are_asked_first_and_a_tick_goes_by_the_desk(desk: Visitor, fencer: Fencer) -> None:
    told = {name: value for name, value in everything(fencer).items() if name != "stop"}
    assert "Ask for the stop signs first" in send(desk, fencer, "make", 422, **told)
    where = send(desk, fencer, "make", 303, **told, stop="some", flags="night_pain")
    assert "/draft/" in where
    assert draft_of(fencer).many("flags") == ("night_pain",)
    assert draft_of(fencer).one("screen") == ""


def test_the_desk_goes_on_with_all_that_was_typed(desk: Visitor, fencer: Fencer, lib: Library) -> None:
    off = fencer.drills[-1]
    file_slip(fencer, lib, SLIP, off)
    send(desk, fencer, "desk", 303, **everything(fencer, "sore"))
    form = draft_of(fencer)
    assert (form.one("last"), form.one("start"), form.one("screen")) == (fencer.sheet, "2026-03-16", "clear")
    assert {form.one(f"response-{drill}") for drill in (*fencer.drills, "open_book")} == {"sore"}
    assert form.many("drop") == (off,)
    assert (form.one("pick-0-drill"), form.one("pick-0-because")) == ("open_book", "stiff again")


def test_what_came_back_is_kept_without_a_visit_and_shown_again(desk: Visitor, fencer: Fencer) -> None:
    drill = fencer.drills[0]
    assert "Nothing came back yet" in send(desk, fencer, "keep", 422)
    send(desk, fencer, "keep", 303, **{f"done-{drill}": "3", f"response-{drill}": "sore"})
    with fencer.database.read() as connection:
        (kept,) = list_check_ins(connection, fencer.sheet)
        assert len(list_visits(connection, fencer.athlete)) == 1
    assert json.loads(kept.json) == {"done": {drill: 3}, "response": {drill: "sore"}, "ratings": []}
    assert (kept.visit, kept.day) == (None, TODAY)
    page = desk.get(address(fencer)).text
    assert "was filed on Monday 16 March" in page
    assert f'name="done-{drill}" value="3"' in page
    assert page.count('value="sore" checked') == 1


def test_the_codes_of_the_sheet_and_of_its_slip_add_up(desk: Visitor, fencer: Fencer, lib: Library) -> None:
    """Two boxes on the sheet's page and three on the slip's are five; a code that is read again counts once."""
    off = fencer.drills[-1]
    file_slip(fencer, lib, SLIP, off)
    first, second = fencer.last().pages
    page = send(desk, fencer, "read", code=code_of(first, 2, "sore", 6))
    (one,) = re.findall(r'name="codes" value="([^"]+)"', page)
    later = code_of(second, 3, "settled", 4)
    for code in (later, later.lower()):
        page = send(desk, fencer, "read", codes=one, code=code)
    stayed = fencer.drills[0]
    assert f'name="done-{stayed}" value="5"' in page
    assert f'name="done-{off}" value="2"' in page
    assert 'name="done-open_book" value="3"' in page
    assert len(re.findall(r'name="codes"', page)) == 2
    assert "3 March <b>6</b>, 9 March <b>4</b>" in page
    again = re.findall(r'name="codes" value="([^"]+)"', page)
    assert f'name="done-{stayed}" value="4"' in send(
        desk, fencer, "read", codes=again, code=code_of(second, 2, "settled", 4)
    )


def test_a_photograph_of_the_code_is_read(desk: Visitor, fencer: Fencer) -> None:
    (first,) = fencer.last().pages
    picture = (io.BytesIO(photograph(code_of(first, 7, None, 2))), "p.jpg")
    assert f'name="done-{fencer.drills[0]}" value="7"' in send(desk, fencer, "read", picture=picture)


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({"code": "R1ABCD"}, "no code of a phone page"),
        ({}, "Give the code"),
        ({"picture": (io.BytesIO(b"no picture"), "p.jpg")}, "cannot be used"),
    ],
)
def test_a_code_that_cannot_be_read_is_said_and_nothing_typed_is_lost(
    fields: dict[str, object], words: str, desk: Visitor, fencer: Fencer
) -> None:
    drill = fencer.drills[0]
    page = send(desk, fencer, "read", 422, **fields, **{f"done-{drill}": "6"})
    assert words in page
    assert f'name="done-{drill}" value="6"' in page


def test_every_fault_stands_beside_its_field(desk: Visitor, fencer: Fencer) -> None:
    first, second, *_ = fencer.drills
    wrong = {f"done-{first}": "many", f"done-{second}": "-1", "symptom-0-now": "11", "marker-0-before": "x"}
    page = send(desk, fencer, "make", 422, **wrong)
    for name in (*wrong, "stop"):
        assert f'id="fault-{name}"' in page, name
        assert f'href="#{name}"' in page, name
    for name, value in wrong.items():
        assert f'name="{name}" value="{value}"' in page


def test_an_athlete_without_a_sheet_has_nothing_to_ask_after(desk: Visitor, fencer: Fencer) -> None:
    with fencer.database.write() as connection:
        other = add_athlete(connection, "Signe O.", datetime(2026, 3, 2, tzinfo=UTC)).id
    assert "Nothing to ask after yet" in desk.get(f"/athlete/{other}/check-in").text
    assert desk.get("/athlete/nobody/check-in").status_code == 404


def test_what_is_not_asked_here_is_put_right_on_the_desk(desk: Visitor, fencer: Fencer) -> None:
    """A name that paper has no letters for, as an older record may hold: told, and all else goes on to the desk."""
    with fencer.database.write() as connection:
        rename_athlete(connection, fencer.athlete, "\u674e Lorcan")
    page = send(desk, fencer, "make", 422, **everything(fencer))
    assert "To be put right on the desk first" in page
    assert 'href="#athlete"' not in page
    send(desk, fencer, "desk", 303, **everything(fencer))
    assert draft_of(fencer).one(f"response-{fencer.drills[0]}") == "settled"


def test_nothing_of_the_athlete_stands_in_an_address(desk: Visitor, fencer: Fencer) -> None:
    page = desk.get(address(fencer)).text
    addresses = re.findall(r'(?:href|src|action)="([^"]+)"', page)
    assert addresses
    assert not [one for one in addresses if "Lorcan" in one]
    assert " style=" not in page
    assert str(START) not in "".join(addresses)


def test_a_visit_begun_from_last_time_keeps_what_slips_decided(desk: Visitor, fencer: Fencer, lib: Library) -> None:
    file_slip(fencer, lib, SLIP, fencer.drills[-1])
    assert desk.post(f"/athlete/{fencer.athlete}/start").status_code == 303
    form = draft_of(fencer)
    assert (form.many("drop"), form.one("pick-0-drill")) == ((fencer.drills[-1],), "open_book")
