"""How long one tap at the builder takes, for visits like those of a morning: `python -m tests.bench.bench_desk`.

Printed: milliseconds of processor time (a busy machine does not count) of the server's answer to a tap that changes
the sheet, to one that changes nothing of it (a step back, a second look), and of the reasoning and planning alone; a
whole print beside them, and the ratio of both.
"""

from __future__ import annotations

import logging
import statistics
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from flask.testing import FlaskClient

from homecare.core.problems import InputFault
from homecare.desk import create_app
from homecare.desk.bench import Bench
from homecare.desk.form import Form
from homecare.desk.form_of_visit import form_from_visit
from homecare.desk.visit_text import visit_text
from tests.web.test_desk import HERE, OURS, Fields

ROOT = Path(__file__).parents[2]
VISITS = [
    *sorted((ROOT / "demo/visits").glob("*.yaml")),
    ROOT / "tests/data/rower.yaml",
    ROOT / "tests/data/canoeist.yaml",
]
TAPS = 9


def milliseconds(act: Callable[[], object]) -> float:
    """The processor time of one act."""
    begun = time.process_time()
    act()
    return 1000 * (time.process_time() - begun)


class Tapped:
    """One visit at the builder; each tap moves the minutes, so that no answer is kept from before."""

    def __init__(self, desk: FlaskClient, form: Form) -> None:
        self.desk = desk
        self.values = {name: list(values) for name, values in form.values.items()}
        self.token = Fields(desk.get("/", headers=HERE).text).sent["token"][0]
        self.path, self.revision = "/draft", 0
        self.size = 0

    def tap(self, **changed: str) -> None:
        """Send the form with some fields set anew, as the script does."""
        self.values |= {name: [value] for name, value in changed.items()}
        sent = {**self.values, "token": self.token, "revision": str(self.revision), "do": "make"}
        answer = self.desk.post(self.path, data=sent, headers={**OURS, "X-Quick": "soon"})
        assert answer.status_code == 200, answer.text[:300]
        assert answer.json is not None
        self.path, self.revision = f"/draft/{answer.json['draft']}", answer.json["revision"]
        self.size = len(answer.data)


def main() -> None:
    """Measure and print."""
    logging.disable()
    with tempfile.TemporaryDirectory() as folder:
        desk = create_app(data=Path(folder)).test_client()
        bench = Bench(None, None, Path(folder))
        print(f"{'visit':22}{'tap':>8}{'again':>8}{'thought':>9}{'answer':>9}{'page':>8}{'print':>8}  print/tap")
        for path in VISITS:
            measure(path.stem, desk, bench, form_from_visit(path.read_text()).without("last", "amendments"))


def measure(name: str, desk: FlaskClient, bench: Bench, form: Form) -> None:
    """One line of the table."""
    one = Tapped(desk, form)
    one.tap()
    taps = [milliseconds(lambda: one.tap(minutes_weekday=str(11 + turn))) for turn in range(TAPS)]  # noqa: B023
    again = [milliseconds(lambda: one.tap(minutes_weekday=str(11 + turn % 2))) for turn in range(TAPS)]  # noqa: B023
    texts = [visit_text(form.with_values(minutes_weekday=(str(31 + turn),))).text for turn in range(TAPS)]
    thought = [milliseconds(lambda: bench.sheet(text, shortage=False)) for text in texts]  # noqa: B023
    try:
        printed = milliseconds(lambda: bench.make(texts[0]))
    except InputFault:
        printed = 0.0
    page = len(desk.get(one.path, headers=HERE).data)
    tap = statistics.median(taps)
    print(
        f"{name:22}{tap:5.0f} ms{statistics.median(again):5.0f} ms{statistics.median(thought):6.0f} ms"
        f"{one.size / 1000:6.0f} kB{page / 1000:5.0f} kB{printed:5.0f} ms  {printed / tap:.1f}"
    )


if __name__ == "__main__":
    main()
