"""Many stored sheets printed again: one PDF or a zip, made in the background, with progress and a way to stop."""

from __future__ import annotations

import secrets
import threading
from collections import OrderedDict
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Literal

from flask import Blueprint, Response, abort, jsonify, redirect, render_template, request, url_for
from werkzeug.wrappers import Response as AnyResponse

from homecare.desk.bench import Bench
from homecare.desk.form import read_form
from homecare.desk.records import PDF, ZIP, download
from homecare.render.pdf_pages import Joined
from homecare.storage.athletes import find_athlete
from homecare.storage.database import Database
from homecare.storage.faults import StorageFault
from homecare.storage.sheets import find_sheet, read_sheet
from homecare.workflow.histories import zipped

MOST, KEPT = 500, 4
"""Sheets in one go, and reprints that are kept in memory until others take their place (common practice)."""
NOT_HERE = "This reprint is no longer kept. Choose the sheets again."
As = Literal["pdf", "zip"]


@dataclass
class Reprint:
    """One reprint while it is made: `done` of its sheets so far, and in the end its content, or that it was stopped."""

    sheets: tuple[str, ...]
    kind: As
    done: int = 0
    content: bytes = b""
    faults: list[str] = field(default_factory=list)
    stopped: threading.Event = field(default_factory=threading.Event)
    over: threading.Event = field(default_factory=threading.Event)

    @property
    def state(self) -> Literal["running", "ready", "stopped", "failed"]:
        """Where it stands."""
        if not self.over.is_set():
            return "running"
        return "stopped" if self.stopped.is_set() else "ready" if self.content else "failed"


def blueprint(bench: Bench) -> Blueprint:
    """The routes of reprints over one bench."""
    topic = Blueprint("reprints", __name__)
    kept: OrderedDict[str, Reprint] = OrderedDict()

    def found(key: str) -> Reprint:
        return kept.get(key) or abort(404, NOT_HERE)

    @topic.post("/reprints")
    def begin() -> AnyResponse:
        form = read_form(request.form.lists())
        chosen = tuple(dict.fromkeys(form.many("sheet")))[:MOST]
        if not chosen:
            return redirect(url_for("athletes.listed", choose=1), 303)
        key, one = secrets.token_urlsafe(16), Reprint(chosen, "zip" if form.one("as") == "zip" else "pdf")
        kept[key] = one
        while len(kept) > KEPT:
            kept.popitem(last=False)[1].stopped.set()
        threading.Thread(target=make, args=(bench.database, one), daemon=True).start()
        return redirect(url_for("reprints.page", key=key), 303)

    @topic.get("/reprints/<key>")
    def page(key: str) -> str:
        return render_template("reprint.html", one=found(key), key=key)

    @topic.get("/reprints/<key>/state")
    def state(key: str) -> Response:
        one = found(key)
        return jsonify(done=one.done, state=one.state)

    @topic.post("/reprints/<key>/stop")
    def stop(key: str) -> AnyResponse:
        one = found(key)
        one.stopped.set()
        one.over.wait(5)
        return redirect(url_for("reprints.page", key=key), 303)

    @topic.get("/reprints/<key>/file")
    def file(key: str) -> Response:
        one = found(key)
        if one.state != "ready":
            abort(404, "This reprint is not ready.")
        return Response(one.content, mimetype=PDF) if one.kind == "pdf" else download(one.content, ZIP, "sheets.zip")

    return topic


def make(database: Database, one: Reprint) -> None:
    """Read the stored sheets one after the other into the whole, until it is done or stopped."""
    whole, files = Joined(), dict[str, bytes]()
    try:
        for number, sheet in enumerate(one.sheets, 1):
            if one.stopped.is_set():
                return
            try:
                name, content = _stored(database, sheet)
            except StorageFault as fault:
                one.faults += _words(fault)
            except KeyError:
                one.faults.append("A sheet is not in the records any more: its athlete was erased.")
            else:
                if one.kind == "pdf":
                    whole.add(content)
                files[f"{number:03d} {name}.pdf"] = content if one.kind == "zip" else b""
            one.done = number
        if files and not one.stopped.is_set():
            one.content = whole.written() if one.kind == "pdf" else zipped(files)
    finally:
        whole.close()
        one.over.set()


def _stored(database: Database, sheet: str) -> tuple[str, bytes]:
    """Whose sheet it is and from which day, as a file's name, and its stored PDF. Raises KeyError when it is gone."""
    with database.read() as connection:
        stored, files = find_sheet(connection, sheet), read_sheet(connection, sheet)
        athlete = find_athlete(connection, stored.athlete) if stored else None
    if stored is None or files is None or athlete is None:
        raise KeyError(sheet)
    name = "".join(letter if letter.isalnum() or letter in " -." else "_" for letter in athlete.name)
    return f"{name} {stored.first_day}", files.pdf


def _words(fault: StorageFault) -> Sequence[str]:
    return [f"{one.message}{f' ({one.hint})' if one.hint else ''}" for one in fault.problems]
