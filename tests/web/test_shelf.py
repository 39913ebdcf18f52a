"""The library on the desk: found, written, refused beside the fields, undone; and what was handed out stays."""

from __future__ import annotations

import io
import random
import re
import zipfile
from collections.abc import Mapping
from dataclasses import replace
from datetime import UTC, datetime
from html.parser import HTMLParser
from pathlib import Path

import pytest
from flask.testing import FlaskClient
from PIL import Image, ImageChops
from werkzeug.datastructures import MultiDict

from homecare import workflow
from homecare.core.pose import Figure
from homecare.core.problems import Source
from homecare.core.sheet import Clinic
from homecare.desk import create_app
from homecare.desk.shelf_form import Names, drill_content, drill_form
from homecare.library import pictures, upkeep
from homecare.library.load import Library, load_library
from homecare.library.trial import try_drill
from homecare.render.pdf_pages import WIDTH
from homecare.storage import athletes, sheets
from homecare.storage.database import open_database

HERE = {"Host": "127.0.0.1:8020"}
OURS = {**HERE, "Sec-Fetch-Site": "same-origin", "Origin": "http://127.0.0.1:8020"}
DRILL, GLIDE = "soleus_wall_stretch", "median_slider"
Values = dict[str, list[str]]


class Sent(HTMLParser):
    """The values of a page's fields as a browser would send them."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.values: Values = {}
        self._area, self._select = "", ""
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        a = {key: value or "" for key, value in attrs}
        if (
            tag == "input"
            and a.get("type") != "file"
            and (a.get("type") not in ("checkbox", "radio") or "checked" in a)
        ):
            self.values.setdefault(a["name"], []).append(a.get("value", ""))
        elif tag == "textarea":
            self._area = a["name"]
            self.values[self._area] = [""]
        elif tag == "select":
            self._select = a["name"]
        elif tag == "option" and "selected" in a:
            self.values[self._select] = [a["value"]]

    def handle_endtag(self, tag: str) -> None:
        self._area = "" if tag == "textarea" else self._area

    def handle_data(self, data: str) -> None:
        if self._area:
            self.values[self._area][0] += data


@pytest.fixture
def data(tmp_path: Path) -> Path:
    return tmp_path / "data"


@pytest.fixture
def desk(data: Path) -> FlaskClient:
    return create_app(data=data).test_client()


def own(data: Path) -> Path:
    return data / "library"


def fields(desk: FlaskClient, address: str) -> Values:
    return Sent(desk.get(address, headers=HERE).text).values


def send(desk: FlaskClient, address: str, values: Values, /, **changed: str) -> tuple[int, str]:
    """Send a page's form back with some fields changed; the status and the text, or where it leads."""
    sent = {**values, **{name: [value] for name, value in changed.items()}}
    answer = desk.post(address, data=MultiDict(sent), headers=OURS)
    return answer.status_code, answer.headers.get("Location", "") if answer.status_code == 303 else answer.text


def change(desk: FlaskClient, drill: str, do: str = "save", **changed: str) -> tuple[int, str]:
    address = f"/library/{drill}"
    return send(desk, address, fields(desk, address), do=do, **changed)


def told(page: str) -> Mapping[str, str]:
    """The faults beside fields, by field."""
    return dict(re.findall(r'<p class="fault" id="fault-([^"]*)">([^<]*)</p>', page))


def test_a_record_comes_back_from_its_form_as_it_was(lib: Library) -> None:
    names = Names(lib)
    for key in lib.drills:
        content = lib.entries["drills", key].content
        again = drill_content(drill_form(content, names), content, names)
        assert again == content
        assert list(again) == list(content)


def said(figure: Figure) -> Figure:
    """A figure without its place in a file, and with the numbers of its held things written one way."""
    points = [
        [re.sub(r"-?\d+(\.\d+)?", lambda one: str(float(one[0])), p) for p in held.points] for held in figure.held
    ]
    held = tuple(replace(one, points=tuple(places)) for one, places in zip(figure.held, points, strict=True))
    return replace(figure, where=Source(""), held=held)


def test_a_pose_written_anew_from_its_rows_is_the_same_pose(lib: Library) -> None:
    names = Names(lib)
    for key, drill in lib.drills.items():
        written = drill_content(drill_form(lib.entries["drills", key].content, names), {}, names)
        again = try_drill(lib, key, written).drill.figure
        assert again is not None
        assert drill.figure is not None
        assert said(again) == said(drill.figure)


