"""What came back of the last sheet as it is typed: into the form of the next visit, and into what a check-in keeps."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import cast, get_args

from homecare.core.findings import LastSheet, Response
from homecare.core.last import LastPlan
from homecare.core.slip import Amendment
from homecare.desk.form import Form, whole
from homecare.workflow.phone_codes import PhonesTold

MOST_BOXES = 1000
NO_COUNT = "Boxes are a whole number, such as 12"
ASK_FIRST = "Ask for the stop signs first: none, or which"


@dataclass(frozen=True)
class Answers:
    """What came back, as far as it can be read, and what cannot, by form field."""

    told: LastSheet
    faults: Mapping[str, tuple[str, ...]]


def read_answers(sent: Form, sheet: str, plan: LastPlan) -> Answers:
    """What the check-in's fields say of the drills of a sheet (its id)."""
    done: dict[str, int] = {}
    response: dict[str, Response] = {}
    faults: dict[str, tuple[str, ...]] = {}
    for drill in plan.drills:
        count, word = sent.one(f"done-{drill.id}"), sent.one(f"response-{drill.id}")
        boxes = whole(count)
        if boxes is not None and boxes <= MOST_BOXES:
            done[drill.id] = boxes
        elif count:
            faults[f"done-{drill.id}"] = (NO_COUNT,)
        if word in get_args(Response):
            response[drill.id] = cast(Response, word)
    return Answers(LastSheet(sheet, done, response, _ratings(sent)), faults)


def _ratings(sent: Form) -> tuple[tuple[date, float], ...]:
    """The notes that a phone's code told; the page only hands them on."""
    found = []
    for index in sent.rows("rating"):
        try:
            day = date.fromisoformat(sent.one(f"rating-{index}-date"))
            note = float(sent.one(f"rating-{index}-value"))
        except ValueError:
            continue
        if 0 <= note <= 10:
            found.append((day, note))
    return tuple(sorted(found))


def answered(told: LastSheet) -> bool:
    """Whether anything came back at all."""
    return bool(told.done or told.response or told.ratings)


def with_answers(form: Form, sent: Form, told: LastSheet) -> Form:
    """The form of the next visit with what came back, what was measured again, and the answer to the stop signs."""
    values = dict(form.values)
    for name, given in sent.values.items():
        kind = name.partition("-")[0]
        if kind in ("symptom", "marker") and name.endswith(("-now", "-before", "-after")) and any(given):
            values[name] = given
    values |= {f"done-{drill}": (str(count),) for drill, count in told.done.items()}
    values |= {f"response-{drill}": (word,) for drill, word in told.response.items()}
    for index, (day, note) in enumerate(told.ratings):
        values |= {f"rating-{index}-": ("",), f"rating-{index}-date": (day.isoformat(),)}
        values[f"rating-{index}-value"] = (f"{note:g}",)
    if sent.many("flags"):
        values["flags"] = sent.many("flags")
    elif sent.one("stop") == "none":
        values["screen"] = ("clear",)
    return Form(values)


def with_slips(form: Form, slips: Sequence[Amendment]) -> Form:
    """The form with what slips took off and put on: what was decided by hand since then still holds."""
    for slip in slips:
        added = {pick.drill for pick in slip.on}
        for index in form.rows("pick"):
            if form.one(f"pick-{index}-drill") in slip.off:
                form = form.without_row("pick", index)
        dropped = dict.fromkeys([*(key for key in form.many("drop") if key not in added), *slip.off])
        form = form.with_values(drop=tuple(dropped))
        for pick in slip.on:
            form = form.with_row("pick", drill=pick.drill, side=pick.side or "", because=pick.because)
    return form


def with_phones(sent: Form, told: PhonesTold) -> Form:
    """The answers with what the phones told; what they do not know stays as it was typed."""
    values = {name: given for name, given in sent.values.items() if not name.startswith("rating-")}
    values |= {"codes": told.codes, "code": ("",)}
    values |= {f"done-{drill}": (str(count),) for drill, count in told.done.items()}
    values |= {f"response-{drill}": (word,) for drill, word in told.response.items()}
    for index, (day, note) in enumerate(told.ratings):
        values |= {f"rating-{index}-date": (day.isoformat(),), f"rating-{index}-value": (str(note),)}
    return Form(values)


def with_all(sent: Form, plan: LastPlan, today: date, *, settled: bool) -> Form:
    """The answers with every box ticked, or with every drill settled."""
    values = dict(sent.values)
    for drill in plan.drills:
        if settled:
            values[f"response-{drill.id}"] = ("settled",)
        else:
            values[f"done-{drill.id}"] = (str(boxes_before(plan, drill.id, today)),)
    return Form(values)


def sent_of(told: LastSheet) -> Form:
    """The fields that would say this: what a check-in kept alone said is shown again."""
    return with_answers(Form({}), Form({}), told)


def boxes_before(plan: LastPlan, drill: str, today: date) -> int:
    """The boxes of a drill that were planned before a day."""
    return sum(item.times for day in plan.days if day.date < today for item in day.items if item.drill == drill)
