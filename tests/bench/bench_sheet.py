"""How long a printed sheet takes, as ratios within one run: python -m tests.bench.bench_sheet [--rounds N] [--browser].

The yardstick is a fixed piece of pure Python timed in the same run, so that a busy or slow machine shifts both. Each
figure is the least of its rounds; a cold sheet is a new process, imports and fonts included. With --browser the same
HTML is printed by headless Chromium too, from memory, turn and turn about.
"""

from __future__ import annotations

import argparse
import subprocess
import sys
import time
from collections.abc import Callable

from homecare.render.codes import code_svg
from homecare.render.note import note_text
from homecare.render.phone_file import phone_html
from homecare.render.plan_json import plan_bytes
from homecare.render.print_view import sheet_html, sheet_pdf
from tests.bench.beside_browser import compare
from tests.render.sheets import fixtures

COLD = (
    "from tests.render.sheets import make_sheet;"
    "from homecare.render.print_view import sheet_pdf; sheet_pdf(make_sheet(5))"
)


def yardstick() -> None:
    """Dictionary and string work, about as long as a tenth of a sheet."""
    seen: dict[str, int] = {}
    for number in range(250_000):
        key = f"{number % 977}"
        seen[key] = seen.get(key, 0) + number


def least(rounds: int, work: Callable[[], object]) -> float:
    """The least of several timings, in seconds."""
    timings = []
    for _ in range(rounds):
        start = time.perf_counter()
        work()
        timings.append(time.perf_counter() - start)
    return min(timings)


def cold() -> None:
    """One sheet in a process of its own."""
    subprocess.run([sys.executable, "-c", COLD], check=True)


def _codes(links: list[str]) -> None:
    code_svg.cache_clear()
    for link in links:
        code_svg(link)


def main() -> int:
    """Print each piece of work in milliseconds and in yardsticks."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rounds", type=int, default=5)
    parser.add_argument("--browser", action="store_true", help="our sheets beside headless Chromium")
    arguments = parser.parse_args()
    rounds = arguments.rounds
    if arguments.browser:
        compare(rounds)
        return 0
    sheets = fixtures()
    five = sheets["five"]
    unit = least(rounds, yardstick)
    works: dict[str, Callable[[], object]] = {
        "sheet of 5 drills, new process": cold,
        "sheet of 5 drills": lambda: sheet_pdf(five),
        "sheet of 6 drills": lambda: sheet_pdf(sheets["six"]),
        "longer words": lambda: sheet_pdf(sheets["rich"]),
        "sheet of 5 drills, large print": lambda: sheet_pdf(five, "a4", True),
        "sheet of 14 drills over 84 days": lambda: sheet_pdf(sheets["fourteen_84"]),
        "its HTML alone": lambda: sheet_html(five),
        "six codes, none kept": lambda: _codes([drill.link for drill in sheets["six"].drills]),
        "plan.json": lambda: plan_bytes(five),
        "phone file": lambda: phone_html(five),
        "chart note": lambda: note_text(five),
    }
    sheet_pdf(five)
    print(f"{'yardstick':<36}{unit * 1000:9.1f} ms")
    for name, work in works.items():
        taken = least(rounds, work)
        print(f"{name:<36}{taken * 1000:9.1f} ms{taken / unit:9.2f} yardsticks")
    return 0


if __name__ == "__main__":
    sys.exit(main())
