"""Whole runs at the desk: from the empty page to the printed sheet, by mouse, keyboard or thumb, and by two at once."""

from __future__ import annotations

import re
from datetime import date, timedelta
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect

from homecare.desk import create_app
from homecare.render.links import whole_link
from tests.render.pages import codes, page_texts, squeeze
from tests.web.browser import served
from tests.web.hands import TODAY, add, device, plan, pressed, print_sheet, settled, stored, take, visit

pytestmark = pytest.mark.slow


def day_words(day: date) -> str:
    return f"{day:%A} {day.day}"


def test_three_findings_become_paper_that_a_phone_reads(chromium: Browser, tmp_path: Path) -> None:
    """The stored PDF names athlete, days and drills, and its codes open exactly those drills with those doses."""
    clinic = tmp_path / "clinic.yaml"
    clinic.write_text("web: https://lowgate.example\n")
    with served(create_app(clinic=clinic, data=tmp_path / "data")) as home, device(chromium) as page:
        page.goto(home)
        visit(page, "Ingeborg Vass")
        sheet = print_sheet(page)
        held = plan(page, sheet)
        where = page.get_by_role("link", name="Sheet to print").get_attribute("href")
        pdf = stored(page, f"{home}{where}")
    texts = page_texts(pdf)
    last = TODAY + timedelta(days=13)
    assert squeeze("Home care for Ingeborg Vass") in texts[0]
    assert squeeze(f"to {day_words(last)} {last:%B}") in texts[0]
    for day in held["days"]:
        assert squeeze(f"{date.fromisoformat(day['date']):%a} {int(day['date'][-2:])}") in texts[0]
    assert len(held["drills"]) > 2
    for drill in held["drills"]:
        assert all(squeeze(drill["name"]) in text for text in texts), drill["name"]
    links = [held["link"], *(drill["link"] for drill in held["drills"])]
    assert {one.text for one in codes(pdf)} == {whole_link(held["clinic"]["web"], link) for link in links}


def test_a_repeat_begins_where_last_time_ended(chromium: Browser, home: str) -> None:
    with device(chromium) as page:
        page.goto(home)
        visit(page, "Ruben Aaltonen", TODAY - timedelta(days=14))
        first = plan(page, print_sheet(page))
        page.get_by_role("link", name="Ruben Aaltonen").click()
        page.get_by_role("button", name="Repeat last with changes").click()
        expect(page.get_by_label("First day")).to_have_value(TODAY.isoformat())
        expect(page.locator("[data-row=finding]")).to_have_count(2)
        add(page, "tibialis anterior l tight")
        page.get_by_label("None of these").check()
        settled(page)
        again = plan(page, print_sheet(page))
        page.get_by_role("link", name="Ruben Aaltonen").click()
        expect(page.locator(".visits > li")).to_have_count(2)
    assert again["start"] == TODAY.isoformat()
    assert again["last"]
    assert {one["drill"] for one in again["check_in"]} == {one["id"] for one in first["drills"]}
    # Nothing was told of last time, so every drill that stays begins at the step it ended at.
    ended = {item["drill"]: item["rung"] for day in first["days"] for item in day["items"]}
    stays = {one["id"]: one["start_rung"] for one in again["drills"] if one["id"] in ended}
    assert len(stays) > 1
    assert stays == {drill: ended[drill] for drill in stays}
    assert len(again["findings"]) == len(first["findings"]) + 1


def test_a_drill_that_is_renamed_is_new_on_the_next_sheet_and_old_on_the_old(chromium: Browser, home: str) -> None:
    with device(chromium) as page:
        page.goto(home)
        visit(page, "Mirja Solheim", TODAY - timedelta(days=14), ("soleus l tight",))
        old = print_sheet(page)
        handed = stored(page, f"{old}/sheet.pdf"), stored(page, f"{old}/phone.html")
        page.goto(f"{home}/library/soleus_wall_stretch")
        name = page.get_by_label("Name, 20 letters at most")
        before = name.input_value()
        assert squeeze(before) in page_texts(handed[0])[1]
        name.fill("Slow low calf pull")
        page.get_by_role("button", name="Save", exact=True).click()
        page.get_by_text("Saved. The next sheet has it").wait_for()
        page.goto(old)
        page.get_by_role("link", name="Mirja Solheim").click()
        page.get_by_role("button", name="Repeat last with changes").click()
        settled(page)
        page.get_by_label("None of these").check()
        settled(page)
        new = page_texts(stored(page, f"{print_sheet(page)}/sheet.pdf"))
        assert squeeze("Slow low calf pull") in new[1]
        assert squeeze(before) not in new[1]
        assert (stored(page, f"{old}/sheet.pdf"), stored(page, f"{old}/phone.html")) == handed


def tab_to(page: Page, selector: str, back: bool = False) -> None:
    for _ in range(300):
        page.keyboard.press("Shift+Tab" if back else "Tab")
        if page.evaluate("selector => document.activeElement.matches(selector)", selector):
            return
    pytest.fail(f"Tab never reaches {selector}")


