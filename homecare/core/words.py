"""The sheet's own sentences, in plain words: what it is for, how to judge it, and when to stop."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from homecare.core.atlas import ARM_REGIONS, LEG_REGIONS, Atlas, Found
from homecare.core.drill import PARTS, Drill, Habit, Kind, Part
from homecare.core.evidence import IRRITATING, calls_up
from homecare.core.findings import SymptomFinding, TissueFinding, Visit
from homecare.core.plain import listed, minutes_words, sentence
from homecare.core.sheet import Candidate, Day, DrillText, SheetDrill, Words
from homecare.core.wishes import UNPRESSED

FOUND_WORDS: Mapping[Found, str] = {
    "tight": "tight",
    "tender": "tender",
    "weak": "weak",
    "late": "slow to switch on",
    "stiff": "stiff",
    "painful": "painful",
    "strained": "strained",
}
AIMS: Mapping[Kind, str] = {
    "release": "ease what is tight",
    "stretch": "ease what is tight",
    "mobilise": "loosen what is stiff",
    "glide": "help the nerve move",
    "activate": "wake up what is slow",
    "load": "build strength",
}
PART_WORDS: Mapping[Part, str] = {
    "morning": "morning",
    "before": "before training",
    "after": "after training",
    "evening": "evening",
}
KEY = "Tick a box each time. A dash is a day off."
MOST_EASE_OFF = 3
"""Things to ease off on one sheet: more are not followed (common practice)."""
TISSUE_FOUND = 0.5
"""What a tissue found sore or tight counts for, beside a site's score, in the order of habits (common practice)."""
MOST_A_CHANGE = 2
"""Habits told for one change: a third makes the line too long to be read (common practice)."""
MOST_NAMES = 3

JUDGE = (
    (
        "Carry on",
        "It eases or feels no worse, and is back to normal by morning.",
        "Go to the next step when it is due.",
    ),
    ("Hold", "It is sore, up to 5 out of 10, but back to normal by morning.", "Stay at this step until that stops."),
    (
        "Step back",
        "It is over 5 out of 10, or still there in the morning.",
        "Go back a step, half as often. Tell us.",
    ),
)
"""How to judge by the next morning: the pain-monitoring model (Thomee 1997; Silbernagel et al. 2007; from memory)."""

JUDGE_NERVE = (
    JUDGE[0],
    (
        "Hold",
        "The muscle is sore, up to 5 out of 10, but back to normal by morning.",
        "Stay at this step until that stops.",
    ),
    (
        "Step back",
        "Over 5 out of 10, or more tingling for half an hour or by morning.",
        "Go back a step, half as often. Tell us.",
    ),
)
"""With a nerve in question, any rise that lasts is a reason to step back (Nee and Butler 2006, from memory)."""

STOP_ARM = (
    "your hand or fingers stay numb",
    "your grip gets weak or you drop things",
    "the tingling spreads or starts in the other hand",
)
STOP_LEG = (
    "your leg or foot stays numb",
    "your foot drops or your leg gives way",
    "your calf swells, gets hot or hurts at rest",
)
STOP_ALL = ("a sharp new pain comes and stays", "pain wakes you at night and no position helps")
EMERGENCY = "your face, arm or leg goes weak, or you cannot speak clearly. Call too if your chest hurts"
EMERGENCY_LEG = (
    "you lose control of your bladder or bowel, or go numb between the legs. "
    "Call too if your face, arm or leg goes weak, or your chest hurts"
)
"""Stop signs: AHCPR Clinical Practice Guideline 14 (1994); Butler 2000 (from memory); cauda equina signs, BMJ Best
Practice; face, arm, speech: common practice."""


NO_FIT = "Where this comes from is not clear yet, so it should be looked at further."
"""Said where a symptom fits no nerve well."""


