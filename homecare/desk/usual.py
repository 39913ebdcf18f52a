"""The clinic's own starting sets: drills, doses, week and minutes kept under a name, to begin a sheet from."""

from __future__ import annotations

from datetime import datetime

from homecare.core.problems import InputFault, Problem, Source
from homecare.desk.form import Form, form_text, read_form_text
from homecare.storage.database import Database
from homecare.storage.usuals import find_usual, save_usual

_KEPT = ("minutes_", "week_", "pick-", "dose-")
_KEPT_ONCE = ("days", "kit", "drop", "cover", "notes")


def usual_form(form: Form) -> Form:
    """What of a form is no one athlete's: drills picked and taken off, doses, kit, week and minutes."""
    return Form({name: values for name, values in form.values.items() if name.startswith(_KEPT) or name in _KEPT_ONCE})


def usual_kept(database: Database, form: Form, at: datetime) -> None:
    """Keep the form's set under the name that was typed. Raises InputFault where there is none."""
    name = form.one("usual_name")
    if not name:
        raise InputFault([Problem(Source("usual_name"), "missing", "A starting set needs a name")])
    with database.write() as connection:
        save_usual(connection, name, form_text(usual_form(form)), at)


def usual_applied(database: Database, form: Form, id: str) -> Form:
    """The form with a starting set laid over it; who and what was found stay."""
    with database.read() as connection:
        usual = find_usual(connection, id)
    if usual is None:
        return form
    kept = {name: values for name, values in form.values.items() if not name.startswith(_KEPT)}
    return Form({**kept, **read_form_text(usual.text).values})
