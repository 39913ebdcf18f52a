"""Every request that changes something: sent by a page of ours, with the token that only our pages know."""

from __future__ import annotations

from flask import Flask, Response, abort, g, make_response, render_template, request
from flask_wtf.csrf import CSRFError, CSRFProtect

from homecare.guard import is_same_origin

STALE = "This page had been open for too long. Nothing is lost: press again."


def protect(app: Flask, key: bytes) -> None:
    """Hold every request that changes something to its origin and to the token of `csrf_token()`, in a form field of
    that name or in the header X-CSRFToken.

    The endpoints in `app.config["KEEPS_STALE"]` are called all the same, with `g.stale` set: they must change nothing
    and give back what was typed. `app.config["UPLOADS"]` says how many bytes an endpoint takes, where not as many as
    the others.
    """
    app.secret_key = key
    app.config["WTF_CSRF_CHECK_DEFAULT"] = False
    app.config["WTF_CSRF_TIME_LIMIT"] = None  # a token lives as long as its session
    app.config["WTF_CSRF_FIELD_NAME"] = "token"
    app.config["SESSION_COOKIE_NAME"] = "desk"
    app.config["SESSION_COOKIE_SAMESITE"] = "Strict"
    app.config["KEEPS_STALE"] = set()
    app.config["UPLOADS"] = {}
    forms = CSRFProtect(app)

    @app.before_request
    def _ours() -> None:
        g.stale = False
        if request.method in ("GET", "HEAD", "OPTIONS"):
            return
        request.max_content_length = app.config["UPLOADS"].get(request.endpoint, app.config["MAX_CONTENT_LENGTH"])
        if not is_same_origin(request):
            abort(403, "This was not sent by the desk's own page.")
        try:
            forms.protect()
        except CSRFError:
            if request.endpoint not in app.config["KEEPS_STALE"]:
                abort(403, "This page had been open for too long. Go back, load it again, and press once more.")
            g.stale = True


def in_words(app: Flask) -> None:
    """Answer every refusal with a page of our own in plain words."""

    def said(error: object) -> Response:
        code, words = getattr(error, "code", 500), getattr(error, "description", "")
        return make_response(render_template("refused.html", code=code, words=words), code)

    for code in (400, 403, 404, 405, 413, 429):
        app.register_error_handler(code, said)
