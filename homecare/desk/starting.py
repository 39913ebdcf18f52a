"""The form of an athlete's next visit, begun from what the last one wrote down."""

from __future__ import annotations

from datetime import date

from sqlalchemy import Connection

from homecare.desk.answers import with_slips
from homecare.desk.form import Form, blank_form
from homecare.desk.form_of_visit import form_from_visit
from homecare.storage.athletes import Athlete
from homecare.storage.sheets import latest_sheet
from homecare.storage.visits import find_visit
from homecare.workflow.check_ins import asked_since

_OF_THE_DAY = ("review_by", "screen", "flags", "decision", "because", "last", "amendments", "treated_said", "changed")
"""What is asked anew at each visit."""
_ROWS_OF_THE_DAY = ("treated", "rating", "test", "changed")
_VALUES_OF_THE_DAY = ("-now", "-before", "-after", "-treated")


def next_form(connection: Connection, athlete: Athlete, today: date) -> Form:
    """What was found last time, to be changed; the week and the minutes; what slips took off and put on since; the last
    sheet as what is checked in.

    An athlete who has no sheet yet gets the empty form with their name.
    """
    who = {"athlete": (athlete.name,), "athlete_id": (athlete.id,)}
    sheet = latest_sheet(connection, athlete.id)
    visit = find_visit(connection, sheet.visit) if sheet else None
    if sheet is None or visit is None:
        age = {"age": (str(athlete.age),)} if athlete.age is not None else {}
        return Form({**blank_form(today.isoformat()).values, **age, **who})
    form = form_from_visit(visit.text)
    kept = {name: values for name, values in form.values.items() if _stays(name)}
    form = Form({**kept, **who, "start": (today.isoformat(),), "last": (sheet.id,)})
    for kind in ("event", "clinic_visits"):
        for index in form.rows(kind):
            if form.one(f"{kind}-{index}-date") <= today.isoformat():
                form = form.without_row(kind, index)
    return with_slips(form, asked_since(connection, sheet.id))


def _stays(name: str) -> bool:
    kind, _, rest = name.partition("-")
    if rest and (kind in _ROWS_OF_THE_DAY or kind in ("dose", "done", "response")):
        return False
    return name not in _OF_THE_DAY and not (rest and name.endswith(_VALUES_OF_THE_DAY) and kind != "clinic_visits")
