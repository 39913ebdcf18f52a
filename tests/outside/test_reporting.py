"""The sheet held to three published lists: what an exercise report, an intervention and a handout must say."""

from __future__ import annotations

import io
import json
import re
from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

import pikepdf
import pypdfium2
import pytest

from homecare.core.readability import grade, sentences
from homecare.library.lint_words import active_voice
from homecare.library.load import load_library
from homecare.workflow import make_sheet
from tests.render.pages import letters

DATA = Path(__file__).parents[1] / "data"

CERT = "Slade SC et al. 2016, Br J Sports Med 50:1428-37, table 1"
TIDIER = "Hoffmann TC et al. 2014, BMJ 348:g1687"
PEMAT = "Shoemaker SJ et al. 2014, Patient Educ Couns 96:395-403 (PEMAT-P)"


@dataclass(frozen=True)
class Made:
    """A sheet, its pages as text, its plan and note, and the next visit's plan after ticks were counted."""

    pdf: bytes
    front: str
    back: str
    plan: Any
    note: str
    later: Any

    @property
    def text(self) -> str:
        """Both pages."""
        return f"{self.front}\n{self.back}"


@dataclass(frozen=True)
class Item:
    """One item of a list, what on drill or sheet answers it, and the check that this is so."""

    id: str
    asks: str
    answered_by: str
    check: Callable[[Made], object]


@lru_cache(maxsize=1)
def _made(folder: Path) -> Made:
    clinic = folder / "clinic.yaml"
    clinic.write_text("name: Low Gate Rooms\nweb: https://lowgate.example\n")
    files = make_sheet(DATA / "rower.yaml", clinic=clinic)
    pages = [page.get_textpage().get_text_range() for page in pypdfium2.PdfDocument(files.pdf)]
    front, back = (re.sub(r"\s+", " ", page) for page in pages)
    (folder / "plan.json").write_bytes(files.plan)
    plan = json.loads(files.plan)
    first = plan["drills"][0]["id"]
    visit = (DATA / "rower.yaml").read_text().replace("start: 2026-05-04", "start: 2026-05-18")
    visit = visit.replace("clinic_visits: [2026-05-07]\n", "")
    visit += (
        f"last: {{plan: plan.json, done: {{{first}: 9}}, response: {{{first}: settled}}, ratings: [[2026-05-05, 4]]}}\n"
    )
    (folder / "visit.yaml").write_text(visit)
    later = json.loads(make_sheet(folder / "visit.yaml").plan)
    return Made(files.pdf, front, back, plan, files.note.decode(), later)


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Made:
    return _made(tmp_path_factory.mktemp("reporting"))


def drills(made: Made) -> list[Any]:
    found: list[Any] = made.plan["drills"]
    assert found
    return found


def kit_is_named(made: Made) -> bool:
    """Every drill that needs something names it in its steps, so that the sheet says what to fetch."""
    library = load_library()
    said: dict[str, tuple[str, ...]] = {one: (one,) for one in library.kit}
    said |= {"dumbbell": ("bottle", "weight"), "cushion": ("cushion", "pillow"), "strap": ("strap", "belt")}
    missing = [
        (drill.id, one)
        for drill in library.drills.values()
        for one in drill.kit
        if not any(word in " ".join(drill.steps).lower() for word in said[one])
    ]
    assert missing == []
    return "ball" in made.back


def every_step_of_dose(made: Made) -> bool:
    """Each step that a drill comes to stands on the back with its number, and its first day."""
    for number, drill in enumerate(drills(made), 1):
        block = made.back.split(f"{number} {drill['name']}")[1]
        for step in range(1, len(drill["steps"]) + 1):
            assert f"step {step}" in block
    return "not before" in made.back


def doses(made: Made) -> bool:
    """Sets, repetitions or holds and times a day are on paper for each drill's first step."""
    for drill in drills(made):
        rung = drill["rungs"][drill["start_rung"]]
        work = f"{rung['sets'] * rung['reps']} × {rung['hold_s']} seconds" if rung["hold_s"] else f"{rung['reps']} slow"
        assert work in made.back, drill["id"]
        assert rung["times"] == 1 or f"{rung['times']} a day" in made.back
    return True


def figures_with_words(made: Made) -> bool:
    """Each drill has a figure with an alt text in the PDF, and its steps in full."""
    library = load_library()
    for drill in drills(made):
        record = library.drills[drill["id"]]
        assert record.figure is not None
        for step in record.steps:
            assert step.replace("{side}", "right").replace("{other}", "left") in made.back
    with pikepdf.open(io.BytesIO(made.pdf)) as pdf:
        tagged = [one for one in pdf.objects if isinstance(one, pikepdf.Dictionary) and one.get("/S") == "/Figure"]
        return len(tagged) > len(drills(made)) and all(str(one.get("/Alt", "")) for one in tagged)


