"""Every ladder inside its published range; each range stands beside its citation."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import pytest

from homecare.core.drill import Ladder, Rung
from homecare.library.load import Library


@dataclass(frozen=True)
class Range:
    """One measure of each rung of a ladder with its published bounds, both included."""

    ladder: str
    measure: Callable[[Rung], float]
    what: str
    low: float
    high: float
    source: str


def hold(rung: Rung) -> float:
    return rung.hold_s


def reps(rung: Rung) -> float:
    return rung.reps


def sets(rung: Rung) -> float:
    return rung.sets


def times(rung: Rung) -> float:
    return rung.times


def held_a_day(rung: Rung) -> float:
    return rung.times * rung.sets * rung.reps * rung.hold_s


def set_seconds(rung: Rung) -> float:
    return rung.reps * (rung.tempo_s + rung.hold_s)


def reps_a_day(rung: Rung) -> float:
    return rung.times * rung.sets * rung.reps


def one_pass(rung: Rung) -> float:
    return rung.tempo_s


GARBER = "Garber CE et al. 2011, Med Sci Sports Exerc 43:1334-59"
BEHM_ROLL = "Behm DG et al. 2020, J Strength Cond Res 34:3301-8"
ALFREDSON = "Alfredson H et al. 1998, Am J Sports Med 26:360-6"
PETERSEN = "Petersen J et al. 2011, Am J Sports Med 39:2296-303 (from memory)"
LOADIT = "Pilot Feasibility Stud 2020, doi 10.1186/s40814-020-00639-5, table 1"
RIO = "Rio E et al. 2015, Br J Sports Med 49:1277-83 (from memory)"
CLELAND = "Cleland JA et al. 2006, Man Ther 11:279-86 (from memory)"
YOUNG = "Faigenbaum AD et al. 2009, J Strength Cond Res 23(5 Suppl):S60-79 (from memory)"
INGRAM = "Ingram LA et al. 2024, Sports Med, doi 10.1007/s40279-024-02143-9: no more gain beyond 10 minutes a week"
CHEATHAM = "Cheatham SW et al. 2015, Int J Sports Phys Ther 10:827-38 (dose from memory)"
PRACTICE = "common practice"

RANGES = [
    Range("static_stretch", hold, "hold in s", 10, 30, GARBER),
    Range("static_stretch", reps, "repetitions", 2, 4, GARBER),
    Range("static_stretch", held_a_day, "s held a day (60 asked, about 86 the plateau)", 20, 90, GARBER),
    Range("static_stretch_dense", hold, "hold in s", 10, 30, GARBER),
    Range("static_stretch_dense", reps, "repetitions", 2, 4, GARBER),
    Range("static_stretch_dense", held_a_day, "s held a day (10 minutes a week on 5 days)", 20, 120, INGRAM),
    Range("contract_relax", hold, "s of stretch after the push", 10, 30, f"{GARBER} (from memory)"),
    Range("contract_relax", one_pass, "s of push", 3, 6, f"{GARBER} (from memory)"),
    Range("static_stretch_older", hold, "hold in s", 30, 60, GARBER),
    Range("static_stretch_older", reps, "repetitions", 2, 4, GARBER),
    Range("static_stretch_older", held_a_day, "s held a day", 60, 120, GARBER),
    Range("static_stretch_under_16", hold, "hold in s", 10, 30, GARBER),
    Range("static_stretch_under_16", reps, "repetitions", 2, 4, GARBER),
    Range("static_stretch_under_16", held_a_day, "s held a day", 20, 60, GARBER),
    Range("roller_release", set_seconds, "s a set", 30, 120, BEHM_ROLL),
    Range("roller_release", sets, "sets", 1, 3, BEHM_ROLL),
    Range("roller_release", one_pass, "s a one-way roll", 2, 4, BEHM_ROLL),
    Range("roller_release", times, "times a day", 1, 3, "Debski P et al. 2019, Biomed Hum Kinet 11:36-46"),
    Range("roller_release_gentle", set_seconds, "s a set", 30, 120, BEHM_ROLL),
    Range("roller_release_gentle", one_pass, "s a one-way roll", 2, 4, BEHM_ROLL),
    Range("stick_release", set_seconds, "s a set", 5, 120, CHEATHAM),
    Range("stick_release", one_pass, "s a one-way stroke", 2, 4, BEHM_ROLL),
    Range("ball_release", held_a_day, "s pressed a muscle a day", 30, 120, f"within rolling's range, {BEHM_ROLL}"),
    Range("ball_release_gentle", held_a_day, "s pressed a muscle a day", 30, 120, f"within rolling's, {BEHM_ROLL}"),
    Range("hand_release", set_seconds, "s a set", 30, 120, f"within rolling's range, {BEHM_ROLL}"),
    Range("activation", sets, "sets", 2, 4, f"{GARBER} (from memory)"),
    Range("activation", reps, "repetitions", 8, 15, f"{GARBER} (from memory)"),
    Range("activation_older", reps, "repetitions", 10, 15, f"{GARBER} (from memory)"),
    Range("activation_older", sets, "sets", 1, 2, f"{GARBER} (from memory)"),
    Range("activation_under_16", reps, "repetitions", 6, 15, YOUNG),
    Range("activation_under_16", sets, "sets", 1, 3, YOUNG),
    Range("slow_heavy_load", sets, "sets", 1, 4, LOADIT),
    Range("slow_heavy_load", reps, "repetitions", 6, 18, LOADIT),
    Range("slow_heavy_load_older", reps, "repetitions", 10, 15, f"{GARBER} (from memory)"),
    Range("slow_heavy_load_under_16", reps, "repetitions", 6, 15, YOUNG),
    Range("slow_heavy_load_under_16", sets, "sets", 1, 3, YOUNG),
    Range("isometric_hold", hold, "hold in s", 10, 45, RIO),
    Range("isometric_hold", held_a_day, "s held a day", 30, 225, RIO),
    Range("isometric_hold_short", held_a_day, "s held a day", 30, 225, RIO),
    Range("eccentric_calf", reps_a_day, "repetitions a day, one knee position", 1, 90, ALFREDSON),
    Range("eccentric_calf", sets, "sets", 1, 3, ALFREDSON),
    Range("eccentric_calf", reps, "repetitions", 1, 15, ALFREDSON),
    Range("eccentric_calf", times, "times a day", 1, 2, ALFREDSON),
    Range("eccentric_calf_slow", reps_a_day, "repetitions a day, one knee position", 1, 90, ALFREDSON),
    Range("eccentric_hamstring", sets, "sets", 2, 3, PETERSEN),
    Range("eccentric_hamstring", reps, "repetitions", 5, 12, PETERSEN),
    Range("eccentric_hamstring_slow", reps, "repetitions", 5, 12, PETERSEN),
    Range("nerve_slide", times, "times a day", 1, 5, "Akalin E et al. 2002, Am J Phys Med Rehabil 81:108-13"),
    Range("nerve_slide", reps_a_day, "repetitions a day", 1, 50, "Akalin E et al. 2002 (from memory): 10 x 5"),
    Range("nerve_slide_wide", times, "times a day", 1, 5, "Akalin E et al. 2002 (from memory)"),
    Range("nerve_slide_wide", reps_a_day, "repetitions a day", 1, 50, "Akalin E et al. 2002 (from memory): 10 x 5"),
    Range("nerve_tension", held_a_day, "s held a day", 0, 60, CLELAND),
    Range("mobilise", reps, "repetitions", 8, 15, PRACTICE),
    Range("mobilise", times, "times a day", 1, 2, PRACTICE),
    Range("breathing", one_pass, "s a breath: about six a minute", 8, 12, PRACTICE),
    Range("posture_break", times, "times a day", 3, 3, PRACTICE),
    Range("posture_break", set_seconds, "s a break", 10, 60, PRACTICE),
    Range("dynamic_stretch", reps_a_day, "repetitions a day", 8, 20, PRACTICE),
]


def longest(rung: Rung) -> tuple[int, int]:
    return rung.seconds("left"), rung.seconds("both")


@pytest.mark.parametrize("one", RANGES, ids=lambda one: f"{one.ladder}: {one.what}")
def test_each_rung_lies_within_the_published_range(lib: Library, one: Range) -> None:
    for place, rung in enumerate(lib.ladders[one.ladder].rungs):
        assert one.low <= one.measure(rung) <= one.high, f"rung {place}: {one.source}"


def test_every_ladder_is_held_to_some_range(lib: Library) -> None:
    assert {one.ladder for one in RANGES} == set(lib.ladders)


WEEKS = [
    # ladder, least days a week, wanted at most, gap of days at least, source
    ("static_stretch", 2, 7, 1, GARBER),
    ("static_stretch_older", 2, 7, 1, GARBER),
    ("static_stretch_dense", 2, 5, 1, "Thomas E et al. 2018, Int J Sports Med 39:243-54: 5 days a week"),
    ("contract_relax", 2, 7, 1, f"{GARBER} (from memory): 2 to 3 days a week at least"),
    ("slow_heavy_load", 2, 3, 2, f"{LOADIT}: 48 h between, 3 a week"),
    ("slow_heavy_load_older", 2, 3, 2, f"{GARBER} (from memory): 2 to 3 days, 48 h between"),
    ("slow_heavy_load_under_16", 2, 3, 2, f"{YOUNG}: 2 to 3 days, not in a row"),
    ("eccentric_hamstring", 1, 3, 2, PETERSEN),
    ("eccentric_hamstring_slow", 1, 3, 2, PETERSEN),
    ("eccentric_calf", 1, 7, 1, f"{ALFREDSON}: 7 days a week"),
]


@pytest.mark.parametrize(("ladder", "least", "wanted", "gap", "source"), WEEKS)
def test_days_a_week_and_days_between(
    lib: Library, ladder: str, least: int, wanted: int, gap: int, source: str
) -> None:
    one = lib.ladders[ladder]
    assert least <= one.least_per_week <= one.wanted_per_week <= wanted, source
    assert one.gap_days >= gap, source


def test_only_daily_tendon_loading_is_free_of_the_two_days_between_loads(lib: Library) -> None:
    """Alfredson et al. 1998 load daily; all other loading keeps 48 h (Garber et al. 2011, from memory)."""
    exempt = {key for key, one in lib.ladders.items() if one.gap_exempt}
    assert exempt == {"eccentric_calf", "eccentric_calf_slow"}
    for drill in lib.drills.values():
        if lib.ladders[drill.ladder].gap_exempt:
            assert drill.kind == "load", drill.id
            assert set(lib.atlas.members(drill.tissues)) & {"gastrocnemius", "soleus", "achilles_tendon"}, drill.id


def test_only_lowering_of_the_hamstrings_counts_as_heavy_lengthening(lib: Library) -> None:
    """Petersen et al. 2011 (from memory): the one programme here that lengthens a muscle under its full force."""
    heavy = {key for key, one in lib.ladders.items() if one.heavy_lengthening}
    assert heavy == {"eccentric_hamstring", "eccentric_hamstring_slow"}


def test_top_of_the_held_stretches_reaches_five_minutes_a_week(lib: Library) -> None:
    """At least 5 minutes a week on 5 days for lasting range (Thomas E et al. 2018, Int J Sports Med 39:243-54)."""
    for key in ("static_stretch", "static_stretch_older", "static_stretch_dense"):
        one = lib.ladders[key]
        assert one.wanted_per_week >= 5
        assert held_a_day(one.rungs[-1]) * one.wanted_per_week >= 300


def test_a_held_stretch_of_sixty_seconds_never_stands_before_training(lib: Library) -> None:
    """A loss of strength is likely from 60 s on (Kay and Blazevich 2012, Med Sci Sports Exerc 44:154-64)."""
    for one in lib.ladders.values():
        if max(held_a_day(rung) for rung in one.rungs) >= 60:
            assert "before" not in one.parts, one.id


def test_eccentric_calf_climbs_from_below_to_the_published_dose_and_no_further(lib: Library) -> None:
    """3 x 15 for each of two knee positions, twice a day (Alfredson et al. 1998): 90 a day for each."""
    daily = [reps_a_day(rung) for rung in lib.ladders["eccentric_calf"].rungs]
    assert daily[0] < 90
    assert daily[-1] == 90
    assert daily == sorted(daily)


@pytest.mark.parametrize("sides", ["left", "both"])
def test_seconds_never_fall_along_a_ladder(lib: Library, sides: str) -> None:
    for one in lib.ladders.values():
        seconds = [longest(rung)[sides == "both"] for rung in one.rungs]
        assert seconds == sorted(seconds), one.id


def test_start_and_pace_follow_irritability(lib: Library) -> None:
    """High irritability starts at the lowest rung and climbs slowest (common practice)."""
    for one in lib.ladders.values():
        assert one.start_rung["high"] == 0, one.id
        assert one.start_rung["low"] >= one.start_rung["moderate"] >= one.start_rung["high"], one.id
        assert one.climb_days["low"] <= one.climb_days["moderate"] <= one.climb_days["high"], one.id
        assert one.climb_days["low"] < one.climb_days["high"], one.id


def test_three_drills_at_their_start_fit_into_ten_minutes_with_both_sides(lib: Library) -> None:
    """More than two or three drills are followed less (Eckard T et al. 2015, Mil Med 180:186-91): they must fit."""
    for grade in ("low", "moderate", "high"):
        starts = {key: one.rungs[one.start_rung[grade]].seconds("both") for key, one in lib.ladders.items()}
        strong = starts["slow_heavy_load"] if grade != "low" else 0
        common = [starts[key] for key in ("static_stretch", "nerve_slide", "mobilise", "activation", "roller_release")]
        assert sum(sorted([*common, strong])[-3:]) + 45 <= 600, starts


def test_ages_lead_to_ladders_of_their_own(lib: Library) -> None:
    """Older adults hold longer and repeat 10 to 15 times (Garber et al. 2011); the young load by their own range."""
    assert (lib.ladders["static_stretch"].ages or {})["older"] == "static_stretch_older"
    for key in ("static_stretch", "activation", "slow_heavy_load", "eccentric_calf", "eccentric_hamstring"):
        assert set(lib.ladders[key].ages or {}) >= {"older", "under_16"}, key


def test_the_nerve_slide_says_that_its_dose_is_not_agreed(lib: Library) -> None:
    """Trials and hand-outs differ, and benefit is uncertain (Basson A et al. 2017, JOSPT 47:593-615)."""
    slide: Ladder = lib.ladders["nerve_slide"]
    assert slide.source.kind == "common practice"
    assert "no agreed dose" in slide.note.lower()
    assert "uncertain" in slide.note.lower()


def test_a_wide_slide_is_slower_and_shorter_than_a_small_one(lib: Library) -> None:
    """Two rates: more joints at once are moved slower and fewer times (common practice)."""
    small, wide = lib.ladders["nerve_slide"], lib.ladders["nerve_slide_wide"]
    assert min(rung.tempo_s for rung in wide.rungs) > max(rung.tempo_s for rung in small.rungs)
    assert max(map(reps_a_day, wide.rungs)) <= max(map(reps_a_day, small.rungs))


KIND_LADDERS = {
    "glide": {"nerve_slide", "nerve_slide_wide", "nerve_tension"},
    "stretch": {"static_stretch", "static_stretch_dense", "contract_relax", "dynamic_stretch"},
    "release": {"roller_release", "ball_release", "stick_release", "hand_release"},
    "activate": {"activation", "isometric_hold"},
    "load": {"slow_heavy_load", "eccentric_calf", "eccentric_hamstring", "isometric_hold"},
    "mobilise": {"mobilise", "breathing", "posture_break"},
}


def test_every_drill_climbs_a_ladder_of_its_kind(lib: Library) -> None:
    wrong = [f"{one.id}: {one.ladder}" for one in lib.drills.values() if one.ladder not in KIND_LADDERS[one.kind]]
    assert not wrong


TOOLS = {"roller_release": {"roller"}, "stick_release": {"stick"}, "ball_release": {"ball"}}


def test_a_release_uses_the_tool_of_its_ladder(lib: Library) -> None:
    """The published range of rolling is one of rollers (Behm et al. 2020); hands have a ladder of their own."""
    for drill in lib.drills.values():
        if drill.ladder in TOOLS:
            assert set(drill.kit) & TOOLS[drill.ladder], drill.id
        elif drill.kind == "release":
            assert not set(drill.kit) & {"roller", "ball", "stick"}, drill.id
