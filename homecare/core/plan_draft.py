"""A day plan in the making: which drill stands on which day, and what may still be added."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from homecare.core.plan_rules import LOAD_REST_DAYS, REST_WORDS, Bar, Grid, own_gap_words


class Draft:
    """Days by drill, with the seconds and the drills of each day kept up to date; it holds every rule.

    `days[drill]` are the drill's days as offsets from the start, `used[day]` the seconds with transitions: those the
    drills are budgeted with, and more once rungs have risen.
    """

    def __init__(self, grid: Grid, days: Iterable[Iterable[int]] = ()) -> None:
        self.grid = grid
        self.days: list[set[int]] = [set() for _ in grid.drills]
        self.used = [0] * len(grid.dates)
        self.count = [0] * len(grid.dates)
        for drill, its_days in enumerate(days):
            for day in its_days:
                self.add(drill, day)

    def add(self, drill: int, day: int) -> None:
        """Put a drill on a day."""
        self.days[drill].add(day)
        self.used[day] += self.grid.takes[drill]
        self.count[day] += 1

    def remove(self, drill: int, day: int) -> None:
        """Take a drill off a day."""
        self.days[drill].remove(day)
        self.used[day] -= self.grid.takes[drill]
        self.count[day] -= 1

    def new(self, drill: int, day: int) -> bool:
        """Whether the drill would be new on the day: neither on the last sheet nor on an earlier day of this one."""
        return not self.grid.drills[drill].carried and not any(earlier < day for earlier in self.days[drill])

    def gap(self, drill: int, day: int) -> str | None:
        """Why the drill's own gap, or 48 h after or before loading a shared muscle, keeps it off the day."""
        gap = self.grid.gaps[drill]
        near = min((abs(day - own) for own in self.days[drill] if own != day), default=gap)
        if near < self.grid.drills[drill].gap_days:
            return own_gap_words(self.grid.drills[drill].gap_days)
        return REST_WORDS if near < gap or self.loaded_near(drill, day) else None

    def loaded_near(self, drill: int, day: int) -> bool:
        """Whether another drill loads a muscle of this one on an adjacent day."""
        return any(
            beside in self.days[other]
            for other in self.grid.meets[drill]
            for apart in range(1, LOAD_REST_DAYS)
            for beside in (day - apart, day + apart)
        )

    def full_week(self, drill: int, day: int) -> int | None:
        """The days the drill has in the week of this day, when it has all it may have."""
        week = self.grid.week_of[day]
        cap = self.grid.wanted[drill][week]
        return cap if sum(own in self.days[drill] for own in self.grid.weeks[week]) >= cap else None

    def bar(self, drill: int, day: int) -> Bar | None:
        """The first rule, in their order, that keeps the drill off the day as the plan stands."""
        grid = self.grid
        fixed = grid.fixed[drill][day]
        if fixed is not None and fixed.rule == "event":
            return fixed
        if grid.close[day] and self.new(drill, day):
            return Bar("event", "nothing new so close to the event")
        if fixed is not None:
            return fixed
        rest = self.gap(drill, day)
        if rest is not None:
            return Bar("gap", rest)
        cap = self.full_week(drill, day)
        if cap is not None:
            return Bar("wanted", f"it has its {counted(cap, 'day')} this week" if cap else "no days asked this week")
        return self.crowded(drill, day)

    def crowded(self, drill: int, day: int) -> Bar | None:
        """Whether the day's minutes or its number of drills leave no place for one more."""
        grid, few = self.grid, self.grid.calendar.few
        if grid.budget[day] <= 0:
            return Bar("budget", "no minutes on this day")
        if self.used[day] + grid.takes[drill] > grid.room[day]:
            alone = "it is longer than the {} of this day" if grid.takes[drill] > grid.room[day] else "the {} are full"
            return Bar("budget", alone.format(counted(grid.budget[day] / 60, "minute")))
        return Bar("few", f"the day has its {counted(few, 'drill')}") if self.count[day] >= few else None

    def roomy(self, drill: int, day: int) -> bool:
        """Whether the drill may stand on the day as far as the calendar and the other drills go."""
        return self.grid.open(drill, day) and self.crowded(drill, day) is None and not self.loaded_near(drill, day)

    def fill(self, days: Sequence[int]) -> bool:
        """Add what may be added on these days: least days by priority, then wanted ones; true when any was.

        The emptiest days come first. It is gone through until nothing more fits: an early day makes a drill known, so
        that days close to an event open to it.
        """
        before = sum(self.count)
        while True:
            filled = sum(self.count)
            for caps in (self.grid.least, self.grid.wanted):
                for drill in range(len(self.grid.drills)):
                    self._fill(drill, caps[drill], days)
            if sum(self.count) == filled:
                return filled > before

    def _fill(self, drill: int, caps: Sequence[int], days: Sequence[int]) -> None:
        for day in sorted(days, key=lambda day: (self.count[day], day)):
            has = sum(own in self.days[drill] for own in self.grid.weeks[self.grid.week_of[day]])
            if has < caps[self.grid.week_of[day]] and day not in self.days[drill] and self.bar(drill, day) is None:
                self.add(drill, day)


def counted(number: float, noun: str) -> str:
    """A number and its noun: 1 day, 3 days, 7.5 minutes."""
    figure = f"{round(number, 1):g}"
    return f"{figure} {noun}" if figure == "1" else f"{figure} {noun}s"
