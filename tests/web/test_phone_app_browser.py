"""The phone file in a real browser with the network off: today, the player, answers, the code for the clinic."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page, expect

from homecare.core.phone_report import DrillReport, PhoneReport, read_report, report_code, sheet_mark
from homecare.library.code_reader import read_codes
from homecare.render.plan_read import read_plan
from homecare.workflow import make_sheet
from tests.web.hands import holds, opened_again
from tests.web.sites import hosted

pytestmark = pytest.mark.slow

VISIT = Path(__file__).parents[1] / "data" / "rower.yaml"
MORNING = "2026-05-05T08:00:00"
LATER = "2026-05-05T08:10:00"
"""From when on the clock stands in tests that count: it goes on only as they say."""
TODAY = "#d2026-05-05 .due input"
START = ".go:visible:not(.quiet)"


class Opened:
    """A saved phone file, its plan, and what the page complained of or asked for."""

    def __init__(self, running: Browser, file: Path, plan: bytes) -> None:
        self.running, self.file, self.plan = running, file, plan
        self.complaints: list[str] = []
        self.asked: list[str] = []

    @contextmanager
    def page(self, when: str = MORNING, width: int = 390, height: int = 844, **options: object) -> Iterator[Page]:
        """The page at a time of the clock, in a context of its own; whatever it complains of fails the test."""
        context = self.running.new_context(
            viewport={"width": width, "height": height},
            offline=True,
            **options,  # type: ignore[arg-type]
        )
        page = context.new_page()
        page.on("console", lambda message: self.complaints.append(message.text))
        page.on("pageerror", lambda error: self.complaints.append(str(error)))
        page.on("request", lambda request: self.asked.append(request.url))
        page.clock.install(time=when)
        page.goto(self.file.as_uri())
        yield page
        context.close()
        assert self.complaints == []
        assert {url.partition("#")[0] for url in self.asked if not url.startswith("data:")} <= {self.file.as_uri()}


@pytest.fixture(scope="module")
def opened(tmp_path_factory: pytest.TempPathFactory, chromium: Browser) -> Opened:
    files = make_sheet(VISIT)
    path = tmp_path_factory.mktemp("phone") / "phone.html"
    path.write_bytes(files.phone)
    return Opened(chromium, path, files.plan)


def test_it_opens_on_today_with_what_is_due_and_one_big_start(opened: Opened) -> None:
    with opened.page() as page:
        expect(page.locator("details.here")).to_have_id("d2026-05-05")
        expect(page.locator("details:visible")).to_have_count(1)
        start = page.locator(START)
        expect(start).to_have_count(1)
        expect(start).to_have_text(re.compile(r"^Start, \d+ minutes?$"))
        assert start.evaluate("one => one.getBoundingClientRect().height") >= 56
        expect(page.locator(".here h3").first).to_have_attribute("data-left", re.compile("left"))
        page.locator(".turn a").last.click()
        expect(page.locator("details.here")).to_have_id("d2026-05-06")
        page.locator("text=All 14 days").click()
        expect(page.locator("details:visible")).to_have_count(14)
    with opened.page("2026-05-05T21:00:00") as page:
        due = page.locator(START)
        expect(due.locator("xpath=preceding-sibling::h3[1]")).to_have_text(re.compile("^Evening"))


def test_before_and_after_the_sheet_it_still_shows_a_day(opened: Opened) -> None:
    for when in ("2026-04-01T08:00:00", "2027-01-01T08:00:00"):
        with opened.page(when) as page:
            expect(page.locator("details.here")).to_have_id("d2026-05-04")


def test_the_player_counts_the_dose_to_its_end_and_ticks_the_box(opened: Opened) -> None:
    plan = json.loads(opened.plan)
    with opened.page() as page:
        page.clock.pause_at(LATER)
        page.locator(START).click()
        expect(page.locator("#play")).to_be_visible()
        name = page.locator("#play h2").inner_text()
        first = next(one for one in plan["drills"] if one["name"] in name)
        rung = first["rungs"][first["start_rung"]]
        count = page.locator(".count b")
        expect(page.locator(".says")).to_have_text(re.compile("^Get ready"))
        page.clock.run_for(rung["setup_s"] * 1000 + 500)
        expect(count).to_have_text(re.compile(f"^1 of {rung['reps']}"))
        page.locator("text=Pause").click()
        page.clock.run_for(60_000)
        expect(count).to_have_text(re.compile(f"^1 of {rung['reps']}"))
        page.locator("text=Go on").click()
        page.clock.run_for(rung["seconds"] // rung["times"] * 1000 + 2000)
        expect(page.locator(".bar span").first).to_have_text("2 of 2")
        page.locator("#play .controls .alt:not(.hurt)").click()
        expect(page.locator("#done")).to_be_visible()
        page.locator("#done .go").click()
        expect(page.locator(f"{TODAY}:checked")).to_have_count(1)


def test_every_dose_is_played_for_as_long_as_the_plan_says(opened: Opened) -> None:
    """The phases of each drill at each of its steps add up to the seconds of plan.json, but for changing sides."""
    plan = json.loads(opened.plan)
    with opened.page() as page:
        played = page.evaluate("homecareApp.plan.drills.map(one => one.r.map(rung => homecareApp.phases(one, rung)))")
        for drill, steps in zip(plan["drills"], played, strict=True):
            for rung, phases in zip(drill["rungs"], steps, strict=False):
                lasting = sum(phase["s"] for phase in phases if phase["k"] != "side")
                assert lasting == rung["seconds"] / rung["times"], drill["id"]
                moved = sum(phase["k"] in ("move", "hold") for phase in phases)
                assert moved == rung["sets"] * rung["reps"] * (2 if drill["side"] == "both" else 1)


def test_a_moving_figure_moves_with_the_count(opened: Opened) -> None:
    with opened.page() as page:
        page.clock.pause_at(LATER)
        page.locator(START).click()
        expect(page.locator("#play")).to_be_visible()
        page.clock.run_for(10_200)
        moving = page.locator("#play svg[data-moving] [data-frames]").first
        before = moving.get_attribute("d")
        assert before
        page.clock.run_for(1500)
        expect(moving).not_to_have_attribute("d", before)


def test_a_tick_can_be_taken_back_and_outlives_the_page(opened: Opened) -> None:
    with opened.page() as page:
        page.locator(TODAY).first.check()
        expect(page.locator("#told")).to_contain_text("Done:")
        page.locator("text=Take it back").click()
        expect(page.locator("input:checked")).to_have_count(0)
        page.locator(TODAY).first.check()
        opened_again(page, "input:checked")
        expect(page.locator("input:checked")).to_have_count(1)


def test_it_hurts_says_what_to_do_and_the_stop_signs_are_one_tap_away(opened: Opened) -> None:
    with opened.page() as page:
        expect(page.locator("nav a[href='#stop']")).to_be_visible()
        page.locator(START).click()
        page.locator("text=It hurts or tingles more").click()
        expect(page.locator("#hurt")).to_contain_text("Leave it out for today")
        assert read(page, opened).drills.count(DrillReport(0, "worse")) == 1
        page.go_back()
        page.locator("text=It hurts or tingles more").click()
        page.locator("text=I pressed it by mistake").click()
        expect(page.locator("details.here")).to_be_visible()
        assert all(one.response is None for one in read(page, opened).drills)
        page.locator("nav a[href='#stop']").click()
        expect(page.locator("#stop")).to_be_visible()


def read(page: Page, opened: Opened) -> PhoneReport:
    last = read_plan(opened.plan)
    found = read_report(page.evaluate("homecareApp.code()"), last.start, [(one.id, one.side) for one in last.drills])
    assert isinstance(found, PhoneReport)
    return found


def test_the_next_opening_asks_how_it_was_by_this_morning(opened: Opened) -> None:
    with opened.page() as page:
        page.locator(TODAY).first.check()
        page.locator(TODAY).nth(1).check()
        page.clock.set_system_time("2026-05-06T07:00:00")
        opened_again(page, ".morning")
        expect(page.locator(".morning")).to_contain_text("How was it by this morning?")
        page.locator(".answer", has_text="Sore").click()
        expect(page.locator(".morning")).to_contain_text("Stay at this step")
        page.locator(".morning fieldset input").first.check()
        answers = [one.response for one in read(page, opened).drills]
        assert sorted(map(str, answers)).count("sore") == 1
        assert "settled" in answers
        page.reload()
        expect(page.locator("details.here")).to_be_visible()
        expect(page.locator(".morning")).to_have_count(0)


def test_the_code_for_the_clinic_reads_from_the_screen(opened: Opened) -> None:
    last = read_plan(opened.plan)
    drills = [(one.id, one.side) for one in last.drills]
    with opened.page() as page:
        for number in range(3):
            page.locator(TODAY).nth(number).check()
        page.locator("nav a[href='#judge']").click()
        page.locator("#judge .notes button", has_text=re.compile("^7$")).click()
        page.locator("#judge .answer").first.click()
        page.goto(opened.file.as_uri() + "#clinic")
        (seen,) = read_codes(page.locator("svg.code").screenshot())
        expect(page.locator(".typed")).to_have_text(" ".join(re.findall(".{1,4}", seen)))
        report = read_report(seen, last.start, drills)
        assert isinstance(report, PhoneReport)
        assert sum(one.done for one in report.drills) == 3
        assert report.ratings == ((date(2026, 5, 5), 7),)
        assert seen == report_code(sheet_mark(last.start, drills), last.start, report)


def test_codes_of_every_length_read(opened: Opened) -> None:
    """Versions 1 to 15, read by zxing: the phone draws its codes itself (ISO/IEC 18004)."""
    with opened.page() as page:
        for length in (1, 2, 25, 26, 47, 77, 114, 154, 195, 224, 279, 335, 395, 468, 535, 600, 700):
            text = ("R1A7Z0.9" * 100)[:length]
            page.evaluate("text => document.body.replaceChildren(homecareCode(text, 'code'))", text)
            assert read_codes(page.locator("svg.code").screenshot()) == (text,), length


def test_a_copy_can_be_saved_and_everything_erased(opened: Opened) -> None:
    with opened.page() as page:
        page.locator(TODAY).first.check()
        page.locator("nav a[href='#judge']").click()
        with page.expect_download() as download:
            page.locator("text=Save a copy").click()
        kept = json.loads(Path(download.value.path()).read_text())
        assert kept["ticked"]
        assert "Ansel" not in json.dumps(kept)
        page.locator("text=Erase it from this phone").click()
        with page.expect_event("load"):
            page.locator("text=Press again").click()
        expect(page.locator("details.here")).to_be_visible()
        expect(page.locator("input:checked")).to_have_count(0)
        assert page.evaluate("localStorage.length") == 0


def test_without_script_it_is_the_whole_day_list_and_says_so(opened: Opened) -> None:
    with opened.page() as page:
        page.locator("text=What this is for").click()
        expect(page.locator("#about")).to_be_visible()
        expect(page.locator(".bare")).to_be_hidden()
    with opened.page(java_script_enabled=False) as page:
        expect(page.locator("details:visible")).to_have_count(14)
        expect(page.locator(".bare")).to_contain_text("tick on paper")
        assert "stay" not in page.locator("#judge").inner_text().lower().replace("stay at this step", "")
        for link in page.locator("nav a, .back").all():
            target = link.get_attribute("href") or ""
            assert target.startswith("data:") or page.locator(target).is_visible(), target
        for name in ("about", "days", "drills", "judge", "stop"):
            expect(page.locator(f"#{name}")).to_be_visible()
        expect(page.locator("#drills .figure svg:visible")).to_have_count(len(json.loads(opened.plan)["drills"]))


VIEWS = ("today", "all", "drills", "drill1", "judge", "stop", "about", "clinic", "play", "hurt", "done")


def show(page: Page, view: str) -> None:
    """Go to a view as one does, and wait until it is there."""
    if view in ("play", "hurt", "done"):
        page.locator(START).click()
        if view == "hurt":
            page.locator("text=It hurts or tingles more").click()
        if view == "done":
            page.locator("#play .controls .alt:not(.hurt)").click()
            page.locator("#play .controls .alt:not(.hurt)").click()
    else:
        page.evaluate("view => { location.hash = view; }", view)
    expect(page.locator({"today": "details.here", "all": "details.day"}.get(view, f"#{view}")).first).to_be_visible()
    if view == "all":
        expect(page.locator("details:visible")).to_have_count(14)


@pytest.mark.parametrize("view", VIEWS)
@pytest.mark.parametrize(("width", "height", "scheme"), [(390, 844, "light"), (320, 568, "dark")])
def test_every_view_has_room_for_thumbs_and_no_barrier(
    opened: Opened, view: str, width: int, height: int, scheme: str
) -> None:
    with opened.page(width=width, height=height, color_scheme=scheme, bypass_csp=True) as page:
        show(page, view)
        assert page.evaluate("document.documentElement.scrollWidth") <= width
        small = page.evaluate(
            "[...document.querySelectorAll('a, button, summary, .due input')].filter(one => one.offsetParent)"
            ".map(one => [one.textContent, one.getBoundingClientRect()])"
            ".filter(([, box]) => box.width < 44 || box.height < 44).map(([text]) => text)"
        )
        assert small == []
        found = Axe().run(page).response["violations"]
        assert [(one["id"], one["nodes"][0]["html"]) for one in found] == []


@pytest.mark.parametrize("view", ["today", "play", "judge", "clinic"])
def test_text_at_twice_its_size_still_fits(opened: Opened, view: str) -> None:
    with opened.page() as page:
        show(page, view)
        page.evaluate("document.documentElement.style.fontSize = '225%'")
        assert page.evaluate("document.documentElement.scrollWidth") <= 390
        beyond = "links => links.filter(one => one.scrollWidth > one.clientWidth).map(one => one.textContent)"
        assert page.locator("nav a").evaluate_all(beyond) == []


def test_the_keyboard_alone_plays_a_drill_and_every_press_has_a_name(opened: Opened) -> None:
    with opened.page() as page:
        page.locator(START).focus()
        page.keyboard.press("Enter")
        expect(page.locator("#play")).to_be_visible()
        page.locator("#play .go").focus()
        page.keyboard.press("Space")
        expect(page.locator("#play .go")).to_have_text("Go on")
        names = page.evaluate("[...document.querySelectorAll('button')].map(one => one.textContent.trim())")
        assert all(names)


def test_pause_is_in_view_on_a_small_phone(opened: Opened) -> None:
    """What a screen of 375 by 667 leaves between a browser's bars (common practice)."""
    with opened.page(width=375, height=553) as page:
        page.locator(START).click()
        expect(page.locator("#play .go")).to_be_visible()
        holds(page, "scrollY === 0 && document.querySelector('#play .go').getBoundingClientRect().bottom <= 553")


