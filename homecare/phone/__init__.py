"""The athlete's pages: every drill, the same for everyone; they know no athlete, and the dose stays in the link."""

from __future__ import annotations

from flask import Flask, Response, abort

from homecare.guard import guard, policy
from homecare.library.load import Library
from homecare.phone.pages import drill_page
from homecare.render.assets import read_asset
from homecare.render.links import SHEET_PATH
from homecare.render.phone_page import list_page_html

DOSE, DAYS, STYLE = "/assets/dose.js", "/assets/days.js", "/assets/phone.css"
FIGURE = "/assets/figure.js"
POLICY = policy(script_src="'self'", style_src="'self'", img_src="'self' data:")


def create_app(library: Library) -> Flask:
    """The pages of one library's drills that are in use; read-only, without cookies, under any host name."""
    app = Flask("homecare.phone", static_url_path="/assets")
    app.url_map.strict_slashes = False
    guard(app, POLICY, names=None)
    # The page of a drill out of use stays: its code is printed on sheets that hang in kitchens.
    every = library.drills.values()
    by_name = {drill.code: drill for drill in every} | {drill.address: drill for drill in every}
    drills = tuple(drill for drill in every if drill.offered)

    @app.get("/")
    def index() -> str:
        return list_page_html(drills, "list", scripts=(DOSE, DAYS), style=STYLE)

    @app.get(f"/{SHEET_PATH}")
    def sheet() -> str:
        return list_page_html(drills, "sheet", scripts=(DOSE, DAYS), style=STYLE)

    @app.get("/favicon.ico")
    def icon() -> Response:
        return Response(status=204)  # browsers ask for it unbidden

    @app.get("/<name>")
    def drill(name: str) -> str | Response:
        found = by_name.get(name)
        if found is None:
            other = by_name.get(name.upper()) or by_name.get(name.lower())
            if other is None:
                abort(404)
            # Typed by hand in other letters; a browser keeps the fragment over the redirect.
            return Response(status=302, headers={"Location": f"/{other.code}"})
        return drill_page(found, library, scripts=(DOSE, FIGURE), style=STYLE)

    @app.get(STYLE)
    def style() -> Response:
        return _asset("phone/phone.css")

    @app.get(FIGURE)
    def figure() -> Response:
        return _asset("phone/figure.js")

    @app.errorhandler(404)
    def not_here(_error: object) -> tuple[str, int]:
        return list_page_html(drills, "missing", scripts=(), style=STYLE), 404

    return app


def _asset(address: str) -> Response:
    content, kind = read_asset(address)
    return Response(content, content_type=f"{kind}; charset=utf-8")
