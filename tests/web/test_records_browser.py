"""The athletes and their records in a browser: both widths, light and dark, by keyboard, with and without script."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, expect

from homecare.desk import create_app
from homecare.library.code_reader import read_codes
from homecare.library.load import Library
from homecare.render.past_read import read_past_plan
from homecare.storage.athletes import add_athlete
from homecare.storage.database import open_database
from homecare.storage.sheets import read_sheet
from tests.web.browser import Watched, served
from tests.web.filed import NAME, Filed, file_rower
from tests.web.test_desk_browser import SMALL_TARGETS, TARGET

pytestmark = pytest.mark.slow

TIME = datetime(2026, 4, 2, 9, tzinfo=UTC)
AXE = {"runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]}


@dataclass(frozen=True)
class Shown:
    """A served desk with one rower's records."""

    address: str
    rower: Filed
    link: str


@pytest.fixture(scope="module")
def shown(tmp_path_factory: pytest.TempPathFactory, lib: Library) -> Iterator[Shown]:
    folder = tmp_path_factory.mktemp("shown")
    database = open_database(folder)
    rower = file_rower(database, lib, refer=True)
    with database.write() as connection:
        for number in range(60):
            add_athlete(connection, f"Skater {number:02d}", datetime.now(UTC))
    with database.read() as connection:
        files = read_sheet(connection, rower.sheets[0])
    assert files is not None
    with served(create_app(data=folder)) as address:
        yield Shown(address, rower, read_past_plan(files.plan).link)


@pytest.mark.parametrize(("width", "scheme"), [(1280, "light"), (390, "dark")])
def test_a_referral_is_accessible(chromium: Browser, shown: Shown, width: int, scheme: str) -> None:
    watched = Watched(chromium, width)
    page = watched.page
    page.emulate_media(color_scheme=scheme)  # type: ignore[arg-type]
    for path in (f"/athlete/{shown.rower.athlete}", f"/sheet/{shown.rower.sheets[-1]}"):
        page.goto(shown.address + path)
        page.evaluate("document.querySelectorAll('details').forEach((one) => { one.open = true; })")
        assert page.evaluate("document.documentElement.scrollWidth") <= width, path
        assert page.evaluate(SMALL_TARGETS, TARGET) == [], path
        found = Axe().run(page, options=AXE)
        assert found.violations_count == 0, (path, found.generate_report())
    page.close()
    assert watched.complaints == []


def test_found_as_one_types_by_keyboard_alone(chromium: Browser, shown: Shown) -> None:
    watched = Watched(chromium, 390)
    page = watched.page
    page.goto(f"{shown.address}/athletes")
    expect(page.locator(".who")).to_have_count(50)
    page.keyboard.press("/")
    with page.expect_response(lambda answer: "oddv" in (answer.request.post_data or "")):
        page.keyboard.type("oddv")
    expect(page.get_by_text("1 athlete", exact=True)).to_be_attached()
    expect(page.locator(".who")).to_have_text([NAME])
    for _ in range(4):
        page.keyboard.press("Tab")
        if page.evaluate("document.activeElement.className") == "who":
            break
    page.keyboard.press("Enter")
    page.get_by_role("heading", level=1, name=NAME).wait_for()
    assert "oddv" not in page.url.lower()
    page.close()
    assert watched.complaints == []


def test_without_script_a_search_and_a_reprint_still_work(chromium: Browser, shown: Shown) -> None:
    watched = Watched(chromium, 1280, script=False)
    page = watched.page
    page.goto(f"{shown.address}/athletes?choose=1")
    page.get_by_label("Find by name").fill("oddveig")
    page.get_by_role("button", name="Find").click()
    expect(page.locator(".who")).to_have_text([NAME])
    page.get_by_label(f"{NAME}, ").check()
    page.get_by_role("button", name="A zip of single PDFs").click()
    page.get_by_role("link", name="Keep the zip").wait_for()
    with page.expect_download() as given:
        page.get_by_role("link", name="Keep the zip").click()
    assert given.value.suggested_filename == "sheets.zip"
    page.goto(f"{shown.address}/athlete/{shown.rower.athlete}")
    expect(page.get_by_role("link", name="Chart note of Monday 2 March")).to_be_visible()
    expect(page.get_by_role("button", name=re.compile("Copy"))).to_have_count(0)  # it would do nothing
    page.close()
    assert watched.complaints == []


def test_a_phone_reads_the_code_off_the_screen(chromium: Browser, shown: Shown) -> None:
    page = chromium.new_page(viewport={"width": 390, "height": 844})
    page.goto(f"{shown.address}/sheet/{shown.rower.sheets[0]}/code.svg")
    assert read_codes(page.screenshot()) == (shown.link,)
    page.close()


def test_the_chart_note_is_copied(chromium: Browser, shown: Shown) -> None:
    context = chromium.new_context(permissions=["clipboard-read", "clipboard-write"])
    page = context.new_page()
    page.clock.install(time=TIME)
    page.goto(f"{shown.address}/athlete/{shown.rower.athlete}")
    page.clock.pause_at(TIME + timedelta(hours=1))  # or the button would have its own words again before we look
    name = re.compile("Copy the chart note of Monday 2 March")
    button = page.get_by_role("button", name=name)
    words = button.inner_text()
    button.click()
    page.get_by_text("Copied").wait_for()
    assert page.evaluate("navigator.clipboard.readText()").startswith(f"Home care for {NAME}\nVisit of Monday 2 March")
    page.clock.run_for(3000)
    expect(button).to_have_text(words)
    context.close()
