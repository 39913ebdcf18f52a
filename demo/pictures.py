"""The README's pictures: a sheet, the desk and the phone page, of the demo's invented athletes.

python -m demo.pictures BROWSER     writes demo/pictures/*.png; BROWSER is the machine's Chromium
"""

from __future__ import annotations

import math
import sys
import tempfile
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from io import BytesIO
from pathlib import Path

import pypdfium2
from cheroot import wsgi
from flask import Flask
from PIL import Image
from playwright.sync_api import Browser, Page, sync_playwright

from demo.fill import CLINIC, HERE, fill
from homecare.desk import create_app
from homecare.desk.form import form_text
from homecare.desk.form_of_visit import form_from_visit
from homecare.storage import drafts, sheets
from homecare.storage.database import open_database

OUT = HERE / "pictures"
COLOURS, APART = 64, 24
"""How many colours a picture keeps, and how far apart they lie in RGB: few, so that the pictures stay small."""
SHEET, CARRIED = "sea_swimmer", "canoe_marathoner"
"""Whose visit is on the desk and whose leaf is shown, and whose phone."""


def main(chromium: str) -> None:
    """Write all of them."""
    OUT.mkdir(exist_ok=True)
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        filed = fill(folder, datetime.now().astimezone().date())
        database = open_database(folder)
        visit = (HERE / "visits" / f"{SHEET}.yaml").read_text(encoding="utf-8")
        with database.write() as connection:
            leaf = sheets.read_sheet(connection, filed[SHEET].sheet)
            draft = drafts.add_draft(connection, form_text(form_from_visit(visit)), datetime.now(UTC))
        assert leaf is not None
        _leaf(leaf.pdf)
        with _served(create_app(CLINIC, None, folder)) as desk, sync_playwright() as playwright:
            browser = playwright.chromium.launch(executable_path=chromium, args=["--no-sandbox"])
            _desk(browser, f"{desk}/draft/{draft.id}")
            _phone(browser, f"{desk}/sheet/{filed[CARRIED].sheet}/phone.html")
            browser.close()


def _leaf(pdf: bytes) -> None:
    """Both sides of a leaf, next to each other."""
    sides = [page.render(scale=1).to_pil() for page in pypdfium2.PdfDocument(pdf)]
    whole = Image.new("RGB", (sum(side.width for side in sides) + 12, sides[0].height), "#d9d2c3")
    whole.paste(sides[0], (0, 0))
    whole.paste(sides[1], (sides[0].width + 12, 0))
    _save(whole, "sheet")


def _desk(browser: Browser, address: str) -> None:
    # high enough for who, the figure, what was found on it, and the sheet at the side
    page = browser.new_page(viewport={"width": 1280, "height": 890})
    page.goto(address)
    page.wait_for_load_state("networkidle")
    _save(_seen(page), "desk")


def _phone(browser: Browser, address: str) -> None:
    page = browser.new_page(viewport={"width": 390, "height": 780}, reduced_motion="reduce")
    page.goto(address)
    page.wait_for_load_state("networkidle")
    _save(_seen(page), "phone")


def _seen(page: Page) -> Image.Image:
    return Image.open(BytesIO(page.screenshot())).convert("RGB")


def _save(picture: Image.Image, name: str) -> None:
    picture.quantize(palette=_palette(picture), dither=Image.Dither.NONE).save(OUT / f"{name}.png", optimize=True)


def _palette(picture: Image.Image) -> Image.Image:
    """The picture's own commonest colours, none near another: an average of few pixels would turn the madder brown."""
    chosen: list[tuple[int, ...]] = []
    counted = picture.getcolors(picture.width * picture.height) or []
    for _, colour in sorted(counted, reverse=True):
        if (
            len(chosen) < COLOURS
            and isinstance(colour, tuple)
            and all(math.dist(colour, other) >= APART for other in chosen)
        ):
            chosen.append(colour)
    palette = Image.new("P", (1, 1))
    # the rest of the 256 repeats the first: entries of their own could be taken for a colour that nobody chose
    palette.putpalette([part for colour in (chosen + chosen[:1] * 256)[:256] for part in colour])
    return palette


@contextmanager
def _served(app: Flask) -> Iterator[str]:
    server = wsgi.Server(("127.0.0.1", 0), app)
    server.prepare()
    threading.Thread(target=server.serve).start()
    try:
        yield f"http://127.0.0.1:{server.bind_addr[1]}"
    finally:
        server.stop()


if __name__ == "__main__":
    main(sys.argv[1])