CERT_ITEMS = [
    Item("1", "type of equipment", "each drill's kit, named in its steps", kit_is_named),
    Item(
        "2", "provider's qualifications", "who prepared it, as they sign", lambda m: "prepared by R. Quill" in m.front
    ),
    Item("3", "individual or group", "made out to one athlete", lambda m: "Home care for Ansel D." in m.front),
    Item("4", "supervised or not, how delivered", "home care, on paper and phone", lambda m: "On a phone:" in m.front),
    Item(
        "5", "how adherence is measured", "boxes to tick, counted again", lambda m: m.later["check_in"][0]["response"]
    ),
    Item(
        "6",
        "motivation",
        "what it is for, by when better",
        lambda m: "What this is for" in m.front and "By Thursday 14 May" in m.front,
    ),
    Item(
        "7a",
        "rule for progression",
        "judge by the next morning",
        lambda m: "Go to the next step when it is due" in m.front,
    ),
    Item("7b", "how it progresses", "the steps below each drill", every_step_of_dose),
    Item("8", "each exercise replicable", "figure with words, steps", figures_with_words),
    Item("9", "home component", "all of it is at home", lambda m: "Home care" in m.front and "evening" in m.front),
    Item("10", "parts that are no exercise", "what to ease off", lambda m: "Ease off:" in m.front),
    Item("11", "adverse events", "when to stop and call", lambda m: "Stop, and call the clinic if" in m.front),
    Item(
        "12",
        "setting",
        "where each is done, in its first step",
        lambda m: re.search(r"1 (Sit|Stand|Lie|Kneel|Hold|Rest)", m.back),
    ),
    Item("13", "dosage", "sets, repetitions, holds, times", doses),
    Item("14a", "generic or tailored", "chosen by what was found", lambda m: all(d["because"] for d in drills(m))),
    Item(
        "14b", "how it is tailored", "the findings in the note", lambda m: "FOUND" in m.note and "found tight" in m.note
    ),
    Item(
        "15",
        "rule for the starting level",
        "rung by irritability",
        lambda m: all("start_rung" in d and d["irritability"] for d in drills(m)),
    ),
    Item(
        "16a", "fidelity measured", "ticks and the 0 to 10 at the check-in", lambda m: "Tick a box each time" in m.front
    ),
    Item(
        "16b",
        "delivered as planned",
        "what was done moves the dose",
        lambda m: m.later["check_in"][0]["change"] in ("up", "hold", "down", "off"),
    ),
]

TIDIER_ITEMS = [
    Item("1", "name", "each drill's name", lambda m: all(d["name"] in m.back for d in drills(m))),
    Item(
        "2",
        "why",
        "what this is for; the note's reasons",
        lambda m: "What this is for" in m.front and "WHAT COULD BE BEHIND IT" in m.note,
    ),
    Item("3", "what: materials", "kit, sheet and phone page", kit_is_named),
    Item("4", "what: procedures", "steps and figures", figures_with_words),
    Item("5", "who provided", "who prepared it", lambda m: "R. Quill" in m.front),
    Item("6", "how", "home care on paper, one athlete", lambda m: "Home care for" in m.front),
    Item("7", "where", "at home", lambda m: "Home care" in m.front),
    Item(
        "8",
        "when and how much",
        "the day plan and the doses",
        lambda m: "Week 1" in m.front and "Week 2" in m.front and doses(m),
    ),
    Item("9", "tailoring", "because, irritability, the week", lambda m: "easy" in m.front and "hard" in m.front),
    Item(
        "10",
        "modifications",
        "steps up and back by the morning",
        lambda m: "Step back" in m.front and "Hold" in m.front,
    ),
    Item(
        "11",
        "how well: planned",
        "wanted and planned days in the plan",
        lambda m: all(d["days_wanted"] >= d["days_planned"] > 0 for d in drills(m)),
    ),
    Item("12", "how well: actual", "what was done, at the next visit", lambda m: m.later["check_in"][0]["because"]),
]


def active(made: Made) -> bool:
    """No step is in the passive; the lint rule of that name tells."""
    return not list(active_voice(load_library()))


def everyday_words(made: Made) -> bool:
    """The whole sheet at grade 6 or lower by its own text, labels left out."""
    found = [part for drill in load_library().drills.values() for part in sentences(drill.steps)]
    return grade(found) <= 6


