"""Each lint rule on a record that breaks just that rule; the shipped library breaks none."""

from __future__ import annotations

from pathlib import Path

import pytest

from homecare.library.lint import RULES, check
from homecare.library.lint_figure import FIGURE_RULES
from tests.library.test_load import DRILL, POSE, own_folder

GLIDE = (
    DRILL.replace("kind: stretch", "kind: glide\n    claims: slider")
    .replace("tissues: [soleus]", "tissues: [median]")
    .replace("ladder: static_stretch", "ladder: nerve_slide")
)
TENDON = DRILL.replace("[soleus]", "[achilles_tendon]")
LADDER = """ladders:
  own_ladder:
    name: Own
    rungs: [{reps: 10, tempo_s: 4}, {reps: 5, tempo_s: 4}]
    wanted_per_week: 3
    least_per_week: 2
    gap_days: 2
    parts: [evening]
    climb_days: {low: 3, moderate: 4, high: 5}
    start_rung: {low: 0, moderate: 0, high: 0}
    source: common practice
"""
SITE = """sites:
  own_site:
    of: %s
    name: Own
    plain: a place
    order: 9
    region: hand
    source: common practice
"""


def glide(start: str, end: str, claims: str = "slider") -> str:
    """A glide of the median nerve with poses of its own."""
    figure = f"    figure: {{from: standing, start: {start}, end: {end}}}\n"
    return GLIDE.replace("claims: slider", f"claims: {claims}").replace(POSE, figure)


OWN = "kind: muscle, name: Own, plain: own, region: arm, source: common practice"

BREAKS = {
    "unique_codes": (DRILL.replace("own-stretch", "arm-glide"), "is that of"),
    "short_steps": (DRILL.replace('"Lean."', '"' + "Lean " * 16 + '"'), "a step of 16 words"),
    "side_words": (DRILL.replace('"Lean."', '"Lean to the left."'), "may not say left or right"),
    "known_placeholders": (DRILL.replace('"Lean."', '"Lean to {there}."'), "holds a brace"),
    "ladder_suits": (DRILL.replace("ladder: static_stretch", "ladder: nerve_slide"), "does not suit"),
    "ladders_climb": (LADDER, "takes less time"),
    "glides_proved": (glide("{}", "{right: {wrist: ext 60, shoulder: abd 40}}"), "its poses make it tensioner"),
    "stretches_posed": (
        DRILL.replace(POSE, ""),
        "needs its figure",
    ),
    "sliders_gentle": (
        glide(
            "{right: {shoulder: abd 110 er 90, wrist: ext 70, elbow: flex 120}}",
            "{neck: bend_left 40, right: {wrist: ext 20, elbow: flex 0}}",
        ),
        "loads the median",
    ),
    "beds_whole": (
        "tissues:\n  own_nerve: {kind: nerve, name: Own nerve, plain: own, region: hand, source: common practice,"
        " bed: {wrist_extension: {full: 70, share: 0.5}}}\n",
        "add up to 0.5",
    ),
    "links_fit": (
        f"tissues:\n  own_muscle: {{{OWN}, links: [{{opposes: ulnar, says: Own., strength: opinion,"
        " evidence: common practice}]}\n",
        "opposes names ulnar, which is a nerve",
    ),
    "branches_fit": (
        f"tissues:\n  own_muscle: {{{OWN}, nerves: [radial], leaves_after: cubital_tunnel}}\n",
        "a nerve that it does not hang on",
    ),
    "sites_ordered": (
        SITE.replace("order: 9", "order: 5") % "ulnar",
        "own_site and cubital_tunnel are both number 5 on ulnar",
    ),
    "zones_owned": (
        "zones:\n  own_zone: {plain: own place, region: hand}\n",
        "no nerve or root has the zone own_zone",
    ),
    "kinds_fit": (SITE % "soleus", "which is a muscle"),
    "tender_spared": (TENDON, "neither pressed nor stretched"),
    "reachable": (
        SITE % "own_nerve"
        + "tissues:\n  own_nerve: {kind: nerve, name: Own nerve, plain: own, region: hand, source: common practice}\n",
        "can cover own_site",
    ),
    "targets_drawn": (
        DRILL.replace("[soleus]", "[soleus, own_muscle]")
        + "tissues:\n  own_muscle: {kind: muscle, name: Own, plain: own, region: leg, source: common practice}\n",
        "nothing says where it lies",
    ),
}


def test_the_shipped_library_has_no_faults() -> None:
    assert check() == ()


def test_every_rule_has_a_record_that_breaks_it() -> None:
    assert set(BREAKS) == {rule.__name__ for rule in RULES if rule not in FIGURE_RULES}  # those: test_lint_figure.py


@pytest.mark.parametrize("rule", BREAKS)
def test_a_record_that_breaks_the_rule(rule: str, tmp_path: Path) -> None:
    text, words = BREAKS[rule]
    assert words in " ".join(str(problem) for problem in check(own_folder(tmp_path, text)))
