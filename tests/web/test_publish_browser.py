"""The published site on a phone: kept on the first visit, there without a signal, renewed as a whole."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, BrowserContext, Page, expect

from homecare.library.load import Library
from homecare.phone.publishing import site_files
from homecare.phone.site_folder import write_site
from homecare.render.dose_words import dose_words
from homecare.render.links import DrillDose, drill_link, link_path, read_drill, sheet_link
from homecare.workflow import make_sheet
from tests.web.hands import holds
from tests.web.sites import Host, few, hosted

pytestmark = pytest.mark.slow
WEB = "https://clinic.example/care"
SAVED = "Saved on this phone: works without a signal."
AXE = {"runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]}
UPDATE = """async () => {
  const registration = await navigator.serviceWorker.getRegistration();
  await registration.update();
  const worker = registration.installing || registration.waiting;
  if (!worker) { return "none"; }
  return new Promise((done) => worker.addEventListener("statechange", () => {
    if (["activated", "redundant"].includes(worker.state)) { done(worker.state); }
  }));
}"""
ONE_STORE = "async () => (await caches.keys()).length === 1"
"""The new worker tells the pages before it clears up."""


@pytest.fixture
def host(lib: Library, tmp_path: Path) -> Iterator[Host]:
    """A host with the site in a sub-folder, as `/care/`."""
    write_site(tmp_path / "care", site_files(few(lib)))
    with hosted(tmp_path) as running:
        yield running


class Phone:
    """A phone of its own, with what its pages complained of and whom else they asked."""

    def __init__(self, running: Browser, host: Host, **options: Any) -> None:
        self.home = f"{host.address}/care/"
        self.complaints: list[str] = []
        self.context: BrowserContext = running.new_context(
            **{"viewport": {"width": 390, "height": 844}, "reduced_motion": "reduce"} | options
        )
        self.context.on("console", lambda message: self.complaints.append(message.text))
        self.context.on("weberror", lambda error: self.complaints.append(str(error.error)))
        self.context.on("request", lambda asked: self._asked(asked.url, host.address))

    def _asked(self, url: str, address: str) -> None:
        if not url.startswith((f"{address}/", "data:")):
            self.complaints.append(f"asked for {url}")

    def open(self, path: str = "", page: Page | None = None) -> Page:
        """A page of the site in a new tab, or in that of `page`."""
        page = page or self.context.new_page()
        page.goto("about:blank")
        page.goto(self.home + path)
        return page

    def saved(self, path: str = "") -> Page:
        """As `open`, but waits until it says that all is saved."""
        page = self.open(path)
        page.get_by_text(SAVED).wait_for()
        return page


@pytest.fixture
def phone(chromium: Browser, host: Host) -> Iterator[Phone]:
    made = Phone(chromium, host)
    yield made
    made.context.close()
    assert made.complaints == []


def dosed(lib: Library, key: str = "soleus_wall_stretch") -> tuple[str, list[str]]:
    """The link of a drill below the site's address, and the words of its steps."""
    drill = lib.drills[key]
    link = link_path(drill_link(WEB, drill.code, "right", lib.ladders[drill.ladder].rungs, 0))[1:]
    carried = read_drill(drill.code, link.partition("#")[2])
    assert isinstance(carried, DrillDose)
    return link, [dose_words(rung) for rung in carried.rungs]


def shows(page: Page, words: list[str]) -> None:
    """Until a page shows the steps of a dose."""
    expect(page.locator("#dose li b")).to_have_text(words)


def test_after_one_visit_every_page_is_there_without_a_signal(phone: Phone, host: Host, lib: Library) -> None:
    link, words = dosed(lib)
    page = phone.saved(link)
    shows(page, words)
    assert page.url == f"{phone.home}{link.replace('#', '/#')}"
    host.stop()
    page.reload()
    shows(page, words)
    for drill in few(lib).drills.values():
        for name in (drill.code, f"{drill.code.lower()}/", drill.address, drill.address.upper()):
            phone.open(name, page)
            expect(page.locator("h1")).to_have_text(drill.name)
            assert page.evaluate("getComputedStyle(document.querySelector('main')).borderBottomStyle") == "solid"
    phone.open("", page)
    expect(page.locator("#all li")).to_have_count(len(few(lib).drills))
    page.locator("#all a").first.click()
    page.get_by_role("link", name="All drills").click()
    expect(page.locator("h1")).to_have_text("Drills")
    page.get_by_text(SAVED).wait_for()


