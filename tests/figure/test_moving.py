"""The moving figure: its numbers make the outlines that the model has, it stays small, and its script plays it."""

from __future__ import annotations

import gzip
import re
from collections.abc import Iterator
from xml.etree import ElementTree as ET

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from playwright.sync_api import Browser, Page, expect

from homecare.figure.moving import encoded, moving_svg
from homecare.figure.outline import WAYS
from homecare.figure.skeleton import Array
from homecare.resources import resource_dir
from tests.figure.drawings import BENT, CALF, LUNGE, SCIATIC, STRAIGHT, ends, on_the_way, posed, scene
from tests.web.browser import browser

BOX = (80.0, 60.0)
RAW, ZIPPED = 14_000, 4_000
WAY = on_the_way(BENT, STRAIGHT)
SCENE = scene(STRAIGHT, BENT, targets=(CALF,))


def drawn(mirror: bool = False) -> ET.Element:
    return ET.fromstring(moving_svg(WAY, SCENE, BOX, "The leg straightens.", mirror))


def decoded(texts: list[str]) -> list[Array]:
    """The numbers of each pose, as the script reads them."""
    found: list[Array] = []
    for text in texts:
        words = [float(one) for one in re.findall(r"-?\d+", text)]
        if not found:
            found.append(np.array(words))
            continue
        miss = np.zeros_like(found[0])
        miss[: len(words)] = words
        found.append(miss + (found[-1] if len(found) == 1 else 2 * found[-1] - found[-2]))
    return found


def moving_parts(root: ET.Element) -> list[tuple[list[str], list[Array]]]:
    found = []
    for one in root.iter():
        if frames := one.get("data-frames"):
            made, *texts = frames.split("|")
            found.append((made.split(" "), decoded(texts)))
    return found


@given(st.lists(st.lists(st.floats(-900, 900), min_size=4, max_size=4), min_size=5, max_size=7))
def test_numbers_come_back_to_a_tenth(rows: list[list[float]]) -> None:
    found = decoded(encoded([np.array(row) for row in rows]))
    assert len(found) == len(rows)
    assert np.abs(np.array(found) - np.array(rows)).max() <= 1.5


def test_it_is_small_has_no_script_and_says_what_it_shows() -> None:
    text = moving_svg(WAY, SCENE, BOX, 'The "leg" straightens.')
    assert len(text.encode()) <= RAW
    assert len(gzip.compress(text.encode(), 9)) <= ZIPPED
    assert "<script" not in text
    assert "style=" not in text
    root = ET.fromstring(text)
    assert root.get("role") == "img"
    assert root.get("aria-label") == root[0].text == 'The "leg" straightens.'
    assert root.get("data-moving") == "5"


def test_each_part_has_its_numbers_at_five_poses() -> None:
    parts = moving_parts(drawn())
    assert len(parts) > 3
    for made, poses in parts:
        assert len(poses) == 5
        assert len({len(one) for one in poses}) == 1
        if made[0] != "l":
            each = [2 if word.lstrip("~").startswith("b") else 4 for word in made]
            assert len(poses[0]) == sum(each)


def test_what_does_not_move_carries_no_numbers() -> None:
    """Of the standing leg and the trunk nothing moves, so that only the leg, the arm and the target do."""
    root = drawn()
    every = [one for one in root.iter() if one.get("id") and one.tag.endswith("}path")]
    assert 4 <= len(moving_parts(root)) <= len(every) / 2


def test_ids_are_used_and_unique_between_figures() -> None:
    text, other = moving_svg(WAY, SCENE, BOX, "x"), moving_svg(WAY[::-1], SCENE, BOX, "x", mirror=True)
    ids = re.findall(r' id="([^"]+)"', text)
    assert len(set(ids)) == len(ids)
    assert set(re.findall(r'href="#([^"]+)"', text)) <= set(ids)
    assert not set(ids) & set(re.findall(r' id="([^"]+)"', other))


def reach(made: list[str], numbers: Array) -> Array:
    """How far a part reaches in 96 directions, in tenths of a millimetre, by the rule of the script."""
    found, at = [], 0
    for word in made:
        radius, _, rest = word[1:].partition(",")
        r = float(radius)
        place = WAYS @ numbers[at : at + 2]
        if word[0] == "b":
            found.append(place + r)
            at += 2
            continue
        normal = numbers[at + 2 : at + 4] / 100
        along = WAYS @ normal
        deep = np.sqrt(max(0.0, 1 - float(normal @ normal)))
        across = np.sqrt(((WAYS - along[:, None] * normal) ** 2).sum(axis=1) + (along * deep) ** 2)
        height = float(rest) if rest else 0.0
        flat = place + height * along + np.sqrt(max(0.0, r * r - height * height)) * across
        found.append(np.where(along * r >= height, place + r, flat) if rest else flat)
        at += 4
    best: Array = np.max(found, axis=0)
    return best


