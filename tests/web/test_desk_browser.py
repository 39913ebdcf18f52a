"""The desk in a browser: at both widths, by keyboard alone, with and without script."""

from __future__ import annotations

import re
from collections.abc import Iterator

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page

from homecare.desk import create_app
from homecare.library.code_reader import read_codes
from tests.web.browser import Watched, browser, served

pytestmark = pytest.mark.slow

TARGET = 44  # CSS pixels: the least height of anything pressed
WIDTHS = [1280, 390]
SMALL_TARGETS = """least => [...document.querySelectorAll(
    'button, a, select, summary, textarea, label:has(input), input:not(label input)')]
    .filter((one) => one.checkVisibility() && !one.matches('.vh, .skip, [type=hidden]'))
    .filter((one) => Math.min(one.getBoundingClientRect().height, one.getBoundingClientRect().width) < least)
    .map((one) => one.outerHTML.slice(0, 120))"""


@pytest.fixture(scope="module")
def desk() -> Iterator[str]:
    with served(create_app()) as address:
        yield address


@pytest.fixture(scope="module")
def chromium() -> Iterator[Browser]:
    with browser() as running:
        yield running


class Opener:
    """Opens the desk; whatever a page complains of is kept."""

    def __init__(self, running: Browser, address: str) -> None:
        self._running, self._address = running, address
        self.opened: list[Watched] = []

    def __call__(self, width: int = 1280, script: bool = True) -> Page:
        self.opened.append(Watched(self._running, width, script))
        self.opened[-1].page.goto(self._address)
        return self.opened[-1].page


@pytest.fixture
def opened(chromium: Browser, desk: str) -> Iterator[Opener]:
    opener = Opener(chromium, desk)
    yield opener
    for watched in opener.opened:
        watched.page.close()
        assert watched.complaints == []


def fill(page: Page) -> None:
    page.get_by_label("Athlete, as printed").fill("Ansel D.")
    page.get_by_label("First day").fill("2026-05-04")
    page.get_by_label("a small firm ball").check()
    page.get_by_label("None of these").check()
    row = page.locator("[data-row=finding]").first
    row.get_by_label("Tissue", exact=True).fill("flexor digitorum superficialis")
    row.get_by_label("right", exact=True).check()
    row.get_by_label("tight", exact=True).check()
    row = page.locator("[data-row=symptom]").first
    row.get_by_label("tingling").check()
    row.get_by_label("right", exact=True).check()
    row.get_by_text("Arm and hand").click()
    row.get_by_label("thumb", exact=True).check()


def make(page: Page) -> None:
    page.locator(".big").click()
    page.locator("#now").wait_for()


def check(page: Page, width: int) -> None:
    """No sideways scroll, no small target, no finding of axe-core at WCAG 2.2 AA."""
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    page.evaluate("document.querySelectorAll('details').forEach((one) => { one.open = true; })")
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    small = page.evaluate(SMALL_TARGETS, TARGET)
    assert small == []
    options = {"runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]}
    found = Axe().run(page, options=options)
    assert found.violations_count == 0, found.generate_report()


@pytest.mark.parametrize("width", WIDTHS)
def test_the_empty_form(opened: Opener, width: int) -> None:
    check(opened(width), width)


@pytest.mark.parametrize("width", WIDTHS)
def test_the_made_sheet(opened: Opener, width: int) -> None:
    page = opened(width)
    fill(page)
    make(page)
    assert page.locator(".drill").count() > 0
    check(page, width)


@pytest.mark.parametrize("width", WIDTHS)
def test_the_faulty_form(opened: Opener, width: int) -> None:
    page = opened(width, script=False)
    page.get_by_label("Days").fill("400")
    page.locator(".big").click()
    assert page.get_by_role("alert").locator("li").count() == 3
    assert page.get_by_label("Days").input_value() == "400"


def test_without_script_rows_come_and_the_sheet_is_made(opened: Opener) -> None:
    page = opened(script=False)
    fill(page)
    page.get_by_role("button", name="Add a tissue").click()
    assert page.locator("[data-row=finding]").count() == 4
    make(page)
    first = page.locator(".drill h4").first.inner_text()
    page.locator(".drill").first.get_by_role("button").click()
    page.get_by_role("button", name="Put").first.click()
    assert page.locator(".drill h4").first.inner_text() == first


def test_with_script_rows_come_in_place_and_the_sheet_follows(opened: Opener) -> None:
    page = opened()
    fill(page)
    page.get_by_role("button", name="Add a tissue").click()
    assert page.locator("[data-row=finding]").count() == 4
    assert page.evaluate("document.activeElement.name") == "finding-3-tissue"
    make(page)
    before = page.locator("#print a").first.get_attribute("href")
    with page.expect_response(lambda answer: answer.request.method == "POST"):
        page.get_by_label("Minutes, weekday").fill("6")
        page.get_by_label("Minutes, weekend").focus()
    page.get_by_text("Up to date.").wait_for()
    assert page.locator("#print a").first.get_attribute("href") != before


def test_with_script_a_missing_reason_is_asked_for_in_place(opened: Opener) -> None:
    page = opened()
    fill(page)
    page.get_by_text("Cautions").click()
    page.get_by_label("takes blood thinners").check()
    make(page)
    page.get_by_text("Left out").click()
    page.get_by_role("button", name=re.compile("on anyway")).first.click()
    page.get_by_text("A reason is needed first", exact=True).wait_for()
    page.keyboard.type("Worked last time")
    page.locator(".leftrow:has([aria-invalid])").get_by_role("button").click()
    page.get_by_text("was put on by you: Worked last time").wait_for()


def test_the_keyboard_alone_makes_a_sheet(opened: Opener) -> None:
    page = opened()

    def tab_to(name: str) -> None:
        for _ in range(250):
            page.keyboard.press("Tab")
            if page.evaluate("document.activeElement.name") == name:
                return
        pytest.fail(f"Tab never reaches {name}")

    tab_to("athlete")
    page.keyboard.type("Ansel D.")
    tab_to("kit")
    page.keyboard.press("Space")
    tab_to("finding-0-tissue")
    page.keyboard.type("soleus")
    tab_to("finding-0-side")
    page.keyboard.press("Space")
    tab_to("finding-0-found")
    page.keyboard.press("Space")
    page.keyboard.press("ArrowRight")
    assert page.evaluate("document.activeElement.value") == "tender"
    page.keyboard.press("ArrowLeft")
    tab_to("notes")
    tab_to("do")
    page.keyboard.press("Enter")
    page.locator(".drill").first.wait_for()
    assert page.evaluate("document.querySelector('.faults')") is None


@pytest.mark.parametrize("width", WIDTHS)
def test_the_page_that_reads_a_phone_s_code(opened: Opener, width: int) -> None:
    page = opened(width)
    page.get_by_role("link", name="A phone's code").click()
    page.locator("#code").fill("R1NO")
    page.get_by_role("button", name="Read it").click()
    assert "Choose the plan.json" in page.get_by_role("alert").inner_text()
    assert page.locator("#code").input_value() == "R1NO"
    check(page, width)


@pytest.mark.parametrize("width", WIDTHS)
def test_the_sheets_code_reads_from_the_desks_screen(opened: Opener, width: int) -> None:
    page = opened(width)
    fill(page)
    make(page)
    link = page.get_by_text("Code on this screen").get_attribute("href") or ""
    page.goto(page.url.split("#")[0] + link.lstrip("/"))
    (text,) = read_codes(page.screenshot())
    assert text.startswith("HTTPS://HOMECARE.EXAMPLE/S#1")
