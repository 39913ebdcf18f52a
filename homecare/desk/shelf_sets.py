"""Sets of records shared between clinics: the clinic's own as a file, and a file read through before it goes in."""

from __future__ import annotations

import secrets
from collections import OrderedDict
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from flask import Blueprint, Response, make_response, redirect, render_template, request, url_for
from flask.sansio.blueprints import BlueprintSetupState

from homecare.core.problems import InputFault
from homecare.desk.shelf_keep import Keeper
from homecare.library import sets

KEPT_SETS = 4
"""Sets that wait between being read and being put in."""
GONE = "This set is no longer kept here. Choose its file again."


@dataclass(frozen=True)
class Waiting:
    """A set that was sent: its file's name and bytes."""

    name: str
    raw: bytes


def set_routes(topic: Blueprint, keeper: Keeper) -> None:
    """The routes of sets."""
    waiting: OrderedDict[str, Waiting] = OrderedDict()

    @topic.get("/library/set")
    def sets_page() -> Response:
        return _page(keeper)

    @topic.get("/library/set/own.zip")
    def own_set() -> Response:
        try:
            raw = sets.pack(keeper.bench.folder, request.args.getlist("drill"))
        except InputFault as fault:
            return _page(keeper, _said(fault))
        page = Response(raw, mimetype="application/zip")
        page.headers["Content-Disposition"] = "attachment; filename=drills.zip"
        return page

    @topic.post("/library/set")
    def read_set() -> Response:
        sent = request.files.get("set")
        if sent is None or not sent.filename:
            return _page(keeper, ["Choose a file first: a set that another clinic saved here."])
        key, one = secrets.token_urlsafe(12), Waiting(sent.filename[:80], sent.read())
        sent.close()
        if len(one.raw) > sets.MOST_BYTES:
            return _page(keeper, ["This set is too large."])
        try:
            found = sets.review(_folder(keeper), one.raw, one.name)
        except InputFault as fault:
            return _page(keeper, _said(fault))
        waiting[key] = one
        while len(waiting) > KEPT_SETS:
            waiting.popitem(last=False)
        return _review_page(key, one, found, ())

    @topic.post("/library/set/<key>")
    def accept_set(key: str) -> Response:
        one = waiting.get(key)
        if one is None:
            return _page(keeper, [GONE])
        leave = tuple(request.form.getlist("leave"))
        found = sets.review(_folder(keeper), one.raw, one.name, leave)
        if found.faults or request.form.get("do") != "accept":
            return _review_page(key, one, found, leave)
        try:
            keeper.change(lambda own: sets.accept(own, found))
        except InputFault as fault:
            return _page(keeper, _said(fault))
        except OSError as error:
            return _page(keeper, [f"The set could not be written into the clinic's folder: {error.strerror}."])
        waiting.pop(key, None)
        return make_response(redirect(url_for("shelf.listed", said="set"), 303))

    @topic.record_once
    def _settings(state: BlueprintSetupState) -> None:
        state.app.config["UPLOADS"]["shelf.read_set"] = sets.MOST_BYTES + 100_000


def _folder(keeper: Keeper) -> Path:
    keeper.bench.folder.mkdir(parents=True, exist_ok=True)
    return keeper.bench.folder


def _said(fault: InputFault) -> list[str]:
    return list(dict.fromkeys(one.message for one in fault.problems))


def _page(keeper: Keeper, told: Sequence[str] = ()) -> Response:
    own = [key for (section, key), entry in keeper.library.entries.items() if entry.own and section == "drills"]
    html = render_template("shelf_sets.html", own=sorted(own), drills=keeper.library.drills, told=told)
    return make_response(html, 422 if told else 200)


def _review_page(key: str, one: Waiting, found: sets.Review, leave: tuple[str, ...]) -> Response:
    html = render_template("shelf_review.html", key=key, set=one, found=found, leave=leave)
    return make_response(html, 422 if found.faults else 200)
