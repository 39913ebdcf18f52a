"""Every request that changes something: sent by a page of ours, with the token that only our pages know."""

from __future__ import annotations

from flask import Flask, Response, abort, make_response, render_template, request, session
from flask_wtf.csrf import CSRFError, CSRFProtect

from homecare.desk.held import Held, HeldForms
from homecare.guard import is_same_origin

_READS = ("GET", "HEAD", "OPTIONS")


def from_our_pages(app: Flask) -> None:
    """Refuse whatever changes something and was sent by a page of another origin, before anything of it is read.

    `app.config["UPLOADS"]` says how many bytes an endpoint takes, where not as many as the others.
    """
    app.config["UPLOADS"] = {}

    @app.before_request
    def _ours() -> None:
        if request.method in _READS:
            return
        request.max_content_length = app.config["UPLOADS"].get(request.endpoint, app.config["MAX_CONTENT_LENGTH"])
        if not is_same_origin(request):
            abort(403, "This was not sent by the desk's own page.")


def with_token(app: Flask, key: bytes, held: HeldForms, *, secure: bool) -> None:
    """Hold every request that changes something to the token of `csrf_token()`, in a form field `token` or in the
    header X-CSRFToken; a form without it changes nothing, and its page asks to send it again.

    `key` signs the cookie; `secure` says that the desk is under TLS.
    """
    app.secret_key = key
    app.config["WTF_CSRF_CHECK_DEFAULT"] = False
    app.config["WTF_CSRF_TIME_LIMIT"] = None  # a token lives as long as its session
    app.config["WTF_CSRF_SSL_STRICT"] = False  # it asks for a Referer; the origin is checked before
    app.config["WTF_CSRF_FIELD_NAME"] = "token"
    app.config["SESSION_COOKIE_NAME"] = "__Host-desk" if secure else "desk"  # ASVS 5.0, 3.3.3
    app.config["SESSION_COOKIE_SECURE"] = secure
    app.config["SESSION_COOKIE_HTTPONLY"] = True
    app.config["SESSION_COOKIE_SAMESITE"] = "Strict"
    forms = CSRFProtect(app)

    @app.before_request
    def _with_token() -> Response | None:
        if request.method not in _READS:
            try:
                forms.protect()
            except CSRFError:
                return _refused(held)
        return None


def _refused(held: HeldForms) -> Response:
    who = session.get("who", "")
    kept = held.take(held.keep(request, who), who)
    if kept is None:
        abort(403, "This page had been open for too long. Load it again, and press once more.")
    return send_again_page(kept, 403)


def send_again_page(held: Held, code: int) -> Response:
    """What was typed and not taken, to be sent by one press."""
    return make_response(render_template("send_again.html", held=held), code)
