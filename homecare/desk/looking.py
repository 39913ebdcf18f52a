"""A draft's sheet as it will be printed: pictures of the very pages, asked for after each change that was saved."""

from __future__ import annotations

import threading
from collections import OrderedDict
from dataclasses import dataclass

from flask import Blueprint, Response, abort, make_response, render_template, request, url_for

from homecare.core.problems import InputFault
from homecare.core.sheet import Clinic
from homecare.desk import drafts
from homecare.desk.bench import Bench, Shelf
from homecare.desk.ready import Asked, asked_of
from homecare.render.pdf_pages import WIDTH, page_heights, page_png
from homecare.render.print_view import sheet_pdf

GONE = "This draft is gone: its sheet was printed, or it was thrown away."
UNMADE = "This sheet cannot be made as it stands. Its visit says what is to be mended."
KEPT = 8
"""So many prints are kept: a step back, or the other side, is there at once."""


@dataclass(frozen=True)
class Page:
    """One page: its address, its height in pixels, its name on the switch, and what it is, in words."""

    address: str
    height: int
    name: str
    words: str


class Prints:
    """The sheets that were looked at last, printed; one is printed at a time, and the same not twice."""

    def __init__(self, bench: Bench) -> None:
        self._bench = bench
        self._kept: OrderedDict[tuple[Asked, Shelf, int], tuple[bytes, Clinic]] = OrderedDict()
        self._lock = threading.Lock()

    def pdf(self, asked: Asked) -> bytes:
        """What would be printed, to the byte. Raises InputFault with every fault of the visit."""
        bench = self._bench
        with self._lock:
            shelf, clinic = bench.shelf, bench.clinic
            key = (asked, shelf, id(clinic))
            if key not in self._kept:
                sheet = bench.sheet(asked.text, asked.large, shortage=False)  # which is told at the desk alone
                self._kept[key] = (sheet_pdf(sheet, asked.paper, asked.large), clinic)
            self._kept.move_to_end(key)
            while len(self._kept) > KEPT:
                self._kept.popitem(last=False)
            return self._kept[key][0]


def blueprint(bench: Bench) -> Blueprint:
    """The pages of drafts over one bench."""
    topic = Blueprint("looking", __name__)
    prints = Prints(bench)

    @topic.get("/draft/<draft>/pages")
    def pages(draft: str) -> Response:
        asked = _asked(bench, draft)
        found, wrong = _pages(prints, asked, draft)
        part = "build/pages.html" if "X-Quick" in request.headers else "pages.html"
        html = render_template(part, draft=draft, mark=asked.mark, leaves=found, wrong=wrong, width=WIDTH)
        return make_response(html, 422 if wrong else 200)

    @topic.get("/draft/<draft>/page-<int:number>.png")
    def picture(draft: str, number: int) -> Response:
        try:
            pdf = prints.pdf(_asked(bench, draft))
        except InputFault:
            abort(404, UNMADE)
        shown = page_png(pdf, number)
        return Response(shown, mimetype="image/png") if shown else abort(404, "The sheet has no such page.")

    return topic


def _asked(bench: Bench, draft: str) -> Asked:
    found = drafts.load(bench.database, draft)
    if found is None:
        abort(404, GONE)
    return asked_of(found.form, bench.clinic)


def _pages(prints: Prints, asked: Asked, draft: str) -> tuple[tuple[Page, ...], tuple[str, ...]]:
    """The pages of a draft's sheet, or what keeps it from being printed, in words."""
    try:
        heights = page_heights(prints.pdf(asked))
    except InputFault as fault:
        return (), tuple(". ".join(filter(None, (one.message, one.hint))) for one in fault.problems)
    names = ("front", "back") if len(heights) == 2 else tuple(str(number) for number in range(1, len(heights) + 1))
    return tuple(
        Page(
            address=url_for("looking.picture", draft=draft, number=number, of=asked.mark),
            height=height,
            name=name,
            words=f"The {name}" if len(heights) == 2 else f"Page {number} of {len(heights)}",
        )
        for number, (height, name) in enumerate(zip(heights, names, strict=True), 1)
    ), ()
