"""Ten thousand damaged and forged fragments of links: refused in words or read within reason, never an error."""

from __future__ import annotations

import random
import re
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from functools import lru_cache

import pytest
from playwright.sync_api import Page

from homecare.core.base36 import check_figures
from homecare.core.drill import DOSE_LIMITS, Rung
from homecare.core.findings import MAX_DAYS
from homecare.library.load import load_library
from homecare.phone import create_app
from homecare.render.dose_words import dose_words
from homecare.render.links import (
    SHEET_LIMIT,
    DrillDose,
    Refusal,
    SheetDays,
    drill_link,
    link_fragment,
    read_drill,
    read_sheet,
)
from tests.render.sheets import WEB, make_sheet
from tests.web.browser import Watched, browser, served

SEED, EACH = 20260302, 5_000
CODE = "AG"
PATHS = {False: CODE, True: "S"}
"""What the check covers beside the fragment, for a drill's and a sheet's."""
LETTERS = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ.:/+%*-_#" + "abz<>\"'`&=; \t\n\0½ü٣四\U0001d7d9\u202e\ufeff"
MARKUP = (
    *(
        "<b>",
        "<img src=x onerror=alert(1)>",
        "<script>alert(1)</script>",
        "</p><h1>",
        "&lt;b&gt;",
        "javascript:alert(1)",
    ),
    *("%3Cimg%20src=x%20onerror=alert(1)%3E", "LX%3CB%3E", "L%E2%80%AE", "L%FF", "L%", "L%ED%A0%80"),
)
NUMBERS = ("0", "00", "-1", "+1", "1E9", "99999", "9" * 20, "9" * 6_000, "Z" * 120, "Z" * 6_000, "٣", "_1", " 1", "NaN")


@dataclass(frozen=True)
class Case:
    """One damaged fragment, of a drill's link or a sheet's; a `forged` one has a check that holds all the same."""

    of_sheet: bool
    fragment: str
    forged: bool


def whole_fragments(of_sheet: bool) -> list[str]:
    """Fragments as they are printed: every kind of dose, and sheets at each level."""
    if of_sheet:
        made = [make_sheet(*size, spread=20) for size in ((1, 1), (3, 14), (5, 14), (3, 28), (6, 84), (14, 84))]
        return [link_fragment(sheet.sheet_link) for sheet in made]
    loaded = [Rung(3, 12, tempo_s=4, load="7½ kg"), Rung(2, 8, 5, 3, 60, 20, 3, "yellow band")]
    ladders = [drill.rungs for drill in make_sheet(7).drills] + [loaded]
    return [link_fragment(drill_link(WEB, CODE, side, rungs, 0)) for rungs in ladders for side in ("left", "both")]


def flip(chance: random.Random, text: str) -> str:
    at = chance.randrange(len(text))
    return text[:at] + chance.choice(LETTERS) + text[at + 1 :]


def cut(chance: random.Random, text: str) -> str:
    start = chance.randrange(len(text))
    return text[:start] + text[start + chance.choice((1, 2, 5, len(text))) :]


def swap(chance: random.Random, text: str) -> str:
    one, two = sorted(chance.choices(range(len(text)), k=2))
    return text if one == two else text[:one] + text[two] + text[one + 1 : two] + text[one] + text[two + 1 :]


def put_in(chance: random.Random, text: str) -> str:
    at = chance.randrange(len(text) + 1)
    return text[:at] + chance.choice((chance.choice(LETTERS), chance.choice(MARKUP))) + text[at:]


def lengthen(chance: random.Random, text: str) -> str:
    start = chance.randrange(len(text))
    part = text[start : start + chance.choice((1, 3, 12))]
    return text[:start] + part * chance.choice((2, 3, 40, 2_000)) + text[start:]


def make_huge(chance: random.Random, text: str) -> str:
    found = chance.choice(list(re.finditer(r"[0-9]+|[0-9A-Z]{3,}", text)))
    return text[: found.start()] + chance.choice(NUMBERS) + text[found.end() :]


DAMAGES: Sequence[Callable[[random.Random, str], str]] = (flip, cut, swap, put_in, lengthen, make_huge)


