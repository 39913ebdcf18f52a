"""The clinic's starting sets: each under another name, or removed."""

from __future__ import annotations

from collections.abc import Mapping

from flask import Blueprint, Response, abort, make_response, redirect, render_template, request, url_for
from werkzeug.wrappers import Response as AnyResponse

from homecare.desk.bench import Bench
from homecare.storage.people import NameTaken
from homecare.storage.usuals import list_usuals, remove_usual, rename_usual

GONE = "This starting set was removed meanwhile."
NAMELESS = "A starting set needs a name."
TAKEN = "Another set has this name already."


def blueprint(bench: Bench) -> Blueprint:
    """The page's routes over one bench."""
    topic = Blueprint("usuals", __name__)

    @topic.get("/starting-sets")
    def page() -> Response:
        return _page(bench, {}, {})

    @topic.post("/starting-sets/<usual>/name")
    def rename(usual: str) -> AnyResponse:
        name = request.form.get("name", "")
        try:
            with bench.database.write() as connection:
                rename_usual(connection, usual, name)
        except KeyError:
            abort(404, GONE)
        except (NameTaken, ValueError) as fault:
            said = TAKEN if isinstance(fault, NameTaken) else NAMELESS
            return _page(bench, {f"name-{usual}": (said,)}, {usual: name})
        return redirect(url_for("usuals.page"), 303)

    @topic.post("/starting-sets/<usual>/remove")
    def remove(usual: str) -> AnyResponse:
        with bench.database.write() as connection:
            remove_usual(connection, usual)
        return redirect(url_for("usuals.page"), 303)

    return topic


def _page(bench: Bench, faults: Mapping[str, tuple[str, ...]], typed: Mapping[str, str]) -> Response:
    with bench.database.read() as connection:
        usuals = list_usuals(connection)
    return make_response(
        render_template("usuals.html", usuals=usuals, faults=faults, typed=typed), 422 if faults else 200
    )
