"""Generated drills and calendars: one generator, fed by a seeded random source or by Hypothesis."""

from __future__ import annotations

import random
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Protocol, TypeVar

from hypothesis import strategies as st

from homecare.core.atlas import OneSide, Side
from homecare.core.drill import KINDS, Kind, Part, Rung
from homecare.core.findings import Depth
from homecare.core.plan_types import LoadDay, PlanCalendar, PlanDrill, Treatment
from homecare.core.sheet import Training

T = TypeVar("T")

START = date(2026, 3, 2)
"""A Monday."""

MUSCLES = ("soleus", "gastrocnemius", "tibialis_posterior", "gluteus_medius", "piriformis")
SIDES: tuple[Side, ...] = ("left", "right", "both", "none")
ONE_SIDES: tuple[OneSide, ...] = ("left", "right", "none")
TRAINING: tuple[Training, ...] = ("easy", "easy", "hard", "long", "rest")
DEPTHS: tuple[Depth, ...] = ("light", "firm", "deep")
LIKINGS: tuple[tuple[Part, ...], ...] = (
    ("evening", "after", "morning"),
    ("before",),
    ("before", "morning"),
    ("after", "evening"),
    ("morning", "evening", "before", "after"),
)
PER_WEEK: dict[Kind, tuple[tuple[int, int, int], ...]] = {  # wanted, least, gap
    "glide": ((7, 3, 1), (5, 2, 1)),
    "stretch": ((7, 3, 1), (5, 3, 1)),
    "release": ((7, 2, 1), (4, 2, 1), (3, 2, 2)),
    "activate": ((5, 3, 1), (7, 3, 1)),
    "load": ((3, 2, 2), (2, 1, 3), (3, 2, 1)),
    "mobilise": ((7, 3, 1), (4, 2, 1)),
}


class Pick(Protocol):
    """A source of choices."""

    def __call__(self, options: Sequence[T], /) -> T:
        """One of the options."""
        ...


@dataclass(frozen=True)
class Case:
    """What is planned: the drills by priority, and the calendar."""

    drills: tuple[PlanDrill, ...]
    calendar: PlanCalendar


def seeded(seed: int) -> Pick:
    """Choices from a seed: the same on every run."""
    return random.Random(seed).choice


def a_drill(pick: Pick, number: int, start: date) -> PlanDrill:
    """A drill as a ladder could hold it; a `load` may get shorter as it gets heavier."""
    kind = pick(KINDS)
    wanted, least, gap = pick(PER_WEEK[kind])
    held = kind == "stretch"
    first = Rung(
        sets=pick((1, 2, 3)),
        reps=pick((2, 3)) if held else pick((5, 8, 12)),
        hold_s=pick((20, 30)) if held else pick((0, 0, 5)),
        tempo_s=0 if held else pick((2, 3)),
        rest_s=pick((0, 15)),
        times=pick((1, 2, 3)) if kind == "glide" else pick((1, 1, 1, 2)),
    )
    harder = [
        Rung(first.sets, first.reps + more, first.hold_s, first.tempo_s, 15, times=first.times) for more in (2, 4)
    ]
    heavier = [Rung(first.sets, max(2, first.reps - less), 0, 3, 15, times=1, load="6 kg") for less in (2, 4)]
    return PlanDrill(
        id=f"drill_{number}",
        side=pick(SIDES),
        kind=kind,
        muscles=frozenset({pick(MUSCLES), pick(MUSCLES)}),
        rungs=(first, *(heavier if kind == "load" and pick((True, False)) else harder)),
        start_rung=pick((0, 0, 0, 1)),
        climb_days=pick((2, 3, 5)),
        done_at_rung=pick((0, 0, 2)),
        wanted_per_week=wanted,
        least_per_week=least,
        gap_days=gap,
        gap_exempt=kind == "load" and pick((False, False, False, True)),
        heavy_lengthening=kind == "load" and pick((False, True)),
        carried=pick((True, False)),
        parts=pick(LIKINGS),
        end_range_neck=pick((False, False, False, True)),
        may_climb=pick((True, True, False)),
        history=tuple(start - timedelta(days=back) for back in pick(((), (), (1, 3), (2,)))),
    )


