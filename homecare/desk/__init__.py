"""The practitioner's pages: a blueprint a topic, for this machine only."""

from __future__ import annotations

from pathlib import Path

from flask import Flask
from jinja2 import StrictUndefined

from homecare.desk import build, files, phone_code
from homecare.desk.bench import Bench
from homecare.guard import LOOPBACK_NAMES, guard, policy
from homecare.resources import resource_dir

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


def create_app(clinic: Path | None = None, library: Path | None = None) -> Flask:
    """The desk over one library and one clinic's file; raises InputFault when either is at fault."""
    folder = resource_dir("templates") / "desk"
    app = Flask("homecare.desk", template_folder=str(folder), static_folder=str(folder / "static"))
    app.config["MAX_CONTENT_LENGTH"] = app.config["MAX_FORM_MEMORY_SIZE"] = MAX_BYTES
    app.config["MAX_FORM_PARTS"] = 4000
    app.jinja_env.undefined = StrictUndefined
    app.jinja_env.trim_blocks = app.jinja_env.lstrip_blocks = True
    guard(app, POLICY, LOOPBACK_NAMES)
    bench = Bench(clinic, library)
    app.register_blueprint(build.blueprint(bench))
    app.register_blueprint(files.blueprint(bench))
    app.register_blueprint(phone_code.blueprint(bench))
    return app
