"""The rows of a pose in a browser: they come, go and come back, and a press puts a fault right."""

from __future__ import annotations

import pytest
from playwright.sync_api import Page, expect

from tests.web.browser import Opener
from tests.web.hands import holds
from tests.web.test_shelf_browser import FIGURE, GLIDE, STRETCH, WIDTHS, check

pytestmark = pytest.mark.slow


def unfolded(page: Page) -> None:
    page.get_by_text("What it touches and holds").click()


def test_every_row_offers_all_that_an_empty_one_does(opened: Opener) -> None:
    page = opened(STRETCH)
    unfolded(page)
    row = page.get_by_role("group", name="What touches what, row 1")
    last = page.get_by_role("group", name="What touches what, row 4")
    for label in ("Part of the body", "What it touches"):
        words = last.get_by_label(label).locator("option").all_text_contents()
        assert len(words) > 30
        expect(row.get_by_label(label).locator("option")).to_have_text(words)
    expect(row.get_by_label("Part of the body")).not_to_have_value("")


@pytest.mark.parametrize("width", WIDTHS)
def test_a_row_comes_is_drawn_goes_and_comes_back(opened: Opener, width: int) -> None:
    page = opened(STRETCH, width)
    unfolded(page)
    assert page.evaluate(FIGURE)
    row = page.get_by_role("group", name="What touches what, row 3")
    expect(row.get_by_label("Part of the body")).to_have_value("palm")
    row.get_by_label("How", exact=True).select_option("is lifted off")
    expect(row.get_by_label("What it touches")).to_be_hidden()
    holds(page, f"() => !({FIGURE})()")
    page.get_by_role("button", name="Undo").click()
    expect(row.get_by_label("What it touches")).to_have_value("wall")
    holds(page, FIGURE)

    page.get_by_role("button", name="Remove row 3: What touches what").click()
    expect(row.get_by_label("Part of the body")).to_have_count(0)
    holds(page, f"() => !({FIGURE})()")
    page.get_by_role("button", name="Undo").click()
    expect(row.get_by_label("Part of the body")).to_have_value("palm")
    holds(page, FIGURE)

    page.get_by_role("button", name="Add a contact").click()
    added = page.get_by_role("group", name="What touches what, row 5")
    expect(added.get_by_label("Side", exact=True)).to_be_focused()
    added.get_by_label("Part of the body").select_option("back of the thigh")
    expect(added.get_by_text("Say what it touches")).to_be_visible()
    expect(added.get_by_label("How far down the limb", exact=False).first).to_be_visible()
    check(page, width)


def test_a_press_puts_a_fault_right_and_undo_takes_it_back(opened: Opener) -> None:
    page = opened(GLIDE)
    wrist = page.locator("[name=end-right_wrist-flex]")
    wrist.fill("95")
    page.get_by_role("button", name="Set it to 80").click()
    expect(wrist).to_have_value("80")
    expect(wrist).to_be_focused()
    expect(page.locator("[id='fault-end-right_wrist-flex']")).to_have_count(0)
    page.get_by_role("button", name="Undo").click()
    expect(wrist).to_have_value("95")
    page.get_by_label("Tissues, the main one first").fill("medain nerve")
    page.get_by_role("button", name="Write “Median nerve”").click()
    expect(page.get_by_label("Tissues, the main one first")).to_have_value("Median nerve")


def test_a_press_for_a_field_that_is_not_there_yet_brings_it(opened: Opener) -> None:
    page = opened(GLIDE)
    page.locator("[name=end-right_elbow-flex]").fill("20")
    page.locator("[name=end-right_wrist-flex]").fill("-200")
    page.get_by_role("button", name="Make it back 85").click()
    expect(page.locator("[name=end-right_wrist-ext]")).to_have_value("85")
    expect(page.locator("[name=end-right_wrist-flex]")).to_have_value("")
    expect(page.locator("[name=end-right_elbow-flex]")).to_have_value("20")
    page.get_by_role("button", name="Undo").click()
    expect(page.locator("[name=end-right_wrist-flex]")).to_have_value("-200")


def test_a_press_bends_the_body_until_it_stands(opened: Opener) -> None:
    page = opened("/library/plantar_ball")
    page.locator("[name=end-right_hip-flex]").fill("132")
    page.get_by_role("button", name="Take the angles as drawn").first.click()
    expect(page.locator("#live")).to_have_text("Ready to be saved.")
    expect(page.locator("[name=end-right_hip-flex]")).not_to_have_value("132")
