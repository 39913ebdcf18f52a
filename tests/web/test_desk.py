"""The desk over its own pages: who may ask, what comes back, and that nothing typed is lost."""

from __future__ import annotations

import io
import re
from collections.abc import Mapping
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import pytest
from flask.testing import FlaskClient
from PIL import Image

from homecare.desk import create_app
from homecare.render.pdf_pages import count_pages
from homecare.render.print_view import sheet_pdf

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
def desk(tmp_path_factory: pytest.TempPathFactory) -> FlaskClient:
    return create_app(data=tmp_path_factory.mktemp("desk")).test_client()


def token(desk: FlaskClient) -> str:
    return Fields(desk.get("/", headers=HERE).text).sent["token"][0]


def post(desk: FlaskClient, values: Values, do: str = "make", path: str = "/draft") -> tuple[int, str]:
    """What comes back of a form sent without script: the page that it leads to."""
    answer = desk.post(path, data={**values, "token": token(desk), "do": do}, headers=OURS)
    if answer.status_code == 303:
        answer = desk.get(answer.headers["Location"].partition("#")[0], headers=HERE)
    return answer.status_code, answer.text


def draft_of(page: str) -> str:
    found: list[str] = re.findall(r'action="(/draft/[^"/]+)"', page)
    return found[0]


def left(page: str) -> Values:
    """What a browser would send of a page."""
    return {name: values for name, values in Fields(page).sent.items() if name not in ("token", "do")}


def test_policy_and_cookie(tmp_path: Path) -> None:
    desk = create_app(data=tmp_path).test_client()
    page = desk.get("/", headers=HERE)
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
    values = {**VISIT, "token": token(desk)}
    assert desk.post("/draft", data=values, headers={**HERE, **headers}).status_code == 403


def test_a_wrong_token_makes_nothing_and_loses_nothing(desk: FlaskClient) -> None:
    desk.get("/", headers=HERE)
    answer = desk.post("/draft", data={**VISIT, "token": "ümlaut"}, headers=OURS)
    assert answer.status_code == 403
    assert Fields(answer.text).sent["athlete"] == [VISIT["athlete"]]
    assert "Go on with Zebulon" not in desk.get("/", headers=HERE).text


def test_a_draft_shows_the_sheet_that_it_would_be(desk: FlaskClient) -> None:
    status, page = post(desk, VISIT)
    assert status == 200
    assert "<b>" not in page.split('value="Zebulon Q. ')[1][:4]
    assert "Carpal tunnel" in page
    address = draft_of(page)
    assert len(address.split("/")[2]) >= 22
    assert "ebulon" not in address
    assert f'href="{address}/pages"' in page


@pytest.mark.parametrize("chosen", [{}, {"large": "1", "paper": "letter"}])
def test_the_pages_shown_are_those_that_are_printed_to_the_byte(
    desk: FlaskClient, chosen: dict[str, str], monkeypatch: pytest.MonkeyPatch
) -> None:
    _, page = post(desk, {**VISIT, **chosen})
    address = draft_of(page)
    shown: list[bytes] = []

    def noted(*asked: Any) -> bytes:
        shown.append(sheet_pdf(*asked))
        return shown[-1]

    monkeypatch.setattr("homecare.desk.looking.sheet_pdf", noted)
    part = desk.get(f"{address}/pages", headers={**HERE, "X-Quick": "pages"}).text
    pictures = re.findall(r'<img src="([^"]+)" alt="[^"]+" width="900" height="(\d+)"', part)
    assert len(pictures) == count_pages(shown[0]) >= 2
    for number, (source, high) in enumerate(pictures, 1):
        picture = desk.get(source.replace("&amp;", "&"), headers=HERE)
        assert Image.open(io.BytesIO(picture.data)).size == (900, int(high)), number
    done = desk.post(f"{address}/issue", data={**left(page), "token": token(desk)}, headers=OURS)
    assert [desk.get(f"{done.headers['Location']}/sheet.pdf", headers=HERE).data] == shown  # printed once


def test_what_keeps_a_sheet_from_being_printed_is_told_where_its_pages_would_be(desk: FlaskClient) -> None:
    _, page = post(desk, {**VISIT, "notes": "\u6f22\u5b57"})
    for headers in (HERE, {**HERE, "X-Quick": "pages"}):
        answer = desk.get(f"{draft_of(page)}/pages", headers=headers)
        assert answer.status_code == 422
        assert "no letters for" in answer.text
        assert "<img src=" not in answer.text.partition("<main")[2]
    assert desk.get(f"{draft_of(page)}/page-1.png", headers=HERE).status_code == 404


