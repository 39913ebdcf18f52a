"""The library's rules of figures: each drill's pose is possible, rests on what it says, and does what it claims."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import lru_cache

from homecare.core.atlas import BedMotion
from homecare.core.drill import Drill
from homecare.core.pose import JOINT_WORDS, SIDES, Contact, Figure
from homecare.core.problems import Problem
from homecare.figure.implied import implied_traits
from homecare.figure.keep_out import hands_in_the_way, presses, release_faults
from homecare.figure.lengths import MuscleLength
from homecare.figure.limits import Limit, beyond
from homecare.figure.motions import motions
from homecare.figure.planting import MOST_DRIFT, MOST_MISS, Planted
from homecare.figure.point_words import point_in_words, surface_in_words
from homecare.figure.proof import first_faults, glide_faults, loads, stretch_faults
from homecare.figure.staging import plant_figure
from homecare.library.load import Library

MOST_LOAD_APART = 0.15
"""How far the load on a nerve may move when a pose is set down: less than a slider has to spare (common practice)."""
WORKING = "right"
"""The side that every figure is written for."""

Lengths = dict[str, tuple[MuscleLength, ...]]


def limits_held(library: Library) -> Iterator[Problem]:
    """No joint goes beyond its published range, neither as written nor as set down."""
    for drill, figure in _drawn(library):
        told: set[str] = set()
        start, end = plant_figure(figure)
        poses = [("the end", figure.end), ("the start", figure.start), ("the end", end.angles)]
        poses.append(("the start", start.angles if start else None))
        for when, angles in poses:
            for name, value, limit in beyond(angles or {}):
                if name not in told:
                    told.add(name)
                    yield _fault(drill, figure, "limit", f"at {when} {_beyond(name, value, limit)}")


def contacts_met(library: Library) -> Iterator[Problem]:
    """What a figure says to touch does touch."""
    for drill, figure in _drawn(library):
        for when, planted in _planted(figure):
            for contact, miss in planted.misses:
                told = f"at {when} the {contact_in_words(contact)} is off by {miss * 1000:.0f} mm"
                yield _fault(
                    drill, figure, "contact", told, f"at most {MOST_MISS * 1000:.0f} mm; bring the angles nearer"
                )


def angles_kept(library: Library) -> Iterator[Problem]:
    """Setting a body down moves no joint far from what was written."""
    hint = f"write it within {MOST_DRIFT:.0f} degrees of where it must be"
    for drill, figure in _drawn(library):
        for when, planted in _planted(figure):
            for name, drift in planted.drifts:
                joint = name.partition(".")[0].replace("_", " ")
                now = planted.angles.get(name, 0.0)
                moved = f"was written {_said(name, now - drift)} and had to go to {_said(name, now)}"
                yield _fault(drill, figure, "drift", f"at {when} the {joint} {moved}", hint)


def body_clear(library: Library) -> Iterator[Problem]:
    """No part of the body runs through another."""
    for drill, figure in _drawn(library):
        for when, planted in _planted(figure):
            for one, two, depth in planted.through:
                yield _fault(drill, figure, "through", f"at {when} the {one} runs {depth * 1000:.0f} mm into the {two}")


def stretches_proved(library: Library) -> Iterator[Problem]:
    """A stretch lengthens each muscle it names, its main target as far as its reach says, and before its helpers."""
    lengths, tissues = _lengths(library), library.atlas.tissues
    for drill, figure in _drawn(library):
        if drill.kind != "stretch":
            continue
        pose = motions(plant_figure(figure)[1].angles, WORKING)
        targets, main = library.atlas.members(drill.tissues), library.atlas.members(drill.tissues[0])
        others = [(tissues[one], lengths[one]) for one in lengths if one not in targets]
        for one in targets:
            parts = lengths.get(one, ())
            if tissues[one].kind != "muscle" and not parts:
                continue
            faults = stretch_faults(tissues[one], parts, pose, drill.reach, one in main)
            if one in main:
                faults += first_faults(tissues[one], parts, others, pose)
            for fault in faults:
                yield _fault(drill, figure, "stretch", fault)


def glides_proved_as_drawn(library: Library) -> Iterator[Problem]:
    """A glide is what it claims for each of its nerves as it is drawn, too."""
    beds = _beds(library)
    for drill, figure in _drawn(library):
        start, end = plant_figure(figure)
        if drill.kind != "glide" or drill.claims is None or start is None:
            continue
        own = {nerve: beds[nerve] for nerve in drill.tissues if nerve in beds}
        poses = motions(start.angles, WORKING), motions(end.angles, WORKING)
        for fault in glide_faults(drill.claims, own, *poses):
            yield _fault(drill, figure, "glide", fault)


def releases_proved(library: Library) -> Iterator[Problem]:
    """A release presses over the tissue it claims, and away from where pressing harms."""
    for drill, figure in _drawn(library):
        if drill.kind != "release":
            continue
        members = library.atlas.members(drill.tissues)
        targets = [(library.atlas.plain(one), library.surfaces[one]) for one in members if one in library.surfaces]
        body = plant_figure(figure)[1].body
        pressing = presses(body, figure.contacts, figure.held)
        faults = release_faults(body, pressing, targets, WORKING) + hands_in_the_way(body, figure.contacts)
        for fault in faults:
            yield _fault(drill, figure, "release", fault)


def traits_listed(library: Library) -> Iterator[Problem]:
    """What a pose plainly asks of the athlete is among its drill's traits, so that cautions see it."""
    for drill, figure in _drawn(library):
        start, end = plant_figure(figure)
        implied = implied_traits(end.angles, figure.stance, figure.contacts)
        if start is not None:
            implied |= implied_traits(start.angles, figure.stance, figure.start_contacts)
        for trait in sorted(implied - set(drill.traits)):
            told = f"its pose means {library.traits[trait].plain}, which its traits do not list"
            yield _fault(drill, figure, "trait", told, f"add {trait} to its traits, or change the pose")


