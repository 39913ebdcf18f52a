"""A drill while it is being written: drawn, held to every rule, and its words counted, from the form as it stands."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from homecare.core.readability import grade, sentences, words
from homecare.desk.form import Form
from homecare.desk.shelf_cures import Cures, rule_cures, typed_cures
from homecare.desk.shelf_entries import scene_entries
from homecare.desk.shelf_faults import Faults, Proof, proofs, rule_faults, unread_faults
from homecare.desk.shelf_form import Content, Names, drill_content
from homecare.desk.shelf_nearest import pose_cures
from homecare.desk.shelf_pose import held_back, pose_faults
from homecare.library import trial
from homecare.library.lint import MOST_STEPS, MOST_WORDS
from homecare.library.lint_words import MOST_GRADE
from homecare.library.load import Library
from homecare.render.figures import Model
from homecare.render.turned import turned_svg

NOT_DRAWN = "This is the last pose that could be drawn. What keeps it from being drawn is said beside its field."


@dataclass(frozen=True)
class Drawn:
    """The figure as it stands: its SVG ('' where it cannot be drawn), in words, and what it does not follow."""

    svg: str
    words: str
    notes: tuple[str, ...]


@dataclass(frozen=True)
class Reading:
    """How the words read: the grade of them all, how many words, and the longest step's."""

    grade: float
    words: int
    longest: int
    steps: int

    @property
    def said(self) -> str:
        """The counts beside what they may be."""
        return (
            f"reading grade {max(self.grade, 0):.0f} of at most {MOST_GRADE:.0f}; {self.words} words; "
            f"{self.steps} of {MOST_STEPS} steps, the longest has {self.longest} of {MOST_WORDS} words"
        )


@dataclass(frozen=True)
class Judged:
    """A form held to the rules: its record, faults and cures by field, the proofs (none where it cannot be read)."""

    content: Mapping[str, object]
    faults: Faults
    proofs: tuple[Proof, ...]
    cures: Cures = field(default_factory=dict)


def drawn(form: Form, base: Content, library: Library, key: str, turn: float = 0.0, moving: bool = False) -> Drawn:
    """The figure that a form asks for; every angle that is out of its range is drawn at its end."""
    content = drill_content(form, base, Names(library), clamped=True)
    tried = trial.try_drill(library, key, content)
    notes = held_back(form, _phases(form))
    unread = any(one.path[:1] == ("figure",) and one.path[1:2] != ("targets",) for one in tried.unread)
    drill = None if unread else trial.figure_only(library, tried.drill)
    if drill is None:
        return Drawn("", "", (NOT_DRAWN,))
    svg, said = turned_svg(drill, Model(library.atlas, library.surfaces, library.postures), turn, moving)
    return Drawn(svg, said, notes)


def judged(form: Form, base: Content, library: Library, key: str) -> Judged:
    """A form held to every rule; only what is new against the library as it is counts as its fault."""
    names = Names(library)
    content = drill_content(form, base, names)
    degrees = pose_faults(form, _phases(form)) | scene_entries(form)[1]
    # Beside a number that cannot be, or a row that says nothing yet, the rest is told of the pose that is drawn.
    tried = trial.try_drill(library, key, drill_content(form, base, names, clamped=True) if degrees else content)
    if tried.library is None:
        faults = unread_faults(tried.unread, form) | degrees
        return Judged(content, faults, (), typed_cures(form, faults, library))
    problems = trial.rule_faults(tried, library)
    faults = rule_faults(problems, form, key) | degrees
    cures = typed_cures(form, faults, library) | rule_cures(problems, form, library)
    if tried.drill.figure is not None:
        cures |= pose_cures(problems, form, tried.drill.figure, key)
    return Judged(content, faults, proofs(problems, form, key), cures)


def reading(form: Form) -> Reading:
    """How the form's words read, as printed for one side."""
    lines = [line for key in ("steps", "mistakes") for line in form.one(key).split("\n")]
    texts = [*lines, *(form.one(key) for key in ("feel", "not_feel", "stop_if"))]
    filled = [text.replace("{side}", "left").replace("{other}", "right") for text in texts]
    steps = [line for line in form.one("steps").split("\n") if line.strip()]
    longest = max((len(step.split()) for step in steps), default=0)
    return Reading(grade(sentences(filled)), len(words(" ".join(filled))), longest, len(steps))


def _phases(form: Form) -> tuple[str, ...]:
    return ("start", "end") if form.many("moves") else ("end",)
