"""The phone file and the page of one drill: complete without script, small, and silent towards everyone else."""

from __future__ import annotations

import base64
import hashlib
import re
import shutil
from collections.abc import Iterator
from dataclasses import replace
from html.parser import HTMLParser
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, expect

import homecare.phone
from homecare.render.assets import read_asset
from homecare.render.dose_words import work_words
from homecare.render.links import link_fragment
from homecare.render.phone_file import phone_html, tel
from homecare.render.phone_page import drill_page_html
from tests.render.sheets import fixtures, make_sheet
from tests.web.browser import browser
from tests.web.hands import opened_again


class _Page(HTMLParser):
    """Tags with their attributes, and text by the element it stands in."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.inside: dict[str, list[str]] = {}
        self._open: list[str] = []
        self.feed(html)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))
        self._open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        while self._open and self._open.pop() != tag:
            pass

    def handle_data(self, data: str) -> None:
        self.inside.setdefault(self._open[-1] if self._open else "", []).append(data)

    def text(self) -> str:
        return " ".join(" ".join(part) for tag, part in self.inside.items() if tag not in ("style", "script"))


@pytest.mark.parametrize("name", fixtures())
def test_the_file_asks_nobody_for_anything(name: str) -> None:
    html = phone_html(fixtures()[name])
    page = _Page(html)
    for tag, attributes in page.tags:
        assert tag not in ("link", "img", "iframe", "object", "embed", "base", "form")
        for key, value in attributes.items():
            assert not key.startswith("on")
            assert key not in ("style", "src", "srcset", "action", "ping")
            if key == "href":
                assert value is not None
                assert value.startswith(("#", "tel:", "data:text/calendar;"))
    assert "url(" not in html
    assert "@import" not in html
    assert not re.search(r"https?://", html)
    assert not re.search(r"\b(fetch|XMLHttpRequest|sendBeacon|WebSocket|EventSource)\b", html)


def test_the_policy_allows_just_what_stands_in_the_file() -> None:
    html = phone_html(make_sheet(5))
    page = _Page(html)
    policy = next(
        attributes["content"]
        for tag, attributes in page.tags
        if attributes.get("http-equiv") == "Content-Security-Policy"
    )
    assert policy is not None
    assert policy.startswith("default-src 'none';")
    for kind in ("style", "script"):
        (inside,) = re.findall(rf"<{kind}>(.*?)</{kind}>", html, re.DOTALL)  # the plan's data is no script
        digest = base64.b64encode(hashlib.sha256(inside.encode()).digest()).decode()
        assert f"{kind}-src 'sha256-{digest}'" in policy
    assert "unsafe" not in policy


@pytest.mark.parametrize(("name", "most"), [("bare", 60), ("five", 80), ("six", 80), ("fourteen_84", 250)])
def test_the_file_is_small(name: str, most: int) -> None:
    assert len(phone_html(fixtures()[name]).encode()) <= most * 1000


def test_all_of_the_sheet_is_there_without_script_but_no_name() -> None:
    sheet = make_sheet(5)
    html = phone_html(sheet)
    text = _Page(html).text()
    assert html.count("type=checkbox") == sum(item.times for day in sheet.days for item in day.items)
    assert html.count("<details") == html.count(" open>") == 14
    for day in sheet.days:
        assert f'id="d{day.date}"' in html
    for drill in sheet.drills:
        for sentence in (
            *drill.text.steps,
            drill.text.feel,
            drill.text.not_feel,
            drill.text.stop_if,
            *drill.text.mistakes,
        ):
            assert sentence in text
        assert work_words(drill.rungs[0]) in text
    for said in (
        *sheet.words.stop_if,
        sheet.words.emergency,
        "not before 7 March",
        *sheet.words.judge[2],
        "01632 960 119",
    ):
        assert said in text
    assert sheet.athlete not in html
    assert 'href="tel:01632960114"' in html


def test_a_referral_comes_first_and_withholds_the_drills() -> None:
    text = _Page(phone_html(fixtures()["refer_now"])).text()
    assert "Please see a doctor now" in text
    assert "Go to the emergency department now. Take this page." in text
    assert "checkbox" not in phone_html(fixtures()["refer_now"])
    assert "There are no drills on this sheet." in _Page(phone_html(fixtures()["nothing"])).text()
    assert "No day had room" in _Page(phone_html(fixtures()["no_room"])).text()


def test_hostile_words_stay_words() -> None:
    html = phone_html(make_sheet(1, 7, notes="</style><script>alert(1)</script><img src=http://x.example>"))
    assert html.count("<script") == 2  # the plan's data and our own
    assert "<script>alert" not in html
    assert "<img" not in html
    assert tel("javascript:alert(1)") == "tel:1"


def test_the_same_sheet_gives_the_same_file_and_another_keeps_its_ticks_apart() -> None:
    assert phone_html(make_sheet(5)) == phone_html(make_sheet(5))
    keys = {re.search(r'data-sheet="(\w+)"', phone_html(sheet)) for sheet in (make_sheet(5), make_sheet(4))}
    assert len({key[1] for key in keys if key}) == 2


@pytest.fixture(scope="module")
def chromium() -> Iterator[Browser]:
    with browser() as running:
        yield running


def _drill_folder(folder: Path) -> str:
    drill = make_sheet(6).drills[5]
    text = replace(drill.text, name="Slow <wrist> lower")
    html = drill_page_html(text, drill.code, drill.kind, drill.drawing, None, scripts=("dose.js",), style="phone.css")
    assert "Slow &lt;wrist&gt; lower" in html
    (folder / "drill.html").write_text(html, encoding="utf-8")
    (folder / "phone.css").write_bytes(read_asset("phone/phone.css")[0])
    shutil.copy(Path(homecare.phone.__path__[0]) / "static" / "dose.js", folder)
    return link_fragment(drill.link)


@pytest.mark.slow
def test_a_drills_page_reads_the_dose_from_its_link_and_refuses_a_damaged_one_kindly(
    chromium: Browser, tmp_path: Path
) -> None:
    fragment = _drill_folder(tmp_path)
    address = (tmp_path / "drill.html").as_uri()
    page = chromium.new_page(viewport={"width": 390, "height": 844})
    dose = page.locator("#dose")
    page.goto(address)
    expect(dose).to_contain_text("Your dose is on your sheet.")
    page.goto(f"{address}#{fragment}")
    page.reload()
    expect(dose).to_contain_text("3 × 15 slow with 6 kg")
    expect(dose).to_contain_text("Do it on the right side.")
    page.goto(f"{address}#{fragment.replace('15', '51')}")
    expect(dose).to_have_text(re.compile("^This link is damaged."))
    page.goto(f"{address}#<img src=x>")
    page.reload()
    expect(dose).to_have_text(re.compile("^This link is damaged."))
    expect(dose.locator("img")).to_have_count(0)
    page.close()


@pytest.mark.slow
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_the_file_opens_on_today_keeps_ticks_and_has_room_for_thumbs(
    chromium: Browser, tmp_path: Path, scheme: str
) -> None:
    (tmp_path / "phone.html").write_text(phone_html(make_sheet(5)), encoding="utf-8")
    page = chromium.new_page(viewport={"width": 390, "height": 844}, color_scheme=scheme)  # type: ignore[arg-type]
    asked: list[str] = []
    faults: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    page.on("console", lambda message: faults.append(message.text))
    page.on("pageerror", lambda error: faults.append(str(error)))
    page.clock.set_fixed_time("2026-03-10T08:00:00")
    page.goto((tmp_path / "phone.html").as_uri())
    today = page.locator("details.today")
    expect(today).to_have_id("d2026-03-10")
    expect(page.locator("details[open]")).to_have_count(1)
    assert 0 <= today.evaluate("one => one.getBoundingClientRect().top") < 300
    today.locator("input").first.check()
    opened_again(page, "details.today input:checked")
    expect(today.locator("input").first).to_be_checked()
    expect(today.locator("input:checked")).to_have_count(1)
    assert set(asked) == {(tmp_path / "phone.html").as_uri()}
    assert faults == []
    small = page.evaluate(
        "[...document.querySelectorAll('a, input, summary')].filter(one => one.offsetParent)"
        ".map(one => one.getBoundingClientRect()).filter(box => box.width < 44 || box.height < 44).length"
    )
    assert small == 0
    for width in (320, 390):
        page.set_viewport_size({"width": width, "height": 700})
        assert page.evaluate("document.documentElement.scrollWidth") <= width
    page.close()


@pytest.mark.slow
@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("name", ["five", "refer_now", "refer_soon", "no_room"])
def test_the_file_has_no_barrier_that_axe_knows(chromium: Browser, tmp_path: Path, name: str, scheme: str) -> None:
    html = re.sub(r"<meta http-equiv=[^>]*>", "", phone_html(fixtures()[name]))  # the policy would bar axe itself
    (tmp_path / "phone.html").write_text(html, encoding="utf-8")
    page = chromium.new_page(viewport={"width": 390, "height": 844}, color_scheme=scheme)  # type: ignore[arg-type]
    page.goto((tmp_path / "phone.html").as_uri())
    assert Axe().run(page).response["violations"] == []
    page.close()
