"""The desk in a browser: at both widths, by keyboard alone, with and without script."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page

from homecare.desk import create_app
from tests.web.browser import Watched, browser, served

pytestmark = pytest.mark.slow

TARGET = 44  # CSS pixels: the least height of anything pressed
LEAST = 24  # where targets lie close together, as on the body (WCAG 2.2, 2.5.8, from memory)
WIDTHS = [1280, 390]
SMALL_TARGETS = """least => [...document.querySelectorAll(
    'button, a, select, summary, textarea, label:has(input), input:not(label input)')]
    .filter((one) => one.checkVisibility() && !one.matches('.vh, .skip, [type=hidden], .at, [type=range]'))
    .filter((one) => Math.min(one.getBoundingClientRect().height, one.getBoundingClientRect().width) < least)
    .map((one) => one.outerHTML.slice(0, 120))"""


SLOW_LINE = """() => {
    const real = window.fetch;
    window.fetch = async (address, ...all) => {
        if (String(address).includes("/draft")) await new Promise((done) => setTimeout(done, 600));
        return real(address, ...all);
    };
}"""


@pytest.fixture(scope="module")
def desk(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    with served(create_app(data=tmp_path_factory.mktemp("desk"))) as address:
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


def settled(page: Page) -> None:
    """Until everything pressed so far is saved and in place."""
    page.locator('html[data-busy="0"]').wait_for(state="attached")


def looked(page: Page) -> None:
    """Until the pictures are those of what stands there."""
    page.locator('html[data-looking="0"]').wait_for(state="attached")
    page.locator("#leaf img").first.wait_for(state="attached")


def add(page: Page, typed: str) -> None:
    page.keyboard.press("/") if page.evaluate("document.activeElement === document.body") else page.locator(
        "#find"
    ).focus()
    page.locator("#find").fill(typed)
    page.locator("#offers [role=option]").first.wait_for()
    page.keyboard.press("Enter")
    settled(page)


def fill(page: Page) -> None:
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
    page = opened(width)
    fill(page)
    assert page.locator(".drill").count() > 0
    assert "Saved on this machine" in page.locator("#part-top").inner_text()
    page.reload()
    assert page.get_by_label("Athlete, as printed").input_value() == "Ansel D."
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
    assert page.get_by_role("alert").locator("li").count() == 1
    page.get_by_label("Days").fill("10")
    page.locator("#find-it").click()
    first = page.locator(".drill h4").first.inner_text().strip()
    page.get_by_role("button", name="Take off").first.click()
    page.get_by_role("button", name="Undo").click()
    assert page.locator(".drill h4").first.inner_text().strip() == first


def test_presses_faster_than_the_answers_all_count(opened: Opener) -> None:
    page = opened()
    fill(page)
    page.evaluate(SLOW_LINE)
    for typed in ("ulnt1 r pos", "ulnt2a r neg", "ulnt3 r neg"):
        page.locator("#find").fill(typed)
        page.locator("#offers [role=option]").first.wait_for()
        page.keyboard.press("Enter")
    page.get_by_label("Notes, printed").fill("typed meanwhile")
    settled(page)
    page.reload()
    assert page.locator("[data-row=test]").count() == 3
    assert page.get_by_label("Notes, printed").input_value() == "typed meanwhile"


def test_enter_takes_what_was_typed_not_what_was_found_for_half_of_it(opened: Opener) -> None:
    page = opened()
    page.get_by_label("Athlete, as printed").fill("Ansel D.")
    page.evaluate(SLOW_LINE.replace("/draft", "/find"))
    page.locator("#find").press_sequentially("ti", delay=5)
    page.locator("#offers [role=option]").first.wait_for()
    page.locator("#find").press_sequentially("ngling thumb r", delay=5)
    page.keyboard.press("Enter")
    page.locator("[data-row=symptom]").wait_for()
    assert page.locator("[data-row=finding]").count() == 0


def test_a_button_that_is_held_down_is_not_replaced(opened: Opener) -> None:
    """An answer that comes between press and release waits for the release."""
    page = opened()
    fill(page)
    page.evaluate(SLOW_LINE)
    page.get_by_label("Notes, printed").fill("a change that is answered while the button is down")
    button = page.get_by_role("button", name="Take off").first
    name = button.get_attribute("aria-label")
    button.hover()
    page.mouse.down()
    page.wait_for_timeout(1500)
    page.mouse.up()
    settled(page)
    page.get_by_role("button", name="Put it back").or_(page.get_by_role("button", name="Undo")).first.wait_for()
    assert page.get_by_role("button", name=name or "", exact=True).count() == 0


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
    assert page.get_by_label("Notes, printed").input_value() == "typed while the desk was away"


def test_a_page_of_another_session_is_sent_once_more_with_all_that_was_typed(opened: Opener) -> None:
    page = opened()
    fill(page)
    page.evaluate("document.querySelector('#build [name=token]').value = 'of another session'")
    page.get_by_label("Notes, printed").fill("typed on an old page")
    page.get_by_role("button", name="Send it now").click()
    page.locator("#build").wait_for()
    assert page.get_by_label("Notes, printed").input_value() == "typed on an old page"
    assert page.locator(".drill").count() > 0
    opened.opened[-1].complaints.clear()  # of the refusal, which is what this is about


def test_the_pages_follow_each_change_and_keep_their_place(opened: Opener) -> None:
    page = opened()
    fill(page)
    looked(page)
    front = page.get_by_role("img", name="The front as it will be printed")
    box = front.bounding_box()
    page.get_by_role("button", name="The back").click()
    back = page.get_by_role("img", name="The back as it will be printed")
    was = back.get_attribute("src")
    assert not front.is_visible()
    page.evaluate(SLOW_LINE.replace("/draft", "/pages"))
    page.get_by_label("Notes, printed").fill("Skates sharpened.")
    settled(page)
    assert back.is_visible()  # the old one, until the new one is there
    looked(page)
    assert back.bounding_box() == box
    assert page.get_by_role("button", name="The back").get_attribute("aria-pressed") == "true"
    assert back.evaluate("one => one.decode().then(() => one.naturalWidth)") == 900
    assert back.get_attribute("src") != was
    page.get_by_label("large print", exact=True).check()
    settled(page)
    looked(page)
    assert page.get_by_role("img", name="Page 2 of").is_visible()


def test_the_focus_stays_where_the_hand_is(opened: Opener) -> None:
    page = opened()
    fill(page)
    held = "document.activeElement.value || document.activeElement.tagName"
    page.get_by_role("button", name="Take off").first.focus()
    drop = page.evaluate(held)
    page.keyboard.press("Enter")
    settled(page)
    assert page.evaluate(held) == f"un{drop}"
    page.keyboard.press("Enter")
    settled(page)
    assert page.evaluate(held) == drop
    page.get_by_role("button", name="Remove flexor digitorum superficialis").focus()
    page.keyboard.press("Enter")
    settled(page)
    assert page.evaluate("document.activeElement.closest('#part-rows') !== null")


def test_what_takes_long_never_puts_back_what_stood_there_before(opened: Opener) -> None:
    """The second, slower answer to a change comes after a press that was made meanwhile."""
    page = opened()
    fill(page)
    page.evaluate("""() => {
        const real = window.fetch;
        window.fetch = async (address, asked, ...all) => {
            const answer = await real(address, asked, ...all);
            if (asked?.headers?.["X-Quick"] === "whole") await new Promise((done) => setTimeout(done, 1500));
            return answer;
        };
    }""")
    with page.expect_request(lambda asked: asked.headers.get("x-quick") == "whole"):
        page.get_by_label("Notes, printed").fill("before")
    add(page, "soleus l tight")
    page.wait_for_timeout(2000)
    assert page.locator("[data-row=finding]").count() == 2


def test_a_place_on_the_body_leads_to_its_tissues(opened: Opener) -> None:
    page = opened(390)
    page.locator("#at-calf-left").click()
    # The group stands before its muscles.
    assert page.locator("#here .words").last.locator("button").first.inner_text() == "Calf"
    page.locator("#here").get_by_text("Soleus").click()
    settled(page)
    row = page.locator("[data-row=finding]")
    assert row.get_by_label("left", exact=True).is_checked()
    row.get_by_label("tight", exact=True).check()
    settled(page)
    assert page.locator("#at-calf-left b").inner_text() == "1"
    assert page.locator(".drill").count() > 0


def test_the_body_is_one_stop_and_the_arrows_walk_on_it(opened: Opener) -> None:
    page = opened()
    assert page.locator('.view.front .at[tabindex="0"]').count() == 1
    page.locator("#at-calf-left").focus()
    page.keyboard.press("ArrowUp")
    # Read in one call: the page may still be scrolling to what has the focus.
    here, rise = page.evaluate("""() => {
        const at = document.activeElement;
        const calf = document.getElementById('at-calf-left');
        return [at.id, calf.getBoundingClientRect().top - at.getBoundingClientRect().top];
    }""")
    assert here != "at-calf-left" and rise > 0
    page.keyboard.press("Enter")
    page.locator("#here").wait_for()
    settled(page)
    assert page.locator(f"#{here}").get_attribute("tabindex") == "0"
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
    assert page.locator("#minutes_weekday").input_value() == "25"
    assert page.locator("#week_tue").input_value() == "hard"


@pytest.mark.parametrize("width", WIDTHS)
def test_the_page_that_reads_a_phone_s_code(opened: Opener, width: int) -> None:
    page = opened(width)
    page.goto(page.url + "phone-code")
    page.locator("#code").fill("R1NO")
    page.get_by_role("button", name="Read it").click()
    assert "Choose the plan.json" in page.get_by_role("alert").inner_text()
    assert page.locator("#code").input_value() == "R1NO"
    check(page, width)
