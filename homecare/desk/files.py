"""What a made sheet is handed over as: PDF, large print, phone page, chart note, visit file."""

from __future__ import annotations

from flask import Blueprint, Response, abort

from homecare.desk.bench import Bench
from homecare.desk.store import Made
from homecare.guard import policy
from homecare.render.assets import read_asset
from homecare.render.print_view import sheet_html

ASSETS = "/assets/"
TEXT = "text/plain; charset=utf-8"
PHONE_POLICY = "sandbox allow-scripts; " + policy(
    script_src="'unsafe-inline'", style_src="'unsafe-inline'", img_src="data:"
)
"""The phone page carries its own scripts, held to their hashes by its own policy; the sandbox keeps it off the desk."""

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
