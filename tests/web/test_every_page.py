"""Every page of the desk, found in its own table of addresses: at both widths, in light and in dark, by axe-core."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from typing import Any, Literal

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page, Response

from homecare.desk import amending, checking, create_app, roster
from homecare.library.load import Library
from homecare.storage.people import list_people
from tests.helpers import until
from tests.web.browser import Watched, served
from tests.web.filed import file_rower
from tests.web.visitor import PASSPHRASE, Visitor

pytestmark = [pytest.mark.slow, pytest.mark.usefixtures("quick_hashes")]

NAME, TODAY = "Imke Sandoval", date(2026, 4, 2)
WIDE, NARROW = 1280, 390
TARGET = 44
"""CSS pixels: the least height and width of anything pressed (WCAG 2.2, 2.5.5, from memory)."""
CLOSE = 24
"""As little may be a place on the body: they lie where the body has them, and what each offers is found by its words
as well; and a box of a leaf where its days stand side by side (WCAG 2.2, 2.5.8, from memory)."""
MOST_BYTES = 150_000
"""A page with its styles and scripts, before anything is packed; the typeface comes once, from this machine."""
RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
QUICK = {"resultTypes": ["violations"], "iframes": False}
"""What holds is not listed, and what is shown of paper inside a page is no part of it."""
AXE = {"runOnly": RULES, **QUICK}
COLOURS = {"runOnly": {"type": "rule", "values": ["color-contrast"]}, **QUICK}
PARTS = """performance.getEntriesByType("resource")
    .filter((one) => ["link", "script"].includes(one.initiatorType)).map((one) => one.name)"""
FOUND = """options => axe.run(document, options).then((told) => told.violations.map(
    (one) => [one.id, one.nodes[0].html.slice(0, 120)]))"""
SETTINGS: tuple[tuple[int, Literal["light", "dark"], dict[str, Any]], ...] = (
    (WIDE, "light", AXE),
    (WIDE, "dark", COLOURS),
    (NARROW, "dark", AXE),
    (NARROW, "light", COLOURS),
)
"""All rules at either width and in either scheme once; of what a scheme can change, the colours, at both widths."""
SMALL = """([least, close]) => [...document.querySelectorAll(
    'button, a, select, summary, textarea, label:has(input), input:not(label input)')]
    .filter((one) => one.checkVisibility() && !one.matches('.vh, .skip, [type=hidden], [type=range]'))
    .filter((one) => getComputedStyle(one).display !== 'inline'
        || one.parentNode.textContent.trim() === one.textContent.trim())
    .filter((one) => Math.min(one.getBoundingClientRect().height, one.getBoundingClientRect().width)
        < (one.matches('.at, .leaf [type=checkbox]') ? close : least) - 0.5)
    .map((one) => one.outerHTML.slice(0, 120))"""
"""What is pressed and smaller than it may be. A link inside a sentence is as high as its line (2.5.5 and 2.5.8 except
it); a slider is pulled, and its number stands beside it; half a pixel is the browser's rounding."""
ANOTHERS = {"records.phone", "records.slip_phone", "files.preview", "shelf.block"}
"""The athlete's page and what is shown of paper inside a page: held to limits of their own where they are made."""
NOT_HERE = {"files.icon", "records.letter", "reprints.file", "shelf.own_set", "shelf.photo", "signing.page"}
"""What is no page, and not there: an icon beside the head's, a letter without a sign, a reprint before it is ready, a
set or a photograph of the clinic's own, and the door when inside."""


@dataclass(frozen=True)
class Walk:
    """A served desk that asks who it is, and the addresses of all its pages with records that exist."""

    base: str
    pages: tuple[str, ...]


