"""The clinic's page: who hands the sheets over, how they are printed, and a copy of everything to keep elsewhere."""

from __future__ import annotations

import shutil
import tempfile
from collections.abc import Mapping
from datetime import UTC, datetime
from pathlib import Path

from flask import Blueprint, Response, abort, g, make_response, redirect, render_template, request, send_file, url_for
from flask.sansio.blueprints import BlueprintSetupState

from homecare import workflow
from homecare.core.problems import InputFault
from homecare.desk.bench import Bench
from homecare.desk.clinic_form import CLOCK_WORDS, clinic_text, field_faults, form_of_clinic
from homecare.desk.door import owners_only
from homecare.desk.form import Form, read_form
from homecare.library.clinic import clinic_of_text, plain_logo
from homecare.library.pictures import MOST_BYTES, NoPicture
from homecare.storage import place
from homecare.storage.clinic import save_logo, save_settings

Faults = Mapping[str, tuple[str, ...]]
PAPERS = (("a4", "A4"), ("letter", "Letter"))
LANGUAGES = (("en", "English"),)
FROM_FILE = "The desk was started with a clinic file, and that file holds. Change it there, and start the desk anew."


def blueprint(bench: Bench) -> Blueprint:
    """The routes of the clinic's page over one bench."""
    topic = Blueprint("house", __name__)

    @topic.get("/clinic")
    def page() -> Response:
        return _page(bench, form_of_clinic(bench.clinic), {}, saved="saved" in request.args)

    @topic.post("/clinic")
    def save() -> Response:
        owners_only()
        if bench.clinic_file:
            abort(403, FROM_FILE)
        form = read_form((name, values) for name, values in request.form.lists() if name != "token")
        logo, faults = _sent_logo()
        try:
            clinic_of_text(clinic_text(form), "the clinic's settings")
        except InputFault as fault:
            faults |= field_faults(form, fault.problems)
        if faults:
            return _page(bench, form, faults)
        now = datetime.now(UTC)
        with bench.database.write() as connection:
            save_settings(connection, clinic_text(form), now)
            if logo or form.one("no_logo"):
                save_logo(connection, logo or None, now)
        bench.reload_clinic()
        return make_response(redirect(url_for("house.page", saved=""), 303))

    @topic.post("/clinic/backup")
    def back_up() -> Response:
        owners_only()
        # For this user alone, as `mkdtemp` makes it.
        folder = Path(tempfile.mkdtemp(prefix=place.LEFT_START, dir=bench.data))
        try:
            copy = folder / "copy"
            made = workflow.back_up(bench.database, bench.folder, copy)
            stream = copy.open("rb")
        finally:
            shutil.rmtree(folder)  # what is open is sent all the same, and nothing is left behind
        name = f"homecare-{made.at.astimezone():%Y-%m-%d-%H%M}.backup"
        return send_file(stream, mimetype="application/octet-stream", as_attachment=True, download_name=name)

    @topic.record_once
    def _large(state: BlueprintSetupState) -> None:
        state.app.config["UPLOADS"] |= {"house.save": MOST_BYTES}

    return topic


def _sent_logo() -> tuple[bytes, dict[str, tuple[str, ...]]]:
    """The logo that came with the form, made plain, b"" when none did; and what is wrong with it."""
    file = request.files.get("logo")
    if file is None or not file.filename:
        return b"", {}
    try:
        return plain_logo(file.read()), {}
    except NoPicture as fault:
        return b"", {"logo": (f"The logo cannot be used: {fault} (a PNG or JPEG file)",)}


def _page(bench: Bench, form: Form, faults: Faults, saved: bool = False) -> Response:
    html = render_template(
        "house.html",
        form=form,
        faults=faults,
        saved=saved,
        logo=bench.clinic.logo,
        papers=_options(PAPERS),
        languages=_options(LANGUAGES),
        clock=CLOCK_WORDS.items(),
        from_file=bench.clinic_file is not None,
        owner=g.person is None or g.person.role == "owner",
        last=workflow.last_backup(bench.database),
    )
    return make_response(html, 422 if faults else 200)


def _options(pairs: tuple[tuple[str, str], ...]) -> list[dict[str, str]]:
    return [{"value": value, "words": words} for value, words in pairs]