def test_the_list_is_small_and_finds_by_name_tissue_and_kind(desk: FlaskClient) -> None:
    whole = desk.get("/library", headers=HERE)
    assert len(whole.data) < 150_000
    assert whole.text.count('href="/library/') >= 315
    assert "Bent-knee calf" in whole.text
    by_tissue = desk.get("/library?words=soleus", headers=HERE).text
    assert "Bent-knee calf" in by_tissue
    assert "Small arm glide" not in by_tissue
    assert "Small arm glide" in desk.get("/library?words=arm-glide", headers=HERE).text
    assert "Bent-knee calf" not in desk.get("/library?kind=glide", headers=HERE).text
    assert "Nothing is called so" in desk.get("/library?words=zzz", headers=HERE).text


def test_a_saved_text_is_on_the_next_sheet_and_undo_takes_it_back(desk: FlaskClient, data: Path) -> None:
    status, there = change(desk, DRILL, feel="A slow pull low in the calf.")
    assert status == 303
    page = desk.get(there, headers=HERE).text
    assert "Saved. The next sheet has it" in page
    assert "Changed by the clinic" in page
    assert load_library(own(data)).drills[DRILL].feel == "A slow pull low in the calf."
    values = Sent(page).values
    assert send(desk, f"/library/{DRILL}", values, do="undo")[0] == 303
    assert load_library(own(data)).drills[DRILL].feel == load_library().drills[DRILL].feel


def test_every_fault_stands_beside_its_field_and_nothing_typed_is_lost(desk: FlaskClient, data: Path) -> None:
    typed = {
        "name": "A name that is far too long to print",
        "tissues": "soleus, bananas",
        "steps": "Dorsiflex the foot of the {side} leg.",
        "ladder": "",
        "touch-0-on": "",
        "end-right_ankle-df": "95",
        "end-right_knee-flex": "much",
    }
    status, page = change(desk, DRILL, **typed)
    assert status == 422
    faults = told(page)
    assert faults.keys() >= {"tissues", "ladder", "touch-0-on", "end-right_ankle-df", "end-right_knee-flex"}
    assert faults["end-right_ankle-df"] == "95 is past 38"
    again = Sent(page).values
    assert {name: again.get(name, [""])[0] for name in typed} == typed
    status, page = change(desk, DRILL, name=typed["name"], steps=typed["steps"])
    assert {"name", "steps"} <= told(page).keys()
    assert "is a word of the trade" in told(page)["steps"]
    assert not (own(data) / "drills").exists()


def test_a_glide_that_pulls_is_told_beside_its_claim(desk: FlaskClient) -> None:
    changed = {"end-right_wrist-ext": "80", "end-right_wrist-flex": ""}
    status, page = change(desk, GLIDE, **changed)
    assert status == 422
    assert "slider" in told(page)["claims"]
    assert "It pulls, it does not slide." in page


def test_the_figure_follows_and_keeps_to_what_a_joint_can_do(desk: FlaskClient) -> None:
    values = fields(desk, f"/library/{GLIDE}")
    address = f"/library/{GLIDE}/figure"
    as_it_is, far = send(desk, address, values)[1], send(desk, address, values, **{"end-right_elbow-flex": "140"})[1]
    beyond = send(desk, address, values, **{"end-right_elbow-flex": "170"})[1]
    most = send(desk, address, values, **{"end-right_elbow-flex": "150"})[1]

    def drawing(page: str) -> str:
        return page.partition("<svg")[2].partition("</svg>")[0]

    assert drawing(as_it_is) != drawing(far)
    assert drawing(beyond) == drawing(most) != ""
    assert "at 150, the most it may be" in beyond
    assert "the most it may be" not in most
    assert drawing(send(desk, address, values, turn="60")[1]) != drawing(as_it_is)
    assert "data-moving" in send(desk, address, values, look="moving")[1]
    assert "the last pose that could be drawn" in send(desk, address, values, view="from the moon")[1]


