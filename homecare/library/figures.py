"""Readers of poses: postures, and the figure of a drill, in clinical words and degrees."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import replace
from typing import cast, get_args

import yaml

from homecare.core.pose import (
    COORDINATES,
    JOINT_WORDS,
    LIMB_WORDS,
    SIDES,
    STANCES,
    Arrow,
    Contact,
    Figure,
    Held,
    Posture,
    Show,
    Stance,
)
from homecare.core.problems import did_you_mean
from homecare.figure.landmarks import names
from homecare.figure.room import REACHES, SURFACES, THINGS, TOOLS
from homecare.figure.scene import CROPS, WAYS
from homecare.library.figure_words import TO_AND_FRO, arrow_of, contact_of, entry_words, is_point
from homecare.library.nodes import Fields, Reader

VIEWS: Mapping[str, tuple[float, float]] = {
    "side": (-90.0, 0.0),
    "far_side": (90.0, 0.0),
    "front": (0.0, 0.0),
    "back": (180.0, 0.0),
    "front_side": (-40.0, 8.0),
    "back_side": (-140.0, 8.0),
    "above": (-90.0, 55.0),
}
"""Views by name; the side is the working side, which a drill draws on the right."""
_PLACE = re.compile(r"at:-?\d{1,3}(\.\d+)?(,-?\d{1,3}(\.\d+)?){2}")
MOST_DEGREES = 180.0


def read_posture(fields: Fields, key: str) -> Posture:
    """A posture that drills start from."""
    return Posture(
        id=key,
        plain=fields.text("plain"),
        stance=cast(Stance, fields.choice("stance", STANCES)),
        angles=_pose(fields, "pose"),
        contacts=_contacts(fields, "contacts"),
        where=fields.reader.place(fields.node),
    )


def read_figure(outer: Fields) -> Figure | None:
    """The figure of a drill, None when it has none."""
    node = outer.node_of("figure")
    if node is None:
        return None
    fields = Fields(outer.reader, node, "the figure")
    start = _pose(fields, "start") if fields.given("start") else None
    both = _contacts(fields, "contacts")
    figure = Figure(
        posture=fields.ref("from", "postures", needed=True) or "",
        start=start,
        end={**(start or {}), **_pose(fields, "end")},
        where=outer.reader.place(node),
        contacts=(*both, *_contacts(fields, "end_contacts")),
        start_contacts=(*both, *_contacts(fields, "start_contacts")),
        held=_held(fields),
        arrows=_arrows(fields),
        view=_view(fields),
        crop=fields.choice("crop", CROPS, ""),
        show=cast(Show, fields.choice("show", get_args(Show), "auto")),
        free=fields.choices("free", COORDINATES),
        surfaces=fields.numbers("surfaces", (*SURFACES, *REACHES), -2, 2) or {},
        targets=fields.refs("targets", "tissues", "groups"),
    )
    fields.finish()
    return figure


def _pose(fields: Fields, key: str) -> dict[str, float]:
    """`{left: {knee: flex 40}, neck: flex 10 bend_left 5, both: {hip: flex 90}}` as coordinates."""
    node = fields.node_of(key)
    found: dict[str, float] = {}
    if node is None:
        return found
    reader = fields.reader
    for group, group_node, value in reader.pairs(node, f"{key!r}"):
        if group in (*SIDES, "both"):
            for joint, joint_node, words in reader.pairs(value, f"{group!r}"):
                if joint not in LIMB_WORDS:
                    reader.fault(joint_node, "joint", f"{joint!r} is no joint", did_you_mean(joint, LIMB_WORDS))
                    continue
                for side in SIDES if group == "both" else (group,):
                    found |= _joint(reader, words, joint, f"{side}_{joint}")
        elif group in JOINT_WORDS and group not in LIMB_WORDS:
            found |= _joint(reader, value, group, group)
        else:
            known = ("left", "right", "both", *(one for one in JOINT_WORDS if one not in LIMB_WORDS))
            reader.fault(
                group_node, "joint", f"{group!r} is no joint of the trunk and no side", did_you_mean(group, known)
            )
    return found


def _joint(reader: Reader, node: yaml.Node, joint: str, name: str) -> dict[str, float]:
    """`flex 40 abd 10` as coordinates of one joint."""
    text = reader.scalar(node, f"{joint!r}")
    found: dict[str, float] = {}
    parts = (text or "").split()
    if len(parts) % 2:
        reader.fault(node, "angle", f"{joint!r} should be words, each with its degrees", "as in: flex 40 abd 10")
        return found
    words = JOINT_WORDS[joint]
    for word, number in zip(parts[::2], parts[1::2], strict=True):
        if word not in words:
            reader.fault(node, "angle", f"{word!r} is no movement of the {joint}", did_you_mean(word, words))
            continue
        try:
            degrees = float(number)
        except ValueError:
            reader.fault(node, "angle", f"{number!r} after {word!r} is no number of degrees")
            continue
        if not 0 <= degrees <= MOST_DEGREES:
            reader.fault(node, "angle", f"{word} {number}: degrees go from 0 to 180", "use the opposite word")
            continue
        axis, sense = words[word]
        found[f"{name}.{axis}"] = sense * degrees
    return found


def _point(reader: Reader, node: yaml.Node, name: str) -> bool:
    if not is_point(name):
        hint = did_you_mean(name.partition("@")[0], names())
        reader.fault(node, "point", f"{name!r} is no point of the body", hint)
        return False
    return True


def _contacts(fields: Fields, key: str) -> tuple[Contact, ...]:
    """`right_heel on floor x=0.2`, `right_calf on roller at floor`, `left_palm on right_knee`, `left_heel free`."""
    node = fields.node_of(key)
    found: list[Contact] = []
    for item in fields.reader.sequence(node) if node is not None else ():
        text = fields.reader.scalar(item, f"an entry of {key!r}")
        if text is not None:
            found += _contact(fields.reader, item, text)
    return tuple(found)


def _contact(reader: Reader, node: yaml.Node, text: str) -> list[Contact]:
    words = entry_words(text)
    points = [words[0]] if words else [""]
    if points[0].startswith("both_"):
        points = [points[0].replace("both", side, 1) for side in SIDES]
    if not all([_point(reader, node, point) for point in points]):
        return []
    one = contact_of(text)
    if one is None:
        known = (*SURFACES, *TOOLS)
        hint = did_you_mean(words[2], (*known, *names())) if len(words) > 2 else "as in: right_heel on floor"
        reader.fault(node, "contact", f"{text!r} is no contact: a point, on, and what it touches", hint)
        return []
    return [replace(one, point=point) for point in points]


def _held(fields: Fields) -> tuple[Held, ...]:
    """`strap right_palm right_ball`, `dumbbell right_palm`, `band left_ankle right_ankle`."""
    node = fields.node_of("held")
    found = []
    for item in fields.reader.sequence(node) if node is not None else ():
        text = fields.reader.scalar(item, "an entry of 'held'") or ""
        thing, *points = text.split() or [""]
        if thing not in THINGS:
            fields.reader.fault(item, "held", f"{thing!r} is nothing that is held", did_you_mean(thing, THINGS))
        elif not points:
            fields.reader.fault(item, "held", f"the {thing} runs along no point", "as in: strap right_palm right_ball")
        elif all([_PLACE.fullmatch(one) or _point(fields.reader, item, one) for one in points]):
            found.append(Held(thing, tuple(points)))
    return tuple(found)


def _arrows(fields: Fields) -> tuple[Arrow, ...]:
    """`right_palm path`, `hips forward`, `right_calf to-and-fro forward`."""
    node = fields.node_of("arrows")
    found = []
    for item in fields.reader.sequence(node) if node is not None else ():
        text = fields.reader.scalar(item, "an entry of 'arrows'") or ""
        point, *way = [word for word in text.split() if word != TO_AND_FRO] or [""]
        if not _point(fields.reader, item, point):
            continue
        arrow = arrow_of(text)
        if arrow is None:
            hint = did_you_mean(way[0], WAYS) if way else "as in: right_palm path, or hips forward"
            fields.reader.fault(item, "arrow", f"{text!r} is no arrow: a point and its way", hint)
            continue
        found.append(arrow)
    return tuple(found)


def _view(fields: Fields) -> tuple[float, float]:
    node = fields.node_of("view")
    if node is None:
        return VIEWS["side"]
    if isinstance(node, yaml.SequenceNode):
        numbers = [fields.reader.number(item, "an angle of 'view'", -360, 360) for item in node.value]
        if len(numbers) == 2 and numbers[0] is not None and numbers[1] is not None:
            return numbers[0], numbers[1]
        fields.reader.fault(node, "view", "'view' takes two angles, round and up", "as in: [-60, 10]")
        return VIEWS["side"]
    name = fields.reader.choice(node, "'view'", VIEWS)
    return VIEWS[name or "side"]
