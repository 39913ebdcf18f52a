"""Each lint rule on a record that breaks just that rule; the shipped library breaks none."""

from __future__ import annotations

from pathlib import Path

import pytest

from homecare.library.lint import RULES, check
from homecare.library.lint_figure import FIGURE_RULES
from homecare.library.load import load_library
from tests.library.test_load import DRILL, LADDER, POSE, own_folder

GLIDE = (
    DRILL.replace("kind: stretch", "kind: glide\n    claims: slider")
    .replace("tissues: [soleus]", "tissues: [median]")
    .replace("ladder: static_stretch", "ladder: nerve_slide")
)
TENDON = DRILL.replace("[soleus]", "[achilles_tendon]")
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


LONG_HOLD = LADDER.replace("{reps: 10, tempo_s: 4}, {reps: 12, tempo_s: 4}", "{reps: 2, hold_s: 90}")
CAUTION = """cautions:
  open_wound:
    name: has an open wound
    athlete: you have an open wound
    because: "Pressing can open a wound."
    stops: [{kinds: [stretch]}]
    source: common practice
"""
ORDER = """firing_orders:
  own_order:
    name: Own order
    expected: [pectineus, gracilis]
    says: "Own."
    source: common practice
"""
OWN = "kind: muscle, name: Own, plain: own, region: arm, source: common practice"

BREAKS = {
    "unique_codes": (DRILL.replace("own-stretch", "arm-glide"), "is that of"),
    "short_steps": (DRILL.replace('"Lean."', '"' + "Lean " * 16 + '"'), "a step of 16 words"),
    "side_words": (DRILL.replace('"Lean."', '"Lean to the left."'), "may not say left or right"),
    "known_placeholders": (DRILL.replace('"Lean."', '"Lean to {there}."'), "holds a brace"),
    "ladder_suits": (DRILL.replace("ladder: static_stretch", "ladder: nerve_slide"), "does not suit"),
    "ladders_climb": (LADDER.replace("reps: 12", "reps: 5"), "takes less time"),
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
    "doses_sourced": (
        LONG_HOLD + DRILL.replace("ladder: static_stretch", "ladder: own_ladder"),
        "has 90 seconds of one hold (from 10 to 60: Garber CE et al. 2011",
    ),
    "reads_plainly": (
        DRILL.replace('"Lean."', '"Maintain progressively increasing compressive loading of the ankle articulation."'),
        "its words read at grade",
    ),
    "active_voice": (DRILL.replace('"Lean."', '"The heel is pressed down."'), "'is pressed' in"),
    "honest_claims": (DRILL.replace('"A pull."', '"It breaks up scar tissue."'), "may not be said"),
    "plain_words": (DRILL.replace('"Lean."', '"Dorsiflex the foot."'), "write 'bending the foot up'"),
    "cautions_held": (CAUTION, "the caution 'open_wound' does not stop it"),
    "pressure_told": (
        DRILL.replace("kind: stretch", "kind: release\n    kit: [ball]").replace("static_stretch", "ball_release"),
        "it presses with a tool",
    ),
    "sides_named": (DRILL, "none of its steps says which side"),
    "said_once": (
        DRILL + DRILL.removeprefix("drills:\n").replace("own_drill", "own_two").replace("Own stretch", "Two"),
        "its steps say the same as those of 'own_drill'",
    ),
    "ways_lead_on": (DRILL.replace("ladder:", "harder: wrist_circles\n    ladder:"), "which is for other tissues"),
    "findings_reach": (
        DRILL.replace("kind: stretch", "kind: load")
        .replace("static_stretch", "slow_heavy_load")
        .replace("[soleus]", "[ankle]"),
        "no finding asks for it",
    ),
    "muscles_served": (f"tissues:\n  own_muscle: {{{OWN}}}\n", "own_muscle: no drill to release it"),
    "nerves_served": (
        SITE % "own_nerve"
        + "tissues:\n  own_nerve: {kind: nerve, name: Own nerve, plain: own, region: hand, source: common practice}\n",
        "own_nerve: needs a small slide",
    ),
    "woken_by_levels": (ORDER, "make no series of 3 levels"),
    "targets_drawn": (
        DRILL.replace("[soleus]", "[soleus, own_muscle]")
        + "tissues:\n  own_muscle: {kind: muscle, name: Own, plain: own, region: leg, source: common practice}\n",
        "nothing says where it lies",
    ),
}


BY_NAME = {rule.__name__: rule for rule in RULES}


def test_the_shipped_library_has_no_faults() -> None:
    told: list[tuple[int, int]] = []
    report = check(progress=lambda done, of: told.append((done, of)))
    assert report.problems == ()
    steps = report.total + len(RULES)  # a body set down for each drill, then the rules
    assert told == [(done, steps) for done in range(steps + 1)]
    assert report.total >= 160


def test_every_rule_has_a_record_that_breaks_it() -> None:
    assert set(BREAKS) == {rule.__name__ for rule in RULES if rule not in FIGURE_RULES}  # those: test_lint_figure.py


@pytest.mark.parametrize("rule", BREAKS)
def test_a_record_that_breaks_the_rule(rule: str, tmp_path: Path) -> None:
    text, words = BREAKS[rule]
    found = list(BY_NAME[rule](load_library(own_folder(tmp_path, text))))
    assert words in " ".join(str(problem) for problem in found)
    assert all(problem.source.line for problem in found)


@pytest.mark.parametrize(
    "step",
    [
        "Fix the band to a heavy table.",  # to fix a thing, not a pain
        "Let the knot of the band rest.",
    ],
)
def test_a_claim_is_told_by_its_words_alone(step: str, tmp_path: Path) -> None:
    found = list(BY_NAME["honest_claims"](load_library(own_folder(tmp_path, DRILL.replace("Lean.", step)))))
    assert bool(found) == ("knot" in step)


def test_a_file_that_cannot_be_read_is_reported_before_any_rule(tmp_path: Path) -> None:
    report = check(own_folder(tmp_path, "drills: {own: {code: 7}}"))
    assert [one.rule for one in report.checked] == ["readable"]
    assert report.problems
    assert report.total == 0
