"""What every page of the desk shows of others: typefaces and marks."""

from __future__ import annotations

import re

from flask import Blueprint, Response, abort

from homecare.desk.bench import Bench
from homecare.guard import policy
from homecare.render.assets import read_asset

ASSETS = "/assets/"
SIZE = re.compile(r' width="[^"]*" height="[^"]*"')
"""The printed size of a code: on a screen it fills the window, so that a phone reads it from an arm's length."""
TEXT = "text/plain; charset=utf-8"
PHONE_POLICY = "sandbox allow-scripts allow-downloads; " + policy(
    script_src="'unsafe-inline'", style_src="'unsafe-inline'", img_src="data:"
)
"""The phone page carries its own scripts, held to their hashes by its own policy; the sandbox keeps it off the desk,
and lets it hand over the calendar file that stands in it."""


def blueprint(bench: Bench) -> Blueprint:
    """The routes over one bench."""
    topic = Blueprint("files", __name__)

    @topic.get("/favicon.ico")
    def icon() -> Response:
        return Response(status=204)  # browsers ask for it unbidden

    @topic.get(f"{ASSETS}<path:address>")
    def asset(address: str) -> Response:
        try:
            content, kind = read_asset(address)
        except FileNotFoundError:
            abort(404)
        return Response(content, mimetype=kind, headers={"Cache-Control": "max-age=86400"})

    return topic
