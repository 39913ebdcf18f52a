"""What somebody hostile sends to the desk: told in words each time, never a fault of ours, and nothing is changed."""

from __future__ import annotations

import bz2
import io
import json
import os
import random
import socket
import ssl
import threading
import zipfile
from collections.abc import Iterator, Mapping
from datetime import UTC, date, datetime
from pathlib import Path

import pytest
from PIL import Image
from werkzeug.test import TestResponse

from homecare import workflow
from homecare.cli import serve
from homecare.cli.certificate import kept_certificate
from homecare.desk import amending, checking, create_app
from homecare.desk.door import Rooms
from homecare.desk.sessions import IDLE
from homecare.library import sets
from homecare.library.load import Library
from homecare.library.pictures import NoPicture, plain_picture
from homecare.storage.backups import check_backup
from homecare.storage.database import open_database
from homecare.storage.faults import StorageFault
from homecare.storage.sheets import list_amendments, sheets_of_athlete
from tests.web.filed import NAME, Filed, file_rower
from tests.web.visitor import Visitor

LONG = "9" * 5000
"""More digits than Python turns into a number (sys.int_info.default_max_str_digits is 4300)."""
WORDS = " ".join(f"ab{number}" for number in range(3000))
"""More words than SQLite takes terms in one condition (SQLITE_MAX_EXPR_DEPTH is 1000, from memory)."""
DRILL = "soleus_wall_stretch"


@pytest.fixture(scope="module")
def filed(tmp_path_factory: pytest.TempPathFactory, lib: Library) -> tuple[Path, Filed]:
    folder = tmp_path_factory.mktemp("desk")
    return folder, file_rower(open_database(folder), lib)


@pytest.fixture(scope="module")
def visitor(filed: tuple[Path, Filed]) -> Visitor:
    return Visitor(filed[0])


def zip_of(files: Mapping[str, bytes], method: int = zipfile.ZIP_DEFLATED) -> bytes:
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", method) as whole:
        for name, content in files.items():
            whole.writestr(name, content)
    return stream.getvalue()


def altered(method: int, name: str) -> bytes:
    """A zip whose packed bytes no longer unpack."""
    raw = bytearray(zip_of({name: os.urandom(3000).hex().encode()}, method))
    raw[200:400] = bytes(one ^ 255 for one in raw[200:400])
    return bytes(raw)


def sent_plan(visitor: Visitor, plan: bytes) -> TestResponse:
    return visitor.post("/phone-code", {"code": "ABCDE", "plan": (io.BytesIO(plan), "plan.json")})


def sent_set(visitor: Visitor, raw: bytes) -> TestResponse:
    return visitor.post("/library/set", {"set": (io.BytesIO(raw), "drills.zip")})


def test_numbers_and_words_without_end_are_told_beside_their_field(visitor: Visitor, filed: tuple[Path, Filed]) -> None:
    athlete, sheet = filed[1].athlete, filed[1].sheets[-1]
    drill = json.loads(visitor.get(f"/sheet/{sheet}/plan.json").data)["drills"][0]["id"]
    asked: tuple[tuple[str, dict[str, object], int], ...] = (
        ("/athletes/new", {"name": "Xenia Holt", "age": LONG}, 422),
        ("/athletes/new", {"name": "X" * 10_000}, 422),
        ("/athletes", {"typed": WORDS}, 200),
        ("/athletes", {"typed": "%_' OR 1=1 --", "page": LONG}, 200),
        ("/who", {"athlete": WORDS}, 200),
        ("/find", {"find": WORDS}, 200),
        (f"/athlete/{athlete}/check-in", {"sheet": sheet, f"done-{drill}": LONG}, 422),
        (f"/library/{DRILL}", {"do": "undo", "was": "../../x"}, 422),
        (f"/library/{DRILL}/texts", {"revision": "../../x"}, 404),
        (f"/library/{DRILL}/figure", {"turn": "nan", "touch-0-text": "a on b x=1e999\n" * 500}, 200),
        ("/reprints", {"sheet": "../../x"}, 303),
    )
    for address, form, code in asked:
        visitor.get("/clinic")
        assert visitor.post(address, form).status_code == code, (address, list(form))


