"""The check-in's boxes without a browser: the leaf as on paper, what a press ticks, what is counted or in conflict."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import replace
from datetime import date, timedelta
from html import unescape
from html.parser import HTMLParser
from typing import get_args

import pytest
from flask import render_template
from hypothesis import given
from hypothesis import strategies as st

from homecare.core.drill import Kind, Rung
from homecare.core.last import LastDay, LastDrill, LastItem
from homecare.desk import checking, create_app
from homecare.desk.answers import NO_COUNT, read_answers
from homecare.desk.drafts import listed
from homecare.desk.form import Form
from homecare.desk.leaf_view import Box, Leaf, leaf_of
from homecare.desk.ticking import Boxes, boxes_before, in_step, press, ticked
from homecare.library.load import Library
from homecare.render.sheet_view import weeks
from homecare.storage.visits import list_check_ins
from homecare.workflow.check_ins import LastTime
from homecare.workflow.phone_codes import PhonePage
from tests.web.fencer import START, Fencer, file_slip, files_of
from tests.web.visitor import Visitor

OVER, AMID, SLIP = date(2026, 3, 16), date(2026, 3, 10), date(2026, 3, 8)
LEAF: Boxes = {"glide": ("1.1", "1.2", "2.1", "8.1"), "press": ("1.1", "3.1"), "stretch": ("9.1",), "new": ()}
"""Four drills of a leaf of two weeks, one without a box that is due."""
BUTTONS = ("ticked", "whole:1", "whole:2", "day:1", "row:1:glide", "row:2:glide", "row:1:press")


@pytest.fixture(autouse=True)
def _today(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(checking, "today", lambda: OVER)


class Fields(HTMLParser):
    """The fields of a page as a browser would send them."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.sent: dict[str, list[str]] = {}
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        field = dict(attrs)
        name, off = field.get("name"), field.get("type") in ("checkbox", "radio") and "checked" not in field
        if tag == "input" and name and not off and field.get("type") != "file":
            self.sent.setdefault(name, []).append(field.get("value") or "")


def form(**fields: str) -> Form:
    """A form by field name, with _ for the dash after its kind."""
    return Form({name.replace("_", "-", 1): (value,) for name, value in fields.items()})


def numbers(sent: Form, boxes: Boxes = LEAF) -> dict[str, str]:
    """What is counted of each drill, '' where nothing is."""
    found = in_step(sent, boxes)
    return {drill: found.one(f"done-{drill}") for drill in boxes}


def faults(sent: Form) -> Mapping[str, tuple[str, ...]]:
    """What cannot be taken."""
    return read_answers(in_step(sent, LEAF), "sheet", LEAF).faults


def send(desk: Visitor, fencer: Fencer, do: str, status: int = 200, /, **fields: object) -> str:
    """The page after a button, or where it leads."""
    answer = desk.post(f"/athlete/{fencer.athlete}/check-in", {"sheet": fencer.sheet, "do": do, **fields})
    assert answer.status_code == status, answer.text
    return str(answer.headers.get("Location", unescape(answer.text)))


def leaf(fencer: Fencer, lib: Library, today: date, sent: Form | None = None) -> Leaf:
    last = fencer.last()
    return leaf_of(last, sent or Form({}), boxes_before(last.plan, today), lib)


@pytest.mark.parametrize("today", [OVER, AMID])
def test_the_leaf_has_the_weeks_days_rows_and_boxes_of_the_printed_sheet(
    fencer: Fencer, lib: Library, today: date
) -> None:
    """Held to what is printed: the weeks that have begun, each row in its place, each day with as many boxes."""
    paper = weeks(files_of().sheet)
    ours = leaf(fencer, lib, today).weeks
    assert len(ours) == len(paper) == 2
    for week, printed in zip(ours, paper, strict=True):
        heads = [head.name if head else None for head in week.heads]
        assert heads == [head.name if head else None for head in printed.heads]
        assert [(line.place, line.name) for line in week.lines] == [(str(row.number), row.name) for row in printed.rows]
        for line, row in zip(week.lines, printed.rows, strict=True):
            counts = [cell and len(cell.boxes) + cell.later for cell in line.cells]
            assert counts == [cell and cell.boxes for cell in row.cells]


