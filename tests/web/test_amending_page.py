"""A change to an issued sheet at the desk: what can be asked for, the slip that is shown and filed, what bars it."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from datetime import UTC, date, datetime
from html import unescape

import pypdfium2
import pytest

from homecare import workflow
from homecare.core.sheet import Clinic
from homecare.desk import amending
from homecare.library.load import Library
from homecare.storage.sheets import list_amendments, read_amendment
from tests.render.pages import page_count, page_texts
from tests.web.fencer import VISIT, Fencer, file_fencer, file_slip, files_of
from tests.web.visitor import Visitor

TODAY = date(2026, 3, 8)


@pytest.fixture(autouse=True)
def _today(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(amending, "today", lambda: TODAY)


def send(desk: Visitor, fencer: Fencer, do: str, status: int = 200, /, slips: str = "0", **fields: str) -> str:
    """The page after a button, or where it leads."""
    form = {"slips": slips, "do": do, "day": "2026-03-08", **fields}
    answer = desk.post(f"/sheet/{fencer.sheet}/amend", form)
    assert answer.status_code == status, answer.text
    return str(answer.headers.get("Location", unescape(answer.text)))


def filed(fencer: Fencer) -> list[dict[str, object]]:
    """What the amendment.json of each filed slip says, in order."""
    with fencer.database.read() as connection:
        found = [read_amendment(connection, one.id) for one in list_amendments(connection, fencer.sheet)]
    return [json.loads(one.json) for one in found if one]


def test_the_page_begins_today_with_every_drill_as_it_stands(desk: Visitor, fencer: Fencer, lib: Library) -> None:
    page = unescape(desk.get(f"/sheet/{fencer.sheet}/amend").text)
    assert 'value="2026-03-08"' in page
    for drill in fencer.drills:
        assert f'name="do-{drill}"' in page
        assert f'<option value="{lib.drills[drill].name}">' not in page
    assert '<option value="Open book">' in page


def test_looking_shows_the_slip_and_files_nothing_and_printing_files_it(desk: Visitor, fencer: Fencer) -> None:
    off = fencer.drills[-1]
    page = send(desk, fencer, "look", **{f"do-{off}": "off"})
    shown = page.count("data:image/png;base64,")
    assert filed(fencer) == []
    where = send(desk, fencer, "print", 303, **{f"do-{off}": "off"})
    slip = desk.get(where)
    assert slip.mimetype == "application/pdf"
    assert "Stopthisdrill." in "".join(page_texts(slip.data))
    assert shown == page_count(slip.data)
    (one,) = filed(fencer)
    assert (one["from"], one["asked"]) == ("2026-03-08", {"off": [off], "on": [], "doses": {}})


def test_three_changes_after_one_another_go_with_one_leaf(desk: Visitor, fencer: Fencer) -> None:
    """Another dose, a drill on, and that drill off again: each page begins from what the last one left."""
    first = fencer.drills[0]
    send(desk, fencer, "print", 303, **{f"do-{first}": "dose", f"dose-{first}-reps": "6"})
    on = {"add": "open BOOK", "add-because": "stiff again"}
    send(desk, fencer, "print", 303, slips="1", day="2026-03-09", **on)
    page = unescape(desk.get(f"/sheet/{fencer.sheet}/amend").text)
    assert 'name="do-open_book"' in page
    assert "2 slips so far" in page
    assert 'value="2026-03-09"' in page  # no earlier than the last one
    where = send(desk, fencer, "print", 303, slips="2", day="2026-03-12", **{"do-open_book": "off"})
    assert "CrossitoutontheslipfromMonday9March" in "".join(page_texts(desk.get(where).data))
    assert [one["from"] for one in filed(fencer)] == ["2026-03-08", "2026-03-09", "2026-03-12"]
    last, was = fencer.last(), json.loads(files_of().plan)["drills"]
    assert {drill.id for drill in last.plan.drills if drill.off is None} == set(fencer.drills)
    rung = next(drill for drill in last.plan.drills if drill.id == first).rungs[0]
    before = next(drill for drill in was if drill["id"] == first)["rungs"]
    assert rung.reps == 6
    assert (rung.sets, rung.times, rung.tempo_s) in {(one["sets"], one["times"], one["tempo_s"]) for one in before}


def test_a_slip_is_not_filed_twice_nor_past_one_that_was_not_seen(desk: Visitor, fencer: Fencer) -> None:
    fields = {f"do-{fencer.drills[-1]}": "off"}
    send(desk, fencer, "print", 303, **fields)
    assert "Another slip was made" in send(desk, fencer, "print", 409, **fields)
    assert len(filed(fencer)) == 1


SAID = [
    ({}, "", "Say what changes"),
    ({"day": "soon", "do-FIRST": "off"}, "day", "A day such as"),
    ({"day": "2026-03-02", "do-FIRST": "off"}, "day", "is not within the sheet"),
    ({"do-FIRST": "dose"}, "do-FIRST", "This is the dose it has now"),
    ({"do-FIRST": "dose", "dose-FIRST-reps": "lots"}, "dose-FIRST-reps", "a whole number from 1 to 50"),
    ({"add": "open boook"}, "add", "did you mean Open book?"),
    ({"add": "Rain dance"}, "add", "No drill is called “Rain dance”"),
]


@pytest.mark.parametrize(("fields", "name", "words"), SAID)
def test_what_cannot_be_done_is_said_beside_its_field(
    fields: dict[str, str], name: str, words: str, desk: Visitor, fencer: Fencer
) -> None:
    first = fencer.drills[0]
    page = send(desk, fencer, "print", 422, **{key.replace("FIRST", first): value for key, value in fields.items()})
    assert words in page
    field = name.replace("FIRST", first)
    assert not field or f'id="fault-{field}"' in page
    for value in fields.values():
        assert f'value="{value}"' in page
    assert filed(fencer) == []


def test_a_caution_asks_for_a_reason(desk: Visitor, lib: Library) -> None:
    """A press into the forearm by somebody on blood thinners."""
    database = desk.door.bench.database
    one = file_fencer(database)
    text = VISIT + "cautions: [anticoagulant]\n"
    files = workflow.visit_sheet(text, "visit", lib, Clinic(), workflow.stored_plans(database))
    issued = workflow.issue(database, one.athlete, text, files, datetime(2026, 3, 2, 11, tzinfo=UTC))
    fencer = replace(one, sheet=issued.sheet)
    add = {"add": lib.drills["forearm_flexor_ball_release"].name, "add-side": "right"}
    assert 'id="fault-add-because"' in send(desk, fencer, "look", 422, **add)
    agreed = {**add, "add-because": "light pressure agreed with the doctor"}
    assert "data:image/png" in send(desk, fencer, "look", **agreed)


def test_a_sheet_that_is_over_is_not_changed(desk: Visitor, fencer: Fencer, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(amending, "today", lambda: date(2026, 3, 16))
    words = "The days of this sheet are over"
    page = desk.get(f"/sheet/{fencer.sheet}/amend").text
    assert words in page
    assert "amend.js" not in page  # which works on the form that is not there
    assert words in send(desk, fencer, "print", 422, **{f"do-{fencer.drills[0]}": "off"})
    assert filed(fencer) == []


def test_a_newer_sheet_takes_the_change(desk: Visitor, fencer: Fencer, lib: Library) -> None:
    files = workflow.visit_sheet(VISIT, "visit", lib, Clinic(), lambda last: ())
    newer = workflow.issue(fencer.database, fencer.athlete, VISIT, files, datetime(2026, 3, 3, tzinfo=UTC)).sheet
    page = desk.get(f"/sheet/{fencer.sheet}/amend").text
    assert "A newer sheet was handed over since" in page
    assert f'href="/sheet/{newer}"' in page


def test_where_the_clinic_changed_a_new_sheet_is_offered(
    desk: Visitor, fencer: Fencer, monkeypatch: pytest.MonkeyPatch
) -> None:
    """One drill a day where there were three: the visit gives another plan now, and the slip would not fit the leaf."""
    monkeypatch.setattr(desk.door.bench, "clinic", replace(desk.door.bench.clinic, few=1))
    page = desk.get(f"/sheet/{fencer.sheet}/amend").text
    assert "changed since this sheet was made" in page
    assert f'action="/athlete/{fencer.athlete}/start"' in page
    send(desk, fencer, "print", 422, **{f"do-{fencer.drills[0]}": "off"})
    assert filed(fencer) == []


def test_a_second_change_goes_on_from_a_slip_made_elsewhere(desk: Visitor, fencer: Fencer, lib: Library) -> None:
    file_slip(fencer, lib, date(2026, 3, 6), fencer.drills[-1])
    page = desk.get(f"/sheet/{fencer.sheet}/amend").text
    assert f'name="do-{fencer.drills[-1]}"' not in page
    assert re.search(r'name="slips" value="1"', page)
    send(desk, fencer, "print", 303, slips="1", **{"do-open_book": "off"})
    assert len(filed(fencer)[1]["after"]) == 1  # type: ignore[arg-type]


def test_an_address_of_no_sheet_is_said(desk: Visitor) -> None:
    answer = desk.get("/sheet/none/amend")
    assert answer.status_code == 404
    assert "not in this clinic" in unescape(answer.text)


def test_a_slip_in_large_print_is_half_a_page(desk: Visitor, fencer: Fencer) -> None:
    where = send(desk, fencer, "print", 303, large="1", **{f"do-{fencer.drills[-1]}": "off"})
    wide, high = pypdfium2.PdfDocument(desk.get(where).data)[0].get_size()
    assert (round(wide * 25.4 / 72), round(high * 25.4 / 72)) == (148, 210)  # ISO 216, A5