def loads_agree(library: Library) -> Iterator[Problem]:
    """The load on each nerve is the same as written and as set down, since planning counts the written one."""
    beds = _beds(library)
    for drill, figure in _drawn(library):
        start, end = plant_figure(figure)
        for when, written, planted in (("start", figure.start, start), ("end", figure.end, end)):
            if written is None or planted is None:
                continue
            before, after = (loads(beds, motions(one, WORKING)) for one in (written, planted.angles))
            worst = max(beds, key=lambda nerve: abs(before[nerve] - after[nerve]))
            if abs(before[worst] - after[worst]) > MOST_LOAD_APART:
                told = f"at the {when} the {worst.replace('_', ' ')} nerve bears {after[worst]:.2f} of its full test"
                yield _fault(drill, figure, "load", f"{told} as drawn, {before[worst]:.2f} as written")


def _drawn(library: Library) -> Iterator[tuple[Drill, Figure]]:
    return ((drill, drill.figure) for drill in library.drills.values() if drill.figure and not drill.retired)


def _planted(figure: Figure) -> Iterator[tuple[str, Planted]]:
    start, end = plant_figure(figure)
    if start is not None:
        yield "the start", start
    yield "the end", end


def _lengths(library: Library) -> Lengths:
    found: Lengths = {}
    for one in library.lengths.values():
        found[one.muscle] = (*found.get(one.muscle, ()), one)
    return found


def _beds(library: Library) -> dict[str, dict[str, BedMotion]]:
    return {one: dict(tissue.bed) for one, tissue in library.atlas.tissues.items() if tissue.bed}


def _fault(drill: Drill, figure: Figure, code: str, message: str, hint: str = "") -> Problem:
    return Problem(figure.where, code, f"{drill.id}: {message}", hint)


@lru_cache(maxsize=1)
def _axis_words() -> dict[tuple[str, str, int], str]:
    """Joint, axis and sense to the word that a figure is written with."""
    return {(joint, axis, sense): word for joint, words in JOINT_WORDS.items() for word, (axis, sense) in words.items()}


def _said(name: str, value: float) -> str:
    """A coordinate's value in the words of a figure: "flex 160"; below a joint's words, plain degrees."""
    joint, _, axis = name.partition(".")
    joint = joint.partition("_")[2] if joint.partition("_")[0] in SIDES else joint
    word = _axis_words().get((joint, axis, 1 if value >= 0 else -1))
    return f"{word} {abs(value):.0f}" if word else f"{value:.0f}"


def _beyond(name: str, value: float, limit: Limit) -> str:
    joint, _, axis = name.partition(".")
    joint = joint.replace("_", " ")
    most = limit.high if value > limit.high else limit.low
    if axis == "raised":
        return f"the {joint} is raised {value:.0f} degrees in all, beyond its range of {most:.0f} ({limit.source})"
    return f"the {joint} is at {_said(name, value)}, beyond its range of {_said(name, most)} ({limit.source})"


def contact_in_words(contact: Contact) -> str:
    """A contact as a fault names it."""
    point = point_in_words(contact.point)
    if not contact.on:
        return f"place of the {point}"
    tool = f"{contact.tool.replace('_', ' ')} at " if contact.tool else ""
    return f"contact of the {point} with {tool}{surface_in_words(contact.on)}"


FIGURE_RULES: tuple[Callable[[Library], Iterator[Problem]], ...] = (
    limits_held,
    contacts_met,
    angles_kept,
    body_clear,
    stretches_proved,
    glides_proved_as_drawn,
    releases_proved,
    traits_listed,
    loads_agree,
)
"""Every rule of figures, in the order of their telling."""