def drill_text(drill: Drill, side: str) -> DrillText:
    """A drill's words for a side: {side} and {other} filled in."""
    here, there = {"left": ("left", "right"), "right": ("right", "left")}.get(side, ("working", "other"))

    def fill(text: str) -> str:
        return text.replace("{side}", here).replace("{other}", there)

    parts = {"left": f"left {drill.part}", "right": f"right {drill.part}", "both": f"{drill.part}, both sides"}
    return DrillText(
        name=drill.name,
        part=parts.get(side, drill.part),
        address=drill.address,
        steps=tuple(fill(step) for step in drill.steps),
        feel=fill(drill.feel),
        not_feel=fill(drill.not_feel),
        mistakes=tuple(fill(mistake) for mistake in drill.mistakes),
        stop_if=fill(drill.stop_if),
    )


def clock_words(clock: Mapping[Part, str]) -> str:
    """The clinic's times of the parts of the day: "Morning: 07:00. Evening: 21:00."; '' when it gives none."""
    named = [(PART_WORDS[part], clock[part]) for part in PARTS if clock.get(part)]
    return " ".join(sentence(f"{name}: {time}") for name, time in named)


def sheet_words(
    visit: Visit,
    atlas: Atlas,
    fits: bool,
    drills: Sequence[SheetDrill],
    days: Sequence[Day],
    habits: Sequence[Habit],
    asked: str,
    clock: Mapping[Part, str],
) -> Words:
    """All sentences of the sheet.

    `fits` says whether a symptom led to a nerve, `asked` what cautions left out; `clock` holds the clinic's times.
    """
    amount = minutes_words(day.planned_s for day in days)
    legs = bool(_regions(visit, atlas) & LEG_REGIONS) or "low_back" in _regions(visit, atlas)
    arms = bool(_regions(visit, atlas) & (ARM_REGIONS | {"neck"})) or not legs
    return Words(
        for_=" ".join(_purpose(visit, atlas, fits, drills, amount)),
        ease_off=ease_off_words(visit, habits, atlas),
        judge=JUDGE_NERVE if visit.symptoms else JUDGE,
        stop_if=(STOP_ARM if arms else ()) + (STOP_LEG if legs else ()) + STOP_ALL,
        emergency=EMERGENCY_LEG if legs else EMERGENCY,
        key=" ".join(filter(None, (KEY, clock_words(clock)))),
        cautions=(asked,) if asked else (),
        amount=amount,
    )


def _regions(visit: Visit, atlas: Atlas) -> frozenset[str]:
    found = {atlas.zones[zone].region for symptom in visit.symptoms for zone in symptom.zones}
    found |= {atlas.tissues[one].region for finding in visit.tissues for one in atlas.members(finding.tissue)}
    found |= {
        atlas.tissues[one].region for finding in visit.firing for two in finding.order for one in atlas.members(two)
    }
    return frozenset(found)


def _purpose(visit: Visit, atlas: Atlas, fits: bool, drills: Sequence[SheetDrill], amount: str) -> list[str]:
    """A few short sentences: what was felt, what was found, and what the drills are for."""
    said = [_symptom_sentence(symptom, atlas) for symptom in visit.symptoms[:2]]
    if visit.symptoms:
        said.append(_nerve_sentence(visit.symptoms, atlas) if fits else NO_FIT)
    said += _found_sentences(visit, atlas)
    if drills:
        aims = listed([AIMS[kind] for kind in AIMS if any(drill.kind == kind for drill in drills)])
        count = f"These {len(drills)} drills" if len(drills) > 1 else "This drill"
        takes = f", {amount} a day" if amount else ""
        said.append(f"{count} {'are' if len(drills) > 1 else 'is'} to {aims}{takes}.")
    return said


def _symptom_sentence(symptom: SymptomFinding, atlas: Atlas) -> str:
    feel = "an ache" if symptom.symptom == "ache" else symptom.symptom
    sides = {"left": " on the left", "right": " on the right", "both": " on both sides", "none": ""}
    places = listed([atlas.zones[zone].plain for zone in symptom.zones])
    return f"You feel {feel} in the {places}{sides[symptom.side]}."