def test_somebody_elses_change_is_not_written_over(desk: FlaskClient, data: Path) -> None:
    mine = fields(desk, f"/library/{DRILL}")
    assert change(desk, DRILL, feel="Their words, low in the calf.")[0] == 303
    status, page = send(desk, f"/library/{DRILL}", mine, do="save", feel="My words, low in the calf.")
    assert status == 422
    assert "Somebody changed this drill" in page
    assert load_library(own(data)).drills[DRILL].feel == "Their words, low in the calf."
    again = Sent(page).values
    assert again["feel"] == ["My words, low in the calf."]
    assert send(desk, f"/library/{DRILL}", again, do="save")[0] == 303
    assert load_library(own(data)).drills[DRILL].feel == "My words, low in the calf."


def test_a_draft_is_kept_opened_and_thrown_away(desk: FlaskClient, data: Path) -> None:
    status, page = change(desk, DRILL, do="draft", name="", feel="Half a thou")
    assert status == 200
    assert "Kept as a draft" in page
    assert load_library(own(data)).drills[DRILL].name == "Bent-knee calf"
    assert "Open the draft" in desk.get(f"/library/{DRILL}", headers=HERE).text
    draft = fields(desk, f"/library/{DRILL}?draft=1")
    assert (draft["name"], draft["feel"]) == ([""], ["Half a thou"])
    assert "Drafts" in desk.get("/library", headers=HERE).text
    assert send(desk, f"/library/{DRILL}", draft, do="undraft")[0] == 303
    assert "Open the draft" not in desk.get(f"/library/{DRILL}", headers=HERE).text


def test_a_new_drill_from_a_copy(desk: FlaskClient, data: Path) -> None:
    values = fields(desk, f"/library/new?from={DRILL}")
    assert values["name"] == [""]
    assert values["code"][0] not in {drill.code for drill in load_library().drills.values()}
    status, page = send(desk, "/library/new", values, do="save")
    assert told(page)["name"] == "This is needed"
    steps = "Stand on a low step and hold on.\nLet your {side} heel sink.\nBend that knee a little and breathe."
    changed = {"name": "Step calf sink", "steps": steps, "clinical": "Soleus stretch on a step"}
    status, there = send(desk, "/library/new", values, do="save", **changed)
    assert (status, there) == (303, "/library/step_calf_sink?was=new")
    made = load_library(own(data)).drills["step_calf_sink"]
    assert (made.address, made.tissues[0]) == ("step-calf-sink", "soleus")
    assert "The clinic&#39;s own" in desk.get(there, headers=HERE).text


def test_out_of_use_and_back_with_what_was_typed_still_there(desk: FlaskClient, data: Path) -> None:
    for button, state in (("retire", "retired"), ("hide", "hidden")):
        status, page = change(desk, DRILL, do=button, feel="Typed, not saved.")
        assert status == 200
        assert Sent(page).values["feel"] == ["Typed, not saved."]
        assert getattr(load_library(own(data)).drills[DRILL], state)
    assert "hidden" in desk.get("/library?state=hidden", headers=HERE).text
    assert "Bent-knee calf" in desk.get("/library?state=hidden", headers=HERE).text
    change(desk, DRILL, do="use")
    assert load_library(own(data)).drills[DRILL].offered


def test_the_shipped_text_comes_back_and_two_texts_stand_side_by_side(desk: FlaskClient, data: Path) -> None:
    change(desk, DRILL, feel="A slow pull low in the calf.")
    mine = load_library(own(data)).drill_revision(DRILL)
    assert change(desk, DRILL, do="restore")[0] == 303
    assert load_library(own(data)).drill_revision(DRILL) == load_library().drill_revision(DRILL)
    page = desk.get(f"/library/{DRILL}/texts?old={mine}", headers=HERE).text
    assert "<td>A slow pull low in the calf.</td><td>A pull low in the calf.</td>" in page
    token = fields(desk, f"/library/{DRILL}/texts")
    assert send(desk, f"/library/{DRILL}/texts", token, revision=mine)[0] == 303
    assert load_library(own(data)).drill_revision(DRILL) == mine


def jpeg(size: tuple[int, int] = (300, 200)) -> bytes:
    stream = io.BytesIO()
    exif = Image.Exif()
    exif[0x010E] = "Marit at the boathouse"
    Image.new("RGB", size, "tan").save(stream, "JPEG", exif=exif)
    return stream.getvalue()


def bomb() -> bytes:
    """A PNG of few bytes that says it has 900 million pixels."""
    stream = io.BytesIO()
    Image.new("1", (30_000, 30_000)).save(stream, "PNG")
    return stream.getvalue()


