"""What the desk says of itself: a page for whoever treats, follows or keeps house, and the guide to the library."""

from __future__ import annotations

from flask import Blueprint, render_template

from homecare.desk.bench import Bench


def blueprint(bench: Bench) -> Blueprint:
    """The routes of the help pages."""
    topic = Blueprint("guide", __name__)

    @topic.get("/help")
    def page() -> str:
        return render_template("help.html")

    @topic.get("/help/library")
    def library() -> str:
        return render_template("library_guide.html", folder=bench.folder)

    return topic
