"""The boxes of a leaf as a check-in ticks them: which there are, what a press ticks, and what they count."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date

from homecare.core.last import LastPlan
from homecare.desk.form import Form, whole

WEEK = 7

Boxes = Mapping[str, tuple[str, ...]]
"""Boxes by drill, in order: "3.2" is the second of the sheet's third day. The form's field `ticks-<drill>` holds those
that are ticked, each as a value of its own or several in one, with spaces between."""


def boxes_before(plan: LastPlan, today: date) -> Boxes:
    """Every box that was planned before a day; every drill of the plan has its place, in the plan's order."""
    found: dict[str, list[str]] = {drill.id: [] for drill in plan.drills}
    for day in plan.days:
        for item in day.items if day.date < today else ():
            found.setdefault(item.drill, []).extend(boxes_of(day_number(plan, day.date), item.times))
    return {drill: tuple(boxes) for drill, boxes in found.items()}


def boxes_of(day: int, times: int) -> list[str]:
    """The boxes of one drill on one day of the sheet."""
    return [f"{day}.{time}" for time in range(1, times + 1)]


def day_number(plan: LastPlan, day: date) -> int:
    """The place of a date on the sheet, 1 for its first day."""
    return (day - plan.start).days + 1


def week_of(box: str) -> int:
    """The number of the leaf's week that a box stands in."""
    return (int(box.partition(".")[0]) - 1) // WEEK + 1


def ticked(sent: Form, drill: str, boxes: Boxes) -> tuple[str, ...]:
    """The boxes of a drill that are ticked, of those that there are."""
    found = _sent(sent, drill)
    return tuple(box for box in boxes.get(drill, ()) if box in found)


def unknown(sent: Form, drill: str, boxes: Boxes) -> bool:
    """Whether a box is ticked that the leaf does not have (any more)."""
    return not _sent(sent, drill) <= set(boxes.get(drill, ()))


def in_step(sent: Form, boxes: Boxes) -> Form:
    """The form with each drill's number (`done-<drill>`) as its boxes count, where nobody typed another.

    Once a box of the leaf is ticked the leaf is what tells: a row without a tick counts 0. `counted-<drill>` keeps what
    was last counted, so that a number that differs from it was typed.
    """
    ticks = {drill: ticked(sent, drill, boxes) for drill in boxes}
    used = any(ticks.values())
    values = dict(sent.values)
    for drill, ours in boxes.items():
        done, counted, now = f"done-{drill}", f"counted-{drill}", str(len(ticks[drill])) if used and ours else ""
        if sent.one(done) in ("", sent.one(counted), now):
            values |= {done: (now,), counted: (now,)}
        else:
            values.pop(counted, None)
    return Form(values)


def clashing(sent: Form, drill: str, boxes: Boxes) -> bool:
    """Whether boxes of a drill are ticked and its number, brought `in_step`, says another count."""
    count = len(ticked(sent, drill, boxes))
    number = whole(sent.one(f"done-{drill}"))
    return bool(count) and number is not None and number != count


def press(sent: Form, button: str, boxes: Boxes) -> Form:
    """The form after a button; one that is not known leaves it as it is.

    A press ticks all of these or, where all are ticked, none: ticked (the whole leaf)  whole:WEEK  day:DAY
    row:WEEK:DRILL. Of two that differ it keeps one: count:DRILL (the boxes)  number:DRILL (what was typed). week:WEEK
    opens a week where only one stands open.
    """
    verb, _, what = button.partition(":")
    week, _, drill = what.partition(":")
    if verb == "ticked":
        return _turned(sent.without(*(f"done-{drill}" for drill in boxes)), boxes, lambda _, box: True)
    if verb == "whole":
        return _turned(sent, boxes, lambda _, box: str(week_of(box)) == what)
    if verb == "day":
        return _turned(sent, boxes, lambda _, box: box.partition(".")[0] == what)
    if verb == "row":
        return _turned(sent, boxes, lambda of, box: (str(week_of(box)), of) == (week, drill))
    if verb == "week":
        return sent.with_values(week=(what,))
    if verb == "count":
        return sent.without(f"done-{what}")
    if verb == "number":
        return sent.without(f"ticks-{what}")
    return sent


def _turned(sent: Form, boxes: Boxes, meant: Callable[[str, str], bool]) -> Form:
    """The form with every box that is meant (by its drill and itself) ticked, or none where all were."""
    ticks = {drill: set(ticked(sent, drill, boxes)) for drill in boxes}
    chosen = {drill: {box for box in ours if meant(drill, box)} for drill, ours in boxes.items()}
    full = all(found <= ticks[drill] for drill, found in chosen.items())
    values = dict(sent.values)
    for drill, found in chosen.items():
        now = ticks[drill] - found if full else ticks[drill] | found
        values[f"ticks-{drill}"] = tuple(box for box in boxes[drill] if box in now)
    return Form(values)


def _sent(sent: Form, drill: str) -> set[str]:
    return {box for value in sent.many(f"ticks-{drill}") for box in value.split()}
