"""What a made sheet is handed over as: PDF, large print, phone page, calendar, chart note, visit file."""

from __future__ import annotations

import re

from flask import Blueprint, Response, abort

from homecare.desk.bench import Bench
from homecare.desk.store import Made
from homecare.guard import policy
from homecare.render.assets import read_asset
from homecare.render.calendar_file import calendar_bytes
from homecare.render.codes import SHEET_MM, code_svg
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
    """The routes of the made files over one bench."""
    topic = Blueprint("files", __name__)

    def found(key: str) -> Made:
        made = bench.store.find(key)
        if made is None:
            abort(404, "This sheet is no longer kept. Make it again on the desk.")
        return made

    @topic.get("/made/<key>/sheet.pdf")
    def pdf(key: str) -> Response:
        return Response(bench.hand_over(found(key).files).pdf, mimetype="application/pdf")

    @topic.get("/made/<key>/large.pdf")
    def large(key: str) -> Response:
        return Response(bench.hand_over(bench.make(found(key).visit, large=True)).pdf, mimetype="application/pdf")

    @topic.get("/made/<key>/phone.html")
    def phone(key: str) -> Response:
        page = Response(bench.hand_over(found(key).files).phone, content_type="text/html; charset=utf-8")
        page.headers["Content-Security-Policy"] = PHONE_POLICY
        return page

    @topic.get("/made/<key>/code.svg")
    def code(key: str) -> Response:
        link = found(key).files.sheet.sheet_link
        if not link:
            abort(404, "This sheet has no drills, so there is no code.")
        filled = SIZE.sub(' width="100%" height="100%"', code_svg(link, SHEET_MM), count=1)
        return Response(filled, mimetype="image/svg+xml")

    @topic.get("/favicon.ico")
    def icon() -> Response:
        return Response(status=204)  # browsers ask for it unbidden

    @topic.get("/made/<key>/care.ics")
    def calendar(key: str) -> Response:
        content = calendar_bytes(found(key).files.sheet)
        if not content:
            abort(404, "This sheet has no plan, so there is nothing for a calendar.")
        page = Response(content, content_type="text/calendar; charset=utf-8")
        page.headers["Content-Disposition"] = "attachment; filename=care.ics"
        return page

    @topic.get("/made/<key>/note.txt")
    def note(key: str) -> Response:
        return Response(found(key).files.note, content_type=TEXT)

    @topic.get("/made/<key>/visit.yaml")
    def visit(key: str) -> Response:
        page = Response(found(key).visit, content_type=TEXT)
        page.headers["Content-Disposition"] = "attachment; filename=visit.yaml"
        return page

    @topic.get("/made/<key>/print.html")
    def preview(key: str) -> Response:
        sheet = found(key).files.sheet
        page = Response(sheet_html(sheet, sheet.clinic.paper, assets=ASSETS), content_type="text/html; charset=utf-8")
        page.headers["Content-Security-Policy"] = PREVIEW_POLICY
        return page

    @topic.get(f"{ASSETS}<path:address>")
    def asset(address: str) -> Response:
        try:
            content, kind = read_asset(address)
        except FileNotFoundError:
            abort(404)
        return Response(content, mimetype=kind, headers={"Cache-Control": "max-age=86400"})

    return topic
