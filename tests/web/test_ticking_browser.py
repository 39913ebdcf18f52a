"""Ticking the boxes of a leaf as it is done: with a mouse, with the keyboard alone, with a thumb, over many weeks."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, expect

from homecare import workflow
from homecare.core.sheet import Clinic
from homecare.desk import checking, create_app
from homecare.library.load import Library
from homecare.storage.athletes import add_athlete
from homecare.storage.database import Database, open_database
from tests.web.browser import Opener, served
from tests.web.fencer import VISIT, file_fencer

pytestmark = pytest.mark.slow

GLIDE = "Small arm glide"
SMALL = """least => [...document.querySelectorAll('#leaf input[type=checkbox], #leaf button')]
    .filter((one) => Math.min(one.getBoundingClientRect().height, one.getBoundingClientRect().width) < least)
    .map((one) => one.outerHTML)"""


@dataclass(frozen=True)
class Desk:
    """A served desk, and the check-ins of a sheet of two weeks and of one of four, both over."""

    address: str
    short: str
    long: str


def file_skater(database: Database, lib: Library) -> str:
    """The same visit with four weeks on its sheet; its athlete."""
    text = VISIT.replace("days: 14", "days: 28").replace("Lorcan M.", "Signe O.")
    at = datetime(2026, 3, 2, 9, tzinfo=UTC)
    with database.write() as connection:
        athlete = add_athlete(connection, "Signe O.", at).id
    files = workflow.visit_sheet(text, "visit", lib, Clinic(), lambda last: ())
    workflow.issue(database, athlete, text, files, at)
    return athlete


@pytest.fixture(scope="module")
def ticking(tmp_path_factory: pytest.TempPathFactory, lib: Library) -> Iterator[Desk]:
    folder = tmp_path_factory.mktemp("ticking")
    database = open_database(folder)
    short, long = file_fencer(database).athlete, file_skater(database, lib)
    with pytest.MonkeyPatch.context() as patched, served(create_app(data=folder)) as address:
        patched.setattr(checking, "today", lambda: date(2026, 3, 30))
        yield Desk(address, f"/athlete/{short}/check-in", f"/athlete/{long}/check-in")


@pytest.fixture
def opened(chromium: Browser, ticking: Desk) -> Iterator[Opener]:
    opener = Opener(chromium, ticking.address)
    yield opener
    for watched in opener.opened:
        watched.page.close()
        assert watched.complaints == []


def test_a_box_a_row_and_a_day_are_one_press_each_and_another_takes_it_back(opened: Opener, ticking: Desk) -> None:
    page = opened(ticking.short)
    number, glide = page.locator("#done-median_slider"), page.get_by_role("group", name=f"{GLIDE}, week 1")
    monday = page.get_by_label(f"{GLIDE}, Monday 2 March", exact=True)
    monday.click()
    expect(number).to_have_value("1")
    expect(glide).to_contain_text("1 of 14")
    expect(page.locator("#done-calf_roller")).to_have_value("0")
    monday.click()
    expect(number).to_have_value("")
    glide.get_by_role("button").click()
    expect(number).to_have_value("14")
    expect(page.locator("#becomes-median_slider")).to_contain_text("no answer was given", ignore_case=True)
    page.get_by_role("button", name="All settled").click()
    expect(page.locator("#becomes-median_slider")).to_contain_text("settled")
    page.get_by_role("button", name="Mon 9").click()
    expect(number).to_have_value("16")
    expect(page.get_by_role("button", name="Mon 9")).to_have_attribute("aria-pressed", "true")
    page.get_by_role("button", name="Mon 9").click()
    glide.get_by_role("button", name="none of").click()
    expect(number).to_have_value("")


def test_arrows_walk_over_the_boxes_and_space_ticks(opened: Opener, ticking: Desk) -> None:
    """One Tab reaches the leaf and the next leaves it; between them every box is reached by arrows."""
    page = opened(ticking.short)
    page.locator("#fold-leaf > summary").focus()
    page.keyboard.press("Tab")
    first = page.locator("#leaf :focus")
    expect(first).to_have_attribute("type", "checkbox")
    page.keyboard.press("Space")
    expect(first).to_be_checked()
    begun = first.get_attribute("aria-label") or ""
    page.keyboard.press("ArrowDown")
    expect(page.locator("#leaf :focus")).not_to_have_attribute("aria-label", begun)
    page.keyboard.press("Space")
    page.keyboard.press("ArrowRight")
    page.keyboard.press("Space")
    expect(page.locator("#leaf input:checked")).to_have_count(3)
    page.keyboard.press("ArrowUp")
    page.keyboard.press("ArrowUp")
    expect(page.locator("#leaf :focus")).to_have_attribute("value", re.compile("day:"))
    page.keyboard.press("Tab")
    expect(page.locator("#leaf :focus")).to_have_count(0)


def test_a_number_that_differs_is_said_at_once_and_settled_by_a_press(opened: Opener, ticking: Desk) -> None:
    page = opened(ticking.short)
    page.get_by_label(f"{GLIDE}, Monday 2 March", exact=True).click()
    number, said = page.locator("#done-median_slider"), page.locator("#said-median_slider")
    number.fill("9")
    expect(said).to_contain_text("1 box is ticked, but the number says 9")
    expect(number).to_have_attribute("aria-invalid", "true")
    said.get_by_role("button", name="Take the boxes: 1").click()
    expect(number).to_have_value("1")
    expect(number).to_be_focused()
    expect(said).to_be_empty()
    number.fill("9")
    said.get_by_role("button", name="Keep the number: 9").click()
    expect(page.locator("#leaf input:checked")).to_have_count(0)
    expect(number).to_have_value("9")
    expect(number).not_to_have_attribute("aria-invalid", "true")


def test_of_many_weeks_one_is_open_and_no_tick_is_lost(opened: Opener, ticking: Desk) -> None:
    page = opened(ticking.long, 390)
    page.get_by_role("group", name="Week 3").get_by_role("button", name="all of week 3").click()
    expect(page.get_by_role("group", name="Week 3")).to_contain_text("none")
    counted = page.locator("#sum").inner_text()
    assert not counted.startswith("0 ")
    page.get_by_role("button", name="Week 3", exact=True).click()
    opened_week = page.locator("#week-3 input[type=checkbox]")
    expect(opened_week.first).to_be_focused()
    assert opened_week.count() > 7
    expect(page.locator("#week-3 input[type=checkbox]:not(:checked)")).to_have_count(0)
    expect(page.locator("#week-1 input[type=checkbox]")).to_have_count(0)
    expect(page.locator("#sum")).to_have_text(counted)
    page.get_by_role("button", name="All boxes ticked").click()
    expect(page.get_by_role("group", name="Week 1")).to_contain_text("none")
    planned = page.locator("#done-median_slider").get_attribute("data-planned") or ""
    expect(page.locator("#done-median_slider")).to_have_value(planned)


@pytest.mark.parametrize("width", [390, 1280])
def test_it_fits_a_thumb_and_axe_finds_nothing(chromium: Browser, ticking: Desk, width: int) -> None:
    """44 px on a phone; 24 px where days stand side by side (WCAG 2.2, 2.5.5 and 2.5.8, from memory)."""
    page = chromium.new_page(viewport={"width": width, "height": 844}, bypass_csp=True)
    page.goto(ticking.address + ticking.short)
    page.get_by_label(f"{GLIDE}, Monday 2 March", exact=True).click()
    page.locator("#done-median_slider").fill("9")
    expect(page.locator("#said-median_slider")).to_contain_text("1 box is ticked")
    assert page.evaluate(SMALL, 43.5 if width == 390 else 24) == []
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    assert [one["id"] for one in Axe().run(page).response["violations"]] == []
    page.close()


def test_without_script_every_box_and_press_is_a_plain_form(opened: Opener, ticking: Desk) -> None:
    page = opened(ticking.long, 390, script=False)
    page.locator("#week-1 input[type=checkbox]").first.check()
    page.get_by_role("button", name="Week 2", exact=True).click()
    expect(page.locator("#week-1")).to_contain_text("1 of ")
    page.locator("#week-2 button", has_text="all of week 2").click()
    expect(page.locator("#week-2 input[type=checkbox]:not(:checked)")).to_have_count(0)
    expect(page.locator("#week-1")).to_contain_text("1 of ")
