"""The day plan of some weeks as an integer program: the rules as rows, least and wanted days as goals."""

from __future__ import annotations

from collections.abc import Mapping, Sequence, Set
from dataclasses import dataclass, field
from itertools import product

from homecare.core.milp import Goal, Program, packed, packs
from homecare.core.plan_draft import Draft
from homecare.core.plan_rules import LOAD_REST_DAYS, Grid

PATTERNS = 400
"""A day that its minutes bind is written out as its fullest sets of drills while there are at most this many."""

Cell = tuple[int, int]


@dataclass
class Block:
    """Neighbouring weeks as a program. Built by `block`; the columns by what they mean.

    `cells[drill, day]` is 1 where the drill stands on the day; `credit[drill, week]` counts its days in the week up
    to its least; `sets[day]` are the fullest sets of drills that the day could hold, with a column for each.
    """

    grid: Grid
    weeks: range
    program: Program = field(default_factory=Program)
    cells: dict[Cell, int] = field(default_factory=dict)
    credit: dict[Cell, int] = field(default_factory=dict)
    sets: dict[int, list[tuple[frozenset[int], int]]] = field(default_factory=dict)
    short: dict[int, Short] = field(default_factory=dict)

    @property
    def days(self) -> range:
        """The days of the weeks."""
        return range(self.grid.weeks[self.weeks[0]][0], self.grid.weeks[self.weeks[-1]][-1] + 1)

    def of_week(self, drill: int, week: int) -> dict[int, int]:
        """The cells of a drill in a week, as terms of a sum."""
        return {self.cells[drill, day]: 1 for day in self.grid.weeks[week] if (drill, day) in self.cells}

    def point(self, days: Sequence[Set[int]]) -> list[int]:
        """The program's point at which these days of each drill are chosen, all else at its best."""
        point = [0] * len(self.program.upper)
        for (drill, day), column in self.cells.items():
            point[column] = int(day in days[drill])
        return self.settle(point)

    def settle(self, point: Sequence[int]) -> list[int]:
        """The point with the columns that follow from the cells put at their best."""
        settled = list(point)
        for (drill, week), column in self.credit.items():
            has = sum(point[cell] for cell in self.of_week(drill, week))
            settled[column] = min(self.program.upper[column], has)
        for day, sets in self.sets.items():
            chosen = {drill for drill in range(len(self.grid.drills)) if point_at(self.cells, point, drill, day)}
            holder = next(column for drills, column in sets if chosen <= drills)
            for _, column in sets:
                settled[column] = int(column == holder)
        for column, short in self.short.items():
            already = short.before is not None and settled[short.before]
            settled[column] = int(already or short.goal.value(settled) < short.best)
        return settled

    def chosen(self, point: Sequence[int]) -> list[set[int]]:
        """The days of each drill at a point."""
        days: list[set[int]] = [set() for _ in self.grid.drills]
        for (drill, day), column in self.cells.items():
            if point[column]:
                days[drill].add(day)
        return days

    def goals(self, weeks: range) -> list[Goal]:
        """Least days by priority, then wanted days by priority, of some of the weeks."""
        least, wanted = [], []
        for drill in range(len(self.grid.drills)):
            credit = {self.credit[drill, week]: 1 for week in weeks if (drill, week) in self.credit}
            least.append(Goal(credit, sum(self.program.upper[column] for column in credit)))
            cells = {column: 1 for week in weeks for column in self.of_week(drill, week)}
            wanted.append(Goal(cells, sum(self.most(drill, week, self.grid.wanted) for week in weeks)))
        return least + wanted

    def hold(self, days: Sequence[frozenset[int]]) -> None:
        """Hold each drill, in each week, at the number of these days."""
        for drill, own in enumerate(days):
            for week in self.weeks:
                cells = self.of_week(drill, week)
                self.program.at_least(cells, len(own & set(self.grid.weeks[week])))

    def likeness(self) -> object:
        """What tells this block from others of the same grid: equal for weeks that have the same best days."""
        first, grid = self.days[0], self.grid
        cells = tuple((drill, day - first) for drill, day in self.cells)
        rows = tuple((lower, upper, tuple(terms.items())) for lower, upper, terms in self.program.rows)
        return cells, tuple(self.program.upper), rows, tuple(grid.room[day] for day in self.days)

    def most(self, drill: int, week: int, caps: Sequence[Sequence[int]]) -> int:
        """The most days the drill could have in the week were it alone: the earliest ones its gap allows."""
        count, last = 0, -self.grid.gaps[drill]
        for day in self.grid.weeks[week]:
            if (drill, day) in self.cells and day - last >= self.grid.gaps[drill]:
                count, last = count + 1, day
        return min(count, caps[drill][week])


def point_at(cells: Mapping[Cell, int], point: Sequence[int], drill: int, day: int) -> bool:
    """Whether the drill stands on the day at a point."""
    return (drill, day) in cells and bool(point[cells[drill, day]])


@dataclass(frozen=True)
class Short:
    """A column of `bound_weeks`: 1 where a week stays below its `best` in this goal or, by `before`, in one before."""

    goal: Goal
    best: int
    before: int | None


