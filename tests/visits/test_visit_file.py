"""Visit files: what is understood, and every fault told at once with its line."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from homecare.core.findings import SetDose
from homecare.core.problems import InputFault
from homecare.library.load import Library
from homecare.library.visit import parse_visit, read_visit

DATA = Path(__file__).parents[1] / "data"
LEAST = "athlete: Mara T.\nstart: 2026-09-07\nfindings:\n  - {tissue: soleus, found: tight}\n"


def faults(text: str, lib: Library) -> list[tuple[int, str, str]]:
    """Line, message and hint of each fault of a visit."""
    with pytest.raises(InputFault) as caught:
        parse_visit(text, "visit.yaml", lib)
    return [(one.source.line, one.message, one.hint) for one in caught.value.problems]


def test_the_least_visit_takes_every_default(lib: Library) -> None:
    visit = parse_visit(LEAST, "visit.yaml", lib)
    assert visit.days == 14
    assert visit.minutes == (12.0,) * 7
    assert visit.week == ("easy",) * 7
    assert visit.age_group == "adult"
    assert visit.kit == ()
    assert not visit.screen.recorded
    assert visit.defaults == {"days": 14, "minutes": 12, "week": "easy", "kit": "none", "age": "adult"}


def test_a_paired_tissue_without_a_side_means_both(lib: Library) -> None:
    assert parse_visit(LEAST, "visit.yaml", lib).tissues[0].side == "both"


def test_a_midline_tissue_has_no_side(lib: Library) -> None:
    visit = parse_visit(LEAST.replace("soleus, found: tight", "thoracic_spine, found: stiff"), "v", lib)
    assert visit.tissues[0].side == "none"


@pytest.mark.parametrize(
    ("text", "minutes"),
    [
        ("15", (15.0,) * 7),
        ("{weekday: 10, weekend: 25}", (10.0,) * 5 + (25.0,) * 2),
        ("{weekday: 10, wed: 3}", (10.0, 10.0, 3.0, 10.0, 10.0, 0.0, 0.0)),
        ("{mon: 10, sun: 5}", (10.0, 0.0, 0.0, 0.0, 0.0, 0.0, 5.0)),
    ],
)
def test_minutes_in_each_of_their_forms(text: str, minutes: tuple[float, ...], lib: Library) -> None:
    assert parse_visit(LEAST + f"minutes: {text}\n", "v", lib).minutes == minutes


@pytest.mark.parametrize(
    ("said", "meant"),
    [("IT band", "iliotibial_band"), ("Calf", "calf"), ("quads", "quadriceps"), ("low back", "lumbar_spine")],
)
def test_plain_names_lead_to_the_tissue(said: str, meant: str, lib: Library) -> None:
    text = LEAST.replace("soleus", f'"{said}"')
    assert parse_visit(text, "v", lib).tissues[0].tissue == meant


def test_other_words_for_a_zone_are_understood(lib: Library) -> None:
    text = LEAST + "  - {symptom: tingling, zones: [dorsum_of_foot, hypothenar_eminence], side: left}\n"
    assert parse_visit(text, "v", lib).symptoms[0].zones == ("foot_top", "hypothenar")


def test_treated_in_its_forms(lib: Library) -> None:
    assert parse_visit(LEAST, "v", lib).treated is None
    assert parse_visit(LEAST + "treated: []\n", "v", lib).treated == {}
    assert parse_visit(LEAST + "treated: [calf]\n", "v", lib).treated == {"calf": "firm"}
    assert parse_visit(LEAST + "treated: {soleus: deep}\n", "v", lib).treated == {"soleus": "deep"}


def test_the_last_day_under_16_and_the_first_at_65(lib: Library) -> None:
    ages = {15: "under_16", 16: "adult", 64: "adult", 65: "older"}
    found = {age: parse_visit(LEAST + f"age: {age}\n", "v", lib).age_group for age in ages}
    assert found == ages


def test_every_fault_in_one_go(lib: Library) -> None:
    with pytest.raises(InputFault) as caught:
        read_visit(DATA / "faulty.yaml", lib)
    told = {(one.source.line, one.hint) for one in caught.value.problems}
    lines = {line for line, _ in told}
    assert lines == {*range(1, 9), *range(10, 18), 19, 20}
    for line, hint in (
        (6, "did you mean stick?"),
        (7, "did you mean anticoagulant?"),
        (8, "did you mean saddle_numbness?"),
        (10, "did you mean soleus?"),
        (10, "did you mean left?"),
    ):
        assert (line, hint) in told


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ("median, side: left, found: late", "a nerve cannot be late"),
        ("knee, side: left, found: weak", "a joint cannot be weak"),
        ("soleus, side: none, found: tight", "both sides of the body"),
    ],
)
def test_an_impossible_pair_is_a_fault(given: str, words: str, lib: Library) -> None:
    (fault,) = faults(LEAST.replace("soleus, found: tight", given), lib)
    assert fault[0] == 4
    assert words in fault[1]


def test_to_continue_past_a_flag_needs_a_reason(lib: Library) -> None:
    text = LEAST + "screen: {flags: [night_pain], decision: continue}\n"
    assert [message for _, message, _ in faults(text, lib)] == ["to continue in spite of a flag needs a reason"]


def test_a_finding_is_needed(lib: Library) -> None:
    assert faults("athlete: A\nstart: 2026-09-07\n", lib) == [(1, "the visit has no 'findings'", "")]
    assert faults("athlete: A\nstart: 2026-09-07\nfindings: []\n", lib)[0][2] == "a visit needs one finding"


def test_text_that_looks_like_another_type_stays_text(lib: Library) -> None:
    """YAML 1.1 would make these False, 90 and a date."""
    visit = parse_visit(LEAST.replace("Mara T.", "no") + "prepared_by: 1:30\nnotes: 2026-01-01\n", "v", lib)
    assert (visit.athlete, visit.prepared_by, visit.notes) == ("no", "1:30", "2026-01-01")


def test_dates_are_kept_in_order(lib: Library) -> None:
    text = (
        LEAST + "event: [2026-09-20, 2026-09-12]\nclinic_visits: [2026-09-16, {date: 2026-09-09, treated: [soleus]}]\n"
    )
    visit = parse_visit(text, "v", lib)
    assert visit.events == (date(2026, 9, 12), date(2026, 9, 20))
    assert [one.day.day for one in visit.clinic_visits] == [9, 16]
    assert [one.treated for one in visit.clinic_visits] == [{"soleus": "firm"}, None]


def test_a_dose_by_hand_is_what_was_written(lib: Library) -> None:
    given = "{sets: 2, reps: 6, hold_s: 0, tempo_s: 4, times: 2, load: 6 kg}"
    visit = parse_visit(LEAST + f"doses: {{soleus_wall_stretch: {given}, calf_roller: {{reps: 8}}}}\n", "v", lib)
    assert visit.doses == {
        "soleus_wall_stretch": SetDose(sets=2, reps=6, hold_s=0, tempo_s=4, times=2, load="6 kg"),
        "calf_roller": SetDose(reps=8),
    }


@pytest.mark.parametrize(
    ("dose", "fault"),
    [
        ("sets: 0", "sets"),
        ("sets: 11", "sets"),
        ("reps: 51", "reps"),
        ("hold_s: 601", "hold_s"),
        ("hold_s: -1", "hold_s"),
        ("tempo_s: 31", "tempo_s"),
        ("times: 4", "times"),
        ("times: 0", "times"),
        ("weight: 6 kg", "weight"),
    ],
)
def test_a_dose_by_hand_is_held_to_what_a_dose_may_be(dose: str, fault: str, lib: Library) -> None:
    """From 1 to 10 sets, 1 to 50 times, at most 600 s held, at most three times a day (common practice)."""
    with pytest.raises(InputFault) as told:
        parse_visit(LEAST + f"doses: {{soleus_wall_stretch: {{{dose}}}}}\n", "v", lib)
    assert [fault in problem.message for problem in told.value.problems] == [True]


def test_a_pick_is_a_name_or_a_name_with_its_side_and_reason(lib: Library) -> None:
    text = LEAST + 'pick: [calf_roller, {drill: bird_dog}, {drill: open_book, side: left, because: "she likes it"}]\n'
    picks = parse_visit(text, "v", lib).picks
    assert [(one.drill, one.side, one.because) for one in picks] == [
        ("calf_roller", None, ""),
        ("bird_dog", None, ""),
        ("open_book", "left", "she likes it"),
    ]
