"""The desk over its own pages: who may ask, what comes back, and that nothing typed is lost."""

from __future__ import annotations

import re
from collections.abc import Mapping
from html.parser import HTMLParser

import pytest
from flask.testing import FlaskClient

from homecare.desk import create_app

Values = Mapping[str, str | list[str]]
HERE = {"Host": "127.0.0.1:8020"}
OURS = {**HERE, "Sec-Fetch-Site": "same-origin", "Origin": "http://127.0.0.1:8020"}
VISIT: Values = {
    "athlete": "Zebulon Q. <b>",
    "start": "2026-05-04",
    "days": "7",
    "minutes_weekday": "12",
    "screen": "clear",
    "kit": ["ball", "roller"],
    "finding-0-tissue": "soleus",
    "finding-0-side": "left",
    "finding-0-found": "tight",
    "symptom-0-symptom": "tingling",
    "symptom-0-side": "right",
    "symptom-0-zones": ["digit_1", "digit_2"],
    "symptom-0-worse_with": ["grip"],
}  # fmt: skip


class Fields(HTMLParser):
    """The values of a page's fields as a browser would send them."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.sent: dict[str, list[str]] = {}
        self._area = ""
        self._select = ""
        self._inside_template = False
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        a = {key: value or "" for key, value in attrs}
        if tag == "template":
            self._inside_template = True
        if self._inside_template:
            return
        if tag == "input" and (a.get("type") not in ("checkbox", "radio") or "checked" in a):
            self.sent.setdefault(a["name"], []).append(a.get("value", ""))
        elif tag == "textarea":
            self._area = a["name"]
            self.sent[self._area] = [""]
        elif tag == "select":
            self._select = a["name"]
        elif tag == "option" and "selected" in a:
            self.sent[self._select] = [a["value"]]

    def handle_endtag(self, tag: str) -> None:
        if tag == "template":
            self._inside_template = False
        if tag == "textarea":
            self._area = ""

    def handle_data(self, data: str) -> None:
        if self._area:
            self.sent[self._area][0] += data


@pytest.fixture(scope="module")
def desk() -> FlaskClient:
    return create_app().test_client()


def post(desk: FlaskClient, values: Values, do: str = "make") -> tuple[int, str]:
    token = Fields(desk.get("/", headers=HERE).text).sent["token"][0]
    answer = desk.post("/", data={**values, "token": token, "do": do}, headers=OURS)
    return answer.status_code, answer.text


def test_policy_and_cookie(desk: FlaskClient) -> None:
    page = create_app().test_client().get("/", headers=HERE)
    policy = page.headers["Content-Security-Policy"]
    assert "default-src 'none'" in policy
    assert "unsafe" not in policy
    assert "frame-ancestors 'none'" in policy
    assert re.search(r"desk=\S+; HttpOnly; Path=/; SameSite=Strict", page.headers["Set-Cookie"])
    assert page.headers["Cache-Control"] == "no-store"
    assert "style=" not in page.text
    assert not re.search(r"<script(?! src)|\son\w+=", page.text)


@pytest.mark.parametrize("host", ["evil.example", "evil.example:8020", "127.0.0.1.evil.example", "192.0.2.7:8020", ""])
def test_another_name_is_refused(desk: FlaskClient, host: str) -> None:
    assert desk.get("/", headers={"Host": host}).status_code == 400
    assert desk.get("/static/desk.css", headers={"Host": host}).status_code == 400


@pytest.mark.parametrize("host", ["127.0.0.1", "127.0.0.1:8020", "localhost:1", "LOCALHOST", "[::1]:8020"])
def test_its_own_names_are_answered(desk: FlaskClient, host: str) -> None:
    assert desk.get("/", headers={"Host": host}).status_code == 200


@pytest.mark.parametrize(
    "headers",
    [
        {},
        {"Origin": "https://evil.example"},
        {"Origin": "null"},
        {"Origin": "http://127.0.0.1:9999"},
        {"Sec-Fetch-Site": "cross-site", "Origin": "http://127.0.0.1:8020"},
        {"Sec-Fetch-Site": "same-site"},
        {"Sec-Fetch-Site": "none"},
    ],
)
def test_a_form_from_elsewhere_is_refused(desk: FlaskClient, headers: dict[str, str]) -> None:
    token = Fields(desk.get("/", headers=HERE).text).sent["token"][0]
    assert desk.post("/", data={**VISIT, "token": token}, headers={**HERE, **headers}).status_code == 403


def test_a_wrong_token_makes_nothing_and_loses_nothing(desk: FlaskClient) -> None:
    desk.get("/", headers=HERE)
    answer = desk.post("/", data={**VISIT, "token": "ümlaut"}, headers=OURS)
    assert answer.status_code == 422
    assert Fields(answer.text).sent["athlete"] == [VISIT["athlete"]]
    assert "/made/" not in answer.text


def test_a_sheet_is_made_and_handed_over(desk: FlaskClient) -> None:
    status, page = post(desk, VISIT)
    assert status == 200
    assert "<b>" not in page.split('value="Zebulon Q. ')[1][:4]
    assert "Carpal tunnel" in page
    links = set(re.findall(r'href="(/made/[^"]+)"', page))
    keys = {link.split("/")[2] for link in links}
    assert len(keys) == 1
    assert len(keys.pop()) >= 22
    assert not any("ebulon" in link for link in links)
    kinds = {link.rsplit("/", 1)[1]: desk.get(link, headers=HERE) for link in links}
    assert kinds.keys() == {"sheet.pdf", "large.pdf", "phone.html", "care.ics", "code.svg", "note.txt", "visit.yaml"}
    assert all(answer.status_code == 200 for answer in kinds.values())
    assert kinds["sheet.pdf"].data.startswith(b"%PDF-")
    assert kinds["large.pdf"].data.startswith(b"%PDF-")
    assert kinds["large.pdf"].data != kinds["sheet.pdf"].data
    phone_policy = kinds["phone.html"].headers["Content-Security-Policy"]
    assert phone_policy.startswith("sandbox allow-scripts allow-downloads; default-src 'none'")
    assert kinds["care.ics"].data.startswith(b"BEGIN:VCALENDAR\r\n")
    assert kinds["care.ics"].headers["Content-Type"] == "text/calendar; charset=utf-8"
    assert kinds["care.ics"].headers["Content-Disposition"] == "attachment; filename=care.ics"
    assert "ebulon" not in kinds["care.ics"].text
    shown = desk.get(f"{next(iter(links)).rpartition('/')[0]}/print.html", headers=HERE)
    assert "frame-ancestors 'self'" in shown.headers["Content-Security-Policy"]
    assert "script-src" not in shown.headers["Content-Security-Policy"]
    assert "Zebulon Q. &lt;b&gt;" in shown.text
    assert 'athlete: "Zebulon Q. <b>"' in kinds["visit.yaml"].text


def test_every_drill_leads_with_a_finding_and_can_be_taken_off_and_back(desk: FlaskClient) -> None:
    _, page = post(desk, VISIT)
    drills = re.findall(r'value="drop:(\w+)"', page)
    assert len(drills) == len(re.findall(r'<p class="why">\S', page)) > 0
    status, without = post(desk, VISIT, f"drop:{drills[0]}")
    assert status == 200
    assert f'value="drop:{drills[0]}"' not in without
    assert f'value="undrop:{drills[0]}"' in without
    assert Fields(without).sent["drop"] == [drills[0]]
    kept: Values = {name: values for name, values in Fields(without).sent.items() if name not in ("token", "do")}
    _, back = post(desk, kept, f"undrop:{drills[0]}")
    assert re.findall(r'value="drop:(\w+)"', back) == drills


def test_faults_stand_beside_their_fields_and_nothing_is_lost(desk: FlaskClient) -> None:
    wrong = {**VISIT, "days": "400", "finding-0-tissue": "soleuss", "finding-0-found": "", "notes": "two\nlines"}
    status, page = post(desk, wrong)
    assert status == 422
    assert "/made/" not in page
    for name in ("days", "finding-0-tissue", "finding-0-found"):
        assert f'<a href="#{name}">' in page
        assert f'id="{name}"' in page
        assert f'id="fault-{name}"' in page
    assert "did you mean soleus?" in page
    sent = Fields(page).sent
    for name, value in wrong.items():
        if value:
            assert [one for one in sent[name] if one.strip()] == (value if isinstance(value, list) else [value]), name


def test_a_sign_against_none_of_these_is_a_fault(desk: FlaskClient) -> None:
    status, page = post(desk, {**VISIT, "flags": ["calf_swelling"]})
    assert status == 422
    assert 'id="fault-screen"' in page


def test_a_sign_holds_back_until_decided(desk: FlaskClient) -> None:
    flagged = {name: value for name, value in VISIT.items() if name != "screen"} | {"flags": ["saddle_numbness"]}
    status, page = post(desk, flagged)
    assert status == 200
    assert "Refer now" in page
    assert "drop:" not in page
    assert "care.ics" not in page
    made = next(iter(re.findall(r'href="(/made/[^"]+)/sheet\.pdf"', page)))
    assert desk.get(f"{made}/care.ics", headers=HERE).status_code == 404


def test_past_a_caution_only_with_a_reason(desk: FlaskClient) -> None:
    careful: Values = {**VISIT, "cautions": ["anticoagulant"]}
    _, page = post(desk, careful)
    pick = next(iter(re.findall(r'value="(pick:[a-z_]*(?:roller|ball)[a-z_]*:\w+)"', page)))
    why = "why-" + pick.removeprefix("pick:").replace(":", "-")
    status, page = post(desk, careful, pick)
    assert status == 422
    assert f'id="fault-{why}"' in page
    assert "/made/" in page
    assert "pick-0-drill" not in Fields(page).sent
    status, page = post(desk, {**careful, why: "Worked last time, pressed lightly"}, pick)
    assert status == 200
    assert f'value="drop:{pick.split(":")[1]}"' in page
    assert Fields(page).sent["pick-0-because"] == ["Worked last time, pressed lightly"]


def test_rows_are_added_and_removed_without_script(desk: FlaskClient) -> None:
    _, page = post(desk, VISIT, "add:finding")
    assert {"finding-0-tissue", "finding-1-tissue"} <= Fields(page).sent.keys()
    assert Fields(page).sent["finding-0-tissue"] == ["soleus"]
    _, page = post(desk, VISIT, "remove:finding:0")
    assert "finding-0-tissue" not in Fields(page).sent


@pytest.mark.parametrize(
    "path",
    [
        "/made/x/sheet.pdf",
        "/made/../sheet.pdf",
        "/assets/print/fonts/x.ttf",
        "/assets/marks/x.svg",
        "/assets/../pyproject.toml",
        "/nothing",
    ],
)
def test_what_is_not_there_is_404(desk: FlaskClient, path: str) -> None:
    assert desk.get(path, headers=HERE).status_code == 404


def test_a_huge_form_is_refused(desk: FlaskClient) -> None:
    assert desk.post("/", data={"notes": "n" * 2_000_000}, headers=OURS).status_code == 413