@pytest.mark.parametrize("button", ["remove:finding", "order", "unpick"])
def test_a_button_that_no_page_has_changes_nothing(visitor: Visitor, button: str) -> None:
    visitor.get("/clinic")
    more = ":soleus" if button == "order" else ""
    fields = {"athlete": "Ines Holt", "firing-0-firing": "prone_hip_extension", "do": f"{button}:{LONG}{more}"}
    assert visitor.post("/draft", fields).status_code == 303


@pytest.mark.parametrize("typed", ["%", "_", "a%", "\\", "*", "' OR 1=1 --", "\U0010ffff"])
def test_a_sign_that_means_something_to_a_database_means_nothing_in_a_search(visitor: Visitor, typed: str) -> None:
    visitor.get("/clinic")
    first = NAME.split()[0]
    assert first in visitor.post("/who", {"athlete": first}).text
    assert first not in visitor.post("/who", {"athlete": typed}).text


@pytest.mark.parametrize(
    "plan",
    [b"[" * 200_000, b'{"a":' * 100_000, b'{"format": 1, "start": ' + LONG.encode() + b"}", b"NaN", b"\xff", b""],
    ids=["lists", "mappings", "digits", "no number", "no text", "empty"],
)
def test_a_plan_made_to_break_its_reader_is_refused_in_words(visitor: Visitor, plan: bytes) -> None:
    visitor.get("/clinic")
    assert sent_plan(visitor, plan).status_code == 422


def test_a_plan_with_any_value_of_another_kind_is_refused_in_words(visitor: Visitor, filed: tuple[Path, Filed]) -> None:
    plan = visitor.get(f"/sheet/{filed[1].sheets[0]}/plan.json").data
    visitor.get("/clinic")
    tried = 0
    for name in ("", "drills", "days"):
        for key in json.loads(plan)[name][0] if name else json.loads(plan):
            for value in (None, -1, "x", [1], {"a": 1}, 10**30, 1e400):
                whole = json.loads(plan)
                (whole[name][0] if name else whole)[key] = value
                answer = sent_plan(visitor, json.dumps(whole).encode())
                assert answer.status_code == 422, (key, value)
                tried += 1
    assert tried > 200


def poisoned_sets() -> Iterator[tuple[str, bytes]]:
    yield "deflate", altered(zipfile.ZIP_DEFLATED, sets.RECORDS)
    yield "bzip2", altered(zipfile.ZIP_BZIP2, sets.RECORDS)
    yield "lzma", altered(zipfile.ZIP_LZMA, sets.RECORDS)
    yield "a way out", zip_of({sets.RECORDS: b"drills: {}", "../../evil.yaml": b"x"})
    yield "another way out", zip_of({sets.RECORDS: b"drills: {}", "photos/../../evil.jpg": b"x"})
    yield "nested", zip_of({sets.RECORDS: b"drills: " + b"[" * 100_000})
    yield "aliases", zip_of({sets.RECORDS: b"a: &a [x, x]\nb: &b [*a, *a]\n"})
    yield "a tag", zip_of({sets.RECORDS: b'drills: !!python/object/apply:os.system ["true"]'})
    yield "a bomb", zip_of({sets.RECORDS: b"#" * 39_000_000})
    yield "too many", zip_of({sets.RECORDS: b"drills:\n" + b"".join(b"  d%d: {a: b}\n" % one for one in range(9000))})
    yield "digits", zip_of({sets.RECORDS: b"drills: {a: {x: " + LONG.encode() + b"}}"})
    yield "no name", zip_of({sets.RECORDS: b"drills: {a: {x: y}}\nzones: {b: [1]}"})
    yield (
        "no picture",
        zip_of(
            {
                sets.RECORDS: b"photos: {%s: {file: photos/%s.jpg, words: x}}" % (DRILL.encode(), DRILL.encode()),
                f"photos/{DRILL}.jpg": b"junk",
            }
        ),
    )


@pytest.mark.parametrize(("what", "raw"), [pytest.param(*one, id=one[0]) for one in poisoned_sets()])
def test_a_poisoned_set_is_refused_in_words_and_writes_nothing(
    visitor: Visitor, filed: tuple[Path, Filed], what: str, raw: bytes
) -> None:
    visitor.get("/clinic")
    before = sorted(filed[0].rglob("*"))
    answer = sent_set(visitor, raw)
    assert answer.status_code == 422, what
    left = {path for path in filed[0].rglob("*") if path not in before}
    assert left <= {filed[0] / "library"}


