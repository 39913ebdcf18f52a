"""Whole runs over what is kept: check-ins by phone and by slip, an end by force, a backup, an erased athlete."""

from __future__ import annotations

import re
import signal
import subprocess
import sys
import zipfile
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Page, expect

from homecare.cli.main import main
from homecare.desk import create_app
from homecare.storage.database import open_database
from tests.web.browser import free_port, served
from tests.web.fencer import NAME, file_fencer
from tests.web.hands import LAST_WEEK, TODAY, boxes, device, plan, print_sheet, settled, stored, visit

pytestmark = pytest.mark.slow


def tick_last_week(phone: Page) -> None:
    """Tick every box of the days before today."""
    phone.get_by_text(re.compile("All .* days")).tap()
    expect(phone.locator("details.day[open]")).to_have_count(0)
    for number in range(7):
        day = phone.locator(f"#d{LAST_WEEK + timedelta(days=number)}")
        day.locator("summary").first.tap()
        expect(day).to_have_attribute("open", "")
        for box in day.locator(".due input").all():
            box.check()


def on_the_phone(running: Browser, file: Path, worse: str) -> tuple[bytes, str]:
    """A week with the saved phone file and no signal: all done and no worse, then one drill worse.

    The code for the clinic as the phone's screen shows it, and its letters.
    """
    morning = f"{TODAY - timedelta(days=1)}T07:30:00"
    with device(running, 390, touch=True, offline=True) as phone:
        phone.clock.install(time=morning)
        phone.goto(file.as_uri())
        tick_last_week(phone)
        phone.goto(f"{file.as_uri()}#today")
        phone.reload()
        phone.locator(".morning .answer", has_text="no worse").tap()
        phone.clock.set_system_time(f"{TODAY}T07:30:00")
        phone.reload()
        asked = phone.locator(".morning")
        asked.locator(".answer", has_text="Over 5").tap()
        asked.get_by_label(worse).check()
        phone.goto(f"{file.as_uri()}#judge")
        phone.locator("#judge .notes button", has_text=re.compile("^3$")).tap()
        phone.goto(f"{file.as_uri()}#clinic")
        code = phone.locator("svg.code")
        code.scroll_into_view_if_needed()
        return code.screenshot(), phone.locator(".typed").inner_text()


def test_a_week_on_the_phone_moves_the_next_doses(chromium: Browser, home: str, tmp_path: Path) -> None:
    """Sheet, phone file, ticks and answers, a photograph of its code, check-in, next sheet: by the check-in's table."""
    with device(chromium) as page:
        page.goto(home)
        visit(page, "Solveig Marchetti", LAST_WEEK)
        first_sheet = print_sheet(page)
        first = plan(page, first_sheet)
        (tmp_path / "phone.html").write_bytes(stored(page, f"{first_sheet}/phone.html"))
        yesterday = {item["drill"] for day in first["days"] if day["date"] < TODAY.isoformat() for item in day["items"]}
        worse = next(one for one in first["drills"] if one["id"] in yesterday and one["kind"] == "glide")
        picture, letters = on_the_phone(chromium, tmp_path / "phone.html", worse["name"])
        page.get_by_role("link", name="Solveig Marchetti").click()
        page.get_by_role("link", name="Check in").click()
        page.get_by_text("Read the phone's code").click()
        page.get_by_label("A photograph of the code").set_input_files(
            {"name": "photograph.png", "mimeType": "image/png", "buffer": picture}
        )
        page.get_by_role("button", name="Read it").click()
        page.get_by_text("Read from the phone.").wait_for()
        page.wait_for_load_state()
        for drill in first["drills"]:
            field = page.locator(f"#done-{drill['id']}")
            if field.count():
                planned = boxes(first, drill["id"], TODAY)
                expect(field).to_have_value(str(planned))
                expect(field).to_have_attribute("data-planned", str(planned))
        expect(page.locator(f"[name=response-{worse['id']}][value=worse]")).to_be_checked()
        page.locator("label").filter(has=page.locator("[name=stop][value=none]")).click()
        page.get_by_role("button", name="Make the next sheet").click()
        page.wait_for_url("**/sheet/*")
        moved_by_the_table(first, plan(page, page.url), worse["id"])
    assert len(letters) > 20


