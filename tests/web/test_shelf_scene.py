"""What a pose touches and holds, its arrows and its room as rows: all that a record can say, and what puts it right."""

from __future__ import annotations

import random
import re
from dataclasses import replace
from itertools import product

import pytest
from flask.testing import FlaskClient

from homecare.core.pose import COORDINATES, FREE, Arrow, Contact, Figure, Held
from homecare.desk import create_app
from homecare.desk.form import Form
from homecare.desk.shelf_cures import cured
from homecare.desk.shelf_entries import LISTS, scene_entries
from homecare.desk.shelf_form import Names, drill_form
from homecare.desk.shelf_points import OFFERED, POINTS
from homecare.desk.shelf_scene import scene_fields, written_scene
from homecare.desk.shelf_trial import Judged, judged
from homecare.figure.landmarks import landmark, names
from homecare.figure.nearest import stands
from homecare.figure.room import REACHES, SURFACES, THINGS, TOOLS
from homecare.figure.scene import WAYS
from homecare.library.figure_words import arrow_of, arrow_text, contact_of, contact_text
from homecare.library.load import Library
from homecare.library.trial import try_drill
from tests.web.test_shelf import DRILL, GLIDE, HERE, Sent, fields, send, told

SIDED = [name for name in names() if landmark(name)]
LIMBS = [
    f"{name}@{share}"
    for name in SIDED
    if POINTS.get(name.partition("_")[2], POINTS["hips"]).limb
    for share in (0, 0.076, 1)
]


@pytest.fixture(scope="module")
def desk(tmp_path_factory: pytest.TempPathFactory) -> FlaskClient:
    """A desk that nothing is saved on."""
    return create_app(data=tmp_path_factory.mktemp("scene")).test_client()


def again(key: str, text: str) -> tuple[list[str], bool]:
    """An entry through the form and back, written anew; whether it went as a row of plain text."""
    rows = scene_fields({key: [text]})
    found = written_scene(Form(rows), {})[key]
    assert isinstance(found, list)
    return found, any(name.endswith("-text") for name in rows)


def test_every_entry_of_the_library_is_said_by_fields_and_comes_back_as_it_was(lib: Library) -> None:
    for drill in lib.drills:
        figure = lib.entries["drills", drill].content["figure"]
        assert isinstance(figure, dict)
        rows = scene_fields(figure)
        assert not [name for name in rows if name.endswith("-text")], drill
        written = written_scene(Form(rows), figure)
        assert written == {
            **{key: [] for key in LISTS},
            "surfaces": {},
            **{key: figure[key] for key in written if key in figure},
        }


def test_every_contact_that_can_be_written_is_said_by_fields() -> None:
    points, chance = (
        [*SIDED, *LIMBS, *(f"both_{name.partition('_')[2]}" for name in SIDED if "left_" in name)],
        random.Random(7),
    )
    touched = [(on, "") for on in (*SURFACES, FREE, "", *SIDED, *LIMBS)] + list(product(SURFACES, TOOLS))
    for point in points:
        for on, tool in chance.sample(touched, 6):
            x, y, z = (chance.choice([None, 0.0, -0.22, 1.2, 0.062, 3.5]) for _ in range(3))
            itself = on in (point, point.replace("both", "left"), point.replace("both", "right"))
            if itself or (on == "" and (x, y, z) == (None, None, None)):
                continue
            contact = Contact(point, on, tool, x, y, z, chance.random() < 0.3)
            text = contact_text(contact)
            assert contact_of(text) == contact
            assert again("contacts", text) == ([text], False)


def test_every_arrow_thing_and_surface_that_can_be_written_is_said_by_fields() -> None:
    for point, way, both in product((*SIDED, *LIMBS), WAYS, (True, False)):
        arrow = Arrow(point, way, both)
        assert arrow_of(arrow_text(arrow)) == arrow
        assert again("arrows", arrow_text(arrow)) == ([arrow_text(arrow)], False)
    for thing, one in product(THINGS, (*SIDED, *LIMBS, "at:0.68,-0.15,0")):
        text = f"{thing} {one} right_palm at:-1,0,1.2"
        assert again("held", text) == ([text], False)
    for coordinate in COORDINATES:
        assert again("free", coordinate) == ([coordinate], coordinate in ("root.x", "root.y", "root.z"))
    surfaces = {name: "-0.145" for name in (*SURFACES, *REACHES)}
    assert written_scene(Form(scene_fields({"surfaces": surfaces})), {})["surfaces"] == surfaces


