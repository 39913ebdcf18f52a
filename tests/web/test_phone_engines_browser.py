"""The phone pages in the engines of iPhones and of Firefox: what is held in full in Chromium is there as well."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

import pytest

from homecare.library.code_reader import read_codes
from homecare.library.load import Library
from homecare.phone.publishing import site_files
from homecare.phone.site_folder import write_site
from homecare.render.dose_words import dose_words
from homecare.render.links import DrillDose, drill_link, link_path, read_drill
from homecare.workflow import make_sheet
from tests.helpers import until
from tests.web.engines import Tab, firefox, webkit
from tests.web.sites import few, hosted

pytestmark = pytest.mark.slow

VISIT = Path(__file__).parents[1] / "data" / "rower.yaml"
ENGINES = ("webkit", "firefox")
FAST = """
window.faults = [];
for (const kind of ["error", "unhandledrejection", "securitypolicyviolation"]) {
  addEventListener(kind, (event) => faults.push(String(event.message || event.reason || event.violatedDirective)));
}
const now = performance.now.bind(performance), frame = requestAnimationFrame.bind(window);
performance.now = () => now() * 40;
window.requestAnimationFrame = (wanted) => frame((at) => wanted(at * 40));"""
"""Notes what the page complains of from now on, and has its seconds pass forty times as fast."""
SMALL = """return [...document.querySelectorAll("a, button, summary, .due input")]
  .filter((one) => one.getClientRects().length)
  .map((one) => [one.textContent, one.getBoundingClientRect()])
  .filter(([, box]) => box.width < 44 || box.height < 44).map(([text]) => text)"""
WIDER = "return document.documentElement.scrollWidth - document.documentElement.clientWidth"
TICKED = "return document.querySelectorAll('.due input:checked').length === arguments[0]"
ON = """const name = arguments[0], places = { today: ".here", all: ".day:not(.here)" };
const found = document.querySelector(places[name] || "#" + name);
return location.hash === "#" + name && found && found.getClientRects().length"""
"""Whether a view is there, and not only its address."""
STEPS = """const seen = [...document.querySelectorAll('#dose li b')].map((one) => one.innerText);
return JSON.stringify(seen) === JSON.stringify(arguments[0])"""
START, FIRST = ".here .go:not(.quiet)", ".here .due input"


@dataclass(frozen=True)
class Phone:
    """A browser, the saved file, and the folder in which its downloads come to lie."""

    tab: Tab
    file: Path
    folder: Path

    def open(self, view: str = "") -> Tab:
        self.tab.go(self.file.as_uri() + view)
        self.tab.run(FAST)
        return self.tab


@pytest.fixture(scope="module")
def file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The phone file of a sheet that began yesterday."""
    folder = tmp_path_factory.mktemp("sheet")
    began = datetime.now().astimezone().date() - timedelta(days=1)
    (folder / "visit.yaml").write_text(re.sub(r"(?m)^start: .*", f"start: {began}", VISIT.read_text()))
    (folder / "phone.html").write_bytes(make_sheet(folder / "visit.yaml").phone)
    return folder / "phone.html"


@pytest.fixture(scope="module", params=ENGINES)
def running(request: pytest.FixtureRequest, file: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Phone]:
    folder = tmp_path_factory.mktemp(request.param)
    opened = (
        webkit(folder)
        if request.param == "webkit"
        else firefox(folder, browser__download__folderList=2, browser__download__dir=str(folder))
    )
    with opened as tab:
        yield Phone(tab, file, folder)


@pytest.fixture
def phone(running: Phone) -> Iterator[Phone]:
    """The phone file opened anew, with nothing kept."""
    running.tab.size(390, 844)
    running.open()
    running.tab.run("localStorage.clear()")
    running.open()
    yield running
    assert running.tab.run("return window.faults || []") == []


def test_what_is_due_is_played_to_its_end_and_a_tick_can_be_taken_back(phone: Phone) -> None:
    tab = phone.tab
    assert tab.waits("return document.querySelector('details.here').id === 'd' + homecareApp.iso(new Date())")
    tab.press(START, "Start")
    tab.waits("return document.querySelector('.bar span').textContent === '2 of 2'")
    tab.waits("return location.hash === '#done'")
    tab.text("#done", "Still to do today")
    tab.press("#done .notes button", "7")
    tab.press("#done .go", "Back")
    tab.waits(TICKED, 2)
    tab.press(".here .due input:checked")
    tab.waits(TICKED, 1)
    tab.press(FIRST)
    tab.waits(TICKED, 2)
    assert tab.text("#told", "Done:").startswith("Done:")
    tab.press("#told .word", "Take it back")
    tab.waits(TICKED, 1)
    phone.open()
    tab.waits(TICKED, 1)


