"""Invented sheets for the tests of what is printed: five drills, six, long ones, referrals, and nothing at all."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace
from datetime import date, timedelta
from typing import Any

from homecare.core.drill import Part, Rung
from homecare.core.sheet import (
    Candidate,
    CheckIn,
    Clinic,
    Day,
    Drawing,
    Drawn,
    DrillText,
    Item,
    LeftOut,
    MarkerLine,
    Note,
    Picture,
    Planner,
    Refer,
    Sheet,
    SheetDrill,
    Training,
    Unserved,
    Words,
)
from homecare.render.figures import CAPTION_HIGH, GAP, paper_box
from homecare.render.links import drill_link, sheet_link

START = date(2026, 3, 2)
WEB = "https://lowgate.example"
CLINIC = Clinic(
    name="Lowgate Clinic",
    address="14 Mill Lane, Durham",
    phone="01632 960 114",
    hours="Monday to Friday, 8 to 6",
    after_hours="01632 960 119",
    web=WEB,
)
TRAINING: tuple[Training, ...] = ("easy", "hard", "easy", "hard", "rest", "long", "easy")

WORDS = Words(
    for_="Your thumb and first two fingers tingle when you grip. The nerve to them may be irritated between neck and "
    "hand. These drills ease the forearm, free the upper back and help the nerve move. They take 5 to 10 minutes "
    "a day.",
    ease_off=("Row with the old, thinner oar handles until your next visit.", "Open your hand between strokes."),
    judge=(
        (
            "Carry on",
            "It eases, or feels no worse, and is back to normal by morning.",
            "Go to the next step when it is due.",
        ),
        ("Hold", "Sore, up to 5 out of 10, but back to normal by morning.", "Stay at this step until that stops."),
        ("Step back", "Over 5 out of 10, or still there by morning.", "Go back one step, half as often, and tell us."),
    ),
    stop_if=(
        "your fingers stay numb",
        "your grip gets weak or you drop things",
        "the tingling spreads or starts in the other hand",
        "a sharp new pain comes and stays",
        "pain wakes you at night and no position helps",
    ),
    emergency="your face, arm or leg goes weak, you cannot speak clearly, or your chest hurts",
    key="Tick a box each time. A dash means leave it that day, so that it can rest or because we treated it by hand.",
    amount="5 to 10 minutes",
)

GLIDE = tuple(Rung(1, reps, tempo_s=4, times=times) for reps, times in ((8, 2), (10, 2), (10, 3)))
LONG = tuple(Rung(1, reps, tempo_s=4, times=times) for times in (1, 2) for reps in (8, 10, 15))
ROLL = (Rung(1, 1, hold_s=60), Rung(1, 1, hold_s=90))
HOLD = (Rung(1, 3, hold_s=20, rest_s=5), Rung(1, 3, hold_s=30, rest_s=5))
FREE = (Rung(1, 8, tempo_s=4), Rung(1, 12, tempo_s=4))
HEAVY = tuple(
    Rung(3, reps, tempo_s=6, rest_s=120, load=load) for reps, load in ((15, "6 kg"), (12, "8 kg"), (10, "10 kg"))
)
ISO = (Rung(3, 1, hold_s=30, rest_s=60), Rung(5, 1, hold_s=30, rest_s=60))

_DRILLS: tuple[tuple[Any, ...], ...] = (
    (
        "arm_glide",
        "AG",
        "Arm glide",
        "right arm",
        "glide",
        "right",
        GLIDE,
        ("morning", "evening"),
        (0, 1, 2, 3, 4, 5, 6),
        (
            "Lift your right arm to the side, palm up.",
            "Bend the elbow and let the wrist bend back.",
            "Straighten the elbow while the wrist softens.",
            "Bend again. One slow breath each way.",
        ),
        "A light pull in the forearm. It goes as you bend.",
        "More tingling. If it tingles, make the move smaller.",
        "Tingling stays for more than a minute.",
    ),
    (
        "forearm_ball",
        "FB",
        "Forearm on a ball",
        "right forearm",
        "release",
        "right",
        ROLL,
        ("evening",),
        (2, 5),
        (
            "Sit at a table. Put the ball under the thick part of your forearm.",
            "Let the arm rest its weight on it.",
            "Roll slowly from the elbow half-way to the wrist.",
            "Stop on a tight spot for three breaths.",
        ),
        "Firm pressure that slowly gives way.",
        "Sharp pain, or tingling in the hand.",
        "Your hand tingles or goes cold.",
    ),
    (
        "palm_stretch",
        "PS",
        "Palm stretch",
        "right forearm",
        "stretch",
        "right",
        HOLD,
        ("evening",),
        (0, 1, 2, 3, 4, 5, 6),
        (
            "Rest your forearm on a table, hand off the edge.",
            "With your left hand, bend the right hand back.",
            "Keep the fingers straight. Breathe out and hold.",
            "Let go slowly. Shake the hand out, then repeat.",
        ),
        "A broad pull along the inside of the forearm.",
        "A pull in the fingertips, or tingling. Ease off a little.",
        "The wrist pinches at the back.",
    ),
    (
        "curl_lift",
        "CL",
        "Curl and lift",
        "upper back",
        "mobilise",
        "none",
        FREE,
        ("morning",),
        (0, 1, 2, 3, 4, 5, 6),
        (
            "Sit at the front of a chair, hands on your thighs.",
            "Breathe out. Round your upper back.",
            "Breathe in. Lift your breastbone and look ahead.",
            "Move at the shoulder blades, not the waist.",
            "Keep your chin level all the way.",
        ),
        "The upper back loosens a little each time.",
        "Pinching in the neck or low back. Make it smaller.",
        "You feel dizzy, or your neck hurts.",
    ),
    (
        "doorway",
        "DO",
        "Doorway opener",
        "both sides",
        "stretch",
        "both",
        HOLD,
        ("evening",),
        (1, 3, 6),
        (
            "Stand in a doorway, forearms on the frame.",
            "Put one foot forward. Keep your ribs down.",
            "Lean gently through until your chest opens.",
            "Breathe out and hold. Change the front foot.",
        ),
        "A wide pull across the front of the chest.",
        "Pinching on top of the shoulder. Lower the elbows.",
        "Your arm goes heavy or numb.",
    ),
    (
        "grip_load",
        "GL",
        "Slow wrist lower",
        "right forearm",
        "load",
        "right",
        HEAVY,
        ("after",),
        (1, 3, 6),
        (
            "Sit with your forearm on your thigh, palm up.",
            "Hold the weight. Curl the wrist up with your other hand.",
            "Lower the right hand alone, slowly, for six seconds.",
            "Help it up again and repeat.",
        ),
        "Firm work in the forearm, up to 5 out of 10.",
        "Sharp pain at the elbow.",
        "Pain goes past 5 out of 10.",
    ),
    (
        "blade_set",
        "BS",
        "Shoulder blade set",
        "right shoulder",
        "activate",
        "right",
        ISO,
        ("before",),
        (0, 2, 4),
        (
            "Stand with your back to a wall.",
            "Slide your right shoulder blade down and in.",
            "Press the arm lightly into the wall.",
            "Breathe and hold.",
        ),
        "Steady work between spine and shoulder blade.",
        "Strain in the neck.",
        "Your neck cramps.",
    ),
)


def _drill(row: tuple[Any, ...], priority: int, of: int) -> tuple[SheetDrill, tuple[Part, ...], tuple[int, ...]]:
    id_, code, name, part, kind, side, rungs, parts, weekdays, steps, feel, not_feel, stop_if = row
    text = DrillText(name, part, name.lower().replace(" ", "-"), steps, feel, not_feel, ("You hurry.",), stop_if)
    drill = SheetDrill(
        id=id_,
        code=code,
        side=side,
        kind=kind,
        tissues=("flexor_digitorum_superficialis",),
        priority=priority,
        because=("Tight finger flexors, right.",),
        ladder="static_stretch",
        ladder_source="common practice",
        irritability="moderate",
        rungs=rungs,
        start_rung=0,
        climb_days=4,
        wanted_per_week=7,
        least_per_week=3,
        gap_days=1,
        gap_exempt=False,
        heavy_lengthening=False,
        carried=False,
        halved=False,
        worse_in_row=0,
        days_planned=0,
        days_wanted=14,
        nerve_load={"median": 0.1},
        text=text,
        text_hash="0" * 64,
        link=drill_link(WEB, code, side, rungs, 0),
        drawing=_drawing(priority, of),
    )
    return drill, parts, weekdays


def _grey(wide: float, high: float) -> str:
    """A grey block of a size in millimetres."""
    size = f'width="{wide}mm" height="{high}mm" viewBox="0 0 10 10" preserveAspectRatio="none"'
    return f'<svg xmlns="http://www.w3.org/2000/svg" {size}><path fill="#ccc" d="M0 0H10V10H0Z"/></svg>'


def _drawing(priority: int, of: int) -> Drawing:
    """A figure that fills its place on paper: one panel, two side by side or two stacked, in turn."""
    wide, high = paper_box(of)
    sizes = {
        1: [(wide, high)],
        2: [((wide - GAP) / 2, high - CAPTION_HIGH)] * 2,
        0: [(wide, high / 2 - CAPTION_HIGH)] * 2,
    }[priority % 3]
    captions = ("start", "end") if len(sizes) == 2 else ("",)
    pictures = tuple(
        Picture(caption, _grey(*size), f"Standing, one arm out: {caption or 'the hold'}.", *size)
        for caption, size in zip(captions, sizes, strict=True)
    )
    return Drawn(
        pictures,
        priority % 3 == 0,
        _grey(40, 30).replace(' xmlns="http://www.w3.org/2000/svg"', ""),
        "The right arm is out to the side.",
    )


def _rung_on(number: int, rungs: tuple[Rung, ...], spread: int) -> int:
    return min(number // spread, len(rungs) - 1)


def make_sheet(
    drills: int = 5,
    days: int = 14,
    *,
    start: date = START,
    clinic: Clinic = CLINIC,
    spread: int = 5,
    many_steps: Collection[str] = (),
    **changes: Any,
) -> Sheet:
    """A sheet with the first `drills` of the invented drills (again under other ids beyond seven), over `days` days.

    A drill climbs each `spread` days, and those in `many_steps` climb a ladder of six rungs.
    """
    rows = []
    for number in range(drills):
        row = list(_DRILLS[number % len(_DRILLS)])
        if number >= len(_DRILLS):
            row[0], row[1] = f"{row[0]}_{number}", f"{row[1]}{'XYZ'[number // len(_DRILLS) - 1]}"
        if row[0] in many_steps:
            row[6] = LONG
        rows.append(_drill(tuple(row), number + 1, drills))
    plan = []
    for number in range(days):
        items, notes = [], []
        for drill, parts, weekdays in rows:
            if number % 7 in weekdays:
                step = _rung_on(number, drill.rungs, spread)
                rung = drill.rungs[step]
                items.append(
                    Item(
                        drill.id,
                        drill.side,
                        step,
                        rung.sets,
                        rung.reps,
                        rung.hold_s,
                        rung.times,
                        (parts * 3)[: rung.times] if rung.times > 1 else parts[:1],
                        rung.seconds(drill.side),
                    )
                )
            else:
                notes.append(Note(drill.id, drill.side, "few", "three drills stand on this day already"))
        spent = sum(item.seconds for item in items)
        plan.append(
            Day(
                start + timedelta(days=number),
                TRAINING[number % 7],
                720,
                spent,
                tuple(items),
                tuple(notes),
                visit=number in (3, 7),
                event=number == 12,
            )
        )
    sheet = Sheet(
        athlete="Rowan K.",
        prepared_by="M. Okafor",
        start=start,
        days_asked=days,
        review_by=start + timedelta(days=10),
        clinic=clinic,
        defaults={"irritability": "moderate"},
        screen="clear",
        library_revision="1" * 64,
        words=WORDS,
        notes="",
        planner=Planner(3, 6, 15, 0.25, True),
        candidates=(
            Candidate(
                "median",
                "carpal_tunnel",
                "right",
                0.71,
                ("Tingling in the thumb lies within the nerve's own area.",),
                ("Tapping the wrist did nothing.",),
                ("upper limb test 2a",),
                ("arm_glide",),
                "the tunnel at the front of the wrist",
                "Glides: limited evidence, beside other care.",
            ),
        ),
        drills=tuple(
            replace(drill, days_planned=sum(item.drill == drill.id for day in plan for item in day.items))
            for drill, _, _ in rows
        ),
        left_out=(LeftOut("neck_roll", "right", "Takes blood thinners: no firm pressure.", "caution"),),
        unserved=(Unserved("release pronator_teres right", "needs a ball; the athlete has a roller"),),
        days=tuple(plan),
        check_in=(CheckIn("arm_glide", "right", "settled", "up", "Settled, and 12 of 14 boxes ticked."),),
        markers=(MarkerLine("knee_to_wall", "Knee to wall", "cm", "left", 7.5, 9.0, None, "Better after treatment."),),
        findings=("Right finger flexors: tight.", "Tingling in the right thumb, worse with gripping."),
        refer=None,
        advice=("Test the neck next time.",),
    )
    return replace(replace(sheet, sheet_link=sheet_link(clinic.web, sheet)), **changes)


REFER_NOW = Refer(
    "now",
    (
        "Numbness between the legs with leg symptoms on both sides can mean pressure on the nerve roots "
        "to the bladder and bowel.",
    ),
    ("Numbness between the legs needs a doctor today.", "Go to the emergency department now. Take this page."),
)
REFER_SOON = Refer(
    "soon",
    ("Grip strength has fallen since the last visit.",),
    ("Your grip is weaker than last time.", "See your doctor within a week, and take this sheet."),
)

RICH: dict[str, Any] = dict(
    notes="Ice is fine if it feels good. Swimming counts as an easy day.",
    words=replace(WORDS, cautions=("You take a blood thinner: nothing on this sheet presses hard.",)),
)


def _no_room(sheet: Sheet) -> Sheet:
    empty = tuple(replace(day, items=(), planned_s=0) for day in sheet.days)
    return replace(sheet, days=empty, planner=replace(sheet.planner, proven=False))


def fixtures() -> dict[str, Sheet]:
    """Every invented sheet by name, in the order in which they are looked at."""
    return {
        "five": make_sheet(5, 14),
        "six": make_sheet(6, 14),
        "rich": make_sheet(5, 14, **RICH),
        "midweek": make_sheet(4, 10, start=date(2026, 3, 4)),
        "many_steps": make_sheet(6, 14, spread=2, many_steps=("arm_glide", "curl_lift")),
        "three_28": make_sheet(3, 28, spread=10),
        "fourteen_84": make_sheet(14, 84, spread=20),
        "refer_now": replace(make_sheet(5, 14), refer=REFER_NOW, days=(), drills=(), sheet_link=""),
        "refer_soon": make_sheet(4, 14, refer=REFER_SOON),
        "nothing": make_sheet(
            0, 14, words=replace(WORDS, for_="Nothing needs doing at home for now.", amount="", key="")
        ),
        "no_room": _no_room(make_sheet(2, 7)),
        "bare": make_sheet(2, 7, clinic=Clinic(web=WEB), prepared_by=""),
    }