@pytest.mark.parametrize(
    ("key", "text"),
    [
        ("contacts", "right_heel on moon"),
        ("contacts", "right_heel on floor x=0.1234567"),
        ("contacts", "right_heel"),
        ("contacts", "right_thigh_back@1.5 on floor"),
        ("held", "lasso right_palm"),
        ("held", "strap"),
        ("arrows", "right_palm sideways"),
        ("arrows", "both_palm up"),
        ("free", "left_ear.flap"),
    ],
)
def test_what_no_field_can_say_stays_as_a_row_of_plain_text(key: str, text: str) -> None:
    assert again(key, text) == ([text], True)


def test_an_entry_that_says_the_same_stays_as_it_was_written() -> None:
    figure = {
        "contacts": ["right_heel on roller z=0.40 x=0.10", "left_thigh_back@0.70 on floor"],
        "held": ["post at:0.10,0,1.0"],
    }
    assert {key: written_scene(Form(scene_fields(figure)), figure)[key] for key in figure} == figure


def test_words_of_a_list_are_each_their_own() -> None:
    lists = [
        [one.words for _, group in OFFERED.points for one in group],
        *([one.words for one in group] for group in OFFERED.joints.values()),
        *(
            [one.words for one in some]
            for some in (OFFERED.how, OFFERED.surfaces, OFFERED.things, OFFERED.ways, OFFERED.room)
        ),
    ]
    assert all(len(words) == len(set(words)) for words in lists)
    assert len(lists[0]) == len(POINTS)


ROW_FAULTS = [
    ({"touch-9-on": "wall"}, "touch-9-point"),
    ({"touch-9-point": "palm"}, "touch-9-on"),
    ({"touch-9-point": "palm", "touch-9-how": "roller", "touch-9-on": "knee"}, "touch-9-on"),
    ({"touch-9-point": "palm", "touch-9-on": "palm"}, "touch-9-on"),
    ({"touch-9-point": "palm", "touch-9-side": "both", "touch-9-on": "palm"}, "touch-9-on"),
    ({"touch-9-point": "palm", "touch-9-how": "place"}, "touch-9-how"),
    ({"touch-9-point": "thigh_back", "touch-9-on": "floor", "touch-9-along": "120"}, "touch-9-along"),
    ({"touch-9-point": "palm", "touch-9-how": "place", "touch-9-z": "high"}, "touch-9-z"),
    ({"held-9-point": "palm"}, "held-9-thing"),
    ({"held-9-thing": "on", "held-9-point": "palm"}, "held-9-thing"),
    ({"held-9-thing": "strap"}, "held-9-point"),
    ({"held-9-thing": "post", "held-9-point": "at", "held-9-x": "1", "held-9-y": "0"}, "held-9-z"),
    ({"arrow-9-along": "40"}, "arrow-9-point"),
    ({"room-9-at": "40"}, "room-9-surface"),
    ({"room-9-surface": "table"}, "room-9-at"),
    ({"room-9-surface": "table", "room-9-at": "900"}, "room-9-at"),
    ({"room-8-surface": "table", "room-8-at": "70", "room-9-surface": "table", "room-9-at": "80"}, "room-9-at"),
]


@pytest.mark.parametrize(("values", "field"), ROW_FAULTS)
def test_what_is_wrong_with_a_row_is_told_at_its_field(lib: Library, values: dict[str, str], field: str) -> None:
    assert list(scene_entries(Form({name: (value,) for name, value in values.items()}))[1]) == [field]
    assert list(judge(lib, GLIDE, **values).faults) == [field]


def test_a_fault_of_a_row_is_shown_in_it_and_what_was_typed_stays(desk: FlaskClient) -> None:
    address = f"/library/{GLIDE}"
    page = send(desk, address, fields(desk, address), do="save", **{"touch-9-on": "wall", "held-9-thing": "strap"})[1]
    assert list(told(page)) == ["touch-9-point", "held-9-point"]
    for field in told(page):
        line = page.partition(f'id="fault-{field}"')[0].rpartition('<div class="line"')[2]
        assert f'id="{field}"' in line
    again_ = Sent(page).values
    assert (again_["touch-9-on"], again_["held-9-thing"]) == (["wall"], ["strap"])


