"""The form is the visit file: what is typed is what the parser reads, and its faults come back to their fields."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date

import pytest
import yaml
from hypothesis import given
from hypothesis import strategies as st

from homecare.core.findings import Change, Screen, SymptomFinding, TestFinding, TissueFinding
from homecare.core.problems import InputFault
from homecare.desk.form import Form, blank_form, read_form
from homecare.desk.pressing import press
from homecare.desk.visit_text import quoted, visit_text
from homecare.library.load import Library, load_library
from homecare.library.visit import parse_visit

Values = Mapping[str, str | list[str]]
FILLED: Values = {
    "athlete": "Ansel D.",
    "start": "2026-05-04",
    "days": "10",
    "minutes_weekday": "12",
    "minutes_weekend": "",
    "week_tue": "hard",
    "kit": ["ball", "roller"],
    "finding-0-tissue": "Soleus",
    "finding-0-side": "left",
    "finding-0-found": "tight",
    "finding-0-treated": "firm",
    "symptom-0-symptom": "tingling",
    "symptom-0-side": "right",
    "symptom-0-zones": ["digit_4", "digit_5"],
    "symptom-0-worse_with": ["elbow_bent"],
    "test-0-test": "ulnt3",
    "test-0-result": "positive",
    "changed": "new bars\nlonger rides: 5 h, \"flat\"",
    "notes": "Ice: fine # if it feels good",
}  # fmt: skip


@pytest.fixture(scope="module")
def library() -> Library:
    return load_library()


def form_of(values: Values) -> Form:
    return read_form((name, value if isinstance(value, list) else [value]) for name, value in values.items())


def test_what_is_typed_is_what_is_read(library: Library) -> None:
    visit = parse_visit(visit_text(form_of(FILLED)).text, "visit", library)
    assert visit.athlete == "Ansel D."
    assert visit.days == 10
    assert visit.minutes == (12,) * 7
    assert visit.week[1] == "hard"
    assert visit.tissues == (TissueFinding("soleus", "left", "tight"),)
    assert visit.symptoms == (SymptomFinding("tingling", ("digit_4", "digit_5"), "right", ("elbow_bent",), "moderate"),)
    assert visit.tests == (TestFinding("ulnt3", "both", "positive"),)
    assert visit.changed == (Change("new bars"), Change('longer rides: 5 h, "flat"'))
    assert visit.notes == "Ice: fine # if it feels good"
    assert visit.treated is None
    assert visit.screen == Screen(recorded=False)


@pytest.mark.parametrize(
    ("changed", "field"),
    [
        ({"athlete": ""}, "athlete"),
        ({"start": "2026-02-30"}, "start"),
        ({"days": "400"}, "days"),
        ({"minutes_weekend": "-1"}, "minutes_weekend"),
        ({"week_tue": "brutal"}, "week_tue"),
        ({"finding-0-tissue": "soleuss"}, "finding-0-tissue"),
        ({"finding-0-found": ""}, "finding-0-found"),
        ({"finding-0-side": "up"}, "finding-0-side"),
        ({"symptom-0-side": ""}, "symptom-0-side"),
        ({"symptom-0-zones": []}, "symptom-0-zones"),
        ({"symptom-0-now": "eleven"}, "symptom-0-now"),
        ({"test-0-result": ""}, "test-0-result"),
        ({"event-0-date": "soon"}, "event-0-date"),
        ({"marker-0-test": "knee_to_wall", "marker-0-before": "x"}, "marker-0-before"),
        ({"firing-0-firing": "prone_hip_extension", "firing-0-side": "left"}, "firing-0-order"),
        ({"flags": ["calf_swelling"], "decision": "continue"}, "flags"),
        ({"notes": "n" * 1001}, "notes"),
    ],
)
def test_a_fault_comes_back_to_its_field(library: Library, changed: Values, field: str) -> None:
    visit = visit_text(form_of({**FILLED, **changed}))
    with pytest.raises(InputFault) as fault:
        parse_visit(visit.text, "visit", library)
    assert list(visit.faults(fault.value.problems)) == [field]


def test_an_empty_form_asks_for_what_is_needed(library: Library) -> None:
    visit = visit_text(blank_form("2026-05-04"))
    with pytest.raises(InputFault) as fault:
        parse_visit(visit.text, "visit", library)
    assert set(visit.faults(fault.value.problems)) == {"athlete", "findings"}


def test_treated_by_hand_follows_the_rows() -> None:
    light = form_of({**FILLED, "finding-0-treated": "light"})
    assert yaml.safe_load(visit_text(light).text)["treated"] == {"Soleus": "light"}
    none = form_of({**FILLED, "finding-0-treated": "not"})
    assert yaml.safe_load(visit_text(none).text)["treated"] == []


@given(st.text(alphabet=st.characters(codec="utf-8", exclude_categories=["Cc", "Cs"]), min_size=1))
def test_any_text_survives_quoting(text: str) -> None:
    node = yaml.compose(f"key: {quoted(text)}\n", Loader=yaml.CSafeLoader)
    assert node is not None
    assert node.value[0][1].value == text


def test_buttons_add_remove_and_take_back() -> None:
    form = press(form_of(FILLED), "add:finding")
    assert press(form_of(FILLED), "put:tissue:soleus:left:weak").one("finding-1-found") == "weak"
    symptom = press(form_of(FILLED), "put:symptom:ache:left:heel")
    assert symptom.many("symptom-1-zones") == ("heel",)
    assert press(form_of(FILLED), "put:symptom:ache:left:@palm").one("symptom-1-near") == "palm"
    assert form.rows("finding") == (0, 1)
    assert press(form, "remove:finding:0").rows("finding") == (1,)
    assert press(form, "remove:finding:0").one("finding-0-tissue") == ""
    dropped = press(form, "drop:soleus_wall_stretch")
    assert dropped.many("drop") == ("soleus_wall_stretch",)
    assert press(dropped, "undrop:soleus_wall_stretch").many("drop") == ()
    asked = Form({**form.values, "why-some_drill-left": ("it helped",)})
    picked = press(asked, "pick:some_drill:left")
    assert yaml.safe_load(visit_text(picked).text)["pick"] == [
        {"drill": "some_drill", "side": "left", "because": "it helped"}
    ]
    assert press(picked, "unpick:0").rows("pick") == ()


def test_a_firing_order_is_pressed_muscle_by_muscle() -> None:
    form = press(form_of(FILLED), "put:firing:prone_hip_extension:left:")
    for muscle in ("hamstrings", "gluteus_maximus", "erector_spinae", "hamstrings"):
        form = press(form, f"order:0:{muscle}")
    assert form.many("firing-0-order") == ("gluteus_maximus", "erector_spinae")


def test_a_day_goes_round_from_visit_to_event_to_nothing() -> None:
    form = press(form_of(FILLED), "day:2026-05-07")
    assert yaml.safe_load(visit_text(form).text)["clinic_visits"] == [date(2026, 5, 7)]
    form = press(form, "day:2026-05-07")
    assert "clinic_visits" not in yaml.safe_load(visit_text(form).text)
    assert yaml.safe_load(visit_text(form).text)["event"] == [date(2026, 5, 7)]
    assert "event" not in yaml.safe_load(visit_text(press(form, "day:2026-05-07")).text)


def test_a_swap_takes_one_off_and_puts_the_other_on_and_swaps_back_clean() -> None:
    form = press(form_of(FILLED), "swap:one:two:left")
    assert (form.many("drop"), form.one("pick-0-drill")) == (("one",), "two")
    back = press(form, "swap:two:one:left")
    assert (back.many("drop"), back.rows("pick")) == ((), ())


def test_a_dose_set_by_hand_is_written_and_taken_back() -> None:
    form = form_of({**FILLED, "dose-soleus_wall_stretch-sets": "3", "dose-other-reps": ""})
    assert yaml.safe_load(visit_text(form).text)["doses"] == {"soleus_wall_stretch": {"sets": 3}}
    assert "doses" not in yaml.safe_load(visit_text(press(form, "ladder:soleus_wall_stretch")).text)


@pytest.mark.parametrize(
    "button",
    ["", "add:", "add:nothing", "remove:finding", "remove:finding:x", "put:x:y::", "order:7:x", "drop", "sheet:x:y:z"],
)
def test_an_unknown_button_changes_nothing(button: str) -> None:
    assert press(form_of(FILLED), button) == form_of(FILLED)