def test_less_motion_where_it_is_wished(opened: Opened) -> None:
    with opened.page(reduced_motion="reduce") as page:
        page.clock.pause_at(LATER)
        page.locator(START).click()
        expect(page.locator("#play")).to_be_visible()
        page.clock.run_for(10_100)
        moving = page.locator("#play svg[data-moving] [data-frames]").first
        seen = set()
        for _ in range(8):
            page.clock.run_for(400)
            seen.add(moving.get_attribute("d"))
        assert len(seen) <= 2  # start and end by turns


def test_a_browser_that_keeps_nothing_says_so(opened: Opened) -> None:
    with opened.page() as page:
        page.evaluate("Object.defineProperty(window, 'localStorage', { get() { throw new Error('barred'); } })")
        page.locator(TODAY).first.check()
        page.locator("nav a[href='#judge']").click()
        expect(page.locator("#judge")).to_contain_text("keeps nothing")
        page.locator("text=Erase it from this phone").click()
        with page.expect_event("load"):
            page.locator("text=Press again").click()
        expect(page.locator("details.here")).to_be_visible()
        expect(page.locator("input:checked")).to_have_count(0)


SOUND = """window.sound = { begun: [], closed: 0 };
window.AudioContext = class {
  constructor() { sound.begun.push(window.event && window.event.type); }
  resume() {}
  close() { sound.closed += 1; }
};
null"""


