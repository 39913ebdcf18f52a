"""Links: what goes in comes out, nothing damaged is believed, and no link is longer than its code can hold."""

from __future__ import annotations

import json
import re
import shutil
import subprocess
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

import homecare.phone
from homecare.core.atlas import Side
from homecare.core.drill import Rung
from homecare.render.dose_words import dose_words
from homecare.render.links import (
    DRILL_LIMIT,
    ON_PAPER,
    SHEET_LIMIT,
    DrillDose,
    Refusal,
    SheetDays,
    drill_link,
    link_fragment,
    link_path,
    read_drill,
    read_sheet,
    sheet_link,
    web_host,
)
from tests.render.sheets import WEB, make_sheet

QR_CAPITALS = re.compile(r"[0-9A-Z$%*+\-./:_]*")
_rungs = st.builds(
    Rung,
    sets=st.integers(1, 6),
    reps=st.integers(1, 30),
    hold_s=st.integers(0, 120),
    tempo_s=st.integers(0, 10),
    rest_s=st.integers(0, 180),
    setup_s=st.integers(0, 60),
    times=st.integers(1, 3),
    load=st.sampled_from(["", "6 kg", "7.5 kg", "yellow band", "body weight / 2", "½ bottle", "a~b_c-d"]),
)
_sides = st.sampled_from(["left", "right", "both", "none"])


@given(_sides, st.lists(_rungs, min_size=1, max_size=3), st.data())
def test_a_drill_comes_back_as_far_as_its_code_can_hold_it(side: Side, rungs: list[Rung], data: st.DataObject) -> None:
    start = data.draw(st.integers(0, len(rungs) - 1))
    link = drill_link(WEB, "AG", side, rungs, start)
    assert len(link) <= DRILL_LIMIT
    fragment = link_fragment(link)
    if not fragment:
        assert link == "HTTPS://HOMECARE.EXAMPLE/AG"
        return
    assert QR_CAPITALS.fullmatch(fragment)
    dose = read_drill("AG", fragment)
    assert isinstance(dose, DrillDose)
    assert (dose.side, dose.start_rung) == (side, start)
    given = tuple(rungs[: len(dose.rungs)])
    bare = tuple(replace(rung, load=ON_PAPER) if rung.load else rung for rung in given)
    assert dose.rungs in (given, bare)
    assert len(dose.rungs) > start


def test_usual_ladders_are_carried_whole() -> None:
    for drill in make_sheet(7).drills:
        dose = read_drill(drill.code, link_fragment(drill.link))
        assert isinstance(dose, DrillDose)
        assert dose.rungs == drill.rungs


def test_every_wrong_character_and_every_swap_is_refused() -> None:
    fragment = link_fragment(make_sheet(1).drills[0].link)
    tried = 0
    for at, letter in enumerate(fragment):
        for wrong in "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ.+%":
            if wrong != letter:
                tried += 1
                assert isinstance(read_drill("AG", fragment[:at] + wrong + fragment[at + 1 :]), Refusal)
    for at in range(len(fragment) - 1):
        swapped = fragment[:at] + fragment[at + 1] + fragment[at] + fragment[at + 2 :]
        if swapped != fragment:
            tried += 1
            assert isinstance(read_drill("AG", swapped), Refusal)
    assert tried > 500


def test_a_dose_does_not_pass_on_another_drills_page() -> None:
    fragment = link_fragment(make_sheet(1).drills[0].link)
    assert isinstance(read_drill("AG", fragment), DrillDose)
    assert isinstance(read_drill("FB", fragment), Refusal)


@pytest.mark.parametrize("fragment", ["", "#", ".", "....", "1R0", "9R0.P1.AAAA", "ü" * 20])
def test_what_is_no_link_is_refused_in_words(fragment: str) -> None:
    for read in (read_drill("AG", fragment), read_sheet(fragment)):
        assert isinstance(read, Refusal)
        assert "sheet" in read.because


