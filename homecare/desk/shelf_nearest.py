"""Cures for a pose that does not rest on what it says, each tried by the figure's engine before it is offered."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from homecare.core.pose import JOINT_WORDS, SIDES, Angles, Contact, Figure
from homecare.core.problems import Problem
from homecare.desk.form import Form
from homecare.desk.shelf_cures import Cure, Cures
from homecare.desk.shelf_entries import AXES, SAYING
from homecare.desk.shelf_faults import field_of_rule, rows_of_contact
from homecare.desk.shelf_pose import Move, moves_in
from homecare.figure.nearest import Moved, loosened, moved_surfaces, settled
from homecare.figure.point_words import surface_in_words

TOLD = 3
"""How many of the angles that a cure sets stand in its words."""


def pose_cures(problems: Iterable[Problem], form: Form, figure: Figure, drill: str) -> Cures:
    """Cures by field for contacts that are off and joints that go too far; `figure` lies over its posture."""
    told = list(problems)
    off = [one for one in told if one.code == "contact"]
    broken = off or [one for one in told if one.code == "drift"]
    if not broken:
        return {}
    offered = tuple(dict.fromkeys(_elsewhere(form, figure))) if off else ()
    if not offered:  # to bend a body anew is the dearest to find out, and the most that a press changes
        nearest = settled(figure)
        offered = (_angles(form, figure, nearest, bool(off)),) if nearest is not None else ()
    fields = (field_of_rule(one, form, drill) for one in broken)
    return {field: offered for field in fields} if offered else {}


def _elsewhere(form: Form, figure: Figure) -> Iterator[Cure]:
    for moved in moved_surfaces(figure):
        yield _surface(form, moved)
    for contact in loosened(figure):
        yield _loose(form, contact)


def _angles(form: Form, figure: Figure, nearest: Figure, off: bool) -> Cure:
    """The nearest angles at which it stands, as fields; what goes nowhere else stays as it is typed."""
    sets: dict[str, str] = {}
    words: dict[str, None] = {}
    changed = _changed(figure, nearest)
    for phase, angles in (("start", nearest.start), ("end", nearest.end)):
        for coordinate in changed if angles is not None else ():
            move, degrees = _move(form, coordinate, angles or {})
            sets |= _emptied(form, phase, move) | {f"{phase}-{move.key}": f"{degrees:g}"}
            if phase == "end":
                side = f", {move.side}" if move.side else ""
                words[f"{move.words.replace(',', '').lower()} {degrees:g}{side}"] = None
    more = f" and {len(words) - TOLD} more" if len(words) > TOLD else ""
    how = "Bend it until it touches" if off else "Take the angles as drawn"
    return Cure(f"{how}: {'; '.join(list(words)[:TOLD])}{more}", tuple(sets.items()))


def _changed(figure: Figure, nearest: Figure) -> list[str]:
    """The coordinates that differ in one of the poses, the one that goes farthest first."""
    pairs = ((figure.start or {}, nearest.start or {}), (figure.end, nearest.end))
    far = {one: max(abs(before.get(one, 0.0) - after.get(one, 0.0)) for before, after in pairs) for one in nearest.end}
    return sorted((one for one in far if far[one]), key=lambda one: -far[one])


def _move(form: Form, coordinate: str, angles: Angles) -> tuple[Move, float]:
    """A coordinate as a movement and degrees; that of both sides where both go alike and the form says them in one."""
    joint, _, axis = coordinate.partition(".")
    side, _, rest = joint.partition("_")
    group, joint = (side, rest) if side in SIDES else ("", joint)
    value = angles.get(coordinate, 0.0)
    both = any(one.group == "both" and _axis(one) == (joint, axis) for one in moves_in(form))
    if both and all(angles.get(f"{one}_{joint}.{axis}", 0.0) == value for one in SIDES):
        group = "both"
    sense = 1 if value >= 0 else -1
    word = next(word for word, way in JOINT_WORDS[joint].items() if way == (axis, sense))
    return Move(group, joint, word), abs(value)


def _emptied(form: Form, phase: str, move: Move) -> dict[str, str]:
    """Whatever else the form says of an axis, on that side or both, emptied."""
    groups = (*SIDES, "both") if move.group == "both" else (move.group, "both")
    names = (f"{phase}-{one.key}" for one in moves_in(form) if _axis(one) == _axis(move) and one.group in groups)
    return {name: "" for name in names if form.one(name)}


def _axis(move: Move) -> tuple[str, str]:
    return move.joint, JOINT_WORDS[move.joint][move.word][0]


def _surface(form: Form, moved: Moved) -> Cure:
    at = f"{round(moved.at * 100, 1):g}"
    name = surface_in_words(moved.surface)
    return Cure(f"Put {name} at {at} cm", tuple(_room(form, moved.surface, at)))


def _room(form: Form, surface: str, at: str) -> Iterator[tuple[str, str]]:
    rows = form.rows("room")
    here = next((row for row in rows if form.one(f"room-{row}-surface") == surface), None)
    if here is None:
        empty = (row for row in rows if not any(form.one(f"room-{row}-{part}") for part in SAYING["room"]))
        here = next(empty, max(rows, default=-1) + 1)
        yield f"room-{here}-surface", surface
    yield f"room-{here}-at", at


def _loose(form: Form, contact: Contact) -> Cure:
    names = (f"touch-{row}-{axis}" for row in rows_of_contact(form, contact) for axis in AXES)
    return Cure("Leave its place open", tuple((name, "") for name in dict.fromkeys(names) if form.one(name)))