def test_the_press_itself_begins_the_sound(opened: Opened) -> None:
    """Safari lets nothing sound that no press began, and nothing after the page was in the background."""
    with opened.page() as page:
        page.evaluate(SOUND)
        page.locator(START).click()
        assert page.evaluate("sound.begun") == ["click"]
        page.evaluate(
            "Object.defineProperty(document, 'hidden', { value: true, configurable: true });"
            "document.dispatchEvent(new Event('visibilitychange')); delete document.hidden;"
        )
        assert page.evaluate("sound.closed") == 1
        page.locator("text=Go on").click()
        assert page.evaluate("sound.begun") == ["click", "click"]


AWAKE = """window.held = 0;
window.asked = 0;
class Lock extends EventTarget {
  constructor() { super(); this.released = false; held += 1; asked += 1; }
  async release() {
    await null;
    if (!this.released) { held -= 1; }
    this.released = true;
    this.dispatchEvent(new Event("release"));
  }
}
Object.defineProperty(navigator, "wakeLock", { value: { request: async () => new Lock() } });"""


def test_the_screen_is_kept_awake_from_drill_to_drill_and_no_longer(opened: Opened) -> None:
    with opened.page() as page:
        page.evaluate(AWAKE)
        page.locator(START).click()
        holds(page, "held === 1")
        page.locator("#play .controls .alt:not(.hurt)").click()
        expect(page.locator("#play .bar span").first).to_have_text("2 of 2")
        holds(page, "asked === 2 && held === 1")
        page.locator("text=Pause").click()
        holds(page, "held === 0")