def test_a_fault_of_the_library_stands_beside_the_row_that_it_speaks_of(lib: Library) -> None:
    found = judge(lib, DRILL, **{"touch-2-z": "230"})
    assert any("off by" in words for words in found.faults["touch-2-point"])
    plain = judge(lib, DRILL, **{"touch-7-text": "left_palm on moon", "held-0-text": "lasso left_palm"})
    assert {"touch-7-text", "held-0-text"} <= plain.faults.keys()


@pytest.mark.parametrize(
    ("field", "text"), [("touch-0-text", "right_heel on floor x={}"), ("held-0-text", "strap right_palm at:{},0,0")]
)
def test_a_place_without_end_is_refused_and_breaks_no_figure(
    desk: FlaskClient, lib: Library, field: str, text: str
) -> None:
    endless = text.format("9" * 400)
    assert field in judge(lib, DRILL, **{field: endless}).faults
    address = f"/library/{DRILL}"
    assert send(desk, f"{address}/figure", fields(desk, address), **{field: endless})[0] == 200


def test_rows_come_and_go_without_a_script(desk: FlaskClient) -> None:
    address = f"/library/{DRILL}"
    values = fields(desk, address)
    before = len(re.findall(r'id="touch-\d+-point"', desk.get(address, headers=HERE).text))
    more = send(desk, address, values, do="more:touch", **{"touch-0-x": "-20"})[1]
    assert len(re.findall(r'id="touch-\d+-point"', more)) == before + 1
    assert 'value="-20"' in more
    less = send(desk, address, values, do="less:touch:1")[1]
    assert all(re.search(r"<details open><summary>What it touches", page) for page in (more, less))
    assert 'id="touch-1-point"' not in less
    assert 'id="touch-0-point"' in less


def test_without_a_script_a_press_brings_every_row_its_whole_lists(desk: FlaskClient) -> None:
    def choices(page: str) -> list[int]:
        """How many points each contact offers, as the page has it."""
        return [part.count("<option") for part in re.findall(r'id="touch-\d+-point".*?</select>', page, re.S)]

    address = f"/library/{DRILL}"
    short = desk.get(address, headers=HERE).text
    *above, last = choices(short)
    assert above
    assert max(above) < last
    status, whole = send(desk, address, fields(desk, address), do="whole:touch")
    assert status == 200
    assert re.search(r"<details open><summary>What it touches", whole)
    assert set(choices(whole)) == {last}
    before, after = Sent(short).values, Sent(whole).values
    assert {**after, "token": []} == {**before, "whole": ["true"], "token": []}  # and nothing else is changed
    assert set(choices(send(desk, address, Sent(whole).values, do="look")[1])) == {last}


@pytest.mark.parametrize("button", ["more:moon", "whole:moon", "less:touch:x", "cure:%=&&", "cure:touch-0-on=moon"])
def test_a_button_that_says_nonsense_breaks_nothing(desk: FlaskClient, button: str) -> None:
    address = f"/library/{DRILL}"
    assert send(desk, address, fields(desk, address), do=button)[0] == 200


def judge(lib: Library, drill: str, **changed: str) -> Judged:
    base = lib.entries["drills", drill].content
    form = drill_form(base, Names(lib)).with_values(**{name: (value,) for name, value in changed.items()})
    return judged(form, base, lib, drill)