@lru_cache
def cases() -> tuple[Case, ...]:
    """Drills' and sheets' in equal parts; half with the check as it was, half with one that holds again."""
    chance = random.Random(SEED)
    whole = {of_sheet: whole_fragments(of_sheet) for of_sheet in (False, True)}
    made = []
    for number in range(2 * EACH):
        of_sheet, forged = number % 2 == 1, number % 4 >= 2
        text = before = chance.choice(whole[of_sheet])
        if forged:
            text = text.rpartition(".")[0]
        for _ in range(chance.choice((1, 1, 1, 2, 3))):
            text = chance.choice(DAMAGES)(chance, text) or "."
        if forged:
            text = f"{text}.{check_figures(f'{PATHS[of_sheet]}#{text}')}"
        if text != before:
            made.append(Case(of_sheet, text, forged))
    return tuple(made)


def read(case: Case) -> DrillDose | SheetDays | Refusal:
    return read_sheet(case.fragment) if case.of_sheet else read_drill(CODE, case.fragment)


def test_what_is_damaged_is_refused_in_words() -> None:
    damaged = [case for case in cases() if not case.forged]
    assert len(damaged) > 0.9 * EACH
    believed = [case for case in damaged if not isinstance(read(case), Refusal)]
    assert believed == [], "by chance one in 1.7 million is believed"


def rungs_of(value: DrillDose | SheetDays) -> Iterator[Rung]:
    if isinstance(value, DrillDose):
        yield from value.rungs
    else:
        for drill in value.drills:
            yield from drill.rungs


def test_what_is_forged_is_refused_or_read_within_reason() -> None:
    """A check that holds proves nothing of who made the link, so every value is held to what a dose may be."""
    forged = [case for case in cases() if case.forged]
    answers = [read(case) for case in forged]
    values = [answer for answer in answers if not isinstance(answer, Refusal)]
    assert {type(value) for value in values} == {DrillDose, SheetDays}
    assert min(len(values), len(answers) - len(values)) > 0.05 * EACH, "both ways are well tried"
    for value in values:
        for rung in rungs_of(value):
            assert all(low <= getattr(rung, name) <= high for name, (low, high) in DOSE_LIMITS.items()), rung
            assert len(rung.load) <= SHEET_LIMIT
            assert "\ufffd" not in rung.load
        if isinstance(value, DrillDose):
            assert value.start_rung < len(value.rungs)
            continue
        assert value.length <= MAX_DAYS
        for drill in value.drills:
            assert re.fullmatch("[A-Z]{2,3}", drill.code)
            assert all((day - value.start).days < value.length for day in (*drill.days, *drill.step_dates))


READ = """cases => cases.map(([ofSheet, fragment]) => {
  const read = ofSheet ? homecareDays.readSheet(fragment) : homecareDose.readDose("AG", fragment);
  if (read.refused) { return read.refused; }
  if (!ofSheet) { return read.rungs.map(homecareDose.doseWords); }
  return read.drills.map((one) => [one.code, one.days.toString(), one.rung && homecareDose.doseWords(one.rung)]);
})"""
"""The verdict of the phone's own scripts on many fragments."""


def verdict(case: Case) -> object:
    """What `READ` should answer: the refusal's words, or what was read."""
    answer = read(case)
    if isinstance(answer, Refusal):
        return answer.because
    if isinstance(answer, DrillDose):
        return [dose_words(rung) for rung in answer.rungs]
    return [
        [
            one.code,
            str(sum(1 << (day - answer.start).days for day in one.days)),
            dose_words(one.rungs[0]) if one.rungs else None,
        ]
        for one in answer.drills
    ]


@contextmanager
def watched_page() -> Iterator[tuple[Page, str, list[str]]]:
    """A page of the phone at the width of one, the address of the pages, and whatever it complained of."""
    with served(create_app(load_library())) as address, browser() as chromium:
        watched = Watched(chromium, 390)
        watched.page.on("dialog", lambda dialog: watched.complaints.append(f"dialog: {dialog.message}"))
        yield watched.page, address, watched.complaints
        watched.page.close()


