"""The desk in a browser: at both widths, by keyboard alone, with and without script."""

from __future__ import annotations

import threading

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page, Route, expect

from tests.web.browser import Opener
from tests.web.hands import add, came, hold, let_go, looked, settled, take

pytestmark = pytest.mark.slow

TARGET = 44  # CSS pixels: the least height of anything pressed
LEAST = 24  # where targets lie close together, as on the body (WCAG 2.2, 2.5.8, from memory)
WIDTHS = [1280, 390]
SMALL_TARGETS = """least => [...document.querySelectorAll(
    'button, a, select, summary, textarea, label:has(input), input:not(label input)')]
    .filter((one) => one.checkVisibility() && !one.matches('.vh, .skip, [type=hidden], .at, [type=range]'))
    .filter((one) => Math.min(one.getBoundingClientRect().height, one.getBoundingClientRect().width) < least)
    .map((one) => one.outerHTML.slice(0, 120))"""

PLACE = """one => {
    const place = one.getBoundingClientRect(), pane = one.closest("aside").getBoundingClientRect();
    return [place.x - pane.x, place.y - pane.y, place.width, place.height];
}"""
"""Where a picture is in its pane, and how large: the page itself may still scroll."""


def fill(page: Page) -> None:
    settled(page)
    page.get_by_label("Athlete, as printed").fill("Ansel D.")
    page.get_by_label("a small firm ball").check()
    settled(page)
    add(page, "flexor digitorum superficialis r tight")
    add(page, "tingling thumb r")
    page.get_by_label("None of these").check()
    settled(page)