def test_the_numbers_make_the_outlines_of_the_model() -> None:
    """At the end pose each part's balls, discs and caps reach as far as the outline that is drawn without a script."""
    way = on_the_way(posed({}), LUNGE)
    root = ET.fromstring(moving_svg(way, scene(LUNGE, way[0]), BOX, "x"))
    unit = float(root.get("data-unit", ""))
    kinds = set()
    for one in root.iter():
        frames = one.get("data-frames", "")
        if not frames or frames[0] in "~l":
            continue
        made, *texts = frames.split("|")
        kinds |= {word[0] for word in made.split(" ")}
        corners = np.array([point for run in ends(one.get("d", "")) for point in run]) / unit
        model = reach(made.split(" "), decoded(texts)[-1])
        off = (corners @ WAYS.T - model).max(axis=1)
        assert np.abs(off).max() <= 2.0, made
    assert kinds == {"b", "c", "d"}


def test_the_left_is_the_mirror() -> None:
    right, left = moving_parts(drawn()), moving_parts(drawn(mirror=True))
    wide = float(drawn().get("viewBox", "").split()[2]) / float(drawn().get("data-unit", ""))
    assert len(right) == len(left)
    for (made, poses), (_, turned) in zip(right, left, strict=True):
        if all(word.lstrip("~")[0] in "bl" for word in made):
            assert np.abs(poses[0][0::2] + turned[0][0::2] - wide).max() <= 1.5
            assert np.abs(poses[0][1::2] - turned[0][1::2]).max() <= 1


def test_a_nerve_moves_as_a_dashed_line() -> None:
    root = ET.fromstring(moving_svg(WAY, scene(STRAIGHT, BENT, targets=(SCIATIC,)), BOX, "x"))
    assert [made for made, _ in moving_parts(root) if made == ["l"]]
    assert [one for one in root.iter() if one.get("stroke-dasharray")]


PAGE = "<!doctype html><title>x</title><div data-figure><button data-pause hidden>x</button>{}</div><script>{}</script>"
STATE = "[...document.querySelectorAll('[data-frames]')].map(one => one.getAttribute('d')).join()"


@pytest.fixture(scope="module")
def chromium() -> Iterator[Browser]:
    with browser() as running:
        yield running


def opened(chromium: Browser, calm: bool) -> tuple[Page, list[str]]:
    page = chromium.new_context(reduced_motion="reduce" if calm else "no-preference").new_page()
    faults: list[str] = []
    page.on("pageerror", lambda fault: faults.append(str(fault)))
    page.clock.install(time="2026-05-05T08:00:00")
    page.clock.pause_at("2026-05-05T08:10:00")  # so that it moves as far as the test says, and no farther
    script = (resource_dir("templates") / "phone" / "figure.js").read_text(encoding="utf-8")
    page.set_content(PAGE.format(moving_svg(WAY, SCENE, BOX, "x"), script))
    return page, faults


def state(page: Page) -> str:
    found: str = page.evaluate(STATE)
    return found


@pytest.mark.slow
def test_it_plays_and_stops(chromium: Browser) -> None:
    page, faults = opened(chromium, calm=False)
    page.clock.run_for(2500)
    first = state(page)
    page.clock.run_for(600)
    second = state(page)
    assert first != second
    page.click("[data-pause]")
    page.clock.run_for(100)
    held = state(page)
    page.clock.run_for(900)
    assert state(page) == held
    expect(page.locator("[data-pause]")).to_have_text("Show it moving")
    assert "NaN" not in held
    assert not faults


@pytest.mark.slow
def test_where_less_motion_is_wanted_it_only_answers_a_tap(chromium: Browser) -> None:
    page, faults = opened(chromium, calm=True)
    still = state(page)
    page.clock.run_for(3000)
    assert state(page) == still
    page.click("[data-pause]")
    start = state(page)
    assert start != still
    page.clock.run_for(3000)
    assert state(page) == start
    page.click("[data-pause]")
    assert state(page) not in (start,)
    assert not faults
