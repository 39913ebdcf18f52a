"""Whether a pose does to its tissue what its drill claims: a stretch lengthens, a glide slides; and nerve loads."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from homecare.core.atlas import BedMotion, Tissue
from homecare.core.nerve_bed import Pose, bed_parts, glide_sort, nerve_load
from homecare.figure.lengths import AXES, LONGEST_AT_REST, MuscleLength, change_mm, extremes, share_of_longest
from homecare.figure.movement_words import asked, greatest, happens_at, opposite, sayable, shown

FULL_LEAST, GENTLE_LEAST, GENTLE_MOST, REST_LEAST = 0.55, 0.20, 0.80, 0.90
"""Shares of the longest. By the pose, with leg lengths of Delp et al. 1990: straight leg raise of 75 degrees 0.84 to
0.86, a swing to 60 with a soft knee 0.61 to 0.64; calf at the wall, ankle 18, 0.90, with the knee bent 40 and the
ankle 20 below 0; bent-knee calf 1.00; half-kneeling iliopsoas, hip 15 back, 0.74; standing heel to buttock 0.78;
figure of four, hip 95, 0.79; knee across 0.68; hanging leg of the Thomas test, knee 52, 0.50. So 0.55 parts a stretch
from a rest (common practice)."""
MOVED, SLACKENED, FULL_MOTION = 8.0, 20.0, 0.50
"""Without a length table: degrees that a joint must move against a muscle; degrees that slacken it; and the share of
one motion's range for a full stretch, lower than above, as ranges are the widest published (common practice)."""
LEAST_MM, NEARLY = 1.0, 0.02


def stretch_faults(
    muscle: Tissue, parts: Sequence[MuscleLength], pose: Pose, reach: str, main: bool = True
) -> list[str]:
    """Why the pose (motion words) does not stretch the muscle as claimed; a `main` target must also reach far enough.

    `parts` are the lengths and signs of the muscle. With lengths they decide; without, each joint it crosses must move
    against one of its actions.
    """
    sized = [part for part in parts if part.mm]
    if sized:
        return _by_length(muscle, sized, pose, reach, main)
    return _by_actions(muscle, parts, pose, reach, main)


def _by_length(muscle: Tissue, parts: Sequence[MuscleLength], pose: Pose, reach: str, main: bool) -> list[str]:
    name = muscle.name.lower()
    share = share_of_longest(parts, pose, muscle.actions)
    if extremes(parts, muscle.actions)[1] < LONGEST_AT_REST:
        if share >= REST_LEAST:
            return []
        return [f"{name}: it is at its longest in standing, and {_slackening(parts, pose) or 'the pose shortens it'}"]
    if change_mm(parts, pose) < LEAST_MM:
        return [f"{name}: {_slackening(parts, pose) or 'the pose does not lengthen it; ' + _more(muscle, parts, pose)}"]
    if not main:
        return []
    if reach == "full" and share < FULL_LEAST:
        why = _slackening(parts, pose) or _more(muscle, parts, pose)
        return [f"{name}: taken to {share:.2f} of its longest, a full stretch needs {FULL_LEAST:.2f}; {why}"]
    if reach == "gentle" and share < GENTLE_LEAST:
        why = _slackening(parts, pose) or _more(muscle, parts, pose)
        return [f"{name}: taken to {share:.2f} of its longest, even a gentle stretch needs {GENTLE_LEAST:.2f}; {why}"]
    if reach == "gentle" and share > GENTLE_MOST:
        return [f"{name}: taken to {share:.2f} of its longest, too far for a gentle stretch ({GENTLE_MOST:.2f})"]
    return []


def _slackening(parts: Sequence[MuscleLength], pose: Pose) -> str:
    """The motion of the pose that costs the muscle most length, and how to undo it; empty when none does."""
    now = change_mm(parts, pose)
    losses = {
        motion: change_mm(parts, {**pose, motion: 0.0}) - now
        for up, down, _ in AXES.values()
        for motion in (up, down)
        if pose.get(motion)
    }
    worst = max(losses, key=lambda motion: losses[motion], default=None)
    if worst is None or losses[worst] < LEAST_MM:
        return ""
    return f"{shown(worst, pose[worst])}, which slackens it; {asked(opposite(worst))}"


def _more(muscle: Tissue, parts: Sequence[MuscleLength], pose: Pose) -> str:
    """The motion against its actions that would lengthen the muscle most if it went to the end of its range."""
    against = [opposite(action) for action in muscle.actions]
    gains = {one: change_mm(parts, {**pose, one: greatest().get(one, 0.0)}) for one in against if sayable(one)}
    return asked(max(gains, key=lambda one: gains[one])) + " further"


