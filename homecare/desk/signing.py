"""Signing in and out, and the lock of a desk that was left alone."""

from __future__ import annotations

from flask import Blueprint, Response, current_app, jsonify, make_response, redirect, request, session, url_for
from flask_wtf.csrf import generate_csrf
from werkzeug.exceptions import HTTPException

from homecare.desk.bench import Bench
from homecare.desk.door import sign_in_page, the_door
from homecare.desk.sending import send_again_page

HOME = "/"


def blueprint(_bench: Bench) -> Blueprint:
    """The routes of the door."""
    topic = Blueprint("signing", __name__)

    @topic.get("/sign-in")
    def page() -> Response:
        return sign_in_page(after=HOME, held="", code=200)

    @topic.post("/sign-in")
    def enter() -> Response:
        door, name = the_door(), request.form.get("name", "")
        after, held = request.form.get("after", HOME), request.form.get("held", "")
        found = door.try_passphrase(name, request.form.get("passphrase", ""))
        in_place = request.accept_mimetypes.best == "application/json"
        if isinstance(found, str):
            refused = sign_in_page(after=after, held=held, code=422, name=name, fault=found)
            return make_response(jsonify(fault=found), 422) if in_place else refused
        same = session.get("who") == found.id
        door.enter(found)
        if in_place:
            # The page that was locked goes on only for the person whose it is.
            return jsonify(token=generate_csrf(), same=same)
        waiting = door.held.take(held, found.id) or door.held.take(held, "")
        if waiting:
            return send_again_page(waiting, 200)
        return _on(after)

    @topic.post("/sign-out")
    def out() -> Response:
        the_door().leave()
        answer = _on(url_for("signing.page"))
        answer.headers["Clear-Site-Data"] = '"cache"'  # ASVS 5.0, 14.3.1 (from memory): nothing stays in the browser
        return answer

    @topic.get("/sign-in/left")
    def left() -> Response:
        return jsonify(seconds=max(0, int(the_door().left().total_seconds())))

    @topic.post("/sign-in/here")
    def here() -> Response:
        return Response(status=204)  # the door has counted it

    return topic


def _on(after: str) -> Response:
    """Go on to a page of our own: nobody is sent elsewhere by what stood in a form (ASVS 5.0, 3.7.2)."""
    return make_response(redirect(after if _ours(after) else HOME, 303))


def _ours(address: str) -> bool:
    if not address.startswith("/") or address.startswith("//") or "\\" in address:
        return False
    try:
        current_app.url_map.bind("").match(address, method="GET")
    except HTTPException:
        return False
    return True
