"""The check-in: what came back of each drill of the last sheet, and what that does to its next dose."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date
from fractions import Fraction
from typing import Literal

from homecare.core.drill import Ladder, Rung
from homecare.core.findings import LastSheet, Response
from homecare.core.last import LastDrill, LastPlan

ENOUGH, HALF = Fraction(7, 10), Fraction(1, 2)
"""Shares of boxes ticked: from 70 % on a dose may rise (common practice); under half, fewer drills are asked
(more drills, less adherence: Eckard et al. 2015, Mil Med 180:186-91; Medina-Mirapeix et al. 2009)."""

Change = Literal["up", "hold", "down", "off"]


@dataclass(frozen=True)
class Carried:
    """Where a drill of the last sheet goes on: its rungs, the rung to start at, days already done there, and why."""

    drill: LastDrill
    response: Response | None
    share: Fraction | None
    change: Change
    because: str
    rungs: tuple[Rung, ...]
    start_rung: int
    done_at_rung: int
    halved: bool
    worse_in_row: int
    dates: tuple[date, ...]


def carry_over(last: LastSheet, plan: LastPlan, start: date, ladders: Mapping[str, Ladder]) -> dict[str, Carried]:
    """Every drill of the last sheet by id, with the first line of the check-in table that holds for it."""
    return {
        drill.id: _carry(drill, last, plan, start, ladders.get(drill.ladder)) for drill in plan.drills if drill.rungs
    }


def _carry(drill: LastDrill, last: LastSheet, plan: LastPlan, start: date, ladder: Ladder | None) -> Carried:
    days = [(day.date, item) for day in plan.days if day.date < start for item in day.items if item.drill == drill.id]
    boxes = sum(item.times for _, item in days)
    done = last.done.get(drill.id)
    share = None if done is None or not boxes else min(Fraction(1), Fraction(done, boxes))
    stood = [item.rung for _, item in days if item.rung is not None]
    rung = min(stood[-1] if stood else drill.start_rung, len(drill.rungs) - 1)
    at_rung = stood.count(rung)
    before = drill.done_at_rung if rung == drill.start_rung else 0
    base = Carried(
        drill=drill,
        response=last.response.get(drill.id),
        share=share,
        change="hold",
        because="no answer was given, so the dose stays",
        rungs=drill.rungs,
        start_rung=rung,
        done_at_rung=before if share is None else before + int(at_rung * share),
        halved=drill.halved,
        worse_in_row=drill.worse_in_row,
        dates=tuple(day for day, _ in days),
    )
    return _judge(base, ladder)


def _judge(base: Carried, ladder: Ladder | None) -> Carried:
    """The check-in's table, first line that holds (pain monitoring: Thomee 1997, Silbernagel 2007, from memory)."""
    answered = base if base.response is None else replace(base, worse_in_row=0)
    if base.response == "worse":
        return _worse(base)
    if base.response == "sore":
        return replace(answered, because="sore but back to normal by next morning, so the dose stays")
    if base.share is not None and base.share < HALF:
        return replace(answered, because="under half was done, so the dose stays")
    if base.response == "settled" and base.halved:
        rungs = ladder.rungs if ladder and len(ladder.rungs) == len(base.rungs) else base.rungs
        because = "it settled, so it is done in full again"
        return replace(answered, change="up", rungs=rungs, halved=False, because=because)
    if base.response == "settled" and base.share is not None and base.share >= ENOUGH:
        return _settled(answered, ladder)
    if base.response == "settled":
        return replace(answered, because="it settled, but too little was done to go up")
    return answered


def _worse(base: Carried) -> Carried:
    running = base.worse_in_row + 1
    if running > 1:
        because = "worse twice running: off the sheet, to be looked at again"
        return replace(base, change="off", worse_in_row=running, because=because)
    halved = tuple(replace(rung, times=max(1, rung.times // 2)) for rung in base.rungs)
    down = max(0, base.start_rung - 1)
    because = "it got worse: one step back and half as often"
    return replace(
        base,
        change="down",
        rungs=halved,
        start_rung=down,
        done_at_rung=0,
        halved=True,
        worse_in_row=running,
        because=because,
    )


def _settled(base: Carried, ladder: Ladder | None) -> Carried:
    if base.start_rung >= len(base.rungs) - 1:
        return replace(base, because="it settled at the highest step, so it stays there")
    needed = min(ladder.climb_days.values()) if ladder else 1
    if base.done_at_rung < needed:
        because = (
            f"it settled; {base.done_at_rung} of {needed} days were done at this step, so it stays a little longer"
        )
        return replace(base, because=because)
    because = "it settled and its days were done: one step up"
    return replace(base, change="up", start_rung=base.start_rung + 1, done_at_rung=0, because=because)


def drills_to_keep(carried: Mapping[str, Carried], most: int) -> int:
    """How many drills the new sheet may hold: those under half done leave from the lowest priorities, two stay."""
    asked = [one for one in carried.values() if one.drill.off is None]
    under = sum(1 for one in asked if one.share is not None and one.share < HALF)
    return most if not under else max(2, min(most, len(asked) - under))
