"""What is asked, of whom, and what it stops; and which changes of an athlete's week call up a habit."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass

import pytest

from homecare.core.barring import questions, stopped_by
from homecare.core.drill import Drill, Flag
from homecare.core.evidence import calls_up
from homecare.core.findings import Change
from homecare.library.load import Library
from tests.helpers import visit_of

ARM = frozenset({"shoulder", "arm", "forearm", "hand"})
LEG = frozenset({"hip", "thigh", "knee", "leg", "foot"})
TRUNK = frozenset({"neck", "upper_back", "low_back", "pelvis"})
ALL = frozenset({"everybody"})


@dataclass(frozen=True)
class Row:
    """What a flag must do: asked of whom (at the least, and never), stopped and left for something found in `found`."""

    urgency: str
    asked: frozenset[str]
    not_asked: frozenset[str]
    found: frozenset[str]
    stopped: tuple[tuple[str, str], ...]
    """(kind, region) that may not survive; `*` stands for all."""
    left: tuple[tuple[str, str], ...]
    """(kind, region) of which something must be left."""
    source: str


NOW = (("*", "*"),)
CES = "BMJ Best Practice, Cauda equina syndrome: hospital within hours (read)"
AHCPR = "AHCPR Clinical Practice Guideline 14, 1994 (read)"
IFOMPT = "Rushton A et al. 2023, J Orthop Sports Phys Ther 53:7-22 (from memory)"
CORD = "Cook C et al. 2010, J Man Manip Ther 18:175-80 (read); no nerve drills: Butler DS 2000 (from memory)"
NERVE = "Nee RJ, Butler D 2006, Phys Ther Sport 7:36-49 (from memory)"
BACK_LEG = LEG | {"low_back", "pelvis"}
FOUR = ("release", "stretch", "glide", "load")


def of(region: str, *kinds: str) -> tuple[tuple[str, str], ...]:
    return tuple((kind, region) for kind in kinds)


ROWS = {
    "saddle_numbness": Row("now", BACK_LEG, ARM | {"neck"}, LEG, NOW, (), CES),
    "bladder_or_bowel": Row("now", BACK_LEG, ARM, LEG, NOW, (), CES),
    "both_legs_weak": Row("now", BACK_LEG, ARM, LEG, NOW, (), CES),
    "dizziness_or_double_vision": Row("now", ARM | {"neck"}, LEG, ARM, NOW, (), IFOMPT),
    "worst_headache": Row("now", ARM | {"neck"}, LEG, ARM, NOW, (), "NICE guideline NG228, 2022 (read); " + IFOMPT),
    "chest_pain": Row("now", ALL, frozenset(), ARM, NOW, (), "NICE clinical guideline CG95 (read)"),
    "progressive_weakness": Row("soon", ALL, frozenset(), ARM, of("arm", *FOUR), of("leg", *FOUR), AHCPR),
    "muscle_wasting": Row("soon", ALL, frozenset(), ARM, of("arm", *FOUR), of("leg", *FOUR), NERVE),
    "limb_numb": Row("soon", ALL, frozenset(), LEG, of("leg", *FOUR), of("arm", *FOUR), NERVE),
    "both_sides": Row("soon", ALL, frozenset(), ARM, (("glide", "*"), ("*", "neck")), of("leg", "stretch"), NERVE),
    "unsteady_walking": Row(
        "soon", ARM | {"neck"}, LEG, ARM, (("glide", "*"), ("*", "neck"), ("*", "low_back")), of("leg", "stretch"), CORD
    ),
    "clumsy_hands": Row(
        "soon", ARM | {"neck"}, LEG, ARM, (("glide", "*"), ("*", "neck"), ("*", "low_back")), of("leg", "stretch"), CORD
    ),
    "night_pain": Row("soon", ALL, frozenset(), LEG, (("load", "*"), ("release", "*")), of("hip", "activate"), AHCPR),
    "fever_or_weight_loss": Row(
        "soon", ALL, frozenset(), LEG, (("load", "*"), ("release", "*"), ("stretch", "*")), (("activate", "*"),), AHCPR
    ),
    "cancer_history": Row(
        "soon", ALL, frozenset(), LEG, (("load", "*"), ("release", "*")), (("activate", "*"),), AHCPR
    ),
    "recent_trauma": Row("soon", ALL, frozenset(), LEG, (("*", "leg"), ("*", "hip")), of("forearm", "stretch"), AHCPR),
    "calf_swelling": Row(
        "soon",
        frozenset({"knee", "leg", "foot"}),
        ARM | TRUNK,
        LEG,
        (("release", "*"), ("*", "leg"), ("*", "foot"), ("*", "thigh")),
        of("arm", "stretch", "glide"),
        "Wells PS et al. 2003, N Engl J Med 349:1227-35; rolling over a clot: Bartsch KM et al. 2021 (both read)",
    ),
    "bone_point_pain": Row(
        "soon",
        LEG | {"pelvis"},
        ARM | {"neck"},
        LEG,
        of("leg", "load", "release", "stretch"),
        of("hip", "activate"),
        "Knobloch AC et al. 2025, Curr Sports Med Rep (read): control of load first",
    ),
}


def test_every_flag_stands_in_the_table(lib: Library) -> None:
    assert set(ROWS) == set(lib.flags)


@pytest.mark.parametrize("flag", ROWS)
def test_urgency_and_of_whom_it_is_asked(lib: Library, flag: str) -> None:
    row, record = ROWS[flag], lib.flags[flag]
    assert record.urgency == row.urgency, row.source
    if row.asked == ALL:
        assert not record.asked_for, f"{flag} is asked of everybody: {row.source}"
    else:
        assert row.asked <= set(record.asked_for), row.source
        assert not row.not_asked & set(record.asked_for), f"{flag} wastes a question"


def matching(drills: Iterable[Drill], kind: str, region: str) -> list[Drill]:
    return [one for one in drills if kind in ("*", one.kind) and region in ("*", one.region)]


@pytest.mark.parametrize("flag", ROWS)
def test_what_a_flag_stops_and_what_may_go_on(lib: Library, flag: str) -> None:
    row, record = ROWS[flag], lib.flags[flag]
    kept = [one for one in lib.drills.values() if not stopped_by(record.stops, one, row.found)]
    for kind, region in row.stopped:
        assert matching(lib.drills.values(), kind, region), f"the library has {kind} of {region} at all"
        assert not matching(kept, kind, region), f"{flag} leaves {kind} of {region}: {row.source}"
    for kind, region in row.left:
        assert matching(kept, kind, region), f"{flag} stops all {kind} of {region}"


ASKED = [
    # finding, questions that must be asked, questions that would be out of place
    (
        "{tissue: levator_scapulae, side: left, found: tight}",
        {"clumsy_hands", "worst_headache", "dizziness_or_double_vision", "unsteady_walking"},
        {"calf_swelling", "saddle_numbness"},
    ),
    (
        "{symptom: tingling, zones: [digit_5], side: left}",
        {"clumsy_hands", "progressive_weakness", "muscle_wasting"},
        {"calf_swelling", "saddle_numbness", "bladder_or_bowel", "bone_point_pain"},
    ),
    (
        "{tissue: lumbar_spine, found: stiff}",
        {"saddle_numbness", "bladder_or_bowel", "both_legs_weak", "night_pain", "cancer_history"},
        {"calf_swelling", "clumsy_hands", "worst_headache"},
    ),
    (
        "{tissue: gastrocnemius, side: right, found: tight}",
        {"calf_swelling", "bone_point_pain", "recent_trauma", "chest_pain"},
        {"clumsy_hands", "worst_headache"},
    ),
]


@pytest.mark.parametrize(("finding", "asked", "not_asked"), ASKED)
def test_what_is_asked_at_a_visit(lib: Library, finding: str, asked: set[str], not_asked: set[str]) -> None:
    found = {flag.id for flag in questions(visit_of(lib, finding), lib.flags, lib.atlas)}
    assert asked <= found
    assert not not_asked & found
    assert {"chest_pain", "fever_or_weight_loss", "cancer_history", "night_pain", "recent_trauma"} <= found


WORDS = [
    # flag, what the question must name (all of them), source
    ("bladder_or_bowel", r"water.*bowels.*sex", "bladder, bowel, sexual change: " + CES),
    ("both_legs_weak", r"[Bb]oth legs", "weakness in both legs: " + CES),
    ("dizziness_or_double_vision", r"[Dd]izzy.*double.*speech.*swallow.*falls", "five Ds: " + IFOMPT),
    (
        "worst_headache",
        r"[Ss]udden.*(head or neck pain|neck pain)",
        "early dissection may be new pain alone: " + IFOMPT,
    ),
    ("fever_or_weight_loss", r"[Ff]ever.*chills.*infection.*weight loss", AHCPR),
    ("calf_swelling", r"swollen.*warm.*sore", "Wells PS et al. 2003 (read): swelling, tenderness"),
    ("clumsy_hands", r"buttons.*writing", "plain signs of myelopathy (weak page; common practice)"),
]


@pytest.mark.parametrize(("flag", "words", "source"), WORDS)
def test_a_question_names_the_signs_of_its_source(lib: Library, flag: str, words: str, source: str) -> None:
    assert re.search(words, lib.flags[flag].ask), source


def when(flag: Flag) -> str:
    """The soonest word of time in what the athlete is told."""
    for words in ("now", "today", "within two days", "this week"):
        if re.search(rf"\b{words}\b", re.split(r"(?<=\.) ", flag.athlete)[0]):
            return words
    return ""


def test_the_athlete_hears_the_same_haste_as_the_letter(lib: Library) -> None:
    """What is urgent says now or today in its first sentence, and so where the letter asks for today."""
    for flag in lib.flags.values():
        haste = when(flag)
        assert haste, flag.id
        if flag.urgency == "now" or "assess today" in flag.because:
            assert haste in ("now", "today"), flag.id
        if flag.urgency == "now":
            assert "today" in flag.because, flag.id
            assert "no exercises" in flag.athlete, flag.id


CHANGES = [
    # what the athlete says changed, some words of a habit that must be called up
    ("new carbon running shoes", r"old shoes"),
    ("new insoles", r"old shoes"),
    ("lower heel, new trail shoes", r"even ground|old shoes"),
    ("doubled my weekly mileage", r"third less"),
    ("training camp in March", r"third less"),
    ("more volume", r"third less"),
    ("saddle 10 mm higher", r"saddle"),
    ("new cleats", r"cleats"),
    ("harder gears", r"easy gear"),
    ("aero bars since April", r"upright"),
    ("elbow pads on the TT bike", r"lean on your elbow|upright"),
    ("new handlebar tape", r"weight off your palms"),
    ("thicker oar handles since January", r"loose fingers"),
    ("more erg sessions", r"sit tall"),
    ("new sweep side in the boat", r"sit tall|Turn your whole trunk"),
    ("wing paddle", r"loose fingers"),
    ("longer ski poles", r"let its strap"),
    ("skate skiing this winter", r"short, quick steps"),
    ("new wetsuit", r"wetsuit"),
    ("hand paddles and pull buoy", r"below your shoulders"),
    ("learning to breathe, more freestyle", r"both sides"),
    ("new desk job", r"half hour"),
    ("longer drive to work, new car", r"half hour"),
    ("a second monitor", r"eye height"),
    ("on the phone all day", r"speaker|eye height"),
    ("new pillow", r"pillow"),
    ("heavier backpack", r"hip belt"),
    ("race vest", r"shoulders"),
    ("a new baby", r"close"),
    ("moving house, carrying boxes", r"close"),
    ("joined a gym", r"half the weight"),
    ("heavy deadlifts", r"toe touches|half the weight"),
    ("deep squats", r"halfway"),
    ("hill repeats", r"flat"),
    ("more climbing", r"flat"),
    ("sprints on the track", r"sprints"),
    ("football on Sundays", r"kicks"),
    ("building a deck, screwdriver all day", r"thumb up"),
    ("tight ski boots", r"laces"),
    ("new belt", r"belt"),
    ("knee brace", r"knee"),
    ("kneeling to tile the floor", r"Kneel"),
    ("barefoot at home", r"indoors"),
    ("night shifts on my feet", r"on your feet"),
    ("a new watch", r"watch"),
    ("yoga twice a week", r"toe touches"),
    ("hay fever, sneezing", r"cough"),
]


@pytest.mark.parametrize(("change", "words"), CHANGES)
def test_a_change_calls_up_a_habit(lib: Library, change: str, words: str) -> None:
    """Taking off what was added lately is common practice."""
    called = [habit.words for habit in lib.habits.values() if calls_up(habit, Change(change))]
    assert any(re.search(words, one) for one in called), called


NOT_CALLED = [
    # a text with a word that only looks like a stem, habit that it may not call up
    ("more aerobic base", "elbow_off_the_edge"),
    ("more aerobic base", "look_ahead_with_ease"),
    ("ergonomic chair", "open_hand_between_strokes"),
    ("barefoot shoes", "move_hands_on_the_bars"),
    ("higher tyre pressure", "wrist_in_line"),
    ("skin care", "loosen_the_laces"),
    ("skipped two rest days", "loosen_the_laces"),
    ("new handlebar tape", "nothing_tight_round_the_knee"),
    ("ergonomic mouse", "sit_tall_at_the_catch"),
    ("new sandals", "stay_on_the_flat"),
    ("cold water swims", "hold_on_when_you_cough"),
    ("new shifters", "sit_down_now_and_then"),
    ("ultrasound last week", "run_a_third_less"),
    ("running drills", "thumb_up_when_you_lift"),
    ("building up volume", "thumb_up_when_you_lift"),
]


@pytest.mark.parametrize(("change", "habit"), NOT_CALLED)
def test_a_stem_does_not_hit_another_word(lib: Library, change: str, habit: str) -> None:
    assert not calls_up(lib.habits[habit], Change(change))


def test_punctuation_and_capitals_do_not_hide_a_word(lib: Library) -> None:
    for text in ("(Saddle, 1 cm up)", "new 'saddle'", "bike/saddle", "SADDLE"):
        assert calls_up(lib.habits["saddle_back_where_it_was"], Change(text)), text


def test_every_place_has_a_habit_but_the_one_that_is_for_a_doctor(lib: Library) -> None:
    """The pudendal nerve is for referral, not for home care (common practice)."""
    covered = {site for habit in lib.habits.values() for site in habit.sites}
    assert set(lib.atlas.sites) - covered == {"pudendal_canal"}


def test_every_tissue_that_bears_load_has_a_habit(lib: Library) -> None:
    covered = {one for habit in lib.habits.values() for one in lib.atlas.members(habit.tissues)}
    loaded = {one.id for one in lib.atlas.tissues.values() if one.kind in ("muscle", "tendon", "fascia")}
    assert not loaded - covered


SPORTS = re.compile(r"\b(row|swim|ride|wetsuit|saddle|cleats|pole|oar|gear)\b", re.IGNORECASE)


def test_what_speaks_of_one_sport_is_called_up_by_a_change_alone(lib: Library) -> None:
    """A position that hurts does not tell the sport: a runner is not told how to row."""
    allowed = {"hands_below_the_shoulders"}
    wrong = [one.id for one in lib.habits.values() if one.worse_with and SPORTS.search(one.words)]
    assert set(wrong) <= allowed


def test_habits_are_short_and_speak_to_the_athlete(lib: Library) -> None:
    """Two or three short sentences, each an order (common practice for leaflets)."""
    for habit in lib.habits.values():
        sentences = re.findall(r"[^.]+\.", habit.words)
        assert 1 <= len(sentences) <= 3, habit.id
        assert max(len(one.split()) for one in sentences) <= 18, habit.id
        assert habit.changed or habit.worse_with, f"nothing calls up {habit.id}"