def test_only_boxes_before_today_can_be_ticked(fencer: Fencer, lib: Library) -> None:
    shown = leaf(fencer, lib, AMID)
    due = {(START + timedelta(days=int(box.value.split(".")[0]) - 1)) for box in boxes(shown)}
    assert max(due) == AMID - timedelta(days=1)
    assert shown.later
    assert not leaf(fencer, lib, OVER).later
    assert leaf(fencer, lib, START).weeks == ()


def boxes(shown: Leaf) -> list[Box]:
    return [box for week in shown.weeks for line in week.lines for cell in line.cells if cell for box in cell.boxes]


def test_each_box_is_called_by_its_drill_its_day_and_its_time(fencer: Fencer, lib: Library) -> None:
    names = [box.label for box in boxes(leaf(fencer, lib, OVER))]
    assert "Small arm glide, Monday 2 March" in names
    assert "Small arm glide, Monday 2 March, second time" in names
    assert len(names) == len(set(names))


def test_after_a_slip_its_drill_stands_last_and_what_it_took_off_has_no_box(fencer: Fencer, lib: Library) -> None:
    off = fencer.drills[-1]
    file_slip(fencer, lib, SLIP, off)
    first, second = leaf(fencer, lib, OVER).weeks
    assert [line.place for line in first.lines][-1] == ""
    assert first.lines[-1].drill == "open_book"
    assert off not in [line.drill for line in second.lines]
    assert [head.name for head in (*first.heads, *second.heads) if head and head.slip] == ["Sun 8"]
    before = {drill: found for drill, found in boxes_before(fencer.last().plan, SLIP).items()}
    assert before.get("open_book", ()) == ()
    assert [line.drill for line in first.lines[:-1]] == [row.id for row in files_of().sheet.drills if before[row.id]]


def test_a_number_is_the_count_of_the_boxes_and_follows_them() -> None:
    sent = in_step(Form({"ticks-glide": ("1.1", "2.1")}), LEAF)
    assert sent.one("done-glide") == "2"
    again = Form({**sent.values, "ticks-glide": ("1.1",)})
    assert numbers(again)["glide"] == "1"
    assert not faults(again)


def test_once_the_leaf_is_used_a_row_without_a_tick_counts_nothing() -> None:
    assert numbers(Form({})) == {"glide": "", "press": "", "stretch": "", "new": ""}
    used = form(ticks_glide="1.1")
    assert numbers(used) == {"glide": "1", "press": "0", "stretch": "0", "new": ""}
    undone = Form({**in_step(used, LEAF).values, "ticks-glide": ()})
    assert numbers(undone) == {"glide": "", "press": "", "stretch": "", "new": ""}


def test_a_number_alone_may_still_be_typed() -> None:
    typed = form(ticks_glide="1.1", done_press="2")
    assert numbers(typed)["press"] == "2"
    assert not faults(typed)
    assert read_answers(in_step(typed, LEAF), "sheet", LEAF).told.done == {"glide": 1, "press": 2, "stretch": 0}


def test_a_number_that_differs_from_the_boxes_is_said_and_either_may_be_kept() -> None:
    sent = in_step(form(ticks_glide="1.1 1.2", done_glide="4"), LEAF)
    assert faults(sent) == {"done-glide": ("2 boxes are ticked, but the number says 4: which is it?",)}
    assert "glide" not in read_answers(sent, "sheet", LEAF).told.done
    for button, number, left in (("count:glide", "2", ("1.1", "1.2")), ("number:glide", "4", ())):
        settled = in_step(press(sent, button, LEAF), LEAF)
        assert (settled.one("done-glide"), ticked(settled, "glide", LEAF)) == (number, left)
        assert not faults(settled)


