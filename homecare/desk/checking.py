"""The check-in: what came back of the last sheet, what that does to each dose, and the next sheet made from it."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime

from flask import Blueprint, Response, abort, g, make_response, redirect, render_template, request, url_for
from flask.sansio.blueprints import BlueprintSetupState
from werkzeug.wrappers import Response as AnyResponse

from homecare import workflow
from homecare.core.problems import InputFault
from homecare.core.sheet import Sheet
from homecare.desk import answers, drafts
from homecare.desk.bench import Bench
from homecare.desk.check_in_view import FELT, check_in_page
from homecare.desk.drafts import Open
from homecare.desk.form import Form, read_form
from homecare.desk.form_of_visit import form_from_visit
from homecare.desk.phone_code import code_in, sent_file
from homecare.desk.starting import next_form
from homecare.desk.ticking import Boxes, boxes_before, in_step, press
from homecare.desk.visit_text import visit_text
from homecare.library.pictures import MOST_BYTES
from homecare.render.dose_words import day_words
from homecare.storage.athletes import Athlete, find_athlete
from homecare.storage.drafts import StaleDraft
from homecare.storage.visits import find_visit
from homecare.workflow.check_ins import LastTime, keep_check_in, last_time
from homecare.workflow.histories import past_sheet
from homecare.workflow.phone_codes import read_phone_codes

Faults = Mapping[str, tuple[str, ...]]
GONE = "This athlete is not in this clinic's records: the address is wrong, or the athlete was erased."
NEWER = "Another sheet was made for this athlete since this page was opened. What came back belongs to that one now."
STALE = "This visit was changed on the desk this very moment. Go back, and press again."
NOTHING = "Nothing came back yet: tick what was done, or how it went"
_HERE = re.compile(r"stop|code|done-|(symptom|marker)-\d+-(now|before|after)$")
"""The fields that stand on this page; all others are put right on the desk."""
NO_CODE = "Give the code: a photograph of it, or its letters"


@dataclass(frozen=True)
class _Before:
    """Whose check-in it is, their last sheet with the boxes that are due, the forms of its visit and of the next as it
    begins, the draft that has begun it (None: nothing has); and what was told of a check-in before, with the day on
    which that was filed ('': it was not)."""

    athlete: Athlete
    last: LastTime
    boxes: Boxes
    visit: Form
    form: Form
    draft: Open | None
    kept: Form
    kept_on: str


def blueprint(bench: Bench) -> Blueprint:
    """The page's routes over one bench."""
    topic = Blueprint("checking", __name__)

    @topic.get("/athlete/<athlete>/check-in")
    def page(athlete: str) -> AnyResponse:
        before = _before(bench, athlete)
        if before is None:
            return make_response(render_template("checkin_none.html", athlete=athlete))
        return _page(bench, before, in_step(before.kept, before.boxes), {})

    @topic.post("/athlete/<athlete>/check-in")
    def sent(athlete: str) -> AnyResponse:
        before = _before(bench, athlete)
        fields = read_form((name, values) for name, values in request.form.lists() if name not in ("token", "do"))
        if before is None or fields.one("sheet") != before.last.sheet.id:
            abort(409, NEWER)
        return _pressed(bench, before, fields, request.form.get("do", "look"))

    @topic.record_once
    def _kinds(state: BlueprintSetupState) -> None:
        state.app.config["UPLOADS"] |= {"checking.sent": MOST_BYTES}

    return topic


def today() -> date:
    """The day at the clinic."""
    return datetime.now().astimezone().date()


def _before(bench: Bench, id: str) -> _Before | None:
    """Everything that the page begins with; None where nothing was handed over yet, 404 where nobody is there."""
    draft = drafts.load(bench.database, request.values.get("draft", ""))
    with bench.database.read() as connection:
        athlete = find_athlete(connection, id)
        if athlete is None:
            abort(404, GONE)
        last = last_time(connection, id)
        if last is None:
            return None
        visit = find_visit(connection, last.sheet.visit)
        form = next_form(connection, athlete, today())
        kept = past_sheet(connection, last.sheet).back
    if g.get("person"):
        form = form.with_values(prepared_by=(g.person.name,))
    visit_form, boxes = form_from_visit(visit.text) if visit else Form({}), boxes_before(last.plan, today())
    if draft and (draft.form.one("athlete_id"), draft.form.one("last")) == (athlete.id, last.sheet.id):
        return _Before(athlete, last, boxes, visit_form, draft.form, draft, answers.from_draft(draft.form), "")
    told, day = (answers.sent_of(kept[-1].told), day_words(kept[-1].day)) if kept else (Form({}), "")
    return _Before(athlete, last, boxes, visit_form, form, None, told, day)