def test_a_phone_that_lacks_what_others_have_says_what_happens(opened: Opened) -> None:
    """No wake lock, no vibration, no voice, no sound: the count goes on in words."""
    with opened.page() as page:
        page.add_init_script(
            "for (const name of ['wakeLock', 'vibrate']) { delete Navigator.prototype[name]; }"
            "for (const name of ['speechSynthesis', 'AudioContext']) { delete window[name]; }"
        )
        page.reload()
        page.clock.pause_at(LATER)
        page.locator(START).click()
        expect(page.locator("#play")).to_contain_text("may turn its screen off")
        expect(page.locator("#play .bar span").first).to_be_visible()
        expect(page.locator(".switches button:visible")).to_have_count(0)
        page.clock.run_for(11_000)
        expect(page.locator(".count b")).to_have_text(re.compile(r"^\d of "))


def test_safari_on_an_iphone_says_that_it_forgets(opened: Opened) -> None:
    """Script-writable storage of a site goes after a week without use (WebKit, 24 March 2020; read as quoted)."""
    with hosted(opened.file.parent) as host:
        context = opened.running.new_context()
        page = context.new_page()
        page.add_init_script("Object.defineProperty(navigator, 'standalone', { value: false })")
        page.goto(f"{host.address}/phone.html#judge")
        expect(page.locator("#judge")).to_contain_text("Safari drops it when you stay away for a week")
        context.close()