def test_what_is_no_number_and_a_box_that_is_not_there_are_said() -> None:
    assert faults(form(ticks_glide="1.1", done_glide="two")) == {"done-glide": (NO_COUNT,)}
    (said,) = faults(form(ticks_press="2.1"))["done-press"]
    assert "A slip has changed the days" in said


def ticks_of(sent: Form) -> dict[str, set[str]]:
    return {drill: set(ticked(sent, drill, LEAF)) for drill in LEAF}


@given(
    st.fixed_dictionaries(
        {drill: st.sets(st.sampled_from(ours)) if ours else st.just(set()) for drill, ours in LEAF.items()}
    ),
    st.sampled_from(BUTTONS),
)
def test_a_press_ticks_all_of_its_boxes_and_the_next_none(before: Mapping[str, set[str]], button: str) -> None:
    """Whatever was ticked: what a button means is found here from its words, not as the code does."""
    verb, *what = button.split(":")
    meant = {
        (drill, box)
        for drill, ours in LEAF.items()
        for box in ours
        if verb == "ticked"
        or (verb == "day" and box.startswith(f"{what[0]}."))
        or (verb in ("whole", "row") and (int(box[0]) > 7) == (what[0] == "2") and drill in [*what[1:], drill][:1])
    }
    sent = Form({f"ticks-{drill}": tuple(found) for drill, found in before.items()})
    was = {(drill, box) for drill, found in before.items() for box in found}
    once, twice = (press(sent, button, LEAF), press(press(sent, button, LEAF), button, LEAF))
    now = [{(drill, box) for drill, found in ticks_of(one).items() for box in found} for one in (once, twice)]
    assert now[0] == (was - meant if meant <= was else was | meant)
    assert now[1] == (was | meant if meant <= was else was - meant)


def test_without_script_a_press_comes_back_ticked_and_counted(desk: Visitor, fencer: Fencer) -> None:
    page = desk.get(f"/athlete/{fencer.athlete}/check-in").text
    drill = fencer.drills[0]
    ours = boxes_before(fencer.last().plan, OVER)[drill]
    first = [box for box in ours if int(box.split(".")[0]) <= 7]
    sent = Fields(send(desk, fencer, f"row:1:{drill}", **Fields(page).sent)).sent
    assert sent[f"ticks-{drill}"] == first
    assert sent[f"done-{drill}"] == [str(len(first))]
    sent[f"ticks-{drill}"] = first[1:]
    assert Fields(send(desk, fencer, "look", **sent)).sent[f"done-{drill}"] == [str(len(first) - 1)]


def test_what_was_ticked_is_filed_as_counts(desk: Visitor, fencer: Fencer) -> None:
    first, *rest = fencer.drills
    some = boxes_before(fencer.last().plan, OVER)[first][:3]
    send(desk, fencer, "keep", 303, **{f"ticks-{first}": list(some)})
    with fencer.database.read() as connection:
        (kept,) = list_check_ins(connection, fencer.sheet)
    assert f'"{first}":3' in kept.json
    assert all(f'"{drill}":0' in kept.json for drill in rest)
    assert "ticks" not in kept.json


def test_a_conflict_stands_beside_its_row_and_nothing_is_filed(desk: Visitor, fencer: Fencer) -> None:
    drill = fencer.drills[0]
    box = boxes_before(fencer.last().plan, OVER)[drill][0]
    fields = {f"ticks-{drill}": box, f"done-{drill}": "5", "stop": "none"}
    for button in ("make", "keep", "desk"):
        page = send(desk, fencer, button, 422, **fields)
        assert f'id="fault-done-{drill}">1 box is ticked, but the number says 5' in page
        assert {f"count:{drill}", f"number:{drill}"} <= set(re.findall(r'name="do" value="([^"]+)"', page))
        assert Fields(page).sent[f"ticks-{drill}"] == [box]
    with fencer.database.read() as connection:
        assert list_check_ins(connection, fencer.sheet) == ()