CURED = [
    (DRILL, {"end-right_ankle-df": "95"}, "end-right_ankle-df", "Set it to 38", {"end-right_ankle-df": "38"}),
    (DRILL, {"end-right_ankle-df": "28°"}, "end-right_ankle-df", "Set it to 28", {"end-right_ankle-df": "28"}),
    (DRILL, {"end-right_ankle-df": "up"}, "end-right_ankle-df", "Empty it", {"end-right_ankle-df": ""}),
    (
        GLIDE,
        {"end-right_wrist-flex": "-40"},
        "end-right_wrist-flex",
        "Make it back 40",
        {"end-right_wrist-flex": "", "end-right_wrist-ext": "40"},
    ),
    (DRILL, {"end-right_knee-flex": "-5"}, "end-right_knee-flex", "Set it to 0", {"end-right_knee-flex": "0"}),
    (DRILL, {"tissues": "solius, gastrocnemius"}, "tissues", "Write “Soleus”", {"tissues": "Soleus, gastrocnemius"}),
    (GLIDE, {"harder": "Wide arm glid"}, "harder", "Write “Wide arm glide”", {"harder": "Wide arm glide"}),
    (DRILL, {"view": "sied"}, "view", "Write “side”", {"view": "side"}),
    (DRILL, {"touch-0-x": "-22cm"}, "touch-0-x", "Set it to -22", {"touch-0-x": "-22"}),
    (DRILL, {"room-0-at": "5000"}, "room-0-at", "Set it to 200", {"room-0-at": "200"}),
    (
        DRILL,
        {"feel": "A pull in your right calf."},
        "steps",
        "Write {side} for right, {other} for left",
        {"feel": "A pull in your {side} calf."},
    ),
]


@pytest.mark.parametrize(("drill", "changed", "field", "words", "right"), CURED)
def test_a_fault_offers_what_would_put_it_right(
    lib: Library, drill: str, changed: dict[str, str], field: str, words: str, right: dict[str, str]
) -> None:
    found = judge(lib, drill, **changed)
    cure = next(one for one in found.cures[field] if one.words == words)
    form, first = cured(Form({name: (value,) for name, value in changed.items()}), cure.do.partition(":")[2])
    assert {name: form.one(name) for name in right} == right
    assert first in right
    assert field not in judge(lib, drill, **{**changed, **right}).faults


@pytest.mark.parametrize(
    ("drill", "changed", "words"),
    [
        (DRILL, {"touch-2-z": "230"}, "Leave its place open"),
        (DRILL, {"room-0-at": "160"}, "Put the wall at 54 cm"),
        (DRILL, {"room-0-at": "110"}, "Take the angles as drawn"),
        ("plantar_ball", {"end-right_hip-flex": "132"}, "Take the angles as drawn"),
        ("finger_press", {"room-0-at": "70"}, "Take the angles as drawn"),
    ],
)
def test_a_pose_that_does_not_stand_offers_the_nearest_that_does(
    lib: Library, drill: str, changed: dict[str, str], words: str
) -> None:
    base = lib.entries["drills", drill].content
    form = drill_form(base, Names(lib)).with_values(**{name: (value,) for name, value in changed.items()})
    broken = judged(form, base, lib, drill)
    cures = {cure for told in broken.cures.values() for cure in told if cure.words.startswith(words)}
    assert cures
    for cure in cures:
        after = judged(cured(form, cure.do.partition(":")[2])[0], base, lib, drill)
        figure = try_drill(lib, drill, after.content).drill.figure
        assert figure is not None
        assert stands(figure)


def test_a_trait_that_a_pose_means_is_ticked_by_one_press(desk: FlaskClient) -> None:
    address = f"/library/{DRILL}"
    values = fields(desk, address)
    page = send(desk, address, values, do="cure:traits%2B=overhead")[1]
    assert re.search(r'name="traits" value="overhead"[^>]*checked', page)


def test_contacts_held_things_and_arrows_mean_what_they_say(lib: Library) -> None:
    figure = {
        "from": "standing",
        "end": {"right": {"shoulder": "flex 20"}},
        "contacts": ["both_palm on ball at wall z=1.2 slides"],
        "held": ["strap right_palm at:0.1,0,1"],
        "arrows": ["right_palm to-and-fro up"],
    }
    content = {**lib.entries["drills", DRILL].content, "figure": figure}
    again_ = try_drill(
        lib, DRILL, {**content, "figure": {**figure, **written_scene(Form(scene_fields(figure)), {})}}
    ).drill.figure
    assert isinstance(again_, Figure)
    assert again_.held == (Held("strap", ("right_palm", "at:0.1,0,1")),)
    assert again_.arrows == (Arrow("right_palm", "up", True),)
    both = Contact("left_palm", "wall", "ball", z=1.2, slides=True)
    assert {both, replace(both, point="right_palm")} <= set(again_.contacts)
