"""Print the sheet: from the draft to the record, in one step that leaves nothing half done."""

from __future__ import annotations

from datetime import UTC, datetime

from homecare import workflow
from homecare.core.problems import InputFault
from homecare.desk import drafts
from homecare.desk.bench import Bench
from homecare.desk.building import CONTRADICTION, Faults
from homecare.desk.drafts import Open
from homecare.desk.form import form_text
from homecare.desk.ready import asked_of, has_findings, ready
from homecare.desk.visit_text import visit_text
from homecare.storage.athletes import add_athlete, find_athlete, new_id
from homecare.storage.drafts import save_draft
from homecare.storage.faults import StorageFault


def issue(bench: Bench, draft: Open) -> str | Faults:
    """The id of the sheet that was filed, or what is wrong by field. Raises StaleDraft; then nothing is filed.

    Without a chosen athlete a new one is added: first, and into the draft, so that a second try finds them.
    """
    form = draft.form
    if form.one("screen") and form.many("flags"):
        return {"screen": (CONTRADICTION,)}
    done, needs = ready(form)
    lacking = {name: (f"Still needed: {words}",) for name, words in needs.items()}
    visit = visit_text(done)
    try:
        asked = asked_of(form, bench.clinic)
        files = bench.make(visit.text, asked.large, asked.paper) if has_findings(done) else None
    except InputFault as fault:
        return {**lacking, **visit.faults(fault.problems)}
    if lacking or files is None:
        return lacking
    try:
        draft, athlete = _with_athlete(bench, draft)
    except StorageFault:
        athlete = form.one("athlete_id") or new_id()  # the sheet is set aside, and they are added when it is filed
    issued = workflow.issue(bench.database, athlete, visit.text, files, datetime.now(UTC), (draft.id, draft.revision))
    bench.hand_over(files)
    return issued.sheet


def _with_athlete(bench: Bench, draft: Open) -> tuple[Open, str]:
    """The draft with its athlete, who is added when nobody was chosen."""
    form, at = draft.form, datetime.now(UTC)
    with bench.database.write() as connection:
        chosen = form.one("athlete_id")
        if chosen and find_athlete(connection, chosen):
            return draft, chosen
        age = int(form.one("age")) if form.one("age").isdecimal() else None
        athlete = add_athlete(connection, form.one("athlete"), at, age=age)
        named = form.with_values(athlete_id=(athlete.id,))
        text = form_text(drafts.kept(named))
        saved = save_draft(connection, draft.id, text, draft.revision, at, athlete.id)
    return Open(saved.id, saved.revision, saved.saved, named), athlete.id
