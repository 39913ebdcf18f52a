"""A visit goes into the form and out again as the same visit, so that nobody who opens one loses a word of it."""

from __future__ import annotations

import datetime
from dataclasses import replace
from pathlib import Path

import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st

from homecare.core.findings import Visit
from homecare.core.problems import Source
from homecare.desk.form import Form, form_text, read_form_text
from homecare.desk.form_of_visit import form_from_visit
from homecare.desk.visit_text import visit_text
from homecare.library.load import Library, load_library
from homecare.library.visit import parse_visit

ROOT = Path(__file__).parents[2]
WRITTEN = [
    *(ROOT / "tests/data" / name for name in ("rower.yaml", "canoeist.yaml")),
    *sorted((ROOT / "demo/visits").glob("*.yaml")),
]
EVERYTHING = """
athlete: "Ilse W. \\"K\\""
age: 15
prepared_by: P. Arden
start: 2026-03-02
days: 21
minutes: {mon: 10, wed: 0, sat: 25.5}
week: {tue: hard}
event: [2026-03-28, 2026-03-14]
treated: {Soleus: deep, quadriceps: light}
clinic_visits: [2026-03-05, {date: 2026-03-09, treated: [pronator_teres]}, {date: 2026-03-11, treated: []}]
review_by: 2026-03-12
kit: []
cautions: [anticoagulant, hypermobile]
screen: {flags: [calf_swelling], decision: continue, because: "seen by a doctor: clear"}
findings:
  - {firing: prone_hip_extension, side: left, order: [hamstrings, gluteus maximus]}
  - {test: ulnt1, result: negative}
  - {tissue: soleus, side: left, found: tight}
  - {tissue: soleus, side: right, found: weak}
  - {tissue: thoracic_spine, found: stiff, side: none}
  - {symptom: ache, zones: neck, irritability: high, since: "since Monday", now: 0}
markers:
  - {test: knee_to_wall, side: left, before: 7.5}
  - {test: knee_to_wall, side: right, after: 0}
changed: [shoes, {what: blade, how: "2 mm\\nlonger", when: 2026-02-20}, "two\\nlines"]
pick: [calf_raise_dummy, {drill: soleus_wall_stretch, side: right, because: "it helped"}]
drop: soleus_wall_stretch
cover: [c8_foramen]
doses: {soleus_wall_stretch: {sets: 2, hold_s: 40, load: "6 kg"}}
notes: |
  Ice is fine.
  Call on Friday.
last:
  plan: some-sheet-id
  amendments: [a-slip, another]
  done: {soleus_wall_stretch: 0, some_drill: 7}
  response: {some_drill: sore}
  ratings: [[2026-02-20, 4], [2026-02-25, 0.5]]
""".replace("calf_raise_dummy, ", "")


@pytest.fixture(scope="module")
def library() -> Library:
    return load_library()


def read(text: str, library: Library) -> Visit:
    """A visit, its picks without the lines that they stand in."""
    visit = parse_visit(text, "visit", library)
    return replace(visit, picks=tuple(replace(pick, where=Source("")) for pick in visit.picks))


def through(text: str) -> str:
    """The visit file after it was a form, a draft's text, and a form again."""
    return visit_text(read_form_text(form_text(form_from_visit(text)))).text


@pytest.mark.parametrize("path", WRITTEN, ids=lambda path: path.stem)
def test_a_written_visit_comes_back(path: Path, library: Library) -> None:
    text = path.read_text()
    assert read(through(text), library) == read(text, library)


def test_every_key_of_a_visit_comes_back(library: Library) -> None:
    assert set(yaml.safe_load(EVERYTHING)) == {
        *("athlete", "age", "prepared_by", "start", "days", "minutes", "week", "event", "treated", "clinic_visits"),
        *("review_by", "kit", "cautions", "screen", "findings", "markers", "changed", "pick", "drop", "cover", "doses"),
        *("notes", "last"),
    }
    assert read(through(EVERYTHING), library) == read(EVERYTHING, library)