@pytest.fixture(scope="module")
def walk(tmp_path_factory: pytest.TempPathFactory, lib: Library, quick_hashes: None) -> Iterator[Walk]:
    app = create_app(data=tmp_path_factory.mktemp("every"))
    visitor = Visitor(app.test_client())
    rower = file_rower(visitor.door.bench.database, lib)
    visitor.set_up(NAME)
    with visitor.door.bench.database.read() as connection:
        person = list_people(connection)[0].id
    visitor.get("/clinic")
    values = {
        "athlete": rower.athlete,
        "sheet": rower.sheets[-1],
        "slip": rower.slip,
        "draft": visitor.post(f"/athlete/{rower.athlete}/start").headers["Location"].rpartition("/")[2],
        "key": visitor.post("/reprints", {"sheet": rower.sheets[0], "kind": "pdf"}).headers["Location"].split("/")[2],
        "drill": "median_slider",
        "tissue": "soleus",
        "person": person,
        "view": "front",
        "side": "left",
        "number": "1",
        "filename": "desk.css",
        "path": "desk.css",
        "address": "marks/stretch.svg",
    }
    until(lambda: visitor.get(f"/reprints/{values['key']}/state").get_json()["state"] == "ready")
    rules = [rule for rule in app.url_map.iter_rules() if "GET" in (rule.methods or ())]
    more = [f"/sheet/{rower.sheets[0]}", "/athletes?choose=1", "/no/such/page"]
    with app.test_request_context():
        given = {
            rule.endpoint: {**values, "sheet": rower.sheets[0]} if "slip" in rule.arguments else values
            for rule in rules
        }
        built = [rule.build({name: given[rule.endpoint][name] for name in rule.arguments}) for rule in rules]
        addresses = {rule.endpoint: one[1] for rule, one in zip(rules, built, strict=True) if one}
    addresses["shelf.listed"] += "?kind=stretch"  # the same rows as of all kinds, and not two hundred of them
    assert len(addresses) == len({rule.endpoint for rule in rules})
    answers = {endpoint: visitor.get(address) for endpoint, address in addresses.items() if endpoint not in ANOTHERS}
    assert {endpoint for endpoint, answer in answers.items() if answer.status_code != 200} <= NOT_HERE
    pages = [
        addresses[endpoint]
        for endpoint, answer in answers.items()
        if answer.status_code == 200 and answer.mimetype == "text/html"
    ]
    with pytest.MonkeyPatch.context() as patched, served(app) as base:
        for topic in (amending, checking, roster):
            patched.setattr(topic, "today", lambda: TODAY)
        yield Walk(base, (*sorted(pages), *more))


def test_every_page_holds(chromium: Browser, walk: Walk) -> None:
    """All that is wrong with any page is told at once."""
    watched, wrong = Watched(chromium, WIDE), list[str]()
    page = watched.page
    sizes: dict[str, int] = {}

    def weigh(answer: Response) -> None:
        sizes.setdefault(answer.url, int(answer.headers.get("content-length", 0)))

    page.on("response", weigh)
    page.goto(f"{walk.base}/sign-in")
    wrong += faults(page, "/sign-in")
    page.get_by_label("Name").fill(NAME)
    page.get_by_label("Passphrase").fill(PASSPHRASE)
    page.keyboard.press("Enter")
    page.get_by_role("button", name="Sign out").wait_for()
    page.wait_for_load_state()
    assert len(walk.pages) > 25
    for path in walk.pages:
        page.set_viewport_size({"width": WIDE, "height": 844})
        page.emulate_media(color_scheme="light")
        page.goto(walk.base + path)
        wrong += faults(page, path)
        weight = sizes[page.url] + sum(sizes[one] for one in page.evaluate(PARTS))
        if weight > MOST_BYTES:
            wrong.append(f"{path}: {weight} bytes")
    page.close()
    wrong += [one for one in watched.complaints if "status of 404" not in one or "/no/such/page" not in one]
    assert wrong == [], "\n".join(wrong)


def faults(page: Page, path: str) -> list[str]:
    """What is wrong with an open page, with all that folds laid open."""
    wrong = []
    if not page.title().strip() or page.locator("h1").count() != 1:
        wrong.append(f"{page.title()!r}, {page.locator('h1').count()} h1")
    page.evaluate("document.querySelectorAll('details').forEach((one) => { one.open = true; })")
    page.evaluate(Axe().axe_script)
    for width, scheme, rules in SETTINGS:
        page.set_viewport_size({"width": width, "height": 844})
        page.emulate_media(color_scheme=scheme)
        at = f"{width} {scheme}"
        wrong += [f"{at}: {rule}, {where}" for rule, where in page.evaluate(FOUND, rules)]
        if rules is AXE:
            scrolls = page.evaluate("document.documentElement.scrollWidth")
            wrong += [f"{at}: {scrolls} pixels wide"] if scrolls > width else []
            wrong += [f"{at}: small: {one}" for one in page.evaluate(SMALL, [TARGET, CLOSE])]
    return [f"{path}: {one}" for one in wrong]