def moved_by_the_table(first: dict[str, Any], then: dict[str, Any], worse: str) -> None:
    """All boxes ticked: what settled goes up once its days were done, else stays; what got worse goes back, at half."""
    before, after = ({one["id"]: one for one in held["drills"]} for held in (first, then))
    change = {one["drill"]: one["change"] for one in then["check_in"]}
    ended = {
        item["drill"]: item["rung"] for day in first["days"] if day["date"] < TODAY.isoformat() for item in day["items"]
    }
    assert change[worse] == "down"
    assert after[worse]["start_rung"] == max(0, ended[worse] - 1)
    assert [one["times"] for one in after[worse]["rungs"]] == [
        max(1, one["times"] // 2) for one in before[worse]["rungs"]
    ]
    for drill in set(after) & set(ended) - {worse}:
        up = change[drill] == "up"
        assert change[drill] in ("up", "hold"), drill
        assert after[drill]["start_rung"] == ended[drill] + up, drill
    assert "up" in change.values()


def test_a_slip_counts_from_its_day(chromium: Browser, home: str) -> None:
    """One drill off and one on three days ago: the check-in asks for the boxes that paper and slip had."""
    day = TODAY - timedelta(days=3)
    with device(chromium) as page:
        page.goto(home)
        visit(page, "Casimir Oduya", LAST_WEEK)
        sheet = print_sheet(page)
        first = plan(page, sheet)
        off = first["drills"][0]["id"]
        page.get_by_role("link", name="Amend the sheet").click()
        page.get_by_label("From which day").fill(day.isoformat())
        page.locator("label").filter(has=page.locator(f"[name=do-{off}][value=off]")).click()
        page.get_by_label("Drill, by its name").fill("Open book")
        page.get_by_label("Because (kept on record)").fill("stiff again")
        page.locator("img.slippage").first.wait_for()
        with page.expect_response(lambda answer: answer.request.method == "POST" and answer.status == 303):
            page.get_by_role("button", name="Print the slip").click()
        page.goto(sheet)
        expect(page.locator(".slipline")).to_have_count(1)
        phone = page.get_by_role("link", name=re.compile("Phone page from")).get_attribute("href")
        on_slip = stored(page, f"{home}{phone}").decode()
        page.get_by_role("link", name="Casimir Oduya").click()
        page.get_by_role("link", name="Check in").click()
        page.wait_for_url("**/check-in")
        asked = page.locator("[data-planned]").evaluate_all(
            "all => Object.fromEntries(all.map(one => [one.name.replace('done-', ''), Number(one.dataset.planned)]))"
        )
        page.get_by_role("button", name="All boxes ticked").click()
        page.get_by_role("button", name="All settled").click()
        page.locator("label").filter(has=page.locator("[name=stop][value=none]")).click()
        page.get_by_role("button", name="Make the next sheet").click()
        page.wait_for_url("**/sheet/*")
        then = plan(page, page.url)
    assert asked[off] == boxes(first, off, day) < boxes(first, off, TODAY)
    assert 0 < asked["open_book"] <= 3 * 3  # three days, at most three times a day
    assert "Open book" in on_slip
    ids = {one["id"] for one in then["drills"]}
    assert "open_book" in ids
    assert off not in ids


@contextmanager
def a_desk(data: Path, port: int) -> Iterator[subprocess.Popen[str]]:
    """`homecare serve` in a process of its own."""
    command = [sys.executable, "-m", "homecare", "serve", "--data", str(data), "--port", str(port)]
    process = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True)
    try:
        assert process.stdout is not None
        assert f":{port}/" in process.stdout.readline()
        yield process
    finally:
        process.kill()
        process.communicate()