def check(page: Page, width: int) -> None:
    """No sideways scroll, no small target, no finding of axe-core at WCAG 2.2 AA."""
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    page.evaluate("document.querySelectorAll('details').forEach((one) => { one.open = true; })")
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    small = page.evaluate(SMALL_TARGETS, TARGET)
    assert small == []
    assert page.evaluate(SMALL_TARGETS.replace("button, a,", ".at,").replace(", .at", ""), LEAST) == []
    options = {"runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]}
    for scheme in ("dark", "light"):
        page.emulate_media(color_scheme=scheme)
        found = Axe().run(page, options=options)
        assert found.violations_count == 0, f"{scheme}: {found.generate_report()}"


@pytest.mark.parametrize("width", WIDTHS)
def test_the_sheet_takes_shape(opened: Opener, width: int) -> None:
    page = opened(width=width)
    fill(page)
    expect(page.locator(".drill")).not_to_have_count(0)
    expect(page.locator("#part-top")).to_contain_text("Saved on this machine")
    page.reload()
    expect(page.get_by_label("Athlete, as printed")).to_have_value("Ansel D.")
    looked(page)
    check(page, width)


def test_without_script_everything_is_a_button(opened: Opener) -> None:
    page = opened(script=False)
    page.get_by_label("Athlete, as printed").fill("Ansel D.")
    page.locator("#find").fill("soleus l tight")
    page.get_by_role("button", name="Find").click()
    page.locator("#offers button").first.click()
    page.locator("#at-palm-right").click()
    page.locator("#here").get_by_text("numbness").click()
    page.locator("[data-row=symptom]").get_by_label("little finger", exact=True).check()
    page.locator("#fold-who > summary").click()
    page.get_by_label("Days").fill("400")
    page.locator("#find-it").click()
    expect(page.get_by_role("alert").locator("li")).to_have_count(1)
    page.get_by_label("Days").fill("10")
    page.locator("#find-it").click()
    expect(page.get_by_role("alert")).to_have_count(0)
    first = page.locator(".drill h4").first
    name = first.inner_text().strip()
    page.get_by_role("button", name="Take off").first.click()
    expect(first).not_to_have_text(name)
    page.get_by_role("button", name="Undo").click()
    expect(first).to_have_text(name)


def test_presses_faster_than_the_answers_all_count(opened: Opener) -> None:
    page = opened()
    fill(page)
    hold(page, "/draft")
    for typed in ("ulnt1 r pos", "ulnt2a r neg", "ulnt3 r neg"):
        page.locator("#find").fill(typed)
        take(page)
    page.get_by_label("Notes, printed").fill("typed meanwhile")
    let_go(page)
    settled(page)
    page.reload()
    expect(page.locator("[data-row=test]")).to_have_count(3)
    expect(page.get_by_label("Notes, printed")).to_have_value("typed meanwhile")


def test_what_was_typed_before_the_script_was_there_is_saved(opened: Opener) -> None:
    page, there = opened(), threading.Event()

    def late(route: Route) -> None:
        page.get_by_label("Athlete, as printed").fill("Ansel D.")
        page.get_by_label("a small firm ball").check()
        there.set()
        route.continue_()

    page.route("**/desk.js", late)
    page.reload()
    assert there.is_set()
    settled(page)
    expect(page.locator("#part-top")).to_contain_text("Saved on this machine")
    page.unroute("**/desk.js")
    page.reload()
    expect(page.get_by_label("Athlete, as printed")).to_have_value("Ansel D.")
    expect(page.get_by_label("a small firm ball")).to_be_checked()


def test_enter_takes_what_was_typed_not_what_was_found_for_half_of_it(opened: Opener) -> None:
    page = opened()
    page.keyboard.press("/")
    page.keyboard.type("ti")
    page.locator("#offers [role=option]").first.wait_for()
    hold(page, "/find")
    page.keyboard.type("ngling thumb r")
    page.keyboard.press("Enter")
    came(page)
    let_go(page)
    page.locator("[data-row=symptom]").wait_for()
    expect(page.locator("[data-row=finding]")).to_have_count(0)


def test_a_button_that_is_held_down_is_not_replaced(opened: Opener) -> None:
    """An answer that comes between press and release waits for the release."""
    page = opened()
    fill(page)
    hold(page, "/draft")
    page.get_by_label("Notes, printed").fill("a change that is answered while the button is down")
    button = page.get_by_role("button", name="Take off").first
    name = button.get_attribute("aria-label")
    came(page)
    button.hover()
    page.mouse.down()
    let_go(page)
    page.mouse.up()
    settled(page)
    page.get_by_role("button", name="Put it back").or_(page.get_by_role("button", name="Undo")).first.wait_for()
    assert name
    expect(page.get_by_role("button", name=name, exact=True)).to_have_count(0)


def test_what_could_not_be_saved_is_sent_again(opened: Opener) -> None:
    page = opened()
    fill(page)
    page.evaluate("() => { window.real = window.fetch; window.fetch = () => Promise.reject(new Error('away')); }")
    page.get_by_label("Notes, printed").fill("typed while the desk was away")
    page.get_by_text("Not saved: the desk does not answer").wait_for()
    page.evaluate("() => { window.fetch = window.real; }")
    page.evaluate("document.dispatchEvent(new Event('desk:unlocked'))")
    settled(page)
    page.reload()
    expect(page.get_by_label("Notes, printed")).to_have_value("typed while the desk was away")


def test_a_page_of_another_session_is_sent_once_more_with_all_that_was_typed(opened: Opener) -> None:
    page = opened()
    fill(page)
    page.evaluate("document.querySelector('#build [name=token]').value = 'of another session'")
    page.get_by_label("Notes, printed").fill("typed on an old page")
    page.get_by_role("button", name="Send it now").click()
    expect(page.get_by_label("Notes, printed")).to_have_value("typed on an old page")
    expect(page.locator(".drill")).not_to_have_count(0)
    opened.opened[-1].complaints.clear()  # of the refusal, which is what this is about


def test_the_pages_follow_each_change_and_keep_their_place(opened: Opener) -> None:
    page = opened()
    fill(page)
    looked(page)
    front = page.get_by_role("img", name="The front as it will be printed")
    place = front.evaluate(PLACE)
    page.get_by_role("button", name="The back").click()
    back = page.get_by_role("img", name="The back as it will be printed")
    expect(back).to_be_visible()
    expect(front).to_be_hidden()
    was = back.get_attribute("src")
    assert was
    hold(page, "/pages")
    page.get_by_label("Notes, printed").fill("Skates sharpened.")
    settled(page)
    came(page)
    expect(back).to_have_attribute("src", was)  # the old one, until the new one is there
    expect(back).to_be_visible()
    let_go(page)
    looked(page)
    expect(back).not_to_have_attribute("src", was)
    assert back.evaluate(PLACE) == place
    expect(page.get_by_role("button", name="The back")).to_have_attribute("aria-pressed", "true")
    assert back.evaluate("one => one.decode().then(() => one.naturalWidth)") == 900
    page.get_by_label("large print", exact=True).check()
    settled(page)
    looked(page)
    expect(page.get_by_role("img", name="Page 2 of")).to_be_visible()


def test_the_focus_stays_where_the_hand_is(opened: Opener) -> None:
    page = opened()
    fill(page)
    off = page.get_by_role("button", name="Take off").first
    drop = off.get_attribute("value")
    off.focus()
    for held in (f"un{drop}", drop):
        page.keyboard.press("Enter")
        expect(page.locator(f"button[value='{held}']")).to_be_focused()
        settled(page)
    page.get_by_role("button", name="Remove flexor digitorum superficialis").focus()
    page.keyboard.press("Enter")
    expect(page.locator("[data-row=finding]")).to_have_count(0)
    expect(page.locator("#part-rows :focus")).to_have_count(1)


def test_what_takes_long_never_puts_back_what_stood_there_before(opened: Opener) -> None:
    """The second, slower answer to a change comes after a press that was made meanwhile."""
    page = opened()
    fill(page)
    hold(page, "whole")
    page.get_by_label("Notes, printed").fill("before")
    came(page)
    add(page, "soleus l tight")
    let_go(page)
    expect(page.locator("[data-row=finding]")).to_have_count(2)


def test_a_place_on_the_body_leads_to_its_tissues(opened: Opener) -> None:
    page = opened(width=390)
    page.locator("#at-calf-left").click()
    # The group stands before its muscles.
    expect(page.locator("#here .words").last.locator("button").first).to_have_text("Calf")
    page.locator("#here").get_by_text("Soleus").click()
    settled(page)
    row = page.locator("[data-row=finding]")
    expect(row.get_by_label("left", exact=True)).to_be_checked()
    row.get_by_label("tight", exact=True).check()
    settled(page)
    expect(page.locator("#at-calf-left b")).to_have_text("1")
    expect(page.locator(".drill")).not_to_have_count(0)


def test_the_body_is_one_stop_and_the_arrows_walk_on_it(opened: Opener) -> None:
    page = opened()
    expect(page.locator('.view.front .at[tabindex="0"]')).to_have_count(1)
    page.locator("#at-calf-left").focus()
    page.keyboard.press("ArrowUp")
    # Read in one call: the page may still be scrolling to what has the focus.
    here, rise = page.evaluate("""() => {
        const at = document.activeElement;
        const calf = document.getElementById('at-calf-left');
        return [at.id, calf.getBoundingClientRect().top - at.getBoundingClientRect().top];
    }""")
    assert here != "at-calf-left"
    assert rise > 0
    page.keyboard.press("Enter")
    page.locator("#here").wait_for()
    settled(page)
    expect(page.locator(f"#{here}")).to_have_attribute("tabindex", "0")
    expect(page.locator("#here button").first).to_be_focused()
    inside = "Boolean(document.activeElement.closest('.figure'))"
    for still in (True, True, False):
        page.keyboard.press("Shift+Tab")
        assert page.evaluate(inside) is still


def test_a_day_of_the_week_goes_round_and_minutes_slide(opened: Opener) -> None:
    page = opened()
    page.get_by_role("button", name="Tue: easy").click()
    page.locator("#range-minutes_weekday").fill("25")
    settled(page)
    page.reload()
    expect(page.locator("#minutes_weekday")).to_have_value("25")
    expect(page.locator("#week_tue")).to_have_value("hard")


@pytest.mark.parametrize("width", WIDTHS)
def test_the_page_that_reads_a_phone_s_code(opened: Opener, width: int) -> None:
    page = opened("/phone-code", width)
    page.locator("#code").fill("R1NO")
    page.get_by_role("button", name="Read it").click()
    expect(page.get_by_role("alert")).to_contain_text("Choose the plan.json")
    expect(page.locator("#code")).to_have_value("R1NO")
    check(page, width)