def with_picture(desk: FlaskClient, raw: bytes, words: str = "A foot on a step") -> tuple[int, str]:
    address = f"/library/{DRILL}"
    sent: dict[str, object] = {**fields(desk, address), "do": "photo", "photo-words": words, "feel": "Typed."}
    answer = desk.post(address, data={**sent, "photo": (io.BytesIO(raw), "a.jpg")}, headers=OURS)
    return answer.status_code, answer.text


def test_a_photograph_loses_its_metadata_and_can_be_taken_away(desk: FlaskClient, data: Path) -> None:
    status, page = with_picture(desk, jpeg())
    assert status == 200
    assert Sent(page).values["feel"] == ["Typed."]
    kept = desk.get(f"/library/{DRILL}/photo.jpg", headers=HERE)
    assert kept.mimetype == "image/jpeg"
    assert b"Marit" in jpeg()
    assert b"Marit" not in kept.data
    change(desk, DRILL, do="unphoto")
    assert desk.get(f"/library/{DRILL}/photo.jpg", headers=HERE).status_code == 404


@pytest.mark.parametrize(
    ("raw", "words", "said"),
    [
        (b"GIF89a is all it says", "A foot", "no picture that can be read"),
        (b"", "A foot", "choose a picture first"),
        (bomb(), "A foot", "pixels, which is too many"),
        (b"\xff\xd8\xff" + bytes(400_000), "A foot", "more than 20 MB"),
        (jpeg(), "", "say what it shows"),
    ],
)
def test_what_is_no_picture_is_refused_in_words(
    desk: FlaskClient, raw: bytes, words: str, said: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(pictures, "MOST_BYTES", 400_000)
    status, page = with_picture(desk, raw, words)
    assert status == 422
    assert said in told(page)["photo-words"]
    assert Sent(page).values["feel"] == ["Typed."]


def test_a_set_is_read_before_it_goes_in(desk: FlaskClient, data: Path, tmp_path: Path) -> None:
    there = create_app(data=tmp_path / "other").test_client()
    change(there, DRILL, feel="Words of another clinic, low in the calf.")
    raw = there.get("/library/set/own.zip", headers=HERE).data
    token = fields(desk, "/library/set")["token"][0]

    def upload(content: bytes) -> tuple[int, str]:
        sent = {"token": token, "set": (io.BytesIO(content), "set.zip")}
        answer = desk.post("/library/set", data=sent, headers=OURS)
        return answer.status_code, answer.text

    status, page = upload(raw)
    assert status == 200
    assert "Words of another clinic" in page
    assert not (own(data) / "drills").exists()
    key = re.findall(r'action="(/library/set/[^"]+)"', page)[0]
    assert send(desk, key, {"token": [token]}, do="accept") == (303, "/library?said=set")
    assert load_library(own(data)).drills[DRILL].feel.startswith("Words of another clinic")
    assert send(desk, key, {"token": [token]}, do="accept")[0] == 422  # it went in, and is not kept
    for bad in (
        b"",
        b"no zip at all",
        _zipped({"../../evil": b"x"}),
        _zipped({"set.yaml": b"drills: [1"}),
        _zipped({"set.yaml": bytes(41_000_000)}),
    ):
        status, page = upload(bad)
        assert status == 422
        assert 'role="alert"' in page


def _zipped(files: Mapping[str, bytes]) -> bytes:
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as folder:
        for name, content in files.items():
            folder.writestr(name, content)
    return stream.getvalue()


def test_the_block_as_printed_is_a_picture_without_the_white_below_it(desk: FlaskClient) -> None:
    shown = desk.get(f"/library/{DRILL}/block.png", headers=HERE)
    with Image.open(io.BytesIO(shown.data)) as picture:
        wide, high = picture.size
        dark = ImageChops.invert(picture.convert("L")).getbbox()
    assert wide == WIDTH
    assert wide / 5 < high < wide  # a block of a leaf, not the leaf
    assert dark is not None


@pytest.mark.slow
def test_a_drill_of_every_sort_has_its_page_and_its_block(desk: FlaskClient, lib: Library) -> None:
    for drill in sorted(lib.drills)[::9]:
        page = desk.get(f"/library/{drill}", headers=HERE)
        assert page.status_code == 200, drill
        assert "keeps it from being saved" not in page.text, drill
        assert desk.get(f"/library/{drill}/block.png", headers=HERE).status_code == 200, drill


def test_every_tissue_has_a_page(desk: FlaskClient) -> None:
    for tissue in load_library().atlas.tissues:
        assert desk.get(f"/library/tissue/{tissue}", headers=HERE).status_code == 200, tissue


@pytest.mark.parametrize(
    "address", ["nonsense", "nonsense/texts", "nonsense/printed", "nonsense/block.png", "tissue/x"]
)
def test_what_is_not_there_is_told(desk: FlaskClient, address: str) -> None:
    answer = desk.get(f"/library/{address}", headers=HERE)
    assert answer.status_code == 404
    assert "Not here" in answer.text


def test_a_tissue_takes_a_name_of_the_clinics_own_once(desk: FlaskClient, data: Path) -> None:
    values = fields(desk, "/library/tissue/soleus")
    names = values["also"][0]
    assert send(desk, "/library/tissue/soleus", values, also=f"{names}\ncox's calf\n")[0] == 303
    assert load_library(own(data)).names.find("tissues", "Cox's calf") == "soleus"
    status, page = send(desk, "/library/tissue/gastrocnemius", values, also="cox's calf")
    assert status == 422
    assert "leads to both" in told(page)["also"]
    assert "cox&#39;s calf" in page


def test_an_issued_sheet_keeps_its_words_when_the_library_changes(data: Path) -> None:
    desk, database = create_app(data=data).test_client(), open_database(data)
    visit = "athlete: Tove H.\nstart: 2026-03-02\nfindings: [{tissue: soleus, side: left, found: tight}]\n"
    now = datetime(2026, 3, 2, 9, tzinfo=UTC)

    def made() -> workflow.SheetFiles:
        library = load_library(own(data) if own(data).is_dir() else None)
        return workflow.visit_sheet(visit, "visit", library, Clinic(), workflow.stored_plans(database))

    before = made()
    with database.write() as connection:
        athlete = athletes.add_athlete(connection, "Tove H.", now)
    assert "No athlete has it" in desk.get(f"/library/{DRILL}", headers=HERE).text
    issued = workflow.issue(database, athlete.id, visit, before, now)
    assert "One athlete has it" in desk.get(f"/library/{DRILL}", headers=HERE).text
    assert change(desk, DRILL, feel="A slow pull low in the calf.")[0] == 303
    after = made()
    with database.read() as connection:
        stored = sheets.read_sheet(connection, issued.sheet)
        texts = sheets.texts_of_sheet(connection, issued.sheet)
    assert stored is not None
    assert stored.pdf == before.pdf != after.pdf
    assert any("A pull low in the calf." in text.content for text in texts)
    assert b"A slow pull low in the calf." in after.phone
    assert b"A slow pull low in the calf." not in stored.phone


STRANGE = (
    *(": # - {a", "&x *y", "null", "~", "'", '"', "\\", "🦶 foot", "a" * 3000, "%", "@at", "- a\n- b", "{side} {x}"),
    *(
        "1e3",
        "nan",
        "inf",
        "-5",
        "٣",
        "180",
        "-60, 10",
        "1,2,3",
        "strap",
        "a on b at c",
        "wall",
        "wall -1 2",
        "<script>",
    ),
    *("right_heel on floor x=1e9", "right_heel on right_heel", "!!python/object", "soleus, soleus", ""),
)


@pytest.mark.slow
def test_nothing_that_can_be_typed_breaks_the_figure_or_the_check(desk: FlaskClient, lib: Library) -> None:
    chance = random.Random(11)
    for _ in range(40):
        drill = chance.choice(sorted(lib.drills))
        values = fields(desk, f"/library/{drill}")
        names = chance.sample(sorted(values.keys() - {"token", "revision"}), 4)
        typed = {name: chance.choice(STRANGE) for name in names} | {"end-foo_bar-baz": "3"}
        for address in ("figure", "check"):
            assert send(desk, f"/library/{drill}/{address}", values, **typed)[0] == 200, (drill, typed)


def test_upkeep_by_hand_is_seen_by_a_desk_that_starts(data: Path) -> None:
    upkeep.set_state(own(data), DRILL, "retired")
    page = create_app(data=data).test_client().get(f"/library/{DRILL}", headers=HERE).text
    assert "it goes on no new sheet" in page
