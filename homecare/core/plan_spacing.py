"""Stage 3 of the day plan: each drill's days as even as they can be, the others' days held."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from math import inf

from homecare.core.plan_draft import Draft


def space_out(draft: Draft) -> None:
    """Re-place each drill's own days, in turn, until no drill's set can be made more even or, as even, earlier."""
    changed = True
    while changed:
        changed = False
        for drill in range(len(draft.grid.drills)):
            changed = respace(draft, drill) or changed


def respace(draft: Draft, drill: int) -> bool:
    """Put one drill's days at their best among those the others leave it; true when they moved."""
    old = sorted(draft.days[drill])
    if not old:
        return False
    for day in old:
        draft.remove(drill, day)
    new = _room_for(draft, drill, old).most_even()
    for day in new:
        draft.add(drill, day)
    return new != old


def _room_for(draft: Draft, drill: int, old: Sequence[int]) -> Placement:
    """The days left to a drill that has been taken off the draft, with as many days and least days as it had."""
    grid = draft.grid
    least = grid.least[drill]
    credit = sum(min(least[week], sum(day // 7 == week for day in old)) for week in range(len(least)))
    return Placement(
        allowed=tuple(day for day in range(len(grid.dates)) if draft.roomy(drill, day)),
        close=grid.close,
        new=not grid.drills[drill].carried,
        gap=grid.gaps[drill],
        wanted=grid.wanted[drill],
        least=least,
        count=len(old),
        slack=sum(least) - credit,
    )


@dataclass
class Placement:
    """One drill's days to be placed: `count` of the `allowed` ones, offsets from the start.

    Evenness is the sum of squared gaps, with a post the day before the first day and one after the last. `slack` is
    how many least days (over all weeks) may be missed. A drill that is `new` may not begin `close` to an event.
    """

    allowed: Sequence[int]
    close: Sequence[bool]
    new: bool
    gap: int
    wanted: Sequence[int]
    least: Sequence[int]
    count: int
    slack: int
    _known: dict[tuple[int, int, int, int], float] = field(default_factory=dict)

    def most_even(self) -> list[int]:
        """The most even set of days; the earliest among equally even ones. One that keeps all bounds must exist."""
        chosen: list[int] = []
        in_week, slack = 0, self.slack
        while len(chosen) < self.count:
            day = chosen[-1] if chosen else -1
            left = self.count - len(chosen)
            costs = {nxt: self.step(day, nxt, left, in_week, slack) for nxt in self.after(day)}
            best = min(costs, key=lambda nxt: (costs[nxt], nxt))
            in_week, slack = self.moved(day, best, in_week, slack)
            chosen.append(best)
        return chosen

    def after(self, day: int) -> list[int]:
        """The days that may follow a day; -1 is the post before the first."""
        if day < 0:
            return [nxt for nxt in self.allowed if not (self.new and self.close[nxt])]
        return [nxt for nxt in self.allowed if nxt - day >= self.gap]

    def moved(self, day: int, nxt: int, in_week: int, slack: int) -> tuple[int, int]:
        """Days so far in the week of `nxt`, that one counted, and the slack left once the weeks passed are closed."""
        week, other = max(day, 0) // 7, nxt // 7
        if other == week:
            return in_week + 1, slack
        return 1, slack - max(0, self.least[week] - in_week) - sum(self.least[week + 1 : other])

    def step(self, day: int, nxt: int, left: int, in_week: int, slack: int) -> float:
        """The least cost of going from a day to the next and placing what is left behind it."""
        now_in_week, now_slack = self.moved(day, nxt, in_week, slack)
        if now_slack < 0 or now_in_week > self.wanted[nxt // 7]:
            return inf
        return (nxt - day) ** 2 + self.rest(nxt, left - 1, now_in_week, now_slack)

    def rest(self, day: int, left: int, in_week: int, slack: int) -> float:
        """The least cost of placing `left` more days after a day, the post after the last day counted."""
        if left == 0:
            lost = max(0, self.least[day // 7] - in_week) + sum(self.least[day // 7 + 1 :])
            return inf if lost > slack else float((len(self.close) - day) ** 2)
        key = (day, left, in_week, slack)
        if key not in self._known:
            steps = (self.step(day, nxt, left, in_week, slack) for nxt in self.after(day))
            self._known[key] = min(steps, default=inf)
        return self._known[key]
