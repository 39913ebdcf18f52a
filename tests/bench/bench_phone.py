"""How soon a phone shows something over a slow line: python -m tests.bench.bench_phone.

The line is "slow 4G" as Lighthouse throttles it (150 ms there and back, 1.6 Mbit/s down, 0.75 Mbit/s up; from memory),
the processor four times slower. Pages are served from this machine by the clinic's own server; the saved file comes
over the same line. First contentful paint is the browser's own word (W3C Paint Timing).
"""

from __future__ import annotations

from pathlib import Path

from flask import Flask, Response
from playwright.sync_api import Browser

from homecare.library.load import load_library
from homecare.phone import create_app
from homecare.workflow import make_sheet
from tests.web.browser import browser, served

VISIT = Path(__file__).parents[1] / "data" / "rower.yaml"
LATENCY_MS, DOWN, UP, SLOWER = 150, 1_600_000 / 8, 750_000 / 8, 4
PAINT = "performance.getEntriesByName('first-contentful-paint')[0]?.startTime"


def first_paint(running: Browser, address: str) -> float:
    """Milliseconds from the start of the navigation to the first words on the screen, cold."""
    context = running.new_context(viewport={"width": 390, "height": 844})
    page = context.new_page()
    line = context.new_cdp_session(page)
    line.send("Network.enable")
    line.send(
        "Network.emulateNetworkConditions",
        {"offline": False, "latency": LATENCY_MS, "downloadThroughput": DOWN, "uploadThroughput": UP},
    )
    line.send("Emulation.setCPUThrottlingRate", {"rate": SLOWER})
    page.goto(address)
    found: float | None = None
    while found is None:
        page.wait_for_timeout(50)
        found = page.evaluate(PAINT)
    context.close()
    return found


def main() -> int:
    """Print the first paint of a drill's page, the list of all drills, and a saved sheet sent over the line."""
    files = make_sheet(VISIT)
    saved = Flask("saved")
    saved.add_url_rule("/", view_func=lambda: Response(files.phone, content_type="text/html; charset=utf-8"))
    with browser() as running:
        with served(create_app(load_library())) as address:
            for name in ("AG", "S", ""):
                print(f"/{name:<4} {min(first_paint(running, f'{address}/{name}') for _ in range(3)):6.0f} ms")
        with served(saved) as address:
            paint = min(first_paint(running, address) for _ in range(3))
            print(f"sheet {paint:6.0f} ms, {len(files.phone) / 1000:.0f} kB")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