@pytest.mark.parametrize("how", ["{code}", "{code}/", "{lower}", "{address}", "{upper_address}", "{mixed}"])
@pytest.mark.parametrize("offline", [False, True])
def test_the_dose_behind_the_mark_survives_every_way_to_the_page(
    phone: Phone, host: Host, lib: Library, how: str, offline: bool
) -> None:
    """Folder without its slash, another spelling, saved or not: the fragment is never lost."""
    link, words = dosed(lib)
    drill = lib.drills["soleus_wall_stretch"]
    name = how.format(
        code=drill.code,
        lower=drill.code.lower(),
        address=drill.address,
        upper_address=drill.address.upper(),
        mixed=drill.code.capitalize(),
    )
    page = phone.saved("S") if offline else phone.context.new_page()
    if offline:
        host.stop()
    phone.open(f"{name}#{link.partition('#')[2]}", page)
    shows(page, words)
    # A spelling that is not there is a 404 first, and the browser notes it.
    phone.complaints[:] = [one for one in phone.complaints if offline or "404" not in one]


def test_the_sheets_page_works_without_a_signal(phone: Phone, host: Host, lib: Library) -> None:
    sheet = make_sheet(Path(__file__).resolve().parents[1] / "data/rower.yaml").sheet
    link = link_path(sheet_link(WEB, sheet))[1:]
    page = phone.saved(link)
    expect(page.locator("#all li")).to_have_count(len(sheet.drills))
    shown = page.locator("#all li").all_text_contents()
    host.stop()
    page.reload()
    expect(page.locator("#all li")).to_have_text(shown)
    assert page.url.endswith(link.partition("#")[2])


def test_what_was_asked_for_is_saved_first(phone: Phone, host: Host, lib: Library) -> None:
    """The other drills have not come yet, and the host goes away: the page that was open is there."""
    link, words = dosed(lib)
    others = [drill.code for key, drill in few(lib).drills.items() if key != "soleus_wall_stretch"]
    host.held = tuple(f"/{code}/" for code in others)
    page = phone.open(link)
    page.get_by_text("The other pages are being saved now.").wait_for()
    host.stop()
    page.reload()
    shows(page, words)
    page.get_by_text("This page is saved on this phone.", exact=True).wait_for()
    phone.open(f"{others[0]}#x", page)
    expect(page.locator("main")).to_contain_text("not saved on this phone yet")
    host.held = ()
    host.start()
    shows(phone.saved(link), words)
    assert not [one for one in phone.complaints if "Failed to load" not in one and "Failed to fetch" not in one]
    phone.complaints.clear()


def test_an_update_takes_over_under_an_open_page_and_fetches_only_what_changed(
    phone: Phone, host: Host, lib: Library
) -> None:
    link, words = dosed(lib, "chair_squat")
    old = phone.saved()
    seen = phone.open(link)
    seen.get_by_text(SAVED).wait_for()
    host.asked.clear()
    write_site(host.folder / "care", site_files(few(lib, renamed="chair_squat")))
    new = "A pull that the old page does not tell of."
    seen.evaluate(UPDATE)
    old.get_by_text("These pages have changed.").wait_for()
    seen.get_by_text(f"Close this page and open it again to see what is new. {SAVED}").wait_for()
    shows(seen, words)
    fetched = {path for path in host.asked if not path.endswith("worker.js")}
    assert fetched == {f"/care/{lib.drills['chair_squat'].code}/"}
    holds(old, ONE_STORE)
    host.stop()
    old.get_by_role("link", name=lib.drills["chair_squat"].name).click()
    expect(old.locator("main")).to_contain_text(new)
    seen.reload()
    expect(seen.locator("main")).to_contain_text(new)
    shows(seen, words)