def _nerve_sentence(symptoms: Sequence[SymptomFinding], atlas: Atlas) -> str:
    regions = {atlas.zones[zone].region for symptom in symptoms for zone in symptom.zones}
    arm, leg = bool(regions & (ARM_REGIONS | {"neck"})), bool(regions & LEG_REGIONS)
    if arm and not leg:
        return "A nerve may be irritated between your neck and your hand."
    if leg and not arm:
        return "A nerve may be irritated between your low back and your foot."
    return "A nerve may be irritated on its way."


def _found_sentences(visit: Visit, atlas: Atlas) -> list[str]:
    """One short sentence for each thing found and side: "Tight, left: calf and hamstrings."."""
    groups: dict[str, list[str]] = {}
    for finding in visit.tissues:
        side = "" if finding.side in ("none", "both") else f", {finding.side}"
        groups.setdefault(f"{FOUND_WORDS[finding.found]}{side}", []).append(atlas.plain(finding.tissue))
    said = []
    for head, all_names in groups.items():
        names = list(dict.fromkeys(all_names))
        shown = names if len(names) <= MOST_NAMES else [*names[: MOST_NAMES - 1], "more"]
        said.append(sentence(f"{head}: {listed(shown)}"))
    return said


def called_habits(
    visit: Visit, candidates: Sequence[Candidate], habits: Mapping[str, Habit], atlas: Atlas
) -> tuple[Habit, ...]:
    """Habits to ease off: first those that a change calls up, then those that a provocation at a wanted site does.

    Of each kind those come first that take load off the likeliest place.
    """
    positions = {one for symptom in visit.symptoms for one in symptom.worse_with}
    sites = {one.site for one in candidates}
    members = {one for finding in visit.tissues if finding.found in IRRITATING for one in atlas.members(finding.tissue)}

    def unloads(habit: Habit) -> float:
        """How likely the place is that a habit unloads, as a site's score; a tissue found counts as half."""
        places = [one.score for one in candidates if one.site in habit.sites]
        return max([*places, TISSUE_FOUND if members & set(atlas.members(habit.tissues)) else 0.0])

    by_use = sorted(habits.values(), key=unloads, reverse=True)
    found = [
        habit
        for habit in by_use
        if any(calls_up(habit, change) for change in visit.changed)
        and (sites & set(habit.sites) or members & set(atlas.members(habit.tissues)))
    ]
    found += [habit for habit in by_use if positions & set(habit.worse_with) and sites & set(habit.sites)]
    return tuple(dict.fromkeys(found))[:MOST_EASE_OFF]


def _is_eased_off(finding: TissueFinding, atlas: Atlas) -> bool:
    """Painful and strained tissues, and tender tendons and bones, are given rest from what hurts."""
    firm = {atlas.tissues[member].kind for member in atlas.members(finding.tissue)} & set(UNPRESSED)
    return finding.found in ("painful", "strained") or (finding.found == "tender" and bool(firm))


def ease_off_words(visit: Visit, habits: Sequence[Habit], atlas: Atlas) -> tuple[str, ...]:
    """What hurts by name, then each change with the habit that it calls up, then habits that stand by themselves."""
    lines: list[str] = []
    used: set[str] = set()
    sore = [atlas.plain(finding.tissue) for finding in visit.tissues if _is_eased_off(finding, atlas)]
    if sore:
        lines.append(f"What makes the {listed(sore)} hurt. Add it back once that has settled.")
    for change in visit.changed:
        called = [habit for habit in habits if calls_up(habit, change) and habit.id not in used]
        used |= {habit.id for habit in called}
        lines.append(" ".join([sentence(str(change)), *(habit.words for habit in called[:MOST_A_CHANGE])]))
    lines += [habit.words for habit in habits if habit.id not in used]
    lines = _once(lines)
    return tuple(lines[:MOST_EASE_OFF])


def _once(lines: Sequence[str]) -> list[str]:
    """The lines without sentences that stand in an earlier one, or earlier in the same; a line left empty goes."""
    said: dict[str, None] = {}
    kept = []
    for line in lines:
        fresh = [one for one in dict.fromkeys(line.rstrip(".").split(". ")) if one not in said]
        said |= dict.fromkeys(fresh)
        if fresh:
            kept.append(". ".join(fresh) + ".")
    return kept
