"""How long the desk's server takes for every page and every press in a full clinic: `python -m tests.bench.bench_desk`.

Full are 5,000 athletes with six sheets each (`--data FOLDER` keeps them for the next run), and one with real sheets.
Of each address: the median and the worst milliseconds of its rounds, by the clock and (a busy machine does not count)
of processor time, and the bytes of the answer. What is typed differs in each round, so that nothing is answered from
before; a page that is only loaded again may be. A star marks a median above 100 ms of processor time, or 150 kB.
"""

from __future__ import annotations

import argparse
import io
import itertools
import json
import logging
import statistics
import sys
import tempfile
import time
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from werkzeug.test import TestResponse

from homecare.desk.form import Form
from homecare.desk.form_of_visit import form_from_visit
from homecare.desk.roster import today
from homecare.desk.shelf_form import Names, drill_form
from homecare.library import sets
from homecare.library.load import load_library
from homecare.storage.athletes import add_athlete
from homecare.storage.database import Database, open_database
from homecare.storage.erasing import erase_athlete
from homecare.storage.listing import list_athletes
from tests.bench.bench_storage import fill
from tests.web.filed import Filed, file_rower
from tests.web.test_desk import Fields
from tests.web.visitor import HERE, Visitor

ROOT = Path(__file__).parents[2]
DRILLS = ("soleus_wall_stretch", "median_slider", "knee_to_wall")
MOST_MS, MOST_BYTES = 100, 150_000
TRIED = "A pull low in the calf, {}."


Sent = Mapping[str, list[str]]


@dataclass(frozen=True)
class Asked:
    """One thing that is asked of the desk; `ask` is given the number of its round, before which `ready` is done."""

    words: str
    ask: Callable[[int], TestResponse]
    rounds: int = 7
    ready: Callable[[], object] = lambda: None


@dataclass(frozen=True)
class Clinic:
    """A full clinic's desk, an athlete with sheets of long ago, and the id of a sheet whose days are not over."""

    visitor: Visitor
    database: Database
    filed: Filed
    running: str
    draft: str


def opened(folder: Path, athletes: int) -> Clinic:
    """The desk over a folder, which is filled where it is empty."""
    database = open_database(folder)
    with database.read() as connection:
        there = sum(list_athletes(connection, today(), count=1).counts.values())
    if there < athletes:
        fill(database, athletes - there)
    filed = file_rower(database, load_library())
    visitor = Visitor(folder)
    visitor.get("/clinic")
    running = begun(visitor, filed.athlete)
    sheet = visitor.post(f"{running}/issue", fields_of(visitor, running) | {"do": "issue"})
    assert sheet.status_code == 303, sheet.text
    draft = begun(visitor, filed.athlete).rpartition("/")[2]
    return Clinic(visitor, database, filed, sheet.headers["Location"].rpartition("/")[2], draft)


def begun(visitor: Visitor, athlete: str) -> str:
    """The address of a draft that begins from an athlete's last visit."""
    return visitor.post(f"/athlete/{athlete}/start").headers["Location"].partition("#")[0]


def fields(form: Form) -> Sent:
    """A form as it is sent."""
    return {name: list(values) for name, values in form.values.items()}


def fields_of(visitor: Visitor, draft: str) -> dict[str, object]:
    """What the builder's page of a draft sends."""

    sent = Fields(visitor.get(draft).text).sent
    return {name: values for name, values in sent.items() if name not in ("token", "do")}


def pages(clinic: Clinic) -> Iterator[Asked]:
    """Every address that is loaded."""
    parts = {"athlete": clinic.filed.athlete, "sheet": clinic.filed.sheets[0], "slip": clinic.filed.slip}
    parts |= {"draft": clinic.draft, "drill": DRILLS[0], "tissue": "soleus", "view": "front", "side": "left"}
    parts |= {"number": "1", "address": "marks/glide.svg", "filename": "desk.css"}
    app = clinic.visitor.client.application
    adapter = app.url_map.bind(HERE)
    for rule in sorted(app.url_map.iter_rules(), key=lambda one: one.rule):
        if "GET" in (rule.methods or ()) and rule.arguments <= parts.keys():
            address = adapter.build(rule.endpoint, {one: parts[one] for one in rule.arguments})
            yield Asked(f"GET {rule.rule}", lambda _, at=address: clinic.visitor.get(at))  # type: ignore[misc]
    for more in ("/athletes?page=60", f"/sheet/{clinic.running}/amend", "/library?part=1&words=calf"):
        words = more.replace(clinic.running, "(running)")
        yield Asked(f"GET {words}", lambda _, at=more: clinic.visitor.get(at))  # type: ignore[misc]