def test_the_whole_page_is_small(desk: FlaskClient) -> None:
    _, page = post(desk, VISIT)
    assert len(page.encode()) < 150_000


def test_every_drill_leads_with_a_finding_and_can_be_taken_off_and_back(desk: FlaskClient) -> None:
    _, page = post(desk, VISIT)
    drills = re.findall(r'value="drop:(\w+)"', page)
    assert len(drills) == len(re.findall(r'<p class="why">\S', page)) > 0
    status, without = post(desk, left(page), f"drop:{drills[0]}", draft_of(page))
    assert status == 200
    assert f'value="drop:{drills[0]}"' not in without
    assert f'value="undrop:{drills[0]}"' in without
    assert Fields(without).sent["drop"] == [drills[0]]
    _, back = post(desk, left(without), f"undrop:{drills[0]}", draft_of(page))
    assert re.findall(r'value="drop:(\w+)"', back) == drills


def test_faults_stand_beside_their_fields_and_nothing_is_lost(desk: FlaskClient) -> None:
    wrong = {**VISIT, "days": "400", "finding-0-tissue": "soleuss", "notes": "two\nlines"}
    status, page = post(desk, wrong)
    assert status == 200  # it is saved, as far as it goes
    for name in ("days", "finding-0-tissue"):
        assert f'<a href="#{name}">' in page
        assert f'id="{name}"' in page
        assert f'id="fault-{name}"' in page
    assert "did you mean soleus?" in page
    sent = Fields(page).sent
    for name, value in wrong.items():
        if value:
            assert [one for one in sent[name] if one.strip()] == (value if isinstance(value, list) else [value]), name


def test_what_is_not_done_yet_is_no_fault_until_it_is_to_be_printed(desk: FlaskClient) -> None:
    begun = {**VISIT, "athlete": "", "finding-0-found": ""}
    status, page = post(desk, begun)
    assert status == 200
    assert 'role="alert"' not in page
    assert "Still needed: the athlete&#39;s name, what was found of soleus." in page
    assert 'value="drop:' in page
    status, page = post(desk, left(page), "issue", draft_of(page))
    assert status == 422
    assert re.findall(r'<a href="#([^"]+)">Still needed', page) == ["athlete", "finding-0-found"]


def test_a_sign_against_none_of_these_is_a_fault(desk: FlaskClient) -> None:
    status, page = post(desk, {**VISIT, "flags": ["calf_swelling"]})
    assert status == 200
    assert 'id="fault-screen"' in page
    assert 'value="drop:' not in page
    assert post(desk, left(page), "issue", draft_of(page))[0] == 422


def test_a_sign_holds_back_until_decided(desk: FlaskClient) -> None:
    flagged = {name: value for name, value in VISIT.items() if name != "screen"} | {"flags": ["saddle_numbness"]}
    status, page = post(desk, flagged)
    assert status == 200
    assert "Refer now" in page
    assert "drop:" not in page


def test_a_decision_counts_for_a_sign_that_a_symptom_raises(desk: FlaskClient) -> None:
    _, page = post(desk, {"decision": "refer", "because": "seen today", "athlete": "A", "start": "2026-05-04"})
    assert Fields(page).sent["decision"] == ["refer"]
    assert Fields(page).sent["because"] == ["seen today"]


def test_only_what_was_found_is_asked_about(desk: FlaskClient) -> None:
    _, arm = post(desk, {**VISIT, "finding-0-tissue": "pronator_teres"})
    _, leg = post(desk, {**VISIT, "symptom-0-symptom": "", "symptom-0-zones": []})
    asked = [set(re.findall(r'name="flags" value="(\w+)"', page)) for page in (arm, leg)]
    assert "calf_swelling" in asked[1] - asked[0]
    assert asked[0] & asked[1]
    _, ticked = post(desk, {**VISIT, "finding-0-tissue": "pronator_teres", "screen": "", "flags": ["calf_swelling"]})
    assert "calf_swelling" in re.findall(r'name="flags" value="(\w+)" checked', ticked)