def test_a_set_whose_records_have_no_name_is_shown_all_the_same(visitor: Visitor) -> None:
    """A photograph's record has none."""
    picture = io.BytesIO()
    Image.new("RGB", (60, 40), "teal").save(picture, "JPEG")
    record = f"photos: {{{DRILL}: {{file: photos/{DRILL}.jpg, words: A rower at a wall, side: right}}}}"
    raw = zip_of({sets.RECORDS: record.encode(), f"photos/{DRILL}.jpg": picture.getvalue()})
    visitor.get("/clinic")
    answer = sent_set(visitor, raw)
    assert answer.status_code == 200
    assert "with a photograph" in answer.text


def poisoned_backups() -> Iterator[tuple[str, bytes]]:
    def listed(said: bytes, **more: bytes) -> bytes:
        return zip_of({"backup.json": said, "homecare.sqlite": b"x", **more})

    def told(**one: object) -> bytes:
        files = [{"path": "homecare.sqlite", "size": 1, "sha256": "x", **one}]
        return json.dumps(
            {"format": 1, "made": "2026-03-02T09:00:00+00:00", "athletes": 0, "sheets": 0, "files": files}
        ).encode()

    yield "nested", listed(b"[" * 200_000)
    yield "no end", listed(told(size=float("inf")))
    yield "digits", listed(b'{"format": ' + LONG.encode() + b"}")
    yield "less than nothing", listed(told(size=-1))
    yield "a way out", listed(told(path="library/../../evil"))
    yield "deflate", altered(zipfile.ZIP_DEFLATED, "backup.json")
    yield "lzma", altered(zipfile.ZIP_LZMA, "backup.json")
    yield "packed otherwise", bz2.compress(b"x" * 1000)


@pytest.mark.parametrize(("what", "raw"), [pytest.param(*one, id=one[0]) for one in poisoned_backups()])
def test_a_poisoned_backup_is_refused_in_words(tmp_path: Path, what: str, raw: bytes) -> None:
    path = tmp_path / "clinic.backup"
    path.write_bytes(raw)
    with pytest.raises(StorageFault):
        check_backup(path)
    with pytest.raises(StorageFault):
        workflow.restore(path, tmp_path / "data", tmp_path / "data/library")
    assert not (tmp_path / "evil").exists()


def test_a_page_is_reached_by_no_way_round(visitor: Visitor, filed: tuple[Path, Filed]) -> None:
    athlete, sheets_of = filed[1].athlete, filed[1].sheets
    for address in (
        "/assets/..%2f..%2fpyproject.toml",
        "/assets/../../pyproject.toml",
        "/static/..%2fframe.html",
        "/static/%2e%2e/frame.html",
        f"/sheet/{sheets_of[-1]}/slip/{filed[1].slip}.pdf",  # of another sheet
        f"/sheet/{filed[1].slip}/sheet.pdf",
        f"/sheet/{athlete}",
        f"/athlete/{sheets_of[0]}",
        f"/sheet/{sheets_of[0]}/page-{LONG}.png",
        f"/sheet/{sheets_of[0]}/page-0.png",
        "/sheet/%00/sheet.pdf",
        "/athlete/%ff%fe",
        "/library/..%2f..%2fx/photo.jpg",
        "/figure/..%2fx/left.svg",
    ):
        assert visitor.get(address).status_code == 404, address
    assert visitor.get("/library/new?draft=../../../../etc/passwd").status_code == 200
    assert visitor.get(f"/sheet/{sheets_of[0]}/slip/{filed[1].slip}.pdf").status_code == 200


@pytest.mark.parametrize("name", ["<script>x</script> Holt", "{{ 7 * 7 }} Holt", 'Holt"\n: {a: !!x', "&lt; Holt"])
def test_a_hostile_name_is_a_name(visitor: Visitor, name: str) -> None:
    visitor.get("/clinic")
    answer = visitor.post("/athletes/new", {"name": name})
    assert answer.status_code == 303
    page = visitor.get(answer.headers["Location"]).text
    assert "<script>x" not in page
    assert ">49 Holt" not in page
    assert visitor.post("/athletes", {"typed": "Holt"}).status_code == 200


def test_letters_that_turn_a_line_round_or_show_nothing_are_left_out(visitor: Visitor) -> None:
    """CVE-2021-42574 is of such letters in source text (from memory)."""
    visitor.get("/clinic")
    answer = visitor.post("/athletes/new", {"name": "Odile\u202e\u2066\u200b\x00\x1b[31m Reyer"})
    assert answer.status_code == 303
    assert "<h1>Odile[31m Reyer" in " ".join(visitor.get(answer.headers["Location"]).text.split())