def short_chunks(made: Made) -> bool:
    return all(len(step.split()) <= 15 for drill in load_library().drills.values() for step in drill.steps)


def large_enough(made: Made) -> bool:
    return min(letter.size for letter in letters(made.pdf)) >= 9.99


PEMAT_ITEMS = [
    Item(
        "1",
        "purpose evident",
        "what this is for, first",
        lambda m: m.front.index("What this is for") < m.front.index("Week 1"),
    ),
    Item("2", "nothing that distracts", "only these drills", lambda m: len(drills(m)) <= 6),
    Item("3", "everyday words", "grade 6", everyday_words),
    Item(
        "4",
        "terms only to teach, defined",
        "the glossary's words are kept out",
        lambda m: "extensor" not in m.text.lower(),
    ),
    Item("5", "active voice", "the lint rule", active),
    Item("6", "numbers clear", "5 out of 10, 3 × 20 seconds", lambda m: "up to 5 out of 10" in m.front),
    Item(
        "7",
        "no calculations",
        "every day's dose written out",
        lambda m: "%" not in m.text and "half as often" in m.front,
    ),
    Item("8", "short chunks", "steps of 15 words at most", short_chunks),
    Item(
        "9",
        "informative headers",
        "of each part",
        lambda m: all(head in m.front for head in ("What this is for", "Week 1", "How did it go?", "Stop, and call")),
    ),
    Item(
        "10",
        "logical order",
        "for what, days, judging, stopping; then the drills",
        lambda m: m.front.index("Week 1") < m.front.index("How did it go?") < m.front.index("Stop, and call"),
    ),
    Item("11", "a summary", "the drills in one line of the purpose", lambda m: "These 4 drills are to" in m.front),
    Item("12", "visual cues", "numbers and marks for kinds and steps", lambda m: "step 2" in m.back),
    Item("15", "visual aids where they help", "a figure a drill", figures_with_words),
    Item("16", "aids reinforce the text", "drawn from the same angles as the words", figures_with_words),
    Item("17", "titles or captions", "Start, End", lambda m: "Start" in m.back and "End" in m.back),
    Item("18", "pictures clear", "letters of 10 points and more", large_enough),
    Item("19", "simple tables", "one a week, with day names", lambda m: len(re.findall(r"\bMon\b", m.front)) == 2),
    Item("20", "one action named", "the day plan", lambda m: "Tick a box each time" in m.front),
    Item("21", "addresses the user", "you, your", lambda m: "You feel tingling" in m.front),
    Item("22", "explicit steps", "numbered steps", lambda m: all(f"{n} " in m.back for n in (1, 2, 3, 4))),
    Item("23", "a tangible tool", "boxes to tick", lambda m: "A dash is a day off" in m.front),
    Item("24", "how to do a calculation", "there is none to do", lambda m: "%" not in m.text),
    Item(
        "25",
        "how to use charts",
        "one line under the week",
        lambda m: "Tick a box each time. A dash is a day off." in m.front,
    ),
    Item("26", "aids to act", "figures beside the steps", figures_with_words),
]


@pytest.mark.parametrize("item", CERT_ITEMS, ids=lambda item: f"{item.id} {item.asks}")
def test_consensus_on_exercise_reporting(item: Item, made: Made) -> None:
    assert item.check(made), f"{CERT}, item {item.id}: {item.answered_by}"


@pytest.mark.parametrize("item", TIDIER_ITEMS, ids=lambda item: f"{item.id} {item.asks}")
def test_template_for_intervention_description(item: Item, made: Made) -> None:
    assert item.check(made), f"{TIDIER}, item {item.id}: {item.answered_by}"


@pytest.mark.parametrize("item", PEMAT_ITEMS, ids=lambda item: f"{item.id} {item.asks}")
def test_handout_assessment(item: Item, made: Made) -> None:
    assert item.check(made), f"{PEMAT}, item {item.id}: {item.answered_by}"


def test_the_lists_are_whole() -> None:
    """CERT: 16 items in 19 parts. TIDieR: 12. PEMAT-P: 17 of understanding (1-12, 15-19), 7 of acting (20-26)."""
    assert len(CERT_ITEMS) == 19
    assert len({re.match(r"\d+", item.id)[0] for item in CERT_ITEMS}) == 16  # type: ignore[index]
    assert [item.id for item in TIDIER_ITEMS] == [str(n) for n in range(1, 13)]
    assert [item.id for item in PEMAT_ITEMS] == [str(n) for n in (*range(1, 13), *range(15, 27))]
