"""The practitioner's pages: a blueprint a topic, for this machine only."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from flask import Flask, url_for
from jinja2 import StrictUndefined

from homecare.desk import build, files, phone_code
from homecare.desk.bench import Bench
from homecare.desk.sending import in_words, protect
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
    frame_src="'self'",
    connect_src="'self'",
    form_action="'self'",
)

TOPICS = (build, files, phone_code)
"""The blueprints, in no order."""

PAGES = (
    ("desk", "build.blank", "New visit"),
    ("code", "phone_code.blank", "A phone's code"),
)
"""The head of every page: its key, its endpoint, its words."""


def create_app(clinic: Path | None = None, library: Path | None = None, data: Path | None = None) -> Flask:
    """The desk over one clinic's file, one library folder and one data folder (not said: the user's own).

    Raises InputFault when one of them is at fault.
    """
    folder = resource_dir("templates") / "desk"
    app = Flask("homecare.desk", template_folder=str(folder), static_folder=str(folder / "static"))
    app.config["MAX_CONTENT_LENGTH"] = app.config["MAX_FORM_MEMORY_SIZE"] = MAX_BYTES
    app.config["MAX_FORM_PARTS"] = 4000
    app.jinja_env.undefined = StrictUndefined
    app.jinja_env.trim_blocks = app.jinja_env.lstrip_blocks = True
    guard(app, POLICY, LOOPBACK_NAMES)
    bench = Bench(clinic, library, data)
    protect(app, session_key(bench.data))
    in_words(app)
    for topic in TOPICS:
        app.register_blueprint(topic.blueprint(bench))

    @app.context_processor
    def _head() -> dict[str, Any]:
        pages = [(name, url_for(endpoint), words) for name, endpoint, words in PAGES]
        return {"pages": pages, "clinic_name": bench.clinic.name}

    return app
