"""The keystroke-level model of the bench, against its authors' worked examples; and that a run is taken down."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser

from tests.bench import keystrokes
from tests.bench.keystrokes import Act, acts, operators, record, seconds
from tests.web.browser import browser

LETTERS = [Act("keys", letter) for letter in "kite"]
PRESS = Act("mouse", "button")


@pytest.mark.parametrize(
    ("run", "whole"),
    [
        ("M" + "K" * 15 + "MMM", 8.4),  # T = 4M + 15K: a word replaced by commands alone
        ("HPKHMKKKKMKKK", 6.2),  # T = 2M + 8K + 2H + P: the same by pointing at it
    ],
)
def test_a_run_lasts_as_long_as_its_authors_say(run: str, whole: float, monkeypatch: pytest.MonkeyPatch) -> None:
    """Card, Moran and Newell 1983, a word replaced in two editors, at K = 0.2 (from memory)."""
    monkeypatch.setitem(keystrokes.SECONDS, "K", 0.2)
    assert seconds(run) == pytest.approx(whole, abs=0.05)


def test_what_was_waited_is_added() -> None:
    assert seconds("MPB", 1.5) == pytest.approx(1.35 + 1.1 + 0.2 + 1.5)


@pytest.mark.parametrize(
    ("done", "run"),
    [
        ([], ""),
        ([PRESS], "MPB"),
        ([PRESS, PRESS], "MPBMPB"),
        (LETTERS, "HMKKKK"),  # the hand comes from the mouse
        ([PRESS, *LETTERS, PRESS], "MPBHMKKKKHMPB"),
        ([*LETTERS, Act("keys", "Backspace"), Act("keys", "s")], "HMKKKKKK"),  # mended while it is typed
        ([*LETTERS, Act("keys", "Enter")], "HMKKKKMK"),
        ([Act("keys", "Tab")] * 3 + [Act("keys", "Enter")] * 2, "HMKKKMKK"),  # a row of one command is one thought
        ([*LETTERS, Act("keys", "Tab"), *LETTERS], "HMKKKKMKMKKKK"),
        ([Act("touch", "button")] * 2, "MPBMPB"),  # the finger is the pointer: nothing to move the hand to
        ([Act("touch", "input"), *LETTERS, Act("touch", "button")], "MPBMKKKKMPB"),  # the keys are on the same glass
    ],
)
def test_the_operators_of_a_run(done: list[Act], run: str) -> None:
    assert operators(done) == run


@pytest.fixture(scope="module")
def chromium() -> Iterator[Browser]:
    with browser() as running:
        yield running


@pytest.mark.slow
def test_what_hands_did_is_taken_down_over_pages(chromium: Browser) -> None:
    """Every key but the ones that are only held, every press and every tap, in order, also before a page is left."""
    context = chromium.new_context(has_touch=True)
    page = context.new_page()
    page.route(
        "http://clinic.example/*",
        lambda route: route.fulfill(
            content_type="text/html",
            body='<input id="one"><p><button id="two" onclick="location = \'/then\'">then</button>',
        ),
    )
    record(page)
    page.goto("http://clinic.example/")
    page.locator("#one").click()
    page.keyboard.type("Ab")
    page.keyboard.press("Tab")
    page.keyboard.press("Shift+Tab")
    page.locator("#two").click()
    page.wait_for_url("**/then")
    page.locator("#one").tap()
    assert acts(page) == [
        Act("mouse", "input"),
        Act("keys", "A"),
        Act("keys", "b"),
        Act("keys", "Tab"),
        Act("keys", "Tab"),
        Act("mouse", "button"),
        Act("touch", "input"),
    ]
    context.close()
