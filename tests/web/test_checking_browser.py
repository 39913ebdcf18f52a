"""The check-in and the slip as they are used: with the keyboard, with a thumb's width, without script."""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import date
from typing import Literal

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, expect

from homecare.desk import amending, checking, create_app
from homecare.storage.database import open_database
from homecare.storage.sheets import list_amendments
from tests.web.browser import Watched, served
from tests.web.fencer import Fencer, file_fencer

pytestmark = pytest.mark.slow


@pytest.fixture(scope="module")
def desk(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[str, Fencer]]:
    folder = tmp_path_factory.mktemp("check_in_browser")
    fencer = file_fencer(open_database(folder))
    with pytest.MonkeyPatch.context() as patched, served(create_app(data=folder)) as address:
        patched.setattr(checking, "today", lambda: date(2026, 3, 10))
        patched.setattr(amending, "today", lambda: date(2026, 3, 10))
        yield address, fencer


def test_two_presses_fill_it_in_and_the_side_follows(chromium: Browser, desk: tuple[str, Fencer]) -> None:
    """From paper, all done and settled: two presses, one for the stop signs, and the next sheet may be made."""
    address, fencer = desk
    watched = Watched(chromium, 1280)
    page = watched.page
    page.goto(f"{address}/athlete/{fencer.athlete}/check-in")
    page.get_by_role("button", name="All boxes ticked").click()
    page.get_by_role("button", name="All settled").click()
    glide = page.locator("#becomes-median_slider")
    expect(glide).to_contain_text("one step up")
    page.get_by_role("radiogroup", name=re.compile("Small arm glide")).get_by_label("worse").check()
    expect(glide).to_contain_text("one step back")
    expect(page.locator("#becoming")).to_contain_text("1 steps back")
    assert page.url.endswith("/check-in")
    page.close()
    assert watched.complaints == []


def test_plus_and_minus_count_within_what_was_planned(chromium: Browser, desk: tuple[str, Fencer]) -> None:
    address, fencer = desk
    page = Watched(chromium, 390).page
    page.goto(f"{address}/athlete/{fencer.athlete}/check-in")
    field = page.locator("#done-calf_roller")
    planned = field.get_attribute("data-planned")
    row = page.locator("li", has=field)
    row.get_by_role("button", name="One fewer").click()
    expect(field).to_have_value(planned or "")
    row.get_by_role("button", name="One more").click()
    expect(field).to_have_value(planned or "")
    field.fill("1")
    for _ in range(3):
        row.get_by_role("button", name="One fewer").click()
    expect(field).to_have_value("0")
    small = page.evaluate(
        "[...document.querySelectorAll('#main button, #main input:not([type=hidden]), #main summary')]"
        ".filter(one => one.offsetParent && !one.closest('.vh') && one.type != 'radio' && one.type != 'checkbox')"
        ".filter(one => one.getBoundingClientRect().height < 44 || one.getBoundingClientRect().width < 44)"
        ".map(one => one.outerHTML)"
    )
    assert small == []
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    page.close()


def test_a_slip_takes_shape_at_a_press_and_is_printed_at_the_next(chromium: Browser, desk: tuple[str, Fencer]) -> None:
    """The keyboard alone: to a drill's words, one arrow to take it off, and Enter files and shows the slip."""
    address, fencer = desk
    watched = Watched(chromium, 1280)
    page = watched.page
    page.goto(f"{address}/sheet/{fencer.sheet}/amend")
    page.locator("[name=do-clam_band]").first.focus()
    page.keyboard.press("ArrowRight")
    expect(page.locator("img.slippage").first).to_be_visible()
    assert watched.complaints == []
    button = page.get_by_role("button", name="Print the slip")
    button.focus()
    with page.expect_response(lambda answer: answer.request.method == "POST" and answer.status == 303):
        page.keyboard.press("Enter")
    with fencer.database.read() as connection:
        assert len(list_amendments(connection, fencer.sheet)) == 1
    page.close()


def test_without_script_both_are_plain_forms(chromium: Browser, desk: tuple[str, Fencer]) -> None:
    address, fencer = desk
    page = Watched(chromium, 390, script=False).page
    page.goto(f"{address}/athlete/{fencer.athlete}/check-in")
    page.get_by_role("button", name="All settled").click()
    expect(page.locator("input[value=settled]:checked").nth(len(fencer.drills) - 1)).to_be_attached()
    page.get_by_role("button", name="Show what changes").last.click()
    expect(page.locator("#becomes-median_slider")).to_contain_text("It settled")
    page.goto(f"{address}/sheet/{fencer.sheet}/amend")
    page.locator("[name=do-calf_roller][value=off]").check(force=True)
    page.get_by_role("button", name="Show the slip").last.click()
    expect(page.locator("img.slippage").first).to_be_visible()
    page.close()


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_axe_finds_nothing_with_all_of_it_open(
    chromium: Browser, desk: tuple[str, Fencer], scheme: Literal["light", "dark"]
) -> None:
    """axe-core, every rule, with its own script let in past the policy."""
    address, fencer = desk
    page = chromium.new_page(viewport={"width": 1280, "height": 844}, bypass_csp=True, color_scheme=scheme)
    page.goto(f"{address}/athlete/{fencer.athlete}/check-in")
    page.locator(".read summary").click()
    page.locator("#some").check(force=True)
    page.get_by_role("button", name="All settled").click()
    expect(page.locator("#becomes-median_slider")).to_contain_text("It settled")
    assert [one["id"] for one in Axe().run(page).response["violations"]] == []
    page.goto(f"{address}/sheet/{fencer.sheet}/amend")
    page.locator("[name=do-calf_roller][value=dose]").check(force=True)
    expect(page.locator("#status")).to_contain_text("This is the dose it has now")
    assert [one["id"] for one in Axe().run(page).response["violations"]] == []
    page.close()