def at_the_builder(clinic: Clinic) -> Iterator[Asked]:
    """Taps at the builder: the visits of a morning, each tap with other minutes; and the sheet printed."""
    visitor = clinic.visitor
    visits = [ROOT / "tests/data/rower.yaml", ROOT / "tests/data/canoeist.yaml", *(ROOT / "demo/visits").glob("*.yaml")]
    for path in visits:
        form = form_from_visit(path.read_text()).without("last", "amendments")
        at = {"path": "/draft", "revision": "0"}

        def tap(
            number: int,
            speed: str = "soon",
            values: Sent = fields(form),  # noqa: B008
            at: dict[str, str] = at,
        ) -> TestResponse:
            sent = {**values, "revision": at["revision"], "do": "make", "minutes_weekday": str(11 + number)}
            answer = visitor.post(at["path"], sent, **{"X-Quick": speed})
            assert answer.json is not None, answer.text[:300]
            at |= {"path": f"/draft/{answer.json['draft']}", "revision": str(answer.json["revision"])}
            return answer

        yield Asked(f"tap: {path.stem}", tap)
        yield Asked(f"and all of it: {path.stem}", lambda number, tap=tap: tap(20 + number, "whole"), 3)  # type: ignore[misc]
    yield Asked("POST /find", lambda number: visitor.post("/find", {"find": f"sol{'eus'[:number]} r"}))
    yield Asked("POST /who", lambda number: visitor.post("/who", {"athlete": "lind"[: 1 + number % 4]}))
    yield Asked("POST start", lambda _: visitor.post(f"/athlete/{clinic.filed.athlete}/start"))


def at_the_records(clinic: Clinic) -> Iterator[Asked]:
    """Athletes, what came back, one change: looked at, and handed over."""
    visitor, last = clinic.visitor, clinic.running
    plan = json.loads(visitor.get(f"/sheet/{last}/plan.json").data)
    drills, day = [one["id"] for one in plan["drills"]], plan["days"][3]["date"]
    back = f"/athlete/{clinic.filed.athlete}/check-in"

    def told(number: int) -> dict[str, object]:
        words = itertools.cycle(("settled", "sore", "worse"))
        given = {f"response-{drill}": next(words) for drill in drills}
        return {"sheet": last, "stop": "none", f"done-{drills[0]}": str(number + 1), **given}

    def change(number: int) -> dict[str, object]:
        dose = {f"dose-{drills[0]}-sets": str(1 + number % 3), f"dose-{drills[0]}-reps": str(4 + number)}
        return {"slips": "0", "day": day, f"do-{drills[0]}": "dose", **dose}

    typed = itertools.cycle(("a", "lind", "as li", "fr gr", "ho"))
    yield Asked("POST /athletes (search)", lambda _: visitor.post("/athletes", {"typed": next(typed), "part": "1"}))
    yield Asked("POST /athletes/new", lambda number: visitor.post("/athletes/new", {"name": f"Runa Fell {number}"}))
    yield Asked("check-in, an answer", lambda number: visitor.post(back, {**told(number), "do": "look"}))
    yield Asked("check-in, kept", lambda number: visitor.post(back, {**told(9 + number), "do": "keep"}))
    amend = f"/sheet/{last}/amend"
    yield Asked("a slip, looked at", lambda number: visitor.post(amend, {**change(number), "do": "look"}))

    def looked(at: str, sent: dict[str, object]) -> Callable[[], object]:
        """As the page asks on every answer: what is printed was looked at before."""
        return lambda: visitor.post(at, {**sent, "do": "look"})

    slip, back_again = change(11), told(30)
    yield Asked("a slip, printed", lambda _: visitor.post(amend, {**slip, "do": "print"}), 1, looked(amend, slip))
    yield Asked(
        "the next sheet, printed",
        lambda _: visitor.post(back, {**back_again, "do": "make"}),
        1,
        looked(back, back_again),
    )
    yield Asked("an athlete, erased", lambda number: erased(clinic, number), 1)
    yield Asked("POST /clinic/backup", lambda _: visitor.post("/clinic/backup"), 1)


