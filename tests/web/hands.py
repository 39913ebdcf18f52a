"""A practitioner's and an athlete's hands for whole runs: a device of their own, and what is done at every visit."""

from __future__ import annotations

import json
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date, datetime, timedelta
from typing import Any

from playwright.sync_api import Browser, Page

HOW_PRESSED = """addEventListener("pointerdown", (event) => {
    sessionStorage.pressed = (sessionStorage.pressed || "") + event.pointerType + " ";
}, true)"""
"""Takes down by what each press came, over every page of one tab."""
TODAY = datetime.now().astimezone().date()
LAST_WEEK = TODAY - timedelta(days=7)
FOUND = ("soleus l tight", "gluteus med l weak", "tingling thumb r")


@contextmanager
def device(running: Browser, width: int = 1280, touch: bool = False, **more: Any) -> Iterator[Page]:
    """A page of a browser context of its own; whatever its console complains of fails the test.

    `more` goes to the context.
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
    # how a desk answers that is faulty, changed elsewhere, or (in the one run that ends it) not there
    told = ("status of 422", "status of 409", "ERR_CONNECTION_REFUSED", "ERR_EMPTY_RESPONSE", "ERR_CONNECTION_RESET")
    assert [one for one in complaints if not any(words in one for words in told)] == []


def pressed(page: Page) -> set[str]:
    """By what every press so far came: mouse, touch, pen."""
    return set(str(page.evaluate("sessionStorage.pressed || ''")).split())


def settled(page: Page) -> None:
    """Until everything pressed so far is saved and in place."""
    page.locator('html[data-busy="0"]').wait_for(state="attached")


def add(page: Page, typed: str) -> None:
    """One finding, by its words and Enter."""
    page.locator("#find").fill(typed)
    page.locator("#offers [role=option][aria-selected=true]").wait_for(timeout=10_000)
    page.locator("#find").press("Enter")
    settled(page)


def visit(page: Page, name: str, start: date = TODAY, found: tuple[str, ...] = FOUND) -> None:
    """All that a new athlete's visit needs, typed into an open builder; nothing is printed yet."""
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
