"""A check-in as its page shows it: each drill with its boxes and what becomes of it, markers again, the next sheet."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from homecare.core.drill import Kind
from homecare.core.findings import LastSheet
from homecare.core.last import LastDrill, LastMarker, LastPlan
from homecare.core.plain import listed, minutes_words, sentence
from homecare.core.sheet import CheckIn, Sheet
from homecare.core.words import drill_text
from homecare.desk.form import Form
from homecare.desk.leaf_view import Leaf, leaf_of, name_of, on_paper
from homecare.desk.ticking import Boxes, clashing, ticked
from homecare.library.load import Library
from homecare.render.dose_words import day_words, dose_words, range_words
from homecare.workflow.check_ins import LastTime

CHANGES = {
    "up": ("goes up", "go up"),
    "hold": ("stays", "stay"),
    "down": ("steps back", "step back"),
    "off": ("comes off", "come off"),
}
FELT = (("settled", "settled"), ("sore", "sore"), ("worse", "worse"), ("", "not said"))


@dataclass(frozen=True)
class Row:
    """One drill of the last sheet. `planned` are its boxes before today, `ticked` those of them that are ticked, and
    `clash` says that its number is another. `slip` is what a slip did to it; `change`, `then` and `because` say what
    becomes of it ('' while that is not known)."""

    id: str
    kind: Kind
    name: str
    part: str
    side: str
    drawn: bool
    planned: int
    ticked: int
    clash: bool
    slip: str
    change: str
    then: str
    because: str


@dataclass(frozen=True)
class Measure:
    """A marker or symptom to be asked again: the field's beginning, its words, and what it was last time."""

    field: str
    words: str
    was: str


@dataclass(frozen=True)
class Next:
    """The sheet that the answers lead to: its days, the drills by what becomes of them, and what must be said of it."""

    days: str
    groups: tuple[tuple[str, str, str], ...]
    warnings: tuple[str, ...]
    refer: tuple[str, ...]
    minutes: str


@dataclass(frozen=True)
class CheckInPage:
    """All that the page shows beside the fields themselves; `notes` are from 0 to 10, by date."""

    where: str
    notes: tuple[tuple[str, str], ...]
    leaf: Leaf
    rows: tuple[Row, ...]
    markers: tuple[Measure, ...]
    symptoms: tuple[Measure, ...]
    found: tuple[str, ...]
    next: Next | None


def check_in_page(
    last: LastTime,
    sent: Form,
    boxes: Boxes,
    told: LastSheet,
    before: Form,
    form: Form,
    made: Sheet | None,
    library: Library,
    today: date,
) -> CheckInPage:
    """The page over the last sheet with its boxes, what was sent and read of it, the forms of its visit and of the next
    one, and the sheet that the next one gives (None: it cannot be made)."""
    plan = last.plan
    lines = {line.drill: line for line in made.check_in} if made else {}
    return CheckInPage(
        where=_where(plan, today),
        notes=tuple((day_words(day, weekday=False), f"{note:g}") for day, note in told.ratings),
        leaf=leaf_of(last, sent, boxes, library),
        rows=tuple(_row(drill, last, sent, boxes, lines.get(drill.id), made, library) for drill in on_paper(last)),
        markers=tuple(_markers(form, plan, library)),
        symptoms=tuple(_symptoms(form, before, library)),
        found=made.findings if made else (),
        next=_next(made, lines, library) if made else None,
    )


def _where(plan: LastPlan, today: date) -> str:
    if not plan.days:
        return ""
    end = plan.days[-1].date
    number, total = (today - plan.start).days + 1, (end - plan.start).days + 1
    return f"day {number} of {total}" if today <= end else f"ended {day_words(end, weekday=False)}"


def _row(
    drill: LastDrill,
    last: LastTime,
    sent: Form,
    boxes: Boxes,
    line: CheckIn | None,
    made: Sheet | None,
    library: Library,
) -> Row:
    known = library.drills.get(drill.id)
    return Row(
        id=drill.id,
        kind=drill.kind,
        name=name_of(library, drill.id),
        part=drill_text(known, drill.side).part if known else drill.side,
        side=drill.side,
        drawn=known is not None and known.figure is not None,
        planned=len(boxes[drill.id]),
        ticked=len(ticked(sent, drill.id, boxes)),
        clash=clashing(sent, drill.id, boxes),
        slip=_slip(drill.id, last),
        change=line.change if line else "",
        then=_then(drill, line, made),
        because=sentence(line.because) if line else "",
    )


def _slip(drill: str, last: LastTime) -> str:
    """What the last slip that was about a drill did to it."""
    for slip in reversed(last.slips):
        when = f"from {day_words(slip.day)}"
        if drill in slip.off:
            return f"taken off {when}"
        if any(pick.drill == drill for pick in slip.on):
            return f"put on {when}"
        if drill in slip.doses:
            return f"another dose {when}"
    return ""


def _then(drill: LastDrill, line: CheckIn | None, made: Sheet | None) -> str:
    here = next((one for one in made.drills if one.id == drill.id), None) if made else None
    if line is None or here is None:
        return "off the next sheet" if line else ""
    dose = dose_words(here.rungs[here.start_rung])
    return f"stays at {dose}" if line.change == "hold" else dose


def _markers(form: Form, plan: LastPlan, library: Library) -> list[Measure]:
    earlier: dict[tuple[str, str], LastMarker] = {(one.test, one.side): one for one in plan.markers}
    found = []
    for index in form.rows("marker"):
        test, side = form.one(f"marker-{index}-test"), form.one(f"marker-{index}-side")
        marker, was = library.markers.get(test), earlier.get((test, side))
        if marker is None:
            continue
        values = (
            [f"{value:g} {when}" for value, when in ((was.before, "before"), (was.after, "after")) if value is not None]
            if was
            else []
        )
        words = ", ".join(filter(None, (marker.name, side if side != "none" else "")))
        found.append(Measure(f"marker-{index}", f"{words} ({marker.unit})", listed(values)))
    return found


def _symptoms(form: Form, before: Form, library: Library) -> list[Measure]:
    found = []
    for index in form.rows("symptom"):
        row = f"symptom-{index}"
        zones = [
            library.atlas.zones[key].plain if key in library.atlas.zones else key for key in form.many(f"{row}-zones")
        ]
        side = form.one(f"{row}-side")
        words = f"{form.one(f'{row}-symptom')}, {f'{side} ' if side else ''}{listed(zones)}"
        found.append(Measure(row, words[:1].upper() + words[1:], before.one(f"{row}-now")))
    return found


def _next(made: Sheet, lines: Mapping[str, CheckIn], library: Library) -> Next:
    def called(keys: list[str]) -> str:
        return listed([name_of(library, key) for key in keys])

    groups = []
    for change, (one, many) in CHANGES.items():
        keys = [key for key, line in lines.items() if line.change == change]
        if keys:
            groups.append((change, f"{len(keys)} {one if len(keys) == 1 else many}", called(keys)))
    new = [drill.id for drill in made.drills if drill.id not in lines]
    if new:
        groups.append(("new", f"{len(new)} {'is' if len(new) == 1 else 'are'} new", called(new)))
    back = [key for key, line in lines.items() if line.change == "down"]
    again = f"{called(back)}: worse a second time takes {'it' if len(back) == 1 else 'them'} off, to be looked at again"
    return Next(
        days=range_words(made.days[0].date, made.days[-1].date) if made.days else "",
        groups=tuple(groups),
        warnings=(sentence(again),) if back else (),
        refer=made.refer.because if made.refer else (),
        minutes=minutes_words(day.planned_s for day in made.days) if made.days else "",
    )