SHOW = """async ([fragments, steps]) => {
  const place = document.getElementById("dose"), inside = () => Array.from(place.querySelectorAll("*"));
  const shown = () => Array.from(document.querySelectorAll("main ol li"), (one) => one.textContent);
  const others = () => document.querySelectorAll("*").length - inside().length;
  const before = others(), wrong = [];
  const note = (holds, what, fragment) => { if (!holds) { wrong.push(what + ": " + fragment); } };
  for (const fragment of fragments) {
    const changed = new Promise((done) => window.addEventListener("hashchange", done, { once: true }));
    const hash = location.hash;
    location.hash = fragment;
    if (location.hash !== hash) { await changed; }
    const read = homecareDose.readDose(place.dataset.code, location.hash.slice(1));
    const allowed = read.refused ? 1 : (read.side ? 1 : 0) + 1 + 4 * (read.rungs.length - read.start);
    note(inside().length === allowed, "count", fragment);
    note(inside().every((one) => ["p", "ul", "li", "span", "br", "b"].includes(one.localName)), "kind", fragment);
    note(inside().every((one) => one.getAttributeNames().every((own) => own === "class")), "attribute", fragment);
    note(others() === before, "around", fragment);
    note(JSON.stringify(shown()) === JSON.stringify(steps), "steps", fragment);
  }
  return wrong;
}"""
"""Fragments that bring anything but text onto a drill's page, or take its steps away, as each is opened in turn."""


@pytest.mark.slow
def test_the_phones_scripts_judge_as_this_does_and_nothing_gets_onto_the_page() -> None:
    chance = random.Random(SEED)
    with watched_page() as (page, address, complaints):
        page.goto(f"{address}/S")
        said = page.evaluate(READ, [[case.of_sheet, case.fragment] for case in cases()])
        for case, words in zip(cases(), said, strict=True):
            assert words == verdict(case), case
        _holds_on_a_drills_page(page, address, chance)
        _holds_on_the_sheets_page(page, address, chance)
        assert complaints == []


def _holds_on_a_drills_page(page: Page, address: str, chance: random.Random) -> None:
    """The page listens while hundreds of fragments are opened on it."""
    drill = next(iter(load_library().drills.values()))
    page.goto(f"{address}/{drill.code}")
    steps = page.locator("main ol li").all_text_contents()
    assert steps
    bodies = [case.fragment.rpartition(".")[0] for case in chance.sample(cases(), 400)]
    fragments = [f"{body}.{check_figures(f'{drill.code}#{body}')}" for body in bodies]
    marked_up = [Rung(1, 10, load="<img src=x onerror=alert(1)>")]
    fragments.append(link_fragment(drill_link(WEB, drill.code, "right", marked_up, 0)))
    assert "%3CIMG" in fragments[-1]
    assert page.evaluate(SHOW, [[*fragments, *MARKUP], steps]) == []


AROUND = "document.querySelectorAll('*').length - document.querySelectorAll('#all *').length"
SEEN = f"""[{AROUND}, Array.from(document.querySelectorAll("#all script, #all img, #all h1"), (one) => one.localName),
  location.hash.slice(1), document.querySelectorAll("#all > li").length]"""
"""Elements around the list, such as should not be in it, the fragment as the page reads it, and the list's rows."""


def _holds_on_the_sheets_page(page: Page, address: str, chance: random.Random) -> None:
    """The page loads anew for each fragment: only rows of the list change, by text alone."""
    page.goto(f"{address}/S")
    rows = page.locator("#all > li").count()
    around, compared = page.evaluate(AROUND), 0
    read_ones = [case for case in cases() if case.of_sheet and not isinstance(read(case), Refusal)]
    others = [case for case in cases() if case.of_sheet and isinstance(read(case), Refusal)]
    for case in (*chance.sample(read_ones, 30), *chance.sample(others, 50)):
        page.goto("about:blank")
        page.goto(f"{address}/S")
        with page.expect_event("load"):
            page.evaluate("fragment => { location.hash = fragment; }", case.fragment or "x")
        now, inside, hash_, shown = page.evaluate(SEEN)
        answer = read(case)
        assert now == around, case
        assert inside == [], case
        if hash_ == case.fragment:  # else the browser wrote a sign in it as %XX
            assert shown == rows if isinstance(answer, Refusal) else shown <= len(answer.drills), case  # type: ignore[union-attr]
            compared += 1
    assert compared > 40