def test_the_keyboard_alone_prints_a_sheet_and_begins_the_next(chromium: Browser, home: str) -> None:
    with device(chromium) as page:
        page.goto(home)
        tab_to(page, "#athlete")
        page.keyboard.type("Keyed In")
        page.keyboard.press("Tab")
        page.keyboard.type("41")
        tab_to(page, "#find")
        for typed in ("soleus r", "tingling thumb r"):
            page.keyboard.type(typed)
            page.locator("#offers [role=option]").first.wait_for()
            page.keyboard.press("ArrowDown")
            page.keyboard.press("ArrowUp")
            take(page)
            settled(page)
            page.locator("#find").and_(page.locator(":focus")).wait_for()
        tab_to(page, "#finding-0-found")
        page.keyboard.press("Space")
        settled(page)
        tab_to(page, "#screen", back=True)
        page.keyboard.press("Space")
        settled(page)
        tab_to(page, "#issue")
        page.keyboard.press("Enter")
        page.wait_for_url("**/sheet/*")
        first = plan(page, page.url)
        tab_to(page, "nav a")
        page.keyboard.press("Enter")
        page.get_by_role("heading", level=1, name="Build a sheet").wait_for(state="attached")
        settled(page)
        tab_to(page, "#athlete")
        page.keyboard.type("keyed")
        page.locator("#who-found [role=option]").wait_for()
        settled(page)  # what was typed is saved meanwhile, and the list stays
        page.keyboard.press("ArrowDown")
        page.keyboard.press("Enter")
        page.locator("[value=last]").wait_for()
        settled(page)
        tab_to(page, "[value=last]")
        page.keyboard.press("Enter")
        page.locator("[data-row=symptom]").wait_for()
        settled(page)
        tab_to(page, "#screen")
        page.keyboard.press("Space")
        settled(page)
        tab_to(page, "#issue")
        page.keyboard.press("Enter")
        page.wait_for_url("**/sheet/*")
        assert plan(page, page.url)["findings"] == first["findings"]
        assert pressed(page) == set()


def test_a_thumb_alone_prints_a_sheet(chromium: Browser, home: str) -> None:
    """At the width of a phone, with taps and the phone's own keys: no hover, no Enter, no mouse."""
    with device(chromium, 390, touch=True) as page:
        page.goto(home)
        page.get_by_label("Athlete, as printed").tap()
        page.keyboard.insert_text("Tapped Out")
        page.locator("label").filter(has_text="a foam roller").tap()
        page.get_by_role("button", name="Tue: easy").tap()
        settled(page)
        page.locator("#at-calf-left").tap()
        page.locator("#here").get_by_role("button", name="Soleus").tap()
        settled(page)
        page.locator("[data-row=finding] label").get_by_text("tight", exact=True).locator("..").tap()
        settled(page)
        page.locator("#find").tap()
        page.keyboard.insert_text("tingling thumb r")
        page.locator("#offers [role=option]").first.tap()
        settled(page)
        page.locator("label.none").tap()
        settled(page)
        page.get_by_role("link", name="See the sheet").tap()
        page.locator("#issue").tap()
        page.wait_for_url("**/sheet/*")
        assert page.evaluate("document.documentElement.scrollWidth") <= 390
        held = plan(page, page.url)
        assert pressed(page) == {"touch"}
    assert held["athlete"] == "Tapped Out"
    assert {day["training"] for day in held["days"] if date.fromisoformat(day["date"]).weekday() == 1} == {"hard"}


def test_two_devices_in_one_visit_lose_nothing(chromium: Browser, home: str) -> None:
    """The later one is told in place, keeps what it typed, goes on as a copy, and both sheets can be printed."""
    with device(chromium) as desktop, device(chromium, 390, touch=True) as tablet:
        desktop.goto(home)
        visit(desktop, "Twice Edited")
        tablet.goto(desktop.url)
        tablet.get_by_label("Notes, printed").fill("from the tablet")
        settled(tablet)
        desktop.get_by_label("Notes, printed").fill("from the desktop")
        desktop.get_by_text("Changed elsewhere at").wait_for()
        expect(desktop.get_by_label("Notes, printed")).to_have_value("from the desktop")
        desktop.get_by_text("Go on with this one as a copy").click()
        desktop.get_by_text("Saved on this machine").wait_for()
        settled(desktop)
        expect(desktop.get_by_label("Notes, printed")).to_have_value("from the desktop")
        assert desktop.url != tablet.url
        sheets = [print_sheet(desktop), print_sheet(tablet)]
        notes = [plan(desktop, one)["notes"] for one in sheets]
    assert re.sub(r"\W+", " ", str(notes)).split().count("from") == 2
    assert "from the desktop" in str(notes[0])
    assert "from the tablet" in str(notes[1])
