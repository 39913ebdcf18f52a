"""How long the list of athletes takes as a page, full and empty: `python -m tests.bench.bench_records`.

Full are 5,000 athletes with six sheets each. Each figure is the least of its rounds, in milliseconds, then the size of
the page, and the ratio to the same page of an empty clinic in the same run.
"""

from __future__ import annotations

import re
import tempfile
import timeit
from collections.abc import Callable
from pathlib import Path

from homecare.desk import create_app
from homecare.storage.database import open_database
from tests.bench.bench_storage import fill

HERE = {"Host": "127.0.0.1:8020"}
OURS = {**HERE, "Sec-Fetch-Site": "same-origin", "Origin": "http://127.0.0.1:8020"}
ATHLETES, ROUNDS = 5_000, 15


def pages(folder: Path) -> dict[str, Callable[[], bytes]]:
    """What is asked of a desk over a data folder, by the words that tell of it."""
    desk = create_app(data=folder).test_client()
    token = re.findall(r'name="token" content="([^"]+)"', desk.get("/athletes", headers=HERE).text)[0]

    def found(typed: str) -> bytes:
        asked = {"typed": typed, "part": "rows", "token": token}
        content: bytes = desk.post("/athletes", data=asked, headers=OURS).data
        return content

    def shown(address: str) -> bytes:
        content: bytes = desk.get(address, headers=HERE).data
        return content

    return {
        "the list": lambda: shown("/athletes"),
        "its page 50": lambda: shown("/athletes?page=50"),
        "one letter typed": lambda: found("h"),
        "two words typed": lambda: found("hed sand"),
        "nobody of that name": lambda: found("zz"),
    }


def main() -> None:
    """Fill, ask and print."""
    with tempfile.TemporaryDirectory() as folder:
        full, empty = Path(folder) / "full", Path(folder) / "empty"
        fill(open_database(full), ATHLETES)
        few = pages(empty)
        for words, ask in pages(full).items():
            took, least = (min(timeit.repeat(one, number=1, repeat=ROUNDS)) for one in (ask, few[words]))
            print(f"{words:24} {took * 1000:7.1f} ms {len(ask()) / 1000:7.1f} kB {took / least:6.1f} times")


if __name__ == "__main__":
    main()
