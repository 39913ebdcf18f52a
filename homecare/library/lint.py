"""The library's own rules, one function each: what reads well but would mislead a reader or the planner."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

from homecare.core.drill import KINDS, Drill, Kind, Rung
from homecare.core.library_report import Checked, LibraryReport
from homecare.core.nerve_bed import glide_sort, worst_load
from homecare.core.problems import Problem
from homecare.figure.staging import plant_figure
from homecare.library.lint_atlas import ATLAS_RULES
from homecare.library.lint_doses import doses_sourced
from homecare.library.lint_drills import DRILL_RULES, DRILL_RULES_ALONE
from homecare.library.lint_figure import FIGURE_RULES
from homecare.library.lint_surfaces import targets_drawn
from homecare.library.lint_words import WORD_RULES, drill_words
from homecare.library.load import Entry, Library, Place, read_library

MOST_STEPS, MOST_WORDS, MOST_NAME = 5, 15, 20
"""Steps a drill, words a step, letters a printed name: what fits the paper and a tired reader (common practice)."""

LADDERS: dict[Kind, frozenset[str]] = {
    "glide": frozenset({"nerve_slide", "nerve_slide_wide", "nerve_tension"}),
    "stretch": frozenset({"static_stretch", "static_stretch_dense", "contract_relax", "dynamic_stretch"}),
    "release": frozenset({"roller_release", "ball_release", "stick_release", "hand_release"}),
    "activate": frozenset({"activation", "isometric_hold"}),
    "load": frozenset({"slow_heavy_load", "eccentric_calf", "eccentric_hamstring", "isometric_hold"}),
    "mobilise": frozenset({"mobilise", "breathing", "posture_break"}),
}
"""The shipped ladders that suit each kind; a clinic's own ladders suit any."""

UNPRESSED_KINDS = ("tendon", "bone")


Progress = Callable[[int, int], None]
"""Told how many of how many steps are done: a body set down, or a rule asked."""


def check(own: Path | None = None, progress: Progress = lambda done, of: None) -> LibraryReport:
    """The library held to every rule, the clinic's folder laid over the shipped one."""
    library, problems = read_library(own)
    if library is None or problems:
        readable = Checked("readable", "Every file and record can be read.", tuple(sorted(problems)))
        return LibraryReport("", {}, 0, 0, 0, (readable,))
    # Setting the bodies down takes longest and is kept: done first, one by one, so that progress tells of it.
    figures = [drill.figure for drill in library.drills.values() if drill.figure and not drill.retired]
    steps = len(figures) + len(RULES)
    for number, figure in enumerate(figures):
        progress(number, steps)
        plant_figure(figure)
    checked = list[Checked]()
    for number, rule in enumerate(RULES, start=len(figures)):
        progress(number, steps)
        says = (rule.__doc__ or "").partition("\n")[0]
        checked.append(Checked(rule.__name__, says, tuple(sorted(rule(library)))))
    progress(steps, steps)
    return LibraryReport(
        revision=library.revision,
        drills=_counts(library),
        tissues=len(library.atlas.tissues),
        out_of_use=sum(not drill.offered for drill in library.drills.values()),
        own=sum(entry.own for entry in library.entries.values()),
        checked=tuple(checked),
    )


def _counts(library: Library) -> dict[str, dict[Kind, int]]:
    counts: dict[str, dict[Kind, int]] = {}
    for drill in library.drills.values():
        if drill.offered:
            kinds = counts.setdefault(drill.region, dict.fromkeys(KINDS, 0))
            kinds[drill.kind] += 1
    return counts


def quick_faults(library: Library, drills: Collection[str] | None = None) -> frozenset[Problem]:
    """The faults of every rule but those of figures; where a rule asks each drill alone, of `drills` (None: of all)."""
    some = library if drills is None else _only(library, drills)
    quick = (rule for rule in RULES if rule not in FIGURE_RULES)
    return frozenset(problem for rule in quick for problem in rule(some if rule in OF_EACH_ALONE else library))


def brought(before: Library, after: Library) -> frozenset[Problem]:
    """The faults that `after` has and `before` had not, those of figures aside.

    What drills say of themselves alone is asked again of those that differ, unless other records differ too.
    """
    drills = _changed(before, after)
    found = quick_faults(after, drills)
    return found - quick_faults(before, drills) if found else found


