"""The door in a browser: the lock covers a page and gives it back as it was; the pages hold WCAG at both widths."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect

from homecare.desk import create_app
from homecare.desk.sessions import IDLE
from tests.web.browser import Watched, served
from tests.web.visitor import PASSPHRASE, Visitor

pytestmark = [pytest.mark.slow, pytest.mark.usefixtures("quick_hashes")]
NAME = "Imke Sandoval"


@pytest.fixture(scope="module")
def desk(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[str, Visitor]]:
    """A desk with one owner, served; and a visitor to move its clock."""
    app = create_app(data=tmp_path_factory.mktemp("desk"))
    visitor = Visitor(app.test_client())
    visitor.set_up(NAME)
    with served(app) as base:
        yield base, visitor


def sign_in(page: Page, base: str, path: str) -> None:
    page.goto(base + path)
    page.get_by_label("Name").fill(NAME)
    page.get_by_label("Passphrase").press_sequentially(PASSPHRASE)
    page.keyboard.press("Enter")
    page.get_by_role("button", name="Sign out").wait_for()  # the address was this one before
    page.wait_for_load_state()


def test_the_lock_covers_the_page_and_gives_it_back_with_what_was_typed(
    chromium: Browser, desk: tuple[str, Visitor]
) -> None:
    base, visitor = desk
    watched = Watched(chromium, 1280)
    page = watched.page
    sign_in(page, base, "/clinic")
    page.get_by_label("Name of the clinic").fill("Typed and not saved")
    visitor.later(IDLE)
    page.evaluate("document.dispatchEvent(new Event('visibilitychange'))")
    lock = page.get_by_role("dialog", name="Locked")
    lock.wait_for()
    # Nothing of the page is seen, nor reached by the keyboard, nor left by Escape.
    expect(page.get_by_label("Name of the clinic")).to_be_hidden()
    page.keyboard.press("Escape")
    expect(lock).to_be_visible()
    for _ in range(8):
        page.keyboard.press("Tab")
        assert page.evaluate("document.activeElement === document.body || !!document.activeElement.closest('dialog')")
    lock.get_by_label("Passphrase").fill("this is not it")
    page.keyboard.press("Enter")
    expect(lock.get_by_role("alert")).to_contain_text("do not go together")
    lock.get_by_label("Passphrase").fill(PASSPHRASE)
    page.keyboard.press("Enter")
    lock.wait_for(state="detached")
    expect(page.get_by_label("Name of the clinic")).to_have_value("Typed and not saved")
    page.get_by_role("button", name="Save", exact=True).click()
    expect(page.get_by_role("status")).to_contain_text("Saved.")
    expect(page.get_by_label("Name of the clinic")).to_have_value("Typed and not saved")
    assert [one for one in watched.complaints if "status of 4" not in one] == []
    page.close()


def test_whatever_script_is_told_to_sign_in_the_page_is_covered(chromium: Browser, desk: tuple[str, Visitor]) -> None:
    base, visitor = desk
    page = Watched(chromium, 390).page
    sign_in(page, base, "/clinic")
    page.get_by_label("Name of the clinic").fill("Typed and not saved")
    assert page.evaluate("fetch('/clinic').then(answer => answer.status)") == 200
    expect(page.get_by_role("dialog")).to_have_count(0)
    visitor.later(timedelta(minutes=1))
    visitor.sign_in(NAME)
    visitor.later(timedelta(minutes=1))
    visitor.post("/clinic/people/sign-out")
    page.evaluate("document.addEventListener('desk:unlocked', () => { document.title = 'sent again'; })")
    assert page.evaluate("fetch('/clinic').then(answer => answer.status)") == 401
    lock = page.get_by_role("dialog", name="Locked")
    lock.get_by_label("Passphrase").fill(PASSPHRASE)
    page.keyboard.press("Enter")
    lock.wait_for(state="detached")
    expect(page).to_have_title("sent again")
    expect(page.get_by_label("Name of the clinic")).to_have_value("Typed and not saved")
    page.close()


def test_signing_in_out_and_the_forms_work_without_script(chromium: Browser, tmp_path: Path) -> None:
    app = create_app(data=tmp_path)
    with served(app) as base:
        page = Watched(chromium, 390, script=False).page
        page.goto(base + "/clinic/people")
        page.get_by_label("Name to sign in with").fill(NAME)
        page.get_by_label("Passphrase, 12 letters or more").fill(PASSPHRASE)
        page.get_by_label("Once more").fill(PASSPHRASE)
        page.get_by_role("button", name="Set me up as the owner").click()
        page.get_by_text(f"{NAME} owner, you").wait_for()
        page.get_by_role("button", name="Sign out").click()
        page.get_by_role("heading", name="Sign in").wait_for()
        sign_in(page, base, "/clinic")
        page.close()
