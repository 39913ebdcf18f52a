"""How long a practised hand needs at the desk, by the keystroke-level model over runs in the machine's own browser.

    python -m tests.bench.bench_keystrokes

Every key and press of the mouse is taken down in the page, and what was waited for the machine is measured. The goals
are the desk's own: a new athlete with three findings at most 120 s, a repeat of last time's at most 40 s.
"""

from __future__ import annotations

import tempfile
import time
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from playwright.sync_api import Browser, Page, ViewportSize

from demo.fill import fill
from homecare.desk import create_app
from tests.bench.keystrokes import acts, operators, record, seconds
from tests.web.browser import browser, served

ON_A_SHEET = "Tobiah W."
"""Of the demo's athletes the one whose sheet is not over."""
WITH_A_LEAF = "Marit S."
"""One whose sheet is over, and was a leaf of two weeks."""
FOUND = ("soleus l tight", "gluteus med r weak", "tingling thumb r")


@dataclass
class Hand:
    """Does what a hand does in one tab, and counts the seconds that it had to wait."""

    page: Page
    touch: bool = False
    waited: float = 0.0

    def click(self, selector: str) -> None:
        """Press the first thing of a selector once it is there."""
        self._waiting(lambda: self.page.locator(selector).first.wait_for())
        found = self.page.locator(selector).first
        found.tap() if self.touch else found.click()

    def tab(self, selector: str, back: bool = False) -> None:
        """Go to a field with Tab, as often as it needs. Raises ValueError where it is never reached."""
        for _ in range(300):
            self.page.keyboard.press("Shift+Tab" if back else "Tab")
            if self.page.evaluate("selector => document.activeElement.matches(selector)", selector):
                return
        raise ValueError(selector)

    def type(self, text: str) -> None:
        """Type a text, a key at a time; an Enter or Tab is a key of its own."""
        for part in text.split("|"):
            self.page.keyboard.press(part) if part in ("Enter", "Tab") else self.page.keyboard.type(part)

    def offered(self, text: str) -> None:
        """Type what was found, and take the first that is offered."""
        self.type(text)
        self._waiting(lambda: self.page.locator("#offers [role=option][aria-selected=true]").wait_for())
        self.type("Enter")

    def settled(self) -> None:
        """Wait until everything is saved and in place: a careful hand looks before it goes on."""
        self._waiting(lambda: self.page.locator('html[data-busy="0"]').wait_for(state="attached"))

    def seen(self, selector: str) -> None:
        """Wait until something is there to be read."""
        self._waiting(lambda: self.page.locator(selector).first.wait_for())

    def until(self, address: str) -> None:
        """Wait for another page."""
        self._waiting(lambda: self.page.wait_for_url(address))

    def _waiting(self, what: Callable[[], object]) -> None:
        begun = time.perf_counter()
        what()
        self.waited += time.perf_counter() - begun


def new_athlete(hand: Hand) -> None:
    """Name, age, kit and two training days; two tissues and a tingling thumb; the questions; print."""
    hand.click("#athlete")
    hand.type("Tamsin Ridley|Tab|41")
    hand.click('label:has-text("a small firm ball")')
    hand.click('label:has-text("a foam roller")')
    hand.click(".weekset > div:nth-child(2)")
    hand.click(".weekset > div:nth-child(6)")
    hand.click("#find")
    for found in FOUND:
        hand.offered(found)
        hand.settled()
    hand.click("label.none")
    hand.settled()
    hand.click("#issue")
    hand.until("**/sheet/*")


def repeat(hand: Hand) -> None:
    """The list, the check-in of who is there, all done and settled, the markers left, the next sheet."""
    hand.click('nav a:has-text("Athletes")')
    hand.click('a:has-text("Check in"), button:has-text("Check in")')
    hand.click('text="All boxes ticked"')
    hand.click('text="All settled"')
    hand.click("#stop label")
    hand.click('text="Make the next sheet"')
    hand.until("**/sheet/*")