def at_once(count: int, send: object) -> list[TestResponse]:
    """Answers of requests that were all in the desk before the first of them was answered."""
    answers: list[TestResponse] = []
    threads = [threading.Thread(target=lambda: answers.append(send())) for _ in range(count)]  # type: ignore[operator]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return answers


def met(patch: pytest.MonkeyPatch, module: object, name: str) -> None:
    """Let two requests both come as far as a function of the desk before either goes on."""
    barrier, whole = threading.Barrier(2), getattr(workflow, name)

    def together(*given: object, **named: object) -> object:
        barrier.wait(60)
        return whole(*given, **named)

    patch.setattr(f"{module.__name__}.workflow.{name}", together)  # type: ignore[attr-defined]


def test_a_next_sheet_that_is_asked_for_twice_at_once_is_handed_over_once(
    tmp_path: Path, lib: Library, monkeypatch: pytest.MonkeyPatch
) -> None:
    filed = file_rower(open_database(tmp_path), lib)
    visitor = Visitor(tmp_path)
    page, sheet = f"/athlete/{filed.athlete}/check-in", filed.sheets[-1]
    drill = json.loads(visitor.get(f"/sheet/{sheet}/plan.json").data)["drills"][0]["id"]
    visitor.get(page)
    met(monkeypatch, checking, "issue")
    fields = {"sheet": sheet, f"response-{drill}": "settled", "stop": "none", "do": "make"}
    answers = at_once(2, lambda: visitor.post(page, fields))
    assert sorted(one.status_code for one in answers) == [303, 409]
    with open_database(tmp_path).read() as connection:
        assert len(sheets_of_athlete(connection, filed.athlete)) == 4


def test_a_slip_that_is_asked_for_twice_at_once_is_handed_over_once(
    tmp_path: Path, lib: Library, monkeypatch: pytest.MonkeyPatch
) -> None:
    filed = file_rower(open_database(tmp_path), lib)
    sheet = filed.sheets[-1]
    visitor = Visitor(tmp_path)
    plan = json.loads(visitor.get(f"/sheet/{sheet}/plan.json").data)
    monkeypatch.setattr(amending, "today", lambda: date.fromisoformat(plan["days"][1]["date"]))
    visitor.get(f"/sheet/{sheet}/amend")
    fields = {"slips": "0", "day": plan["days"][2]["date"], f"do-{plan['drills'][-1]['id']}": "off", "do": "print"}
    met(monkeypatch, amending, "issue_slip")
    answers = at_once(2, lambda: visitor.post(f"/sheet/{sheet}/amend", fields))
    assert sorted(one.status_code for one in answers) == [303, 409]
    with open_database(tmp_path).read() as connection:
        assert len(list_amendments(connection, sheet)) == 1


def test_an_athlete_who_is_erased_twice_at_once_is_gone_once(tmp_path: Path, lib: Library) -> None:
    filed = file_rower(open_database(tmp_path), lib)
    visitor = Visitor(tmp_path)
    visitor.get("/clinic")
    answers = at_once(2, lambda: visitor.post(f"/athlete/{filed.athlete}/erase"))
    assert sorted(one.status_code for one in answers) == [200, 404]
    assert visitor.get(f"/sheet/{filed.sheets[0]}/sheet.pdf").status_code == 404


def test_strangers_push_out_nothing_that_somebody_else_typed(tmp_path: Path, quick_hashes: None) -> None:
    """A guest on the clinic's network sends forms until the desk forgets those of the people who work there."""
    owner = Visitor(tmp_path)
    owner.set_up()
    owner.later(2 * IDLE)
    kept = owner.post("/athletes/new", {"name": "Typed for an hour"})
    assert kept.status_code == 401
    stranger = owner.beside()
    for _ in range(200):
        stranger.post("/athletes/new", {"name": "push"})
    held = kept.text.partition('name="held" value="')[2].partition('"')[0]
    assert "Typed for an hour" in owner.sign_in(held=held).text


