"""The desk's page that reads a phone's code: from a photograph, from a camera's frame, typed; nothing is kept."""

from __future__ import annotations

import io
import json
import re
from pathlib import Path

import pytest
import qrcode
from flask.testing import FlaskClient
from PIL import Image, ImageFilter

from homecare.core.phone_report import DrillReport, PhoneReport, report_code, sheet_mark
from homecare.core.problems import InputFault
from homecare.desk import create_app
from homecare.library.load import Library
from homecare.library.visit import parse_visit
from homecare.render.plan_read import read_plan
from homecare.workflow import last_lines, make_sheet, read_phone_code

VISIT = Path(__file__).parents[1] / "data" / "rower.yaml"
OURS = {"Host": "127.0.0.1:8020", "Sec-Fetch-Site": "same-origin", "Origin": "http://127.0.0.1:8020"}


@pytest.fixture(scope="module")
def plan() -> bytes:
    return make_sheet(VISIT).plan


@pytest.fixture(scope="module")
def code(plan: bytes) -> str:
    last = read_plan(plan)
    drills = [(drill.id, drill.side) for drill in last.drills]
    done = [DrillReport(9 - number, "settled" if number else "sore") for number in range(len(drills))]
    return report_code(sheet_mark(last.start, drills), last.start, PhoneReport(tuple(done), ((last.start, 4),)))


@pytest.fixture
def desk() -> FlaskClient:
    client = create_app().test_client()
    client.get("/phone-code", headers=OURS)
    return client


def photograph(code: str) -> bytes:
    """The code on a phone's screen as a camera sees it: turned, blurred, on a dim table."""
    drawn = io.BytesIO()
    qrcode.make(code, border=4, box_size=6).save(drawn)
    symbol = Image.open(drawn).convert("RGB")
    seen = Image.new("RGB", (900, 700), (70, 60, 50))
    seen.paste(symbol.rotate(7, expand=True, fillcolor=(70, 60, 50)), (200, 120))
    stream = io.BytesIO()
    seen.filter(ImageFilter.GaussianBlur(1.2)).save(stream, "JPEG", quality=70)
    return stream.getvalue()


def token(desk: FlaskClient) -> str:
    found = re.search(r'name="token" value="([^"]+)"', desk.get("/phone-code", headers=OURS).text)
    assert found
    return found[1]


def send(desk: FlaskClient, **fields: object) -> tuple[int, str]:
    answer = desk.post("/phone-code", data={"token": token(desk), **fields}, headers=OURS)
    return answer.status_code, answer.get_data(as_text=True)


def file(content: bytes, name: str) -> tuple[io.BytesIO, str]:
    return io.BytesIO(content), name


def test_a_photograph_and_the_letters_say_the_same(desk: FlaskClient, plan: bytes, code: str, lib: Library) -> None:
    status, by_photo = send(desk, plan=file(plan, "plan.json"), picture=file(photograph(code), "p.jpg"))
    assert status == 200
    spaced = " ".join(code.lower())
    assert send(desk, plan=file(plan, "plan.json"), code=spaced)[1].count("of") == by_photo.count("of")
    first = json.loads(plan)["drills"][0]
    assert f'<th scope="row">{lib.drills[first["id"]].name}</th>' in by_photo
    assert "<td>9 of " in by_photo
    assert "<td>sore</td>" in by_photo
    assert "4 May: <b>4</b>" in by_photo


def test_the_lines_go_into_the_next_visit(plan: bytes, code: str, lib: Library, tmp_path: Path) -> None:
    answer = read_phone_code(code, plan, "plan.json")
    (tmp_path / "plan.json").write_bytes(plan)
    text = VISIT.read_text().replace("2026-05-04", "2026-05-18").replace("clinic_visits: [2026-05-07]\n", "")
    visit = parse_visit(text + last_lines(answer, "plan.json"), "visit.yaml", lib)
    assert visit.last is not None
    assert dict(visit.last.done) == {one.drill: one.done for one in answer.drills}
    (tmp_path / "visit.yaml").write_text(text + last_lines(answer, "plan.json"))
    changes = {one.drill: one.change for one in make_sheet(tmp_path / "visit.yaml").sheet.check_in}
    assert changes[answer.drills[0].drill] == "hold"  # sore: the same rung (planning.md's table)


def test_the_camera_s_frame_is_read(desk: FlaskClient, code: str) -> None:
    ours = {**OURS, "X-CSRFToken": token(desk)}
    answer = desk.post("/phone-code/frame", data=photograph(code), headers=ours)
    assert answer.get_json() == {"code": code}
    assert desk.post("/phone-code/frame", data=b"no picture", headers=ours).get_json() == {"code": ""}
    assert desk.post("/phone-code/frame", data=photograph(code), headers=OURS).status_code == 403


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({}, "Give the code"),
        ({"code": "R1NO"}, "Choose the plan.json"),
        ({"picture": (b"no picture", "p.jpg")}, "cannot be used"),
        ({"plan": (b"{}", "plan.json"), "code": "R1"}, "not a plan of a home-care sheet"),
        ({"plan": (b"\xff", "plan.json"), "code": "R1"}, "not text in UTF-8"),
        ({"code": "<b>R1</b>"}, "&lt;b&gt;R1&lt;/b&gt;"),
    ],
)
def test_every_fault_is_told_in_words(desk: FlaskClient, fields: dict[str, object], words: str) -> None:
    sent = {key: file(*value) if isinstance(value, tuple) else value for key, value in fields.items()}
    status, page = send(desk, **sent)
    assert status == 422
    assert words in page
    assert "Traceback" not in page


def test_a_picture_without_a_code_says_so(desk: FlaskClient, plan: bytes) -> None:
    stream = io.BytesIO()
    Image.new("RGB", (300, 200), "white").save(stream, "PNG")
    status, page = send(desk, plan=file(plan, "plan.json"), picture=file(stream.getvalue(), "p.png"))
    assert status == 422
    assert "No code was found" in page


def test_only_the_desk_s_own_page_may_ask(desk: FlaskClient, plan: bytes, code: str) -> None:
    for path in ("/phone-code", "/phone-code/frame"):
        elsewhere = {**OURS, "Sec-Fetch-Site": "cross-site", "Origin": "https://evil.example"}
        assert desk.post(path, data={}, headers=elsewhere).status_code == 403
    assert desk.post("/phone-code", data={"token": "x", "code": code}, headers=OURS).status_code == 403


def test_the_page_names_no_athlete(desk: FlaskClient, plan: bytes, code: str) -> None:
    _, page = send(desk, plan=file(plan, "plan.json"), code=code)
    assert json.loads(plan)["athlete"] not in page
    assert not re.search(r"<(script(?! src)|style)", page)


def test_a_code_of_another_sheet_is_refused(plan: bytes, code: str) -> None:
    other = plan.replace(b'"start": "2026-05-04"', b'"start": "2026-05-05"')
    with pytest.raises(InputFault, match="another sheet"):
        read_phone_code(code, other, "plan.json")