def _by_actions(muscle: Tissue, parts: Sequence[MuscleLength], pose: Pose, reach: str, main: bool) -> list[str]:
    name = muscle.name.lower()
    acting = [*muscle.actions, *(one for part in parts for one in part.shortened_by if not muscle.actions)]
    faults, shares = [], []
    for joint in muscle.crosses:
        here = [one for one in acting if happens_at(one, joint)]
        against = [opposite(one) for one in here if sayable(one)]
        moved = [one for one in against if pose.get(one, 0.0) >= MOVED]
        shares += [pose[one] / greatest()[one] for one in moved]
        tight = {one for part in parts for one in part.shortened_by if happens_at(one, joint)}
        slack = [one for one in (*here, *tight) if pose.get(one, 0.0) >= (MOVED if one in here else SLACKENED)]
        if moved or not (against or slack):
            continue
        if slack:
            worst = max(slack, key=lambda one: pose[one])
            faults.append(f"{name}: {shown(worst, pose[worst])}, which slackens it; {asked(opposite(worst))}")
        elif not _held(joint, muscle, against):
            faults.append(f"{name}: nothing at the {joint.replace('_', ' ')} moves against it; {asked(against[0])}")
    if faults or not main or not shares:
        return faults
    share = max(shares)
    if reach == "full" and share < FULL_MOTION:
        return [f"{name}: no joint goes beyond {share:.2f} of its range, a full stretch needs {FULL_MOTION:.2f}"]
    if reach == "gentle" and share < GENTLE_LEAST:
        return [f"{name}: no joint goes beyond {share:.2f} of its range, a gentle stretch needs {GENTLE_LEAST:.2f}"]
    if reach == "gentle" and share > GENTLE_MOST:
        return [f"{name}: a joint goes to {share:.2f} of its range, too far for a gentle stretch ({GENTLE_MOST:.2f})"]
    return []


def _held(joint: str, muscle: Tissue, against: Sequence[str]) -> bool:
    """Whether a joint need not move: it has no range that way, or the arm's weight holds the blade down."""
    no_range = all(greatest().get(one, 0.0) < MOVED for one in against)
    return no_range or (joint == "shoulder_blade" and len(muscle.crosses) > 1)


def first_faults(
    muscle: Tissue, parts: Sequence[MuscleLength], others: Sequence[tuple[Tissue, Sequence[MuscleLength]]], pose: Pose
) -> list[str]:
    """Muscles beside the target that the pose draws out before it: they share an action and cross a joint more.

    A soleus stretch with a straight knee is one of the gastrocnemius. One whose further joint is not drawn out (the
    toes at rest, for flexor hallucis longus) is none.
    """
    if not any(part.mm for part in parts):
        return []
    faults, mine = [], share_of_longest(parts, pose, muscle.actions)
    for other, lengths in others:
        more = set(other.crosses) - set(muscle.crosses)
        if not (more and set(muscle.crosses) < set(other.crosses) and set(muscle.actions) & set(other.actions)):
            continue
        theirs = share_of_longest(lengths, pose, other.actions)
        eases = [one for one in other.actions if sayable(one) and any(happens_at(one, joint) for joint in more)]
        drawn = all(pose.get(opposite(one), 0.0) >= min(MOVED, greatest().get(opposite(one), 0.0)) for one in eases)
        if drawn and theirs >= max(mine - NEARLY, FULL_LEAST):
            how = f"; {asked(eases[0])}" if eases else ""
            faults.append(f"{muscle.name.lower()}: the {other.name.lower()} is drawn out before it{how}")
    return faults


def glide_faults(claims: str, beds: Mapping[str, Mapping[str, BedMotion]], start: Pose, end: Pose) -> list[str]:
    """Why a movement (motion words) is not the slider or tensioner it claims to be for a nerve."""
    faults = []
    for nerve, bed in beds.items():
        sort = glide_sort(bed, start, end)
        if sort == claims:
            continue
        parts = sorted(bed_parts(bed, start, end).items(), key=lambda part: -abs(part[1]))[:3]
        told = ", ".join(f"{motion.replace('_', ' ')} {share:+.2f}" for motion, share in parts)
        is_one = {"between": "neither a slider nor a tensioner"}.get(sort, f"a {sort}")
        faults.append(f"claims to be a {claims} of the {nerve.replace('_', ' ')} nerve, its poses are {is_one}: {told}")
    return faults


def loads(beds: Mapping[str, Mapping[str, BedMotion]], pose: Pose) -> dict[str, float]:
    """Nerve to the net lengthening of its bed at a pose (motion words), -1 to 1 of its full test."""
    return {nerve: nerve_load(bed, pose) for nerve, bed in beds.items()}
