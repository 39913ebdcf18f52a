"""The page that reads a phone's code at the next visit: from a photograph, the camera, or typed."""

from __future__ import annotations

from flask import Blueprint, Response, jsonify, make_response, render_template, request
from flask.sansio.blueprints import BlueprintSetupState
from werkzeug.datastructures import FileStorage

from homecare import workflow
from homecare.core.problems import InputFault
from homecare.desk.bench import Bench
from homecare.library.code_reader import read_codes
from homecare.library.pictures import MOST_BYTES, NoPicture
from homecare.workflow import PhoneAnswer

NO_CODE = "No code was found in this picture. Take it closer, with all four corners in sight."
NO_PLAN = "Choose the plan.json of the sheet that the phone shows."
NOTHING = "Give the code: a photograph of it, or its letters."


def blueprint(bench: Bench) -> Blueprint:
    """The page's routes over one bench."""
    topic = Blueprint("phone_code", __name__)

    @topic.get("/phone-code")
    def blank() -> Response:
        return _page(bench, "")

    @topic.post("/phone-code")
    def read() -> Response:
        code, faults = request.form.get("code", "").strip(), list[str]()
        picture, plan = sent_file(request.files.get("picture")), sent_file(request.files.get("plan"))
        if picture:
            code = code_in(picture, faults) or code
        elif not code:
            faults.append(NOTHING)
        if not plan:
            faults.append(NO_PLAN)
        if faults:
            return _page(bench, code, faults)
        name = request.files["plan"].filename or "plan.json"
        try:
            answer = workflow.read_phone_code(code, plan, name)
        except InputFault as fault:
            return _page(bench, code, [problem.message for problem in fault.problems])
        return _page(bench, code, (), answer, workflow.last_lines(answer, name))

    @topic.post("/phone-code/frame")
    def frame() -> Response:
        try:
            found = read_codes(request.get_data())
        except NoPicture:
            found = ()
        return jsonify(code=found[0] if found else "")

    @topic.record_once
    def _large(state: BlueprintSetupState) -> None:
        state.app.config["UPLOADS"] |= {"phone_code.read": MOST_BYTES, "phone_code.frame": MOST_BYTES}

    return topic


def sent_file(file: FileStorage | None) -> bytes:
    """A file of the form, b"" where none was chosen."""
    return file.read() if file is not None and file.filename else b""


def code_in(picture: bytes, faults: list[str]) -> str:
    """The first code in a photograph; '' and a fault more where there is none."""
    try:
        found = read_codes(picture)
    except NoPicture as fault:
        faults.append(f"The photograph cannot be used: {fault}.")
        return ""
    if not found:
        faults.append(NO_CODE)
        return ""
    return found[0]


def _page(bench: Bench, code: str, faults: object = (), answer: PhoneAnswer | None = None, lines: str = "") -> Response:
    names = {key: drill.name for key, drill in bench.library.drills.items()}
    html = render_template(
        "phone_code.html",
        code=code,
        faults=faults,
        answer=answer,
        lines=lines,
        names=names,
    )
    return make_response(html, 422 if faults else 200)