def test_what_the_athlete_answers_is_in_the_code_on_the_screen(phone: Phone) -> None:
    tab = phone.tab
    tab.press(".turn a:first-child")
    tab.press(FIRST)
    tab.press("nav a", "Today")
    tab.text(".morning", "How was it by this morning?")
    tab.press(".morning .answer", "Sore")
    tab.text(".morning", "Stay at this step")
    tab.press(START, "Start")
    tab.press("#play .hurt")
    tab.text("#hurt", "Leave it out for today")
    tab.press("#hurt .go", "Stop signs")
    assert tab.text("#stop", "Stop").startswith("Stop and call us if")
    tab.press("nav a", "How it went")
    tab.press("#judge .notes button", "3")
    tab.press("#judge .foot a", "Show at the clinic")
    shown = tab.text(".typed").replace(" ", "")
    assert shown == tab.run("return homecareApp.code()")
    until(lambda: read_codes(tab.picture()) == (shown,))  # as soon as it is painted


def test_a_browser_that_keeps_nothing_works_for_the_day(phone: Phone) -> None:
    tab = phone.tab
    tab.run("Object.defineProperty(window, 'localStorage', { get() { throw new Error('barred'); } })")
    tab.press(FIRST)
    tab.waits(TICKED, 1)
    tab.press("nav a", "How it went")
    tab.text("#judge", "This browser keeps nothing")


@pytest.mark.parametrize(("width", "height", "letters"), [(390, 844, ""), (320, 568, ""), (390, 844, "225%")])
def test_every_view_fits(phone: Phone, width: int, height: int, letters: str) -> None:
    tab = phone.tab
    tab.size(width, height)
    phone.open()
    tab.run("document.documentElement.style.fontSize = arguments[0]", letters)
    for view in ("today", "all", "drills", "drill1", "judge", "stop", "about", "clinic", "play"):
        if view == "play":
            tab.run("location.hash = 'today'")
            tab.press(START, "Start")
        else:
            tab.run("location.hash = arguments[0]", view)
        tab.waits(ON, view)
        assert tab.run(WIDER) <= 0, view
        assert tab.run(SMALL) == [], view


def test_the_published_site_is_there_without_a_signal(running: Phone, lib: Library, tmp_path: Path) -> None:
    """Saved on the first visit; the dose behind the # survives every spelling of the address."""
    write_site(tmp_path / "care", site_files(few(lib)))
    drill, tab = lib.drills["soleus_wall_stretch"], running.tab
    link = link_path(drill_link("https://clinic.example/care", drill.code, "right", lib.ladders[drill.ladder].rungs, 0))
    dose = link.partition("#")[2]
    carried = read_drill(drill.code, dose)
    assert isinstance(carried, DrillDose)
    with hosted(tmp_path) as host:
        tab.go(f"{host.address}/care{link}")
        tab.waits("return document.getElementById('saved').textContent.includes('works without a signal')")
        host.stop()
        for name in (drill.code, drill.code.lower(), drill.code.capitalize(), drill.address, drill.address.upper()):
            tab.go(f"{host.address}/care/{name}#{dose}")
            tab.waits(STEPS, [dose_words(rung) for rung in carried.rungs])
            assert tab.run("return getComputedStyle(document.querySelector('main')).borderBottomStyle") == "solid"
        tab.go(f"{host.address}/care/")
        tab.press("#all a", drill.name)
        tab.waits("return document.querySelector('#dose')")


def test_a_copy_and_the_calendar_are_saved_and_all_is_erased(phone: Phone) -> None:
    """Last, since WebKit's browser then shows what it saved, on a part of the page."""
    tab = phone.tab
    tab.press(FIRST)
    tab.press("nav a", "How it went")
    tab.press("#judge .foot a", "Save a copy")
    tab.run("location.hash = 'about'")
    tab.press("#about a", "calendar")
    copy = saved(phone.folder / "home-care-notes.json", "}")
    calendar = saved(phone.folder / "home-care.ics", "END:VCALENDAR")
    assert json.loads(copy)["ticked"]
    assert calendar.startswith("BEGIN:VCALENDAR")
    tab.press("nav a", "How it went")
    tab.press("#judge .hurt", "Erase")
    tab.press("#judge .hurt", "Press again")
    tab.waits("return document.querySelector('details.here') && !document.querySelector('.due input:checked')")
    tab.waits("return localStorage.length === 0")


def saved(path: Path, end: str) -> str:
    """What a download holds, once it is there to its end."""

    def whole() -> str:
        found = path.read_text() if path.is_file() else ""
        return found if found.rstrip().endswith(end) else ""

    return until(whole)


@pytest.mark.parametrize("engine", ENGINES)
def test_without_script_it_is_the_whole_list_and_says_so(engine: str, file: Path, tmp_path: Path) -> None:
    opened = (
        webkit(tmp_path, "--enable-javascript=false")
        if engine == "webkit"
        else firefox(tmp_path / "own", javascript__enabled=False)
    )
    with opened as tab:
        tab.size(390, 844)
        tab.go(file.as_uri())
        assert tab.run("return document.documentElement.className") == ""
        assert "This is the list of all days and drills." in tab.text(".bare")
        assert tab.run(WIDER) <= 0
        for part in ("about", "days", "drills", "judge", "stop"):
            assert tab.run("return document.getElementById(arguments[0]).getClientRects().length", part), part
