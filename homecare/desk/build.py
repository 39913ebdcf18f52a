"""The page that builds a sheet, top to bottom: who, found, fits, sheet."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime

from flask import Blueprint, Response, g, make_response, render_template, request
from flask.sansio.blueprints import BlueprintSetupState

from homecare.core.problems import InputFault
from homecare.desk.bench import Bench
from homecare.desk.form import Form, blank_form, press, read_form
from homecare.desk.sending import STALE
from homecare.desk.view import sheet_page
from homecare.desk.visit_text import WEEKDAYS, visit_text

Faults = Mapping[str, tuple[str, ...]]
LAYOUT_BUTTONS = ("add:", "remove:")
"""Buttons that only change the rows of the form; every other one makes the sheet anew."""

NO_REASON = "A reason is needed first"
CONTRADICTION = "None of these is ticked together with a sign: untick the one that is wrong"


def blueprint(bench: Bench) -> Blueprint:
    """The page's routes over one bench."""
    topic = Blueprint("build", __name__)

    @topic.get("/")
    def blank() -> Response:
        return _page(bench, blank_form(f"{datetime.now().astimezone():%Y-%m-%d}"))

    @topic.post("/")
    def pressed() -> Response:
        button = request.form.get("do", "make")
        before = read_form((name, values) for name, values in request.form.lists() if name not in ("token", "do"))
        form = press(before, button)
        if g.stale:
            return _page(bench, form, {"": (STALE,)})
        if button.startswith(LAYOUT_BUTTONS):
            return _page(bench, form)
        return _made(bench, form, without_pick=before if button.startswith("pick:") else None)

    @topic.record_once
    def _keeps(state: BlueprintSetupState) -> None:
        state.app.config["KEEPS_STALE"].add("build.pressed")

    return topic


def _made(bench: Bench, form: Form, faults: Faults | None = None, without_pick: Form | None = None) -> Response:
    """The page with the sheet that the form asks for, or with the form's faults; `faults` stand beside the sheet.

    `without_pick` is the form before a drill was put on by hand: where only its reason is missing, the sheet stays.
    """
    visit = visit_text(form)
    if form.one("screen") and form.many("flags"):
        return _page(bench, form, {"screen": (CONTRADICTION,)})
    try:
        files = bench.make(visit.text)
    except InputFault as fault:
        said = visit.faults(fault.problems)
        if without_pick is not None and all(name.startswith("pick-") for name in said):
            _, drill, side = request.form["do"].split(":")
            return _made(bench, without_pick, {f"why-{drill}-{side}": (NO_REASON,)})
        return _page(bench, form, said)
    key = bench.keep(visit.text, files)
    page = sheet_page(files.sheet, bench.library, form.many("drop"), form.many("cover"))
    return _page(bench, form, faults, made=page, key=key)


def _page(bench: Bench, form: Form, faults: Faults | None = None, **made: object) -> Response:
    context = {"made": None, "key": "", **made}
    html = render_template(
        "build.html",
        form=form,
        words=bench.vocabulary,
        weekdays=WEEKDAYS,
        faults=faults or {},
        drills=bench.library.drills,
        **context,
    )
    return make_response(html, 422 if faults else 200)
