"""The library in a browser: at both widths, light and dark, by keyboard alone, with and without script."""

from __future__ import annotations

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page, expect

from tests.web.browser import Opener
from tests.web.hands import came, hold, holds, let_go, passed

pytestmark = pytest.mark.slow

TARGET = 44  # CSS pixels: the least height of anything pressed
WIDTHS = [1280, 390]
GLIDE, STRETCH = "/library/median_slider", "/library/soleus_wall_stretch"
# A link inside a sentence may be as high as its line (WCAG 2.2, 2.5.8), but none of ours is.
SMALL_TARGETS = """least => [...document.querySelectorAll(
    'button, a, select, summary, textarea, label:has(input), input:not(label input)')]
    .filter((one) => one.checkVisibility() && !one.matches('.vh, .skip, [type=hidden]'))
    .filter((one) => Math.min(one.getBoundingClientRect().height, one.getBoundingClientRect().width) < least - 0.5)
    .map((one) => one.outerHTML.slice(0, 120))"""


FIGURE = """() => {
    const figure = document.querySelector('#drawn svg').innerHTML;
    window.noted ??= figure;
    return figure === window.noted;
}"""
"""Whether the figure is what it was when this was asked first: of a whole figure no message could be read."""


def check(page: Page, width: int) -> None:
    """No sideways scroll, no small target, no finding of axe-core at WCAG 2.2 AA."""
    page.evaluate("document.querySelectorAll('details').forEach((one) => { one.open = true; })")
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    assert page.evaluate(SMALL_TARGETS, TARGET) == []
    options = {"runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]}
    found = Axe().run(page, options=options)
    assert found.violations_count == 0, found.generate_report()


@pytest.mark.parametrize("width", WIDTHS)
def test_the_figure_and_the_faults_follow_the_typing_and_can_be_undone(opened: Opener, width: int) -> None:
    page = opened(GLIDE, width)
    assert page.evaluate(FIGURE)
    wrist = page.locator("[name=end-right_wrist-flex]")
    wrist.fill("95")
    page.get_by_text("at 80, the most it may be").wait_for()
    expect(page.locator("[id='fault-end-right_wrist-flex']")).to_have_text("95 is past 80")
    holds(page, f"() => !({FIGURE})()")
    check(page, width)
    page.get_by_role("button", name="Undo").click()
    expect(page.locator("[id='fault-end-right_wrist-flex']")).to_have_count(0)
    expect(wrist).to_have_value("30")
    expect(page.locator("#live")).to_have_text("Ready to be saved.")
    assert page.evaluate(FIGURE)  # which is there before the words


def test_what_is_told_is_told_of_the_figure_that_is_seen(opened: Opener) -> None:
    """The figure takes longer than the check: nothing is told before it is there."""
    page = opened(GLIDE)
    assert page.evaluate(FIGURE)
    hold(page, "/figure")
    page.locator("[name=end-right_wrist-flex]").fill("95")
    came(page)
    passed(page)
    assert page.evaluate(FIGURE)
    expect(page.locator("#live")).to_be_empty()
    let_go(page)
    expect(page.locator("#live")).to_have_text("Not ready to be saved: 1 field")
    assert not page.evaluate(FIGURE)


def test_the_last_pose_stays_where_none_can_be_drawn(opened: Opener) -> None:
    page = opened(GLIDE)
    assert page.evaluate(FIGURE)
    page.get_by_text("What it touches and holds").click()
    page.get_by_label("Seen from").fill("the moon")
    page.get_by_text("This is the last pose that could be drawn").wait_for()
    assert page.evaluate(FIGURE)
    page.get_by_role("link", name="View").click()
    expect(page.locator("[name=view]")).to_be_focused()


def test_it_turns_moves_and_is_as_small_and_grey_as_on_paper(opened: Opener) -> None:
    page = opened(GLIDE)
    assert page.evaluate(FIGURE)
    page.get_by_role("button", name="Turn the figure to the right").click()
    expect(page.locator("#turn")).to_have_value("30")
    holds(page, f"() => !({FIGURE})()")
    page.locator("label:has([value=moving])").click()
    page.locator("#drawn svg[data-moving]").wait_for()
    page.locator("label:has(#small)").click()
    page.locator("label:has(#grey)").click()
    expect(page.locator("#drawn svg")).to_have_css("filter", "grayscale(1)")
    wide = page.locator("#drawn svg").evaluate("one => one.getBoundingClientRect().width")
    assert wide == pytest.approx(40 * 96 / 25.4, abs=1)


def test_without_script_the_form_does_the_same(opened: Opener) -> None:
    page = opened(GLIDE, script=False)
    page.locator("#joint").select_option("right_thumb-abd")
    page.get_by_role("button", name="Add it").click()
    expect(page.locator("[name=end-right_thumb-abd]")).to_be_focused()
    page.locator("[name=end-right_thumb-abd]").fill("90")
    page.locator(".fig").get_by_role("button", name="Draw it").click()
    expect(page.locator("#drawn")).to_contain_text("at 70, the most it may be")
    page.get_by_role("button", name="Save").click()
    expect(page.locator("[id='fault-end-right_thumb-abd']")).to_have_text("90 is past 70")
    expect(page.locator("[name=end-right_thumb-abd]")).to_have_value("90")


def test_the_keyboard_alone_changes_a_drill_and_takes_it_back(opened: Opener) -> None:
    page = opened(STRETCH)

    def tab_to(selector: str) -> None:
        for _ in range(300):
            page.keyboard.press("Tab")
            if page.evaluate("selector => document.activeElement.matches(selector)", selector):
                return
        pytest.fail(f"Tab never reaches {selector}")

    tab_to("[name=stop_if]")
    page.keyboard.press("ControlOrMeta+a")
    page.keyboard.type("Your calf cramps, or the heel hurts.")
    page.get_by_text("Ready to be saved.").wait_for()
    for _ in range(300):
        page.keyboard.press("Shift+Tab")
        if page.evaluate("document.activeElement.value") == "save":
            break
    page.keyboard.press("Enter")
    page.get_by_text("Saved. The next sheet has it").wait_for()
    page.wait_for_load_state()
    tab_to("[value=undo]")
    page.keyboard.press("Enter")
    expect(page.locator("[name=stop_if]")).to_have_value("The calf cramps or the heel hurts.")


def test_a_joint_comes_under_the_hand_and_goes_again(opened: Opener) -> None:
    page = opened(GLIDE)
    page.on("dialog", lambda dialog: dialog.accept())
    page.locator("#joint").select_option("neck-flex")
    page.get_by_role("button", name="Add it").click()
    expect(page.locator("[name=end-neck-flex]")).to_be_focused()
    expect(page.locator("[name=end-neck-flex]")).to_be_in_viewport()
    page.get_by_role("button", name="Remove Neck, bent forward").click()
    expect(page.locator("[name=end-neck-flex]")).to_have_count(0)
    expect(page.locator("#pose")).to_be_in_viewport()


def test_the_list_follows_the_words(opened: Opener) -> None:
    page = opened("/library")
    page.get_by_label("Name, tissue, code or address").fill("soleus")
    page.get_by_role("link", name="Bent-knee calf").wait_for()
    expect(page.get_by_role("link", name="Small arm glide")).to_have_count(0)


def test_the_check_tells_how_far_it_is_and_can_be_stopped(opened: Opener) -> None:
    page = opened("/library/check")
    page.get_by_role("button", name="Check all of it").click()
    page.get_by_role("progressbar").wait_for()
    page.get_by_role("button", name="Stop").click()
    page.get_by_text("Stopped. Nothing was changed.").wait_for()


def test_the_block_is_shown_as_it_prints(opened: Opener) -> None:
    page = opened(f"{STRETCH}/printed")
    picture = page.get_by_role("img", name="as printed")
    wide, shown = picture.evaluate(
        "one => one.decode().then(() => [one.naturalWidth, one.getBoundingClientRect().width])"
    )
    assert wide >= shown > 0
