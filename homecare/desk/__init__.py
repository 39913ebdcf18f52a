"""The practitioner's pages: a blueprint a topic; for this machine only, until its rooms are opened."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from flask import Flask, g, url_for
from jinja2 import StrictUndefined

from homecare.desk import (
    amending,
    athletes,
    body,
    build,
    checking,
    exporting,
    files,
    guide,
    house,
    looking,
    phone_code,
    records,
    reprints,
    shelf,
    signing,
    staff,
    usual_page,
)
from homecare.desk.bench import Bench
from homecare.desk.door import Door, Rooms, keep_door
from homecare.desk.refusing import in_words
from homecare.desk.sending import from_our_pages, with_token
from homecare.guard import LOOPBACK_NAMES, guard, policy
from homecare.resources import resource_dir
from homecare.storage.place import session_key

MAX_BYTES = 1_000_000
"""No visit is longer; a longer request is refused (common practice)."""

POLICY = policy(
    script_src="'self'",
    style_src="'self'",
    img_src="'self' data:",
    font_src="'self'",
    connect_src="'self'",
    form_action="'self'",
)

TOPICS = (
    amending,
    athletes,
    body,
    build,
    checking,
    exporting,
    files,
    guide,
    house,
    looking,
    phone_code,
    records,
    reprints,
    shelf,
    signing,
    staff,
    usual_page,
)
"""The blueprints, in no order."""

PAGES = (
    ("desk", "build.blank", "Desk"),
    ("athletes", "athletes.listed", "Athletes"),
    ("library", "shelf.listed", "Library"),
    ("clinic", "house.page", "Clinic"),
    ("help", "guide.page", "Help"),
)
"""The head of every page: its key, its endpoint, its words."""


def create_app(
    clinic: Path | None = None,
    library: Path | None = None,
    data: Path | None = None,
    rooms: Rooms | None = None,
    shared: bool = False,
) -> Flask:
    """The desk over one clinic's file, one library folder and one data folder (not said: the user's own).

    `rooms` says that it is served under TLS to the clinic's network: then everybody signs in. `shared` says that the
    phone pages open there by the name that codes carry where the clinic has no web address. Raises InputFault when
    a file is at fault.
    """
    folder = resource_dir("templates") / "desk"
    app = Flask("homecare.desk", template_folder=str(folder), static_folder=str(folder / "static"))
    app.config["MAX_CONTENT_LENGTH"] = app.config["MAX_FORM_MEMORY_SIZE"] = MAX_BYTES
    app.config["MAX_FORM_PARTS"] = 4000
    app.jinja_env.undefined = StrictUndefined
    app.jinja_env.trim_blocks = app.jinja_env.lstrip_blocks = True
    bench = Bench(clinic, library, data, shared)
    door = Door(bench, rooms)
    # In this order: by which name, from where, by whom, with which token.
    guard(app, POLICY, LOOPBACK_NAMES | (rooms.names if rooms else frozenset()), https_only=bool(rooms and rooms.own))
    from_our_pages(app)
    keep_door(app, door)
    with_token(app, session_key(bench.data), door.held, secure=rooms is not None)
    in_words(app)
    for topic in TOPICS:
        app.register_blueprint(topic.blueprint(bench))

    @app.context_processor
    def _head() -> dict[str, Any]:
        inside = g.get("inside", False)
        pages = [(name, url_for(endpoint), words) for name, endpoint, words in PAGES] if inside else []
        return {"pages": pages, "clinic_name": bench.clinic.name, "person": g.get("person")}

    return app