def _changed(before: Library, after: Library) -> frozenset[str] | None:
    """The drills in which two libraries differ; None where other records differ too, which may bear on all drills."""
    if _others(before) != _others(after):
        return None
    keys = before.drills.keys() | after.drills.keys()
    return frozenset(key for key in keys if before.drills.get(key) != after.drills.get(key))


def _others(library: Library) -> dict[Place, Entry]:
    return {place: entry for place, entry in library.entries.items() if place[0] != "drills"}


def figure_faults(library: Library, drills: Collection[str]) -> tuple[Problem, ...]:
    """The faults of the figures of some drills, passing over those that are not there."""
    some = _only(library, drills)
    return tuple(sorted(problem for rule in FIGURE_RULES for problem in rule(some)))


def _only(library: Library, drills: Collection[str]) -> Library:
    return replace(library, drills={key: drill for key, drill in library.drills.items() if key in drills})


def _fault(drill: Drill, code: str, message: str, hint: str = "") -> Problem:
    return Problem(drill.where, code, f"{drill.id}: {message}", hint)


def unique_codes(library: Library) -> Iterator[Problem]:
    """A short code or a plain address leads to one drill only."""
    for key in ("code", "address"):
        seen: dict[str, str] = {}
        for drill in library.drills.values():
            word = getattr(drill, key)
            if seen.setdefault(word, drill.id) != drill.id:
                yield _fault(drill, key, f"the {key} {word!r} is that of {seen[word]!r}")


def short_steps(library: Library) -> Iterator[Problem]:
    """Steps and names that fit the paper."""
    for drill in library.drills.values():
        if len(drill.steps) > MOST_STEPS:
            yield _fault(drill, "steps", f"{len(drill.steps)} steps; at most {MOST_STEPS}")
        for step in drill.steps:
            if len(step.split()) > MOST_WORDS:
                yield _fault(drill, "step", f"a step of {len(step.split())} words; at most {MOST_WORDS}: {step!r}")
        if len(drill.name) > MOST_NAME:
            yield _fault(drill, "name", f"the name has {len(drill.name)} letters; at most {MOST_NAME}")


def side_words(library: Library) -> Iterator[Problem]:
    """A paired drill speaks of {side} and {other}; one of the midline of neither."""
    for drill in library.drills.values():
        texts = " ".join(drill_words(drill))
        words = texts.lower().replace(",", " ").replace(".", " ").split()
        if drill.paired and {"left", "right"} & set(words):
            yield _fault(drill, "side", "a drill for either side may not say left or right", "write {side} or {other}")
        if not drill.paired and "{" in texts:
            yield _fault(drill, "side", "a drill for both sides at once has no {side}")


def known_placeholders(library: Library) -> Iterator[Problem]:
    """Only {side} and {other} are filled in."""
    for drill in library.drills.values():
        for text in drill_words(drill):
            rest = text.replace("{side}", "").replace("{other}", "")
            if "{" in rest or "}" in rest:
                yield _fault(drill, "placeholder", f"{text!r} holds a brace that nothing fills")


def ladder_suits(library: Library) -> Iterator[Problem]:
    """A drill stands on a ladder of its kind."""
    shipped = frozenset().union(*LADDERS.values())
    for drill in library.drills.values():
        if drill.ladder in shipped and drill.ladder not in LADDERS[drill.kind]:
            hint = "one of " + ", ".join(sorted(LADDERS[drill.kind]))
            yield _fault(drill, "ladder", f"{drill.ladder} does not suit a drill that is to {drill.kind}", hint)


def ladders_climb(library: Library) -> Iterator[Problem]:
    """No rung asks for less time than the one below, unless its load is another (heavier, fewer repetitions)."""
    for ladder in library.ladders.values():
        for number, (low, high) in enumerate(pairwise(ladder.rungs), start=2):
            if _falls(low, high):
                message = f"{ladder.id}: rung {number} takes less time than the one below"
                yield Problem(ladder.where, "rung", message)
        if ladder.least_per_week > ladder.wanted_per_week:
            yield Problem(ladder.where, "days", f"{ladder.id}: least days are more than wanted days")
        if (ladder.wanted_per_week - 1) * ladder.gap_days > 6:
            yield Problem(ladder.where, "gap", f"{ladder.id}: {ladder.wanted_per_week} days a week do not fit its gap")