def a_calendar(pick: Pick, start: date, days: int) -> PlanCalendar:
    """The weeks of an athlete, with treatments and perhaps an event."""
    minutes = pick((6, 8, 10, 12, 15, 20))
    weekday = tuple(60 * minutes for _ in range(5))
    treatments = [Treatment(start, pick(DEPTHS), None), Treatment(start - timedelta(days=1), pick(DEPTHS), None)]
    for _ in range(pick((0, 1, 2))):
        reached = pick((None, frozenset({pick(MUSCLES), pick(MUSCLES)})))
        treatments.append(Treatment(start + timedelta(days=pick(range(days))), pick(DEPTHS), reached))
    return PlanCalendar(
        start=start,
        days=days,
        budget_s=(*weekday, 60 * pick((minutes, 0, 2 * minutes)), 60 * pick((minutes, 2 * minutes))),
        training=tuple(pick(TRAINING) for _ in range(7)),
        events=tuple(start + timedelta(days=day) for day in pick(((), (), (days + 2,), (pick(range(days)),), (1, 9)))),
        treatments=tuple(treatments),
        visits=(start,),
        neck_adjusted=pick((False, True)),
        load_history=tuple(
            LoadDay(start - timedelta(days=pick((1, 2))), pick(MUSCLES), pick(ONE_SIDES)) for _ in range(pick((0, 2)))
        ),
        few=pick((3, 3, 3, 2, 4)),
        transition_s=pick((15, 15, 0)),
    )


def a_case(pick: Pick, days: int, drills: int) -> Case:
    """Drills and a calendar."""
    start = START + timedelta(days=pick(range(7)))
    return Case(tuple(a_drill(pick, number, start) for number in range(drills)), a_calendar(pick, start, days))


@st.composite
def cases(draw: st.DrawFn, most_days: int = 21, most_drills: int = 6) -> Case:
    """Cases of all sizes up to these."""

    def pick(options: Sequence[T], /) -> T:
        return draw(st.sampled_from(options))

    return a_case(pick, draw(st.integers(1, most_days)), draw(st.integers(1, most_drills)))


def plain_drill(kind: Kind, name: str = "", **changes: object) -> PlanDrill:
    """A drill without any peculiarity: one minute, once a day, every day wanted, known from the last sheet."""
    fields: dict[str, object] = {
        "id": name or kind,
        "side": "left",
        "kind": kind,
        "muscles": frozenset({"soleus"}),
        "rungs": (Rung(sets=1, reps=10, tempo_s=5),),
        "start_rung": 0,
        "climb_days": 3,
        "done_at_rung": 0,
        "wanted_per_week": 7,
        "least_per_week": 3,
        "gap_days": 1,
        "gap_exempt": False,
        "heavy_lengthening": False,
        "carried": True,
        "parts": ("morning", "evening"),
        "end_range_neck": False,
    }
    return PlanDrill(**{**fields, **changes})  # type: ignore[arg-type]  # the fields are those of PlanDrill


def plain_calendar(days: int = 7, **changes: object) -> PlanCalendar:
    """A calendar without any peculiarity: from a Monday, an hour a day, easy days, three drills a day."""
    fields: dict[str, object] = {
        "start": START,
        "days": days,
        "budget_s": (3600,) * 7,
        "training": ("easy",) * 7,
        "events": (),
        "treatments": (),
        "visits": (),
        "neck_adjusted": False,
        "load_history": (),
        "few": 3,
        "transition_s": 15,
    }
    return PlanCalendar(**{**fields, **changes})  # type: ignore[arg-type]  # the fields are those of PlanCalendar
