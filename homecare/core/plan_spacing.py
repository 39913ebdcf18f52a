"""Stage 3 of the day plan: each drill's days as even as they can be, the others' days held."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import combinations, pairwise, product
from math import inf

from homecare.core.plan_draft import Draft


def space_out(draft: Draft) -> None:
    """Make the plan even, until no drill's own set can be made more even or, as even, earlier.

    Drills that stand in each other's way change days within a week first, where both together come out more even:
    each alone could not move. The sum of squared gaps falls with every change of days, so this ends.
    """
    changed = True
    while changed:
        changed = False
        for drill in range(len(draft.grid.drills)):
            changed = respace(draft, drill) or changed
        changed = trade_days(draft) or changed


def trade_days(draft: Draft) -> bool:
    """Let two drills change days within a week wherever that makes them more even together; true when any did."""
    traded = False
    for one, other in combinations(range(len(draft.grid.drills)), 2):
        for week in draft.grid.weeks:
            mine_only = [day for day in week if day in draft.days[one] - draft.days[other]]
            theirs_only = [day for day in week if day in draft.days[other] - draft.days[one]]
            for mine, theirs in product(mine_only, theirs_only):
                traded = _trade(draft, one, mine, other, theirs) or traded
    return traded


def _trade(draft: Draft, one: int, mine: int, other: int, theirs: int) -> bool:
    days, others = draft.days[one], draft.days[other]
    if mine not in days or mine in others or theirs not in others or theirs in days:
        return False
    before = unevenness(draft, one) + unevenness(draft, other)
    draft.remove(one, mine)
    draft.remove(other, theirs)
    fits = draft.bar(one, theirs) is None
    if fits:
        draft.add(one, theirs)
        fits = draft.bar(other, mine) is None
        draft.remove(one, theirs)
    if fits:
        draft.add(one, theirs)
        draft.add(other, mine)
        if _known_first(draft, one) and _known_first(draft, other):
            if unevenness(draft, one) + unevenness(draft, other) < before:
                return True
        draft.remove(one, theirs)
        draft.remove(other, mine)
    draft.add(one, mine)
    draft.add(other, theirs)
    return False


def _known_first(draft: Draft, drill: int) -> bool:
    """Whether a drill does not begin close to an event, unless it is known from the last sheet."""
    return draft.grid.drills[drill].carried or not draft.grid.close[min(draft.days[drill])]


def unevenness(draft: Draft, drill: int) -> int:
    """The sum of squared gaps of a drill's days, with a post before the first day and one after the last."""
    posts = [-1, *sorted(draft.days[drill]), len(draft.grid.dates)]
    return sum((later - earlier) ** 2 for earlier, later in pairwise(posts))


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
    credit = sum(min(least[week], sum(grid.week_of[day] == week for day in old)) for week in range(len(least)))
    return Placement(
        allowed=tuple(day for day in range(len(grid.dates)) if draft.roomy(drill, day)),
        close=grid.close,
        week_of=grid.week_of,
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
    week_of: Sequence[int]
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
        week, other = self.week_of[max(day, 0)], self.week_of[nxt]
        if other == week:
            return in_week + 1, slack
        return 1, slack - max(0, self.least[week] - in_week) - sum(self.least[week + 1 : other])

    def step(self, day: int, nxt: int, left: int, in_week: int, slack: int) -> float:
        """The least cost of going from a day to the next and placing what is left behind it."""
        now_in_week, now_slack = self.moved(day, nxt, in_week, slack)
        if now_slack < 0 or now_in_week > self.wanted[self.week_of[nxt]]:
            return inf
        return (nxt - day) ** 2 + self.rest(nxt, left - 1, now_in_week, now_slack)

    def rest(self, day: int, left: int, in_week: int, slack: int) -> float:
        """The least cost of placing `left` more days after a day, the post after the last day counted."""
        if left == 0:
            week = self.week_of[day]
            lost = max(0, self.least[week] - in_week) + sum(self.least[week + 1 :])
            return inf if lost > slack else float((len(self.close) - day) ** 2)
        key = (day, left, in_week, slack)
        if key not in self._known:
            steps = (self.step(day, nxt, left, in_week, slack) for nxt in self.after(day))
            self._known[key] = min(steps, default=inf)
        return self._known[key]