@pytest.mark.parametrize(("drills", "days"), [(1, 1), (2, 7), (5, 14), (3, 28)])
def test_a_sheet_comes_back_with_its_days(drills: int, days: int) -> None:
    sheet = make_sheet(drills, days)
    carried = read_sheet(link_fragment(sheet.sheet_link))
    assert isinstance(carried, SheetDays)
    assert (carried.level, carried.start, carried.length) == ("days", sheet.start, days)
    for drill, linked in zip(sheet.drills, carried.drills, strict=True):
        planned = [day.date for day in sheet.days if any(item.drill == drill.id for item in day.items)]
        assert (linked.code, linked.side, list(linked.days)) == (drill.code, drill.side, planned)
        used = sorted({item.rung for day in sheet.days for item in day.items if item.drill == drill.id}) or [0]
        assert linked.rungs == drill.rungs[used[0] : used[-1] + 1]
        firsts = [
            next(day.date for day in sheet.days for item in day.items if item.drill == drill.id and item.rung >= rung)
            for rung in used[1:]
        ]
        assert list(linked.step_dates) == firsts


def test_a_long_sheet_carries_steps_or_only_its_drills_and_says_so() -> None:
    levels = {}
    for drills, days in ((6, 84), (14, 84)):
        sheet = make_sheet(drills, days, spread=20)
        assert len(sheet.sheet_link) <= SHEET_LIMIT
        carried = read_sheet(link_fragment(sheet.sheet_link))
        assert isinstance(carried, SheetDays)
        assert [one.code for one in carried.drills] == [one.code for one in sheet.drills]
        assert all(not one.days for one in carried.drills)
        levels[drills] = carried.level
    assert levels[6] in ("steps", "list")
    assert levels[14] == "list"


def test_a_long_web_address_still_gives_a_link_that_opens_the_drill() -> None:
    web = "https://" + "physiotherapy-and-soft-tissue-care." * 3 + "example/Home"
    link = drill_link(web, "AG", "right", [Rung(1, 10)], 0)
    assert link.endswith("/Home/AG")
    assert sheet_link(web, replace(make_sheet(5))).startswith("HTTPS://PHYSIO")


def test_addresses_as_people_and_as_codes_write_them() -> None:
    assert drill_link("clinic.example/", "AG", "right", [Rung(1, 10)], 0).startswith(
        "HTTPS://CLINIC.EXAMPLE/AG#1R0.P10."
    )
    assert link_path("HTTPS://CLINIC.EXAMPLE/care/AG#1R0.P10.ABCD") == "/AG#1R0.P10.ABCD"
    assert web_host("https://clinic.example/care/") == "clinic.example/care"


def test_the_phones_own_script_reads_doses_as_this_does(tmp_path: Path) -> None:
    node = shutil.which("node")
    if node is None:
        pytest.skip("no JavaScript engine on this machine")
    sheet = make_sheet(7)
    cases = [(drill.code, link_fragment(drill.link)) for drill in sheet.drills]
    cases += [("AG", cases[0][1][:-1] + "!"), ("FB", cases[0][1])]
    script = Path(homecare.phone.__path__[0]) / "static" / "dose.js"
    runner = tmp_path / "run.cjs"
    runner.write_text(
        f"eval(require('fs').readFileSync({json.dumps(str(script))}, 'utf8'));"
        f"console.log(JSON.stringify({json.dumps(cases)}.map(function (one) {{"
        "const dose = homecareDose.readDose(one[0], one[1]);"
        "return dose.refused ? dose.refused : dose.rungs.map(homecareDose.doseWords); })));",
        encoding="utf-8",
    )
    said = json.loads(subprocess.run([node, str(runner)], capture_output=True, check=True, encoding="utf-8").stdout)
    for (code, fragment), words in zip(cases, said, strict=True):
        dose = read_drill(code, fragment)
        assert words == (dose.because if isinstance(dose, Refusal) else [dose_words(rung) for rung in dose.rungs])


def test_loads_stay_on_paper_before_doses_do() -> None:
    rungs = [Rung(2, 10 + step, tempo_s=6, load=f"{9 - step} more would be possible") for step in range(4)]
    dose = read_drill("AG", link_fragment(drill_link(WEB, "AG", "right", rungs, 0)))
    assert isinstance(dose, DrillDose)
    assert [dose_words(rung) for rung in dose.rungs] == [
        f"2 × {10 + step} slow with the load on your sheet" for step in range(4)
    ]