def test_a_made_up_sender_gets_round_no_wait(tmp_path: Path, quick_hashes: None) -> None:
    """Headers of proxies are believed by nobody: there is none before the desk."""
    owner = Visitor(tmp_path)
    owner.set_up()
    stranger = owner.beside()
    for number in range(30):
        sender = {"X-Forwarded-For": f"192.0.2.{number}", "Forwarded": f"for=192.0.2.{number}", "X-Real-IP": "::1"}
        stranger.get("/sign-in")
        answer = stranger.post("/sign-in", {"name": f"Somebody {number}", "passphrase": "x"}, **sender)
    assert "Too many were wrong" in answer.text


def test_a_session_that_was_ended_is_not_brought_back_with_an_older_backup(tmp_path: Path, quick_hashes: None) -> None:
    """The backup does not know yet that everybody was signed out."""
    owner = Visitor(tmp_path)
    owner.set_up()
    stolen = owner.beside()
    stolen.sign_in()
    backup = tmp_path / "older.backup"
    workflow.back_up(open_database(tmp_path), tmp_path / "library", backup)
    owner.get("/clinic/people")
    assert owner.post("/clinic/people/sign-out").status_code == 303
    assert stolen.get("/clinic").status_code == 401
    workflow.restore(backup, tmp_path, tmp_path / "library")
    assert stolen.get("/clinic").status_code == 401
    assert owner.sign_in().status_code == 303


def test_a_picture_made_to_break_its_reader_is_refused_in_words() -> None:
    """Pictures with bytes altered anywhere, most of them where a reader looks first."""
    plain, upright = Image.effect_noise((64, 48), 50).convert("RGB"), Image.Exif()
    upright[0x112], upright[0x10E] = 6, "x" * 50
    kinds = []
    for kind in ("JPEG", "PNG", "WEBP", "GIF", "BMP"):
        stream = io.BytesIO()
        plain.save(stream, kind, exif=upright)
        kinds.append(stream.getvalue())
    chance, refused = random.Random(3), 0
    # Altered so, Pillow 11 raises struct.error out of the orientation of a photograph.
    cut = kinds[0].replace(b"\x01\x12\x00\x03\x00\x00\x00\x01", b"\x01\x12\x00\x02\x00\x00\x00\x01")
    for number in range(1500):
        raw = bytearray(kinds[number % len(kinds)])
        for _ in range(chance.choice((1, 2, 5, 20))):
            raw[chance.randrange(chance.choice((60, 200, len(raw))))] = chance.choice((0, 255, chance.randrange(256)))
        for content in (bytes(raw), cut):
            try:
                plain_picture(content, (40, 40), "PNG")
            except NoPicture:
                refused += 1
    assert refused > 100


class Served:
    """A desk behind the server that clinics run, under TLS, on a port of this machine."""

    def __init__(self, folder: Path) -> None:
        made = kept_certificate(folder / "tls", ["127.0.0.1"], datetime.now(UTC))
        app = create_app(data=folder, rooms=Rooms(frozenset({"127.0.0.1"}), made.fingerprint, own=False))
        self.server = serve._opened(app, "127.0.0.1", 0, made)
        self.server.timeout = 600  # what waits for somebody who says nothing waits for longer than the test
        self.thread = threading.Thread(target=self.server.serve, daemon=True)
        self.thread.start()

    def connected(self) -> socket.socket:
        return socket.create_connection(("127.0.0.1", self.server.bind_addr[1]), timeout=60)

    def asked(self, head: bytes) -> bytes:
        with ssl._create_unverified_context().wrap_socket(self.connected()) as line:
            line.sendall(head + b"\r\nConnection: close\r\n\r\n")
            return line.recv(15)


@pytest.fixture
def served(tmp_path: Path) -> Iterator[Served]:
    found = Served(tmp_path)
    yield found
    found.server.stop()
    found.thread.join()


def test_whoever_connects_and_says_nothing_keeps_nobody_waiting(served: Served) -> None:
    silent = [served.connected() for _ in range(20)]
    assert served.asked(b"GET /sign-in HTTP/1.1\r\nHost: 127.0.0.1") == b"HTTP/1.1 200 OK"
    for line in silent:
        line.close()


def test_a_request_with_a_head_without_end_is_refused(served: Served) -> None:
    head = b"GET /sign-in HTTP/1.1\r\nHost: 127.0.0.1\r\nX: "
    assert served.asked(head + b"a" * 30_000) == b"HTTP/1.1 200 OK"
    try:
        answer = served.asked(head + b"a" * 3_000_000)
    except OSError:  # hung up on before all of it was sent
        return
    assert answer.startswith(b"HTTP/1.1 4") or not answer