def test_half_an_update_is_not_taken(phone: Phone, host: Host, lib: Library) -> None:
    """A host that is just being written to: the worker is new, a page still the old one."""
    page = phone.saved()
    code = lib.drills["chair_squat"].code
    file = host.folder / f"care/{code}/index.html"
    before = file.read_bytes()
    write_site(host.folder / "care", site_files(few(lib, renamed="chair_squat")))
    after = file.read_bytes()
    file.write_bytes(before)
    host.asked.clear()
    # "none": it had failed before we could look
    assert page.evaluate(UPDATE) in {"redundant", "none"}
    assert f"/care/{code}/" in host.asked
    phone.open(code, page)
    page.get_by_text(SAVED).wait_for()
    expect(page.locator("main")).not_to_contain_text("A pull that")
    file.write_bytes(after)
    phone.open("", page)
    # The try of the visit before may still be on its way to failing.
    assert any(page.evaluate(UPDATE) != "redundant" for _ in range(5))
    page.get_by_text("These pages have changed.").wait_for()
    phone.open(code, page)
    expect(page.locator("main")).to_contain_text("A pull that")


def test_two_sites_of_one_host_leave_each_other_alone(phone: Phone, host: Host, lib: Library) -> None:
    write_site(host.folder / "care/two", site_files(few(lib, "chair_squat")))
    phone.saved("two/")
    page = phone.saved()
    host.stop()
    phone.open("two/", page)
    expect(page.locator("#all li")).to_have_count(2)
    phone.open("", page)
    expect(page.locator("#all li")).to_have_count(3)


def test_it_can_be_put_on_the_phones_screen(phone: Phone) -> None:
    page = phone.saved()
    session = phone.context.new_cdp_session(page)
    found = {error["errorId"] for error in session.send("Page.getInstallabilityErrors")["installabilityErrors"]}
    assert found <= {"in-incognito"}  # what the test's own browser is
    assert session.send("Page.getAppManifest")["errors"] == []


def test_an_iphone_is_told_how_to_keep_it_and_puts_the_page_with_its_dose_on_the_screen(
    phone: Phone, lib: Library
) -> None:
    """By a manifest without a start, which stands for the page itself (WebKit's ApplicationManifestParser, read)."""
    link, words = dosed(lib)
    plain = phone.saved(link)
    expect(plain.locator("main")).not_to_contain_text("Safari")
    phone.context.add_init_script("Object.defineProperty(navigator, 'standalone', { value: false })")
    page = phone.saved(link)
    expect(page.locator("main")).to_contain_text("Add to Home Screen")
    address = page.evaluate("document.querySelector('link[rel=manifest]').href")
    manifest = phone.context.request.get(address).json()
    assert manifest["display"] == "standalone"
    assert "start_url" not in manifest
    shows(page, words)


def test_without_a_worker_or_a_script_the_page_is_whole(chromium: Browser, host: Host, lib: Library) -> None:
    link, words = dosed(lib)
    plain = Phone(chromium, host)
    plain.context.add_init_script("Object.defineProperty(navigator, 'serviceWorker', { value: undefined })")
    page = plain.open(link)
    shows(page, words)
    expect(page.locator("#saved")).to_have_text("Not saved on this phone: needs a signal.")
    bare = Phone(chromium, host, java_script_enabled=False)
    expect(bare.open(link).locator("main")).to_contain_text("Your dose is on your sheet.")
    assert plain.complaints == bare.complaints == []


@pytest.mark.parametrize("size", [(390, 844), (320, 568)])
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_each_page_fits_and_axe_finds_nothing(
    chromium: Browser, host: Host, lib: Library, size: tuple[int, int], scheme: str
) -> None:
    phone = Phone(chromium, host, viewport={"width": size[0], "height": size[1]}, color_scheme=scheme)
    page = phone.saved(dosed(lib)[0])
    for path in ("", "S", dosed(lib)[0], "unsaved/", "nothing-here"):
        phone.open(path, page)
        if path != "nothing-here":
            page.get_by_text(SAVED).wait_for()
        assert page.evaluate("document.documentElement.scrollWidth") <= size[0], path
        found = Axe().run(page, options=AXE)
        assert found.violations_count == 0, (path, found.generate_report())
        low = page.locator("a:visible").evaluate_all("links => links.filter((a) => a.offsetHeight < 44).length")
        assert low == 0, path
    assert [one for one in phone.complaints if "404" not in one] == []
    phone.context.close()