def bound_weeks(made: Block, days: Sequence[frozenset[int]]) -> None:
    """Let no week pass its own best days in lexicographic order: more of one goal only after less of an earlier one.

    True of every plan by itself; said in rows, it spares the solver the proof of it in all weeks at once.
    """
    point = made.point(days)
    for week in made.weeks:
        before: int | None = None
        for pack in packs(made.goals(range(week, week + 1))):
            goal = packed(pack)
            best = goal.value(point)
            column = made.program.column()
            point.append(0)
            terms = {**goal.terms, column: 1}
            if before is not None:
                terms[before] = best - goal.bound - 1
                made.program.at_least({column: 1, before: -1}, 0)
            made.program.at_most(terms, best)
            made.short[column] = Short(goal, best, before)
            before = column


def block(grid: Grid, weeks: range, before: Draft | None) -> Block:
    """The weeks as a program, with what the plan holds before them; None leaves free what came before.

    Left free, every drill that could have had a day before counts as known, and no gap reaches in from before. The
    best of the weeks so freed is a bound on what any plan can do in them.
    """
    made = Block(grid, weeks)
    for drill, day in product(range(len(grid.drills)), made.days):
        if grid.open(drill, day) and (before is None or before.gap(drill, day) is None):
            made.cells[drill, day] = made.program.column()
    for drill in range(len(grid.drills)):
        week_rows(made, drill)
        own_gap_rows(made, drill)
        if not known(made, drill, before):
            new_rows(made, drill)
    rest_rows(made)
    for day in made.days:
        day_rows(made, day)
    return made


def week_rows(made: Block, drill: int) -> None:
    """The cap of each week, and the credit for days up to the least."""
    for week in made.weeks:
        cells = made.of_week(drill, week)
        if len(cells) > made.grid.wanted[drill][week]:
            made.program.at_most(cells, made.grid.wanted[drill][week])
        least = made.most(drill, week, made.grid.least)
        if least:
            made.credit[drill, week] = made.program.column(least, whole=False)
            made.program.at_least({**cells, made.credit[drill, week]: -1}, 0)


def own_gap_rows(made: Block, drill: int) -> None:
    """At most one day of a drill in any run of days as long as its gap."""
    gap = made.grid.gaps[drill]
    for first in made.days[: max(1, len(made.days) - gap + 1)] if gap > 1 else ():
        run = [made.cells[drill, day] for day in range(first, first + gap) if (drill, day) in made.cells]
        if len(run) > 1:
            made.program.at_most(dict.fromkeys(run, 1), 1)


def known(made: Block, drill: int, before: Draft | None) -> bool:
    """Whether the drill is known when the weeks begin, so that an event does not bar it as new."""
    if made.grid.drills[drill].carried:
        return True
    earlier = range(made.days[0])
    if before is None:
        return any(made.grid.open(drill, day) and not made.grid.close[day] for day in earlier)
    return any(day in before.days[drill] for day in earlier)


def new_rows(made: Block, drill: int) -> None:
    """A drill stands close to an event only after a day of its own that was not."""
    for day in made.days:
        if made.grid.close[day] and (drill, day) in made.cells:
            first = [d for d in range(made.days[0], day) if (drill, d) in made.cells and not made.grid.close[d]]
            made.program.at_least({**{made.cells[drill, d]: 1 for d in first}, made.cells[drill, day]: -1}, 0)


def rest_rows(made: Block) -> None:
    """Two drills that load the same muscle never stand on adjacent days."""
    for (drill, day), column in made.cells.items():
        for other in made.grid.meets[drill]:
            for apart in range(1, LOAD_REST_DAYS):
                if (other, day + apart) in made.cells:
                    made.program.at_most({column: 1, made.cells[other, day + apart]: 1}, 1)


def day_rows(made: Block, day: int) -> None:
    """The minutes of a day and its number of drills.

    Where the minutes bind, the day is written as a choice among its fullest sets: a much tighter program than the
    sum of seconds, whose fractions cost thousands of nodes a week.
    """
    grid = made.grid
    cells = {drill: made.cells[drill, day] for drill in range(len(grid.drills)) if (drill, day) in made.cells}
    costs = sorted((grid.takes[drill] for drill in cells), reverse=True)
    few = grid.calendar.few
    if len(cells) > few:
        made.program.at_most(dict.fromkeys(cells.values(), 1), few)
    if sum(costs[:few]) <= grid.room[day]:
        return
    sets = fullest({drill: grid.takes[drill] for drill in cells}, grid.room[day], few)
    if sets is None:
        made.program.at_most({column: grid.takes[drill] for drill, column in cells.items()}, grid.room[day])
        return
    made.sets[day] = [(drills, made.program.column(whole=False)) for drills in sets]
    made.program.at_most({column: 1 for _, column in made.sets[day]}, 1)
    for drill, cell in cells.items():
        holding = {column: 1 for drills, column in made.sets[day] if drill in drills}
        made.program.at_least({**holding, cell: -1}, 0)


def fullest(costs: Mapping[int, int], room: int, few: int) -> list[frozenset[int]] | None:
    """The sets of at most `few` drills within the room to which none can be added; None when there are too many."""
    drills = list(costs)
    found: list[frozenset[int]] = []

    def grow(held: frozenset[int], left: int, first: int) -> None:
        if len(found) > PATTERNS:
            return
        if len(held) == few or all(costs[drill] > left for drill in drills if drill not in held):
            found.append(held)
            return
        for place in range(first, len(drills)):
            if costs[drills[place]] <= left:
                grow(held | {drills[place]}, left - costs[drills[place]], place + 1)

    grow(frozenset(), room, 0)
    return None if len(found) > PATTERNS else found