def test_a_box_that_a_slip_took_off_meanwhile_is_said(desk: Visitor, fencer: Fencer, lib: Library) -> None:
    off = fencer.drills[-1]
    box = boxes_before(fencer.last().plan, OVER)[off][-1]
    file_slip(fencer, lib, SLIP, off)
    page = send(desk, fencer, "make", 422, **{f"ticks-{off}": box, "stop": "none"})
    assert "A slip has changed the days of this drill" in page
    assert f"ticks-{off}" not in Fields(page).sent


def test_the_draft_keeps_the_boxes_and_the_check_in_goes_on_with_it(desk: Visitor, fencer: Fencer) -> None:
    """On to the desk, a finding added there, back, a box more, on to the desk again: one draft, with all of it."""
    drill = fencer.drills[0]
    some = boxes_before(fencer.last().plan, OVER)[drill][:4]
    where = send(desk, fencer, "desk", 303, **{f"ticks-{drill}": list(some[:3]), "stop": "none", "symptom-0-now": "2"})
    draft = where.rpartition("/")[2]
    page = unescape(desk.get(where).text)
    fields = Fields(page).sent
    desk.post(f"/draft/{draft}", {**fields, "do": "put:tissue:peroneus_longus:left:tight"})
    (back,) = set(re.findall(r'href="([^"]+check-in[^"]*)"', unescape(desk.get(where).text)))
    sent = Fields(desk.get(back).text).sent
    assert sent[f"ticks-{drill}"] == list(some[:3])
    assert (sent["symptom-0-now"], sent["stop"], sent["draft"]) == (["2"], ["none"], [draft])
    again = send(desk, fencer, "desk", 303, **{**sent, f"ticks-{drill}": list(some)})
    assert again == where
    (kept,) = [one.form for one in listed(fencer.database) if one.form.one("athlete_id") == fencer.athlete]
    assert (kept.one(f"done-{drill}"), kept.many(f"ticks-{drill}")) == ("4", some)
    assert "peroneus_longus" in [kept.one(f"finding-{row}-tissue") for row in kept.rows("finding")]
    send(desk, fencer, "make", 303, **Fields(desk.get(back).text).sent)
    assert [one for one in listed(fencer.database) if one.form.one("athlete_id") == fencer.athlete] == []


def long_time(fencer: Fencer, lib: Library) -> LastTime:
    """A made-up sheet of 84 days and 14 drills, each three times a day."""
    rung = Rung(1, 8, times=3)
    drills = tuple(
        LastDrill(key, "right", get_args(Kind)[0], (), at, 0, "ladder", False, 0, False, (rung,))
        for at, key in enumerate(list(lib.drills)[:14])
    )
    days = tuple(
        LastDay(START + timedelta(days=day), tuple(LastItem(drill.id, "right", 0, 3) for drill in drills))
        for day in range(84)
    )
    last = fencer.last()
    plan = replace(last.plan, days=days, drills=drills)
    return replace(last, plan=plan, pages=(PhonePage(START, drills),))


def test_of_many_weeks_one_stands_open_and_the_others_keep_their_ticks(fencer: Fencer, lib: Library) -> None:
    """The worst there can be: every day, 14 drills, three boxes each; as it goes to the browser and comes back."""
    last = long_time(fencer, lib)
    due = boxes_before(last.plan, START + timedelta(days=84))
    sent = press(Form({}), "ticked", due)
    with create_app(data=fencer.database.path.parent).test_request_context():
        for week in (1, 5, 12):
            sent = press(sent, f"week:{week}", due)
            shown = leaf_of(last, sent, due, lib)
            assert [one.number for one in shown.weeks if one.open] == [week]
            assert len(shown.weeks) == 12
            html = render_template("checkin_leaf.html", leaf=shown)
            assert len(html) < 100_000  # a page has 150 kB (the same limit as in test_every_page)
            came = Form({name: tuple(values) for name, values in Fields(html).sent.items()})
            assert {drill: ticked(came, drill, due) for drill in due} == due
            sent = came