def by_boxes(hand: Hand) -> None:
    """The same from a leaf that is held beside the page: each row of it in one press, and three boxes taken back."""
    hand.click('nav a:has-text("Athletes")')
    hand.click(f'a:has-text("{WITH_A_LEAF}")')
    hand.click('a:has-text("Check in")')
    hand.seen("#leaf .line")
    rows = hand.page.locator("#leaf .line button").count()
    for row in range(rows):
        hand.click(f"#leaf .line button >> nth={row}")
    for box in range(3):
        hand.click(f"#leaf [type=checkbox] >> nth={box}")
    hand.click('text="All settled"')
    hand.click("#stop label")
    hand.click('text="Make the next sheet"')
    hand.until("**/sheet/*")


def slip(hand: Hand) -> None:
    """From the list to the athlete, one drill of the sheet off from today on, print the slip."""
    hand.click('nav a:has-text("Athletes")')
    hand.click(f'a:has-text("{ON_A_SHEET}")')
    hand.click('a:has-text("Amend the sheet")')
    hand.click('label:has-text("take off")')
    hand.seen(".slippage")
    with hand.page.expect_response("**/*.pdf"):
        hand.click('button:has-text("Print the slip")')


def by_keys(hand: Hand) -> None:
    """The same new athlete without a mouse: Tab leads, / goes to the search, the space bar ticks and turns a day."""
    hand.tab("#athlete")
    hand.type("Tamsin Ridley|Tab|41")
    for ticked in ('[name=kit][value="ball"]', '[name=kit][value="roller"]', "#cycle-week_tue", "#cycle-week_sat"):
        hand.tab(ticked)
        hand.type(" ")
    hand.type("/")
    for found in FOUND:
        hand.offered(found)
        hand.settled()
    hand.tab("#screen", back=True)
    hand.type(" ")
    hand.settled()
    hand.tab("#issue")
    hand.type("Enter")
    hand.until("**/sheet/*")


def by_thumb(hand: Hand) -> None:
    """The same on a phone: what is offered is tapped, and letters come from the phone's own keys."""
    hand.click("#athlete")
    hand.type("Tamsin Ridley")
    hand.click("#age")
    hand.type("41")
    hand.click('label:has-text("a small firm ball")')
    hand.click('label:has-text("a foam roller")')
    hand.click("#cycle-week_tue")
    hand.click("#cycle-week_sat")
    for found in FOUND:
        hand.click("#find")
        hand.type(found)
        hand.click("#offers [role=option][aria-selected=true]")
        hand.settled()
    hand.click("label.none")
    hand.settled()
    hand.click('a:has-text("See the sheet")')
    hand.click("#issue")
    hand.until("**/sheet/*")


TASKS = (
    ("new athlete, three findings", new_athlete, 120),
    ("the same by the keyboard alone", by_keys, 120),
    ("the same by the thumb alone", by_thumb, 120),
    ("repeat of last time's", repeat, 40),
    ("a repeat from the leaf's boxes", by_boxes, 120),
    ("one change, a slip", slip, 15),
)
"""What is done, and the seconds that it may take."""


def main() -> None:
    """Run each task and print the table."""
    with tempfile.TemporaryDirectory() as name, browser() as chromium:
        fill(Path(name), datetime.now().astimezone().date())
        with served(create_app(data=Path(name))) as address:
            print(f"{'task':31} {'keys':>5} {'presses':>8} {'hand s':>7} {'wait s':>7} {'whole s':>8} {'goal s':>7}")
            for what, task, goal in TASKS:
                run, waited = timed(chromium, address, task)
                count = Counter(run)
                own = seconds(run)
                told = f"{own:7.1f} {waited:7.1f} {own + waited:8.1f} {goal:7}"
                print(f"{what:31} {count['K']:5} {count['P']:8} {told}   {run}")


def timed(chromium: Browser, address: str, task: Callable[[Hand], None]) -> tuple[str, float]:
    """The operators of a task and the seconds that were waited for the machine; the first page is there already."""
    touch = task is by_thumb
    size: ViewportSize = {"width": 390 if touch else 1280, "height": 844 if touch else 900}
    page = chromium.new_page(viewport=size, has_touch=touch, is_mobile=touch)
    record(page)
    page.goto(address)
    page.evaluate("sessionStorage.removeItem('taken')")
    hand = Hand(page, touch)
    task(hand)
    run = operators(acts(page), "mouse" if task not in (by_keys, by_thumb) else "touch" if touch else "keys")
    page.close()
    return run, hand.waited


if __name__ == "__main__":
    main()