def test_a_desk_that_is_ended_in_the_middle_of_a_word_keeps_the_visit(chromium: Browser, tmp_path: Path) -> None:
    """SIGKILL while somebody types: what was saved is there, and the open page sends the rest by itself."""
    port = free_port(2)  # the phone pages take the next one
    with device(chromium, away=True) as page:
        with a_desk(tmp_path, port) as process:
            page.goto(f"http://127.0.0.1:{port}/")
            visit(page, "Henrike Sund", found=("soleus l tight",))
            draft = page.url
            notes = page.get_by_label("Notes, printed")
            notes.press_sequentially("Ice is fine")
            settled(page)
            notes.press_sequentially(" in the even")
            process.send_signal(signal.SIGKILL)
            process.wait()
            notes.press_sequentially("ing")
            page.get_by_text("Not saved: the desk does not answer").wait_for()
        with a_desk(tmp_path, port), device(chromium) as other:
            other.goto(f"http://127.0.0.1:{port}/")
            other.get_by_role("link", name=re.compile("Henrike Sund")).click()
            expect(other).to_have_url(draft)
            expect(other.locator("#notes")).to_have_value(re.compile("^Ice is fine"))
            expect(other.locator("[data-row=finding]")).to_have_count(1)
            expect(page.locator("#status")).not_to_contain_text("Not saved")
            settled(page)
            other.reload()
            expect(other.locator("#notes")).to_have_value("Ice is fine in the evening")
            assert plan(page, print_sheet(page))["notes"]


def erase(page: Page, name: str) -> None:
    """From an athlete's page to where nothing of them is left."""
    page.get_by_role("link", name="Erase this athlete").click()
    page.get_by_role("heading", name=f"Erase {name}?").wait_for()
    page.get_by_role("button", name="Erase it for ever").click()
    page.get_by_role("heading", name="Erased", exact=True).wait_for()


def listed(page: Page, address: str) -> list[str]:
    page.goto(f"{address}/athletes")
    return sorted(page.locator(".who").all_inner_texts())


def test_a_backup_brings_all_back_but_who_was_erased(chromium: Browser, tmp_path: Path) -> None:
    data, copy = tmp_path / "data", tmp_path / "copy"
    fencer = file_fencer(open_database(data))
    kept = f"/sheet/{fencer.sheet}/sheet.pdf"
    with served(create_app(data=data)) as address, device(chromium) as page:
        page.goto(address)
        visit(page, "Erased Quillfeather", found=("soleus l tight",))
        sheet = print_sheet(page)
        handed = stored(page, address + kept)
        page.goto(f"{address}/clinic")
        with page.expect_download() as given:
            page.get_by_role("button", name="Back up now").click()
        given.value.save_as(copy)
        page.goto(sheet)
        page.get_by_role("link", name="Erased Quillfeather").click()
        erase(page, "Erased Quillfeather")
        page.goto(f"{address}/athletes/new")
        page.get_by_label("Name, as printed").fill("Later Comer")
        page.get_by_role("button", name="Keep").click()
        page.get_by_role("heading", level=1, name="Later Comer").wait_for()
        assert listed(page, address) == ["Later Comer", NAME]
    assert main(["restore", str(copy), "--data", str(data)]) == 0
    with served(create_app(data=data)) as address, device(chromium) as page:
        assert listed(page, address) == [NAME]
        assert stored(page, address + kept) == handed
        assert page.request.get(f"{address}/sheet/{sheet.rpartition('/')[2]}").status == 404


def test_a_record_is_given_away_and_then_nothing_of_it_is_left(chromium: Browser, tmp_path: Path) -> None:
    with served(create_app(data=tmp_path)) as address, device(chromium) as page:
        page.goto(address)
        visit(page, "Leaving Tverdal", TODAY - timedelta(days=14), ("soleus l tight",))
        sheet = print_sheet(page)
        handed = stored(page, f"{sheet}/sheet.pdf")
        page.get_by_role("link", name="Leaving Tverdal").click()
        athlete = page.url
        page.get_by_role("button", name="Repeat last with changes").click()
        page.wait_for_url("**/draft/*")
        draft = page.url
        page.goto(athlete)
        with page.expect_download() as given:
            page.get_by_role("link", name="All of this record as a zip").click()
        with zipfile.ZipFile(given.value.path()) as record:
            names = record.namelist()
            assert [record.read(name) for name in names if name.endswith("sheet.pdf")] == [handed]
            assert b"Leaving Tverdal" in record.read("index.html")
            assert any(name.startswith("drafts/") for name in names)
        page.goto(athlete)
        erase(page, "Leaving Tverdal")
        assert listed(page, address) == []
        for gone in (athlete, draft, sheet, f"{sheet}/sheet.pdf", f"{athlete}/record.zip"):
            assert page.request.get(gone).status == 404, gone
        assert [one for one in tmp_path.rglob("*") if one.is_file() and b"Tverdal" in one.read_bytes()] == []
