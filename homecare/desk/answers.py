"""What came back of the last sheet as it is typed: into the form of the next visit, and into what a check-in keeps."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import cast, get_args

from homecare.core.findings import LastSheet, Response
from homecare.core.slip import Amendment
from homecare.desk.form import Form, whole
from homecare.desk.ticking import Boxes, clashing, ticked, unknown
from homecare.workflow.phone_codes import PhonesTold

MOST_BOXES = 1000
NO_COUNT = "Boxes are a whole number, such as 12"
GONE_BOX = "A slip has changed the days of this drill since the page was opened: look at its boxes again"
_BACK = ("done", "counted", "ticks", "response", "rating")
"""What begins the fields that hold what came back."""
_AGAIN = ("-now", "-before", "-after")
"""What ends the fields of a symptom or a marker that are asked again."""
ASK_FIRST = "Ask for the stop signs first: none, or which"


@dataclass(frozen=True)
class Answers:
    """What came back, as far as it can be read, and what cannot, by form field."""

    told: LastSheet
    faults: Mapping[str, tuple[str, ...]]


def read_answers(sent: Form, sheet: str, boxes: Boxes) -> Answers:
    """What the check-in's fields, `in_step`, say of the drills of a sheet (its id and its boxes)."""
    done: dict[str, int] = {}
    response: dict[str, Response] = {}
    faults: dict[str, tuple[str, ...]] = {}
    for drill in boxes:
        count, word = sent.one(f"done-{drill}"), sent.one(f"response-{drill}")
        number = whole(count)
        if count and (number is None or number > MOST_BOXES):
            faults[f"done-{drill}"] = (NO_COUNT,)
        elif unknown(sent, drill, boxes):
            faults[f"done-{drill}"] = (GONE_BOX,)
        elif clashing(sent, drill, boxes):
            faults[f"done-{drill}"] = (_clash(len(ticked(sent, drill, boxes)), count),)
        elif number is not None:
            done[drill] = number
        if word in get_args(Response):
            response[drill] = cast(Response, word)
    return Answers(LastSheet(sheet, done, response, _ratings(sent)), faults)


def _clash(boxes: int, number: str) -> str:
    ticked = "1 box is" if boxes == 1 else f"{boxes} boxes are"
    return f"{ticked} ticked, but the number says {number}: which is it?"


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
    values = {name: given for name, given in form.values.items() if name.partition("-")[0] not in _BACK}
    for name, given in sent.values.items():
        kind = name.partition("-")[0]
        if kind in ("symptom", "marker") and name.endswith(_AGAIN) and any(given):
            values[name] = given
        if kind in ("ticks", "counted"):
            values[name] = given
    values |= {f"done-{drill}": (str(count),) for drill, count in told.done.items()}
    values |= {f"response-{drill}": (word,) for drill, word in told.response.items()}
    for index, (day, note) in enumerate(told.ratings):
        values |= {f"rating-{index}-": ("",), f"rating-{index}-date": (day.isoformat(),)}
        values[f"rating-{index}-value"] = (f"{note:g}",)
    if sent.many("flags"):
        values |= {"flags": sent.many("flags"), "screen": ("",)}
    elif sent.one("stop") == "none":
        values |= {"screen": ("clear",), "flags": (), "decision": ("",), "because": ("",)}
    return Form(values)


def from_draft(form: Form) -> Form:
    """The fields of the check-in in the form of a visit that goes on from it."""
    stop = "some" if form.many("flags") else "none" if form.one("screen") == "clear" else ""
    values = {
        name: given
        for name, given in form.values.items()
        if name == "flags" or name.partition("-")[0] in _BACK or name.endswith(_AGAIN)
    }
    return Form({**values, "stop": (stop,)})


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


def all_settled(sent: Form, boxes: Boxes) -> Form:
    """The answers with every drill settled."""
    return Form({**sent.values, **{f"response-{drill}": ("settled",) for drill in boxes}})


def sent_of(told: LastSheet) -> Form:
    """The fields that would say this: what a check-in kept alone said is shown again."""
    return with_answers(Form({}), Form({}), told)
