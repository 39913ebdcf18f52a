"""Our printed sheet beside headless Chromium printing the same HTML: warm and cold, memory and size."""

from __future__ import annotations

import base64
import os
import pickle
import re
import shutil
import subprocess
import sys
import time
from collections.abc import Callable
from contextlib import suppress
from dataclasses import replace
from datetime import timedelta
from itertools import count
from pathlib import Path

from playwright.sync_api import Page, sync_playwright

from homecare import workflow
from homecare.core.sheet import Sheet
from homecare.render.assets import read_asset
from homecare.render.print_view import sheet_html, sheet_pdf
from tests.render.sheets import fixtures
from tests.web.browser import BROWSERS, FLAGS

STYLE = Path(__file__).with_name("browser.css")
ROWER = Path(__file__).parents[1] / "data" / "rower.yaml"
COLD_OURS = (
    "import re, sys, pickle; from pathlib import Path; from homecare.render.print_view import sheet_pdf;"
    "sheet_pdf(pickle.load(sys.stdin.buffer));"
    "print(re.search(r'VmHWM:\\s+(\\d+)', Path('/proc/self/status').read_text())[1])"
)
COLD_BROWSER = (
    "import sys, resource, tests.bench.beside_browser as b;"
    "html = sys.stdin.read(); b.in_browser(lambda page: b.browser_pdf(page, html));"
    "print(resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss)"
)


def compare(rounds: int) -> None:
    """Print a table of both engines, each turn of ours followed by one of theirs; every turn is another's sheet, since
    our printer keeps what it laid out."""
    sheets = {"invented, 5 drills": fixtures()["five"], "a visit's, rower": workflow.make_sheet(ROWER).sheet}

    def measure(page: Page) -> None:
        for name, sheet in sheets.items():
            _row(name, sheet, page, rounds)

    print(f"{'':<22}{'ours':>10}{'Chromium':>12}{'ours : theirs':>16}")
    in_browser(measure)


def _row(name: str, sheet: Sheet, page: Page, rounds: int) -> None:
    turn = count(1)

    def ours() -> bytes:
        return sheet_pdf(_of(sheet, next(turn)))

    def theirs() -> bytes:
        return browser_pdf(page, whole_html(_of(sheet, next(turn))))

    sizes = [len(work()) for work in (ours, theirs)]
    turns = [(seconds(ours), seconds(theirs)) for _ in range(rounds)]
    warm = [min(taken) for taken in zip(*turns, strict=True)]
    start, start_browser = time.process_time(), browser_seconds()
    for _ in range(rounds):
        ours()
    spent = (time.process_time() - start) / rounds
    for _ in range(rounds):
        theirs()
    spent_browser = (browser_seconds() - start_browser) / rounds
    same = min(seconds(lambda: sheet_pdf(sheet)) for _ in range(3))
    cold, memory = _cold(COLD_OURS, pickle.dumps(sheet))
    cold_browser, memory_browser = _cold(COLD_BROWSER, whole_html(sheet))
    lines = (
        ("warm, ms", warm[0] * 1000, warm[1] * 1000),
        ("of the processor, ms", spent * 1000, spent_browser * 1000),
        ("the same sheet again, ms", same * 1000, warm[1] * 1000),
        ("new process, ms", cold * 1000, cold_browser * 1000),
        ("memory, MB", memory / 1024, memory_browser / 1024),
        ("file, kB", sizes[0] / 1000, sizes[1] / 1000),
    )
    print(name)
    for label, mine, other in lines:
        print(f"  {label:<24}{mine:>6.0f}{other:>12.0f}{mine / other:>16.2f}")


def _of(sheet: Sheet, turn: int) -> Sheet:
    """The sheet as another athlete's, from another day on."""
    later = timedelta(days=7 * turn)
    days = tuple(replace(day, date=day.date + later) for day in sheet.days)
    return replace(sheet, athlete=f"Athlete {turn}", start=sheet.start + later, days=days)


def seconds(work: Callable[[], object]) -> float:
    """What one call takes, in seconds of the clock."""
    start = time.perf_counter()
    work()
    return time.perf_counter() - start


def browser_seconds() -> float:
    """What the browser's processes below this one have had of the processors, in seconds."""
    spent: dict[int, tuple[int, str, int]] = {}
    for path in Path("/proc").glob("[0-9]*/stat"):
        with suppress(OSError):
            name, _, rest = path.read_text().partition(" (")[2].rpartition(") ")
            fields = rest.split()
            spent[int(path.parent.name)] = (int(fields[1]), name, int(fields[11]) + int(fields[12]))

    def ours(process: int) -> bool:
        while process in spent and process != os.getpid():
            process = spent[process][0]
        return process == os.getpid()

    ticks = sum(used for process, (_, name, used) in spent.items() if name.startswith("chrom") and ours(process))
    return ticks / os.sysconf("SC_CLK_TCK")


def _cold(code: str, given: str | bytes) -> tuple[float, int]:
    """Seconds of a new process and its memory at the most, in kB; of a browser, its largest process."""
    start = time.perf_counter()
    raw = given.encode() if isinstance(given, str) else given
    done = subprocess.run([sys.executable, "-c", code], input=raw, capture_output=True, check=True)
    return time.perf_counter() - start, int(done.stdout)


def whole_html(sheet: Sheet) -> str:
    """The sheet's HTML with a style, marks and fonts inside it, so that nothing has to be fetched."""
    return sheet_html(sheet).replace("</head>", f"<style>{_inlined(STYLE.read_text())}</style></head>")


def _inlined(css: str) -> str:
    def data(found: re.Match[str]) -> str:
        body, kind = read_asset(found[1])
        return f'url("data:{kind};base64,{base64.b64encode(body).decode()}")'

    return re.sub(r'url\("([^":]+)"\)', data, css)


def browser_pdf(page: Page, html: str) -> bytes:
    """The same HTML by the browser, tagged as ours is."""
    page.set_content(html)
    return page.pdf(prefer_css_page_size=True, print_background=True, tagged=True)


def in_browser(work: Callable[[Page], object]) -> None:
    """Do some work with a page of the machine's own browser."""
    path = next(filter(None, map(shutil.which, BROWSERS)), None)
    if path is None:
        raise SystemExit("there is no browser on this machine")
    with sync_playwright() as playwright:
        running = playwright.chromium.launch(executable_path=path, args=FLAGS)
        work(running.new_page())
        running.close()