TEXT = st.text(st.characters(codec="ascii", categories=["L", "N", "P", "Zs"]), min_size=1, max_size=12).map(str.strip)
WORDS = TEXT.filter(bool)
DAYS = st.dates(datetime.date(2026, 5, 4), datetime.date(2026, 6, 30))
SIDE = st.sampled_from(["left", "right", "both"])
DEPTH = st.sampled_from(["light", "firm", "deep"])


def maybe(**fields: st.SearchStrategy[object]) -> st.SearchStrategy[dict[str, object]]:
    return st.fixed_dictionaries({}, optional=fields)


def visits(library: Library) -> st.SearchStrategy[dict[str, object]]:
    """Visits with any of the keys, over some ids of the library."""
    muscles = sorted(key for key, one in library.atlas.tissues.items() if one.kind == "muscle" and one.paired)
    tissue, drill = st.sampled_from(muscles[:12]), st.sampled_from(sorted(library.drills)[:12])
    treated = st.one_of(st.lists(tissue, unique=True), st.dictionaries(tissue, DEPTH, max_size=3))
    finding = st.fixed_dictionaries(
        {"tissue": tissue, "found": st.sampled_from(["tight", "weak"])}, optional={"side": SIDE}
    )
    zone = st.sampled_from(["digit_1", "heel"])
    symptom = st.fixed_dictionaries(
        {
            "symptom": st.just("tingling"),
            "zones": st.lists(zone, min_size=1),
            "side": SIDE,
        },
        optional={"irritability": st.just("high"), "since": WORDS, "now": st.integers(0, 10)},
    )
    change = st.one_of(WORDS, st.fixed_dictionaries({"what": WORDS}, optional={"how": WORDS, "when": WORDS}))
    minutes = st.integers(0, 60)
    span = st.sampled_from(["weekday", "weekend", "mon", "sun"])
    return st.fixed_dictionaries(
        {
            "athlete": WORDS,
            "start": DAYS,
            "findings": st.lists(st.one_of(finding, symptom), min_size=1, max_size=4),
        },
        optional={
            "age": st.integers(5, 90),
            "days": st.integers(1, 84),
            "minutes": st.one_of(minutes, st.dictionaries(span, minutes)),
            "week": st.dictionaries(st.sampled_from(["mon", "sat"]), st.sampled_from(["hard", "rest"])),
            "event": st.lists(DAYS),
            "treated": treated,
            "clinic_visits": st.lists(
                st.one_of(DAYS, st.fixed_dictionaries({"date": DAYS}, optional={"treated": treated})), max_size=3
            ),
            "kit": st.lists(st.sampled_from(["ball", "roller"]), unique=True),
            "screen": st.one_of(
                st.just("clear"),
                maybe(flags=st.lists(st.just("calf_swelling")), decision=st.just("refer"), because=WORDS),
            ),
            "changed": st.lists(change, max_size=3),
            "pick": st.lists(
                st.one_of(drill, st.fixed_dictionaries({"drill": drill}, optional={"side": SIDE, "because": WORDS})),
                max_size=2,
            ),
            "doses": st.dictionaries(drill, maybe(sets=st.integers(1, 3), load=WORDS), max_size=2),
            "drop": st.lists(drill, unique=True, max_size=2),
            "notes": WORDS,
            "last": st.fixed_dictionaries(
                {"plan": WORDS},
                optional={
                    "done": st.dictionaries(drill, st.integers(0, 30), max_size=2),
                    "ratings": st.lists(st.tuples(DAYS, st.integers(0, 10)).map(list), max_size=3),
                },
            ),
        },
    )


@settings(deadline=None, max_examples=150)
@given(data=st.data())
def test_any_visit_comes_back(data: st.DataObject, library: Library) -> None:
    text = yaml.safe_dump(data.draw(visits(library)), allow_unicode=True)
    assert read(through(text), library) == read(text, library)


@pytest.mark.parametrize("text", ["", "[]", "word", "a: 1", "findings: word", "last: [1]", "doses: 3"])
def test_what_is_no_visit_gives_a_form_all_the_same(text: str) -> None:
    assert isinstance(form_from_visit(text), Form)


@pytest.mark.parametrize("text", ["", "[]", "3", '{"a": "b"}'])
def test_what_is_no_draft_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match=r"."):
        read_form_text(text)