def _pressed(bench: Bench, before: _Before, sent: Form, button: str) -> AnyResponse:
    """What a button does: read (a phone's code), settled, keep, desk, make, what ticks boxes; any other only looks."""
    last, boxes = before.last, before.boxes
    sent = in_step(press(sent, button, boxes), boxes)
    if button == "read":
        return _read(bench, before, sent)
    if button == "settled":
        return _page(bench, before, answers.all_settled(sent, boxes), {})
    answer = answers.read_answers(sent, last.sheet.id, boxes)
    faults = dict(answer.faults)
    form = answers.with_answers(before.form, sent, answer.told)
    if button == "desk" and not faults:
        return _to_desk(bench, before, form)
    if button in ("keep", "make") and not faults and not answers.answered(answer.told):
        faults[""] = (NOTHING,)
    if button == "keep" and not faults:
        now = datetime.now(UTC)
        keep_check_in(bench.database, answer.told, today(), now)
        return redirect(url_for("checking.page", athlete=before.athlete.id, _anchor="kept"), 303)
    if button == "make":
        if not sent.many("flags") and sent.one("stop") != "none":
            faults["stop"] = (answers.ASK_FIRST,)
        if not faults:
            return _made(bench, before, sent, form)
    return _page(bench, before, sent, faults)


def _read(bench: Bench, before: _Before, sent: Form) -> AnyResponse:
    """The answers with what the phone's code says, read off a photograph or typed."""
    faults: list[str] = []
    picture = sent_file(request.files.get("picture"))
    code = (code_in(picture, faults) if picture else "") or sent.one("code")
    if not code and not faults:
        faults.append(NO_CODE)
    if not faults:
        try:
            sent = answers.with_phones(sent, read_phone_codes((*sent.many("codes"), code), before.last.pages))
        except InputFault as fault:
            faults = [problem.message for problem in fault.problems]
    return _page(bench, before, sent, {"code": tuple(faults)} if faults else {})


def _to_desk(bench: Bench, before: _Before, form: Form) -> AnyResponse:
    now, was = datetime.now(UTC), before.draft
    try:
        draft = (
            drafts.save(bench.database, was.id, was.revision, form, now)
            if was
            else drafts.begin(bench.database, form, now)
        )
    except StaleDraft:  # changed on the desk this very moment
        abort(409, STALE)
    if was:
        bench.past.note(was.id, was.form, "What came back")
    return redirect(url_for("build.draft", draft=draft.id), 303)


def _made(bench: Bench, before: _Before, sent: Form, form: Form) -> AnyResponse:
    """The next sheet, handed over at once; one with a stop sign goes by the desk, where it is decided on."""
    if sent.many("flags"):
        return _to_desk(bench, before, form)
    text = visit_text(form)
    try:
        files = bench.hand_over(bench.make(text.text, bool(sent.one("large"))))
        follows, now = before.last.sheet.id, datetime.now(UTC)
        draft = (before.draft.id, before.draft.revision) if before.draft else None
        issued = workflow.issue(bench.database, before.athlete.id, text.text, files, now, draft, follows=follows)
    except InputFault as fault:
        return _page(bench, before, sent, text.faults(fault.problems))
    except workflow.Overtaken:  # the button was pressed twice, or in two rooms
        abort(409, NEWER)
    except StaleDraft:
        abort(409, STALE)
    return redirect(url_for("records.page", sheet=issued.sheet), 303)


def _page(bench: Bench, before: _Before, sent: Form, faults: Faults) -> Response:
    boxes = before.boxes
    answer = answers.read_answers(sent, before.last.sheet.id, boxes)
    form = answers.with_answers(before.form, sent, answer.told)
    made, more = _look(bench, form)
    faults = {**more, **answer.faults, **faults}
    elsewhere = [words for name, said in faults.items() if name and not _HERE.match(name) for words in said]
    html = render_template(
        "checkin.html",
        athlete=before.athlete,
        sheet=before.last.sheet.id,
        kept=before.kept_on,
        draft=before.draft,
        form=sent,
        page=check_in_page(before.last, sent, boxes, answer.told, before.visit, form, made, bench.library, today()),
        flags=[(key, flag.ask) for key, flag in bench.library.flags.items()],
        felt=FELT,
        faults={name: said for name, said in faults.items() if not name or _HERE.match(name)},
        elsewhere=elsewhere,
    )
    return make_response(html, 422 if faults else 200)


def _look(bench: Bench, form: Form) -> tuple[Sheet | None, Faults]:
    """The sheet that the answers lead to. A stop sign that is ticked and not decided on yet is only looked at."""
    text = visit_text(form)
    try:
        return bench.sheet(text.text, shortage=False), {}
    except InputFault as fault:
        return None, text.faults(fault.problems)