def test_past_a_caution_only_with_a_reason(desk: FlaskClient) -> None:
    careful: Values = {**VISIT, "cautions": ["anticoagulant"]}
    _, page = post(desk, careful)
    pick = next(iter(re.findall(r'value="(pick:[a-z_]*(?:roller|ball)[a-z_]*:\w+)"', page)))
    why = "why-" + pick.removeprefix("pick:").replace(":", "-")
    draft = draft_of(page)
    status, page = post(desk, left(page), pick, draft)
    assert status == 422
    assert f'id="fault-{why}"' in page
    assert "pick-0-drill" not in Fields(page).sent
    status, page = post(desk, {**left(page), why: "Worked last time, pressed lightly"}, path=draft)
    assert Fields(page).sent[why] == ["Worked last time, pressed lightly"]  # kept before it is used
    status, page = post(desk, left(page), pick, draft)
    assert status == 200
    assert f'value="drop:{pick.split(":")[1]}"' in page
    assert Fields(page).sent["pick-0-because"] == ["Worked last time, pressed lightly"]


def test_rows_are_added_and_removed_without_script(desk: FlaskClient) -> None:
    _, page = post(desk, VISIT, "put:tissue:pronator_teres:right:tight")
    assert Fields(page).sent["finding-1-tissue"] == ["pronator_teres"]
    assert Fields(page).sent["finding-0-tissue"] == ["soleus"]
    _, page = post(desk, left(page), "remove:finding:0", draft_of(page))
    assert "finding-0-tissue" not in Fields(page).sent
    assert Fields(page).sent["finding-1-found"] == ["tight"]


def test_the_search_and_the_body_work_without_script(desk: FlaskClient) -> None:
    _, page = post(desk, {**VISIT, "find": "soleus l weak"}, "find")
    assert 'value="put:tissue:soleus:left:weak"' in page
    _, page = post(desk, VISIT, "at:calf-left")
    assert 'value="put:tissue:gastrocnemius:left:"' in page
    assert 'value="put:symptom:tingling:left:calf"' in page
    assert Fields(page).sent["finding-0-tissue"] == ["soleus"]


def test_a_finding_is_marked_on_the_body(desk: FlaskClient) -> None:
    _, page = post(desk, VISIT)
    assert re.search(r'id="at-calf-left"[^>]* aria-label="left: calf, finding 1"', page)
    assert re.search(r'id="at-palm-right"[^>]* aria-label="right: palm and fingers, finding 2"', page)
    assert re.search(r'id="at-calf-right"[^>]* aria-label="right: calf"', page)


def test_another_drill_is_swapped_in(desk: FlaskClient) -> None:
    _, page = post(desk, VISIT)
    swap = re.findall(r'value="(swap:[^"]+)"', page)[0]
    _, old, new, _ = swap.split(":")
    _, page = post(desk, left(page), swap, draft_of(page))
    on = re.findall(r'value="drop:(\w+)"', page)
    assert new in on
    assert old not in on


def test_what_the_page_has_no_field_for_survives_it(desk: FlaskClient) -> None:
    odd: Values = {
        "kit": ["ball", "trampoline"], "treated-0-tissue": "soleus", "treated-0-depth": "deep", "no_kit": "1",
        "clinic_visits-0-date": "2026-05-07", "clinic_visits-0-treated": ["firm soleus"], "minutes_wed": "3",
        "last": "some-sheet", "done-some_drill": "4", "response-some_drill": "sore", "rating-0-date": "2026-05-01",
        "rating-0-value": "3", "dose-soleus_wall_stretch-sets": "2", "changed-0-what": "shoes", "changed-0-when": "May",
        "amendments": ["a-slip"], "event-0-date": "2027-01-01", "cover": ["c8_foramen"], "athlete_id": "nobody",
    }  # fmt: skip
    _, page = post(desk, {**VISIT, **odd})
    sent = Fields(page).sent
    for name, value in odd.items():
        assert [one for one in sent[name] if one] == (value if isinstance(value, list) else [value]), name


@pytest.mark.parametrize(
    "path",
    [
        "/draft/x",
        "/draft/x/pages",
        "/draft/x/page-1.png",
        "/body/side.svg",
        "/figure/x/left.svg",
        "/figure/soleus_wall_stretch/up.svg",
        "/assets/print/fonts/x.ttf",
        "/assets/marks/x.svg",
        "/assets/../pyproject.toml",
        "/nothing",
    ],
)
def test_what_is_not_there_is_404(desk: FlaskClient, path: str) -> None:
    assert desk.get(path, headers=HERE).status_code == 404


def test_a_huge_form_is_refused(desk: FlaskClient) -> None:
    assert desk.post("/draft", data={"notes": "n" * 2_000_000}, headers=OURS).status_code == 413
