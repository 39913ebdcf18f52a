"""The phone pages in a browser: the dose in the link is the dose on paper, and a damaged link is refused."""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import datetime, time
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page, expect

from homecare.core.drill import Rung
from homecare.library.load import Library, load_library
from homecare.phone import create_app
from homecare.render.dose_words import dose_words
from homecare.render.links import SheetDays, drill_link, link_path, read_drill, read_sheet, sheet_link
from homecare.workflow import make_sheet
from tests.web.browser import Watched, served

pytestmark = pytest.mark.slow
WEB = "https://clinic.example"


@pytest.fixture(scope="module")
def library() -> Library:
    return load_library()


@pytest.fixture(scope="module")
def phone(library: Library) -> Iterator[str]:
    with served(create_app(library)) as address:
        yield address


@pytest.fixture
def page(chromium: Browser) -> Iterator[Page]:
    watched = Watched(chromium, 390)
    yield watched.page
    watched.page.close()
    assert watched.complaints == []


def test_each_ladders_dose_reads_as_on_paper(page: Page, phone: str, library: Library) -> None:
    code = next(iter(library.drills.values())).code
    checked = 0
    loaded = (
        Rung(sets=3, reps=15, tempo_s=4, load="6 kg, yellow band"),
        Rung(sets=3, reps=12, tempo_s=4, load="7½ kg"),
    )
    for rungs in [*(ladder.rungs for ladder in library.ladders.values()), loaded]:
        path = link_path(drill_link(WEB, code, "right", rungs, 0))
        carried = read_drill(code, path.partition("#")[2])
        page.goto("about:blank")
        page.goto(phone + path)
        if "#" in path:
            words = [dose_words(rung) for rung in carried.rungs]  # type: ignore[union-attr]
            expect(page.locator("#dose li b")).to_have_text(words)
            expect(page.locator("#dose p")).to_have_text("Do it on the right side.")
            checked += 1
    assert checked > 5


@pytest.mark.parametrize("fragment", ["1R0.S3", "x", "1R0.S3P10T4.ZZZZ", "%00", "<b>x</b>"])
def test_a_damaged_link_is_refused(page: Page, phone: str, library: Library, fragment: str) -> None:
    page.goto(f"{phone}/{next(iter(library.drills.values())).code}#{fragment}")
    expect(page.locator("#dose")).to_have_text(re.compile("^This link is damaged."))


@pytest.mark.parametrize("path", ["/", "/S", "DRILL"])
def test_no_sideways_scroll_and_axe_finds_nothing(page: Page, phone: str, library: Library, path: str) -> None:
    page.goto(phone + path.replace("DRILL", f"/{next(iter(library.drills.values())).code}"))
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    found = Axe().run(page, options={"runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]})
    assert found.violations_count == 0, found.generate_report()


def test_the_sheets_code_shows_its_own_drills_in_order(page: Page, phone: str, library: Library) -> None:
    visit = Path(__file__).resolve().parents[1] / "data/rower.yaml"
    sheet = make_sheet(visit).sheet
    path = link_path(sheet_link(WEB, sheet))
    assert "#" in path
    page.goto(phone + path)
    codes = "rows => rows.map((row) => row.dataset.code)"
    expect(page.locator("#all li")).to_have_count(len(sheet.drills))
    assert page.locator("#all li").evaluate_all(codes) == [drill.code for drill in sheet.drills]
    expect(page.locator("#all li").first).to_contain_text(sheet.drills[0].text.name)
    days = read_sheet(path.partition("#")[2])
    assert isinstance(days, SheetDays)
    assert days.level == "days"
    page.clock.install(time=datetime.combine(sheet.start, time(12)).astimezone())
    page.reload()
    expect(page.locator("#sheet-days")).to_have_text("Today is day 1 of your sheet.")
    today = [item.drill for item in sheet.days[0].items]
    assert page.locator("#all li:has(.tag)").evaluate_all(codes) == [
        drill.code for drill in sheet.drills if drill.id in today
    ]


def test_the_start_page_leads_back_to_the_last_sheet_until_it_is_told_to_forget_it(
    page: Page, phone: str, library: Library
) -> None:
    sheet = make_sheet(Path(__file__).resolve().parents[1] / "data/rower.yaml").sheet
    path = link_path(sheet_link(WEB, sheet))
    page.goto(phone + "/")
    expect(page.locator("#last-sheet")).to_be_hidden()
    page.goto(f"{phone}/S#nonsense")
    page.goto(phone + "/")
    expect(page.locator("#last-sheet")).to_be_hidden()
    page.goto(phone + path)
    page.goto(phone + "/")
    page.get_by_text("Go on with your sheet").click()
    page.wait_for_url(phone + path)
    expect(page.locator("#all li")).to_have_count(len(sheet.drills))
    page.goto(phone + "/")
    page.get_by_text("Forget it").click()
    expect(page.locator("#last-sheet")).to_be_hidden()
    page.reload()
    expect(page.locator("#last-sheet")).to_be_hidden()
    assert page.evaluate("localStorage.length") == 0
