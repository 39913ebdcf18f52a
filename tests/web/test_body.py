"""Several findings at one place of the body: each number is seen, and none hides that of another place."""

from __future__ import annotations

import re
from contextlib import closing
from itertools import combinations
from pathlib import Path

import pytest
from playwright.sync_api import Browser, expect

from homecare.desk import create_app
from homecare.desk.body import places_css
from homecare.figure.body_map import body_map
from homecare.library.load import load_library
from tests.web.browser import served
from tests.web.hands import holds
from tests.web.test_desk import VISIT, draft_of, post

FOUND = {
    **VISIT,
    "symptom-0-zones": ["calf"],
    "symptom-0-side": "left",
    "finding-1-tissue": "gastrocnemius",
    "finding-1-side": "both",
    "finding-1-found": "tender",
}
"""Three findings at the left calf, one at the right."""

INSIDE = """() => {
  const badge = document.querySelector("#at-calf-left b"), words = document.createRange();
  words.selectNodeContents(badge);
  const [text, box] = [words, badge].map((one) => one.getBoundingClientRect());
  return text.left >= box.left && text.right <= box.right && text.top >= box.top && text.bottom <= box.bottom;
}"""


def test_every_finding_of_a_place_is_told(tmp_path: Path) -> None:
    _, page = post(create_app(data=tmp_path).test_client(), FOUND)
    several, single = (re.search(rf'id="at-calf-{side}".*?</button>', page) for side in ("left", "right"))
    assert several
    assert single
    assert 'aria-label="left: calf, findings 1, 2 and 3"' in several[0]
    assert "<b>1, 2, 3</b>" in several[0]
    assert 'aria-label="right: calf, finding 2"' in single[0]
    assert "<b>2</b>" in single[0]


def test_numbers_grow_away_from_the_middle_of_the_body() -> None:
    body = body_map(load_library().surfaces)
    said = dict(re.findall(r"\.at-(\S+) \{.*?justify-items: (\w+);", places_css(body)))
    assert said.keys() == {one.key for one in body.places}
    for one, other in combinations(body.places, 2):
        if one.region is other.region:
            left, right = sorted((one, other), key=lambda place: place.x)
            assert (said[left.key], said[right.key]) == ("end", "start")


@pytest.mark.slow
def test_numbers_stand_within_their_badge_and_hide_no_other(chromium: Browser, tmp_path: Path) -> None:
    app = create_app(data=tmp_path)
    draft = draft_of(post(app.test_client(), FOUND)[1])
    with served(app) as address, closing(chromium.new_page()) as page:
        for width in (390, 1280):
            page.set_viewport_size({"width": width, "height": 844})
            page.goto(address + draft)
            badge = page.locator("#at-calf-left b")
            expect(badge).to_have_text("1, 2, 3")
            holds(page, INSIDE)
            box, other = badge.bounding_box(), page.locator("#at-calf-right").bounding_box()
            assert box
            assert other
            assert box["x"] + box["width"] <= other["x"]