def _falls(low: Rung, high: Rung) -> bool:
    return high.seconds("right") < low.seconds("right") and high.load == low.load


def glides_proved(library: Library) -> Iterator[Problem]:
    """A glide has a figure with both poses, and is what it claims for each of its nerves."""
    for drill in library.drills.values():
        if drill.kind != "glide":
            continue
        if drill.claims is None or drill.start is None or drill.end is None:
            yield _fault(drill, "glide", "a glide needs claims, and a figure with start and end")
            continue
        for nerve in drill.tissues:
            bed = library.atlas.tissues[nerve].bed if nerve in library.atlas.tissues else None
            if not bed:
                yield _fault(drill, "glide", f"{nerve} has no nerve bed to glide in")
                continue
            sort = glide_sort(bed, drill.start, drill.end)
            if sort != drill.claims:
                yield _fault(
                    drill, "glide", f"claims to be a {drill.claims} of the {nerve}, but its poses make it {sort}"
                )


def stretches_posed(library: Library) -> Iterator[Problem]:
    """A stretch has its figure, so that its pull on every nerve is known."""
    for drill in library.drills.values():
        if drill.kind == "stretch" and drill.figure is None:
            yield _fault(drill, "pose", "a stretch needs its figure")


def sliders_gentle(library: Library) -> Iterator[Problem]:
    """No pose of a slider is a tension of its own nerve."""
    for drill in library.drills.values():
        for nerve in library.atlas.members(drill.tissues) if drill.claims == "slider" else ():
            load = worst_load(drill, nerve, library.atlas)
            if load >= 0.5:
                yield _fault(drill, "slider", f"a pose of this slider loads the {nerve} to {load:.2f} of its full test")


def tender_spared(library: Library) -> Iterator[Problem]:
    """No tendon or bone is the main target of pressure or stretch."""
    for drill in library.drills.values():
        main = library.atlas.tissues.get(drill.tissues[0])
        if main and main.kind in UNPRESSED_KINDS and drill.kind in ("release", "stretch"):
            yield _fault(drill, "tender", f"a {main.kind} is neither pressed nor stretched", "load or mobilise it")


def reachable(library: Library) -> Iterator[Problem]:
    """Every nerve with sites has a glide, and every site has something that can cover it."""
    atlas = library.atlas
    glides = {nerve for drill in library.drills.values() if drill.kind == "glide" for nerve in drill.tissues}
    families = {one for nerve in glides for one in atlas.nerve_family(nerve)}
    pressed = {
        one
        for drill in library.drills.values()
        if drill.kind in ("release", "mobilise")
        for one in atlas.members(drill.tissues)
    }
    for site in atlas.sites.values():
        nerves = {site.of} | {one for one, tissue in atlas.tissues.items() if site.of in tissue.roots}
        habits = any(site.id in habit.sites for habit in library.habits.values())
        if not (nerves & families or pressed & set(atlas.members(site.formed_by)) or habits):
            yield Problem(site.where, "uncovered", f"no drill and no habit of the library can cover {site.id}")


RULES: tuple[Callable[[Library], Iterator[Problem]], ...] = (
    unique_codes,
    short_steps,
    side_words,
    known_placeholders,
    ladder_suits,
    ladders_climb,
    glides_proved,
    stretches_posed,
    sliders_gentle,
    tender_spared,
    reachable,
    targets_drawn,
    doses_sourced,
    *WORD_RULES,
    *DRILL_RULES,
    *ATLAS_RULES,
    *FIGURE_RULES,
)
"""Every rule, in the order of their telling."""

OF_EACH_ALONE = frozenset(
    {
        short_steps,
        side_words,
        known_placeholders,
        ladder_suits,
        glides_proved,
        stretches_posed,
        sliders_gentle,
        tender_spared,
        *WORD_RULES,
        *DRILL_RULES_ALONE,
    }
)
"""Rules whose faults are those of single drills, whatever other drills there are: they are asked of some as well."""