def erased(clinic: Clinic, number: int) -> TestResponse:
    """Another athlete, added and erased."""
    with clinic.database.write() as connection:
        athlete = add_athlete(connection, f"Runa Gone {number}", datetime.now(UTC)).id
    return clinic.visitor.post(f"/athlete/{athlete}/erase")


def at_the_library(clinic: Clinic) -> Iterator[Asked]:
    """A drill while it is written: its figure in another pose, turned, its words weighed; saved; a set read."""
    visitor, library = clinic.visitor, load_library()
    for key in DRILLS:
        form = fields(drill_form(library.entries["drills", key].content, Names(library)))
        bent = "end-right_knee-flex" if "end-right_knee-flex" in form else next(one for one in form if "end-" in one)

        def sent(what: str, field: str, words: str, at: str, form: Sent = form) -> Asked:
            return Asked(what, lambda number: visitor.post(at, {**form, field: words.format(number)}))

        for words, to, field, value in (
            ("figure, bent", "/figure", bent, "2{}"),
            ("figure, turned", "/figure", "turn", "1{}"),
            ("words, weighed", "/check", "feel", TRIED),
            ("pose, weighed", "/check", bent, "3{}"),
        ):
            yield sent(f"{words}: {key}", field, value, f"/library/{key}{to}")
    first = fields(drill_form(library.entries["drills", DRILLS[0]].content, Names(library)))
    at = f"/library/{DRILLS[0]}"

    revision = [""]

    def opened() -> None:
        revision[0] = visitor.get(at).text.partition('name="revision" value="')[2].partition('"')[0]

    def saved(number: int) -> TestResponse:
        return visitor.post(at, {**first, "revision": revision, "feel": TRIED.format(number), "do": "save"})

    yield Asked("a drill, saved", saved, 5, opened)
    own = visitor.get("/library/set/own.zip").data
    yield Asked("a set, read", lambda _: visitor.post("/library/set", {"set": (io.BytesIO(own), sets.RECORDS)}), 3)
    yield Asked("a drill, as shipped again", lambda _: visitor.post(at, {**first, "do": "restore"}), 1)


def measured(one: Asked) -> str:
    """One line of the table."""
    walls, works, size, codes = list[float](), list[float](), 0, set[int]()
    for number in range(one.rounds):
        one.ready()
        wall, work = time.perf_counter(), time.process_time()
        answer = one.ask(number)
        works.append(1000 * (time.process_time() - work))
        walls.append(1000 * (time.perf_counter() - wall))
        size, codes = max(size, len(answer.data)), codes | {answer.status_code}
    slow = "*" if statistics.median(works) > MOST_MS or size > MOST_BYTES else " "
    told = " ".join(map(str, sorted(codes)))
    times = f"{statistics.median(works):7.0f}{max(works):7.0f}{statistics.median(walls):8.0f}{max(walls):7.0f}"
    return f"{slow} {one.words:46}{times}{size / 1000:9.1f}  {told}"


def main() -> int:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--athletes", type=int, default=5_000)
    parser.add_argument("--data", type=Path)
    parser.add_argument("--only", default="", help="those alone whose words have this in them")
    arguments = parser.parse_args()
    logging.disable()
    with tempfile.TemporaryDirectory() as folder:
        clinic = opened(arguments.data or Path(folder), arguments.athletes)
        print(f"  {'asked':46}{'work':>7}{'worst':>7}{'clock':>8}{'worst':>7}{'kB':>9}  status")
        for part in (pages, at_the_builder, at_the_library, at_the_records):
            for one in part(clinic):
                if arguments.only in one.words:
                    print(measured(one), flush=True)
        erase_athlete(clinic.database, clinic.filed.athlete, datetime.now(UTC))
    return 0


if __name__ == "__main__":
    sys.exit(main())
