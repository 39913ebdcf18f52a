"""A practitioner's and an athlete's hands for whole runs: a device of their own, and what is done at every visit."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date, datetime, timedelta
from typing import Any

from playwright.sync_api import Browser, Page, expect

from tests.helpers import until
from tests.web.browser import ANSWERED

HOW_PRESSED = """addEventListener("pointerdown", (event) => {
    sessionStorage.pressed = (sessionStorage.pressed || "") + event.pointerType + " ";
}, true)"""
"""Takes down by what each press came, over every page of one tab."""
GONE = re.compile(r"status of 404 .*/draft/[^/]+/page-\d")
"""A picture of a visit that was printed before the picture had come: the page is on its way to the sheet then."""
TODAY = datetime.now().astimezone().date()
LAST_WEEK = TODAY - timedelta(days=7)
FOUND = ("soleus l tight", "gluteus med l weak", "tingling thumb r")


def holds(page: Page, script: str, given: object = None) -> None:
    """Until a script returns something true; asked from here, since Playwright's own waiting breaks a strict policy."""
    until(lambda: page.evaluate(script, given))


HOLD = """part => {
    const real = window.fetch, held = window.held = { came: 0, handed: 0, passed: 0 };
    const gate = new Promise((done) => { held.go = done; });
    window.fetch = async (address, asked, ...all) => {
        const answer = await real(address, asked, ...all);
        const mine = String(address).includes(part) || asked?.headers?.["X-Quick"] === part;
        if (mine) { held.came += 1; await gate; }
        for (const kind of ["json", "text"]) {
            const read = answer[kind].bind(answer);
            // Whatever is done with the answer at once is done before the next task.
            answer[kind] = () => read().finally(() => setTimeout(() => { held[mine ? "handed" : "passed"] += 1; }));
        }
        return answer;
    };
}"""


def hold(page: Page, part: str) -> None:
    """Keep back the answers to requests with `part` in their address or as their X-Quick, until they are let go."""
    page.evaluate(HOLD, part)


def came(page: Page) -> None:
    """Until the desk has answered to what is held back."""
    holds(page, "held.came > 0")


def passed(page: Page) -> None:
    """Until the page has done with an answer that is not held back what it does."""
    holds(page, "held.passed > 0")


def let_go(page: Page) -> None:
    """Hand on what is held back, and wait until the page has done with it what it does."""
    page.evaluate("held.go()")
    holds(page, "held.handed > 0")


@contextmanager
def device(running: Browser, width: int = 1280, touch: bool = False, away: bool = False, **more: Any) -> Iterator[Page]:
    """A page of a browser context of its own; whatever its console complains of fails the test.

    With `away` the desk is ended under it, and that is no complaint. `more` goes to the context.
    """
    context = running.new_context(
        viewport={"width": width, "height": 844}, has_touch=touch, is_mobile=touch, accept_downloads=True, **more
    )
    page, complaints = context.new_page(), list[str]()
    page.add_init_script(HOW_PRESSED)
    page.on("console", lambda message: complaints.append(f"{message.text} {message.location}"))
    page.on("pageerror", lambda error: complaints.append(str(error)))
    yield page
    context.close()
    told = (*ANSWERED, *(["net::ERR_"] if away else []))  # the last is said of a desk that is not there
    wrong = [one for one in complaints if not any(words in one for words in told) and not GONE.search(one)]
    assert wrong == [], wrong


def pressed(page: Page) -> set[str]:
    """By what every press so far came: mouse, touch, pen."""
    return set(str(page.evaluate("sessionStorage.pressed || ''")).split())


def opened_again(page: Page, there: str) -> None:
    """Until a page, opened again, has what it was to keep: a browser may write that down a moment after it was told.

    `there` is a selector. What is lost for good never comes.
    """

    def found() -> bool:
        page.reload()
        return page.locator(there).count() > 0

    until(found)


def settled(page: Page) -> None:
    """Until the builder's script is there, and everything pressed so far is saved and in place."""
    page.locator('html[data-busy="0"]').wait_for(state="attached")


def looked(page: Page) -> None:
    """Until the pictures are those of what stands there."""
    page.locator('html[data-looking="0"]').wait_for(state="attached")
    page.locator("#leaf img").first.wait_for(state="attached")


def take(page: Page) -> None:
    """What is marked of what was found, by Enter; it is taken as soon as the field is empty again."""
    page.locator("#offers [role=option][aria-selected=true]").wait_for()
    page.locator("#find").press("Enter")
    expect(page.locator("#find")).to_have_value("")


def add(page: Page, typed: str) -> None:
    """One finding, by its words and Enter."""
    settled(page)
    page.locator("#find").fill(typed)
    take(page)
    settled(page)


def visit(page: Page, name: str, start: date = TODAY, found: tuple[str, ...] = FOUND) -> None:
    """All that a new athlete's visit needs, typed into an open builder; nothing is printed yet."""
    settled(page)
    page.get_by_label("Athlete, as printed").fill(name)
    page.get_by_label("First day").fill(start.isoformat())
    for kit in ("a small firm ball", "a foam roller"):
        page.get_by_label(kit).check()
    settled(page)
    for typed in found:
        add(page, typed)
    page.get_by_label("None of these").check()
    settled(page)


def print_sheet(page: Page) -> str:
    """Print what was built; the address of the sheet."""
    page.locator("#issue").click()
    page.wait_for_url("**/sheet/*")
    return page.url


def stored(page: Page, address: str) -> bytes:
    """The bytes that the desk hands over at an address."""
    answer = page.request.get(address)
    assert answer.ok, (address, answer.status)
    return answer.body()


def plan(page: Page, sheet: str) -> dict[str, Any]:
    """The stored plan.json of a sheet's address."""
    found = json.loads(stored(page, f"{sheet}/plan.json"))
    assert isinstance(found, dict)
    return found


def boxes(of: dict[str, Any], drill: str, before: date) -> int:
    """How many boxes a plan has for a drill before a day."""
    return sum(
        item["times"]
        for day in of["days"]
        if day["date"] < before.isoformat()
        for item in day["items"]
        if item["drill"] == drill
    )
