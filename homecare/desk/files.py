"""What every page of the desk shows of others: the sheet as it would be printed, typefaces and marks."""

from __future__ import annotations

import re

from flask import Blueprint, Response, abort

from homecare.core.problems import InputFault
from homecare.desk import drafts
from homecare.desk.bench import Bench
from homecare.desk.ready import ready
from homecare.desk.visit_text import visit_text
from homecare.guard import policy
from homecare.render.assets import read_asset
from homecare.render.print_view import sheet_html

ASSETS = "/assets/"
SIZE = re.compile(r' width="[^"]*" height="[^"]*"')
"""The printed size of a code: on a screen it fills the window, so that a phone reads it from an arm's length."""
TEXT = "text/plain; charset=utf-8"
PHONE_POLICY = "sandbox allow-scripts allow-downloads; " + policy(
    script_src="'unsafe-inline'", style_src="'unsafe-inline'", img_src="data:"
)
"""The phone page carries its own scripts, held to their hashes by its own policy; the sandbox keeps it off the desk,
and lets it hand over the calendar file that stands in it."""

PREVIEW_POLICY = policy(style_src="'self'", img_src="'self' data:", font_src="'self'", frame_ancestors="'self'")
"""The sheet as it is printed, shown in a frame of the desk."""


def blueprint(bench: Bench) -> Blueprint:
    """The routes over one bench."""
    topic = Blueprint("files", __name__)

    @topic.get("/draft/<draft>/print.html")
    def preview(draft: str) -> Response:
        found = drafts.load(bench.database, draft)
        if found is None:
            abort(404, "This draft is gone: its sheet was printed, or it was thrown away.")
        large = bool(found.form.one("large"))
        try:
            sheet = bench.sheet(visit_text(ready(found.form)[0]).text, large)
        except InputFault:
            abort(404, "This sheet cannot be made as it stands: the page above says what is to be mended.")
        html = sheet_html(sheet, large=large, assets=ASSETS)
        page = Response(html, content_type="text/html; charset=utf-8")
        page.headers["Content-Security-Policy"] = PREVIEW_POLICY
        return page

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
