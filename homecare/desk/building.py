"""Everything that the builder's page shows of a form: what it comes to, what is still needed, what is at fault."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date

from homecare.core.last import LastPlan
from homecare.core.problems import InputFault
from homecare.desk.bench import Bench
from homecare.desk.form import Form
from homecare.desk.ready import Asked, Needs, asked_of, has_findings, ready
from homecare.desk.view import SheetPage, sheet_page
from homecare.desk.view_days import DayStrip, day_strip
from homecare.desk.view_found import FoundView, found_view
from homecare.desk.visit_text import WEEKDAYS, dosed, visit_text
from homecare.library.visit import parse_visit
from homecare.render.dose_words import day_words
from homecare.storage.athletes import Athlete, find_athlete
from homecare.storage.sheets import latest_sheet
from homecare.workflow.sheets import last_plan

Faults = Mapping[str, tuple[str, ...]]
CONTRADICTION = "None of these is ticked together with a sign: untick the one that is wrong"


@dataclass(frozen=True)
class LastTime:
    """The chosen athlete's last sheet in words, and whether this visit began from it."""

    words: str
    begun: bool


@dataclass(frozen=True)
class Building:
    """The page of a form, before the templates. `telling` are the positions and acts that tell the places apart."""

    form: Form
    needs: Needs
    faults: Faults
    found: FoundView
    days: DayStrip
    last: LastTime | None
    made: SheetPage | None
    telling: frozenset[str]
    asked: Asked

    @property
    def dosed(self) -> Mapping[str, Mapping[str, str]]:
        """The doses set by hand, by drill and key."""
        return dosed(self.form)

    def has_fault(self, start: str) -> bool:
        """Whether a field whose name begins so is at fault."""
        return any(name.startswith(start) for name in self.faults)

    @property
    def first_day(self) -> str:
        """The sheet's first day in words."""
        try:
            return day_words(date.fromisoformat(self.form.one("start")))
        except ValueError:
            return self.form.one("start") or "no day yet"

    @property
    def minutes(self) -> str:
        """The minutes a day in words, "5 to 20 minutes"; '' where none can be read."""
        whole = {"week": self.form.one("minutes_weekday"), "weekend": self.form.one("minutes_weekend")}
        usual = [whole["week"] or whole["weekend"]] * 5 + [whole["weekend"] or whole["week"]] * 2
        typed = [self.form.one(f"minutes_{day}") or one for day, one in zip(WEEKDAYS, usual, strict=True)]
        said = sorted({one for one in typed if one.isdecimal()}, key=float)
        return f"{' to '.join(dict.fromkeys((said[0], said[-1])))} minutes" if said else ""

    @property
    def filled(self) -> bool:
        """Whether Who has what it needs, so that it folds."""
        return bool(self.form.one("athlete") and self.form.one("start") and has_findings(self.form))


def build(bench: Bench, form: Form, at: str = "", faults: Faults | None = None, *, shortage: bool = True) -> Building:
    """The page of a form; `at` is the place of the body that was pressed, `faults` what else is to be said.

    Without `shortage` it may be that nothing is said of minutes that do not reach: that takes long to find.
    """
    done, needs = ready(form)
    sheet, wrong = _made(bench, done, shortage)
    said = {**wrong, **(faults or {})}
    found = found_view(form, done, bench.library, bench.shelf.body, at)
    return Building(
        form=form,
        needs=needs,
        faults=said,
        found=replace(found, before=_markers_before(bench, form)),
        days=day_strip(form),
        last=_last_time(bench, form),
        made=sheet,
        telling=_telling(bench, sheet),
        asked=asked_of(form, bench.clinic),
    )


def _telling(bench: Bench, made: SheetPage | None) -> frozenset[str]:
    sites = bench.library.atlas.sites
    return frozenset(word for one in (made.sites if made else ()) for word in sites[one.site].worse_with)


def _made(bench: Bench, done: Form, shortage: bool) -> tuple[SheetPage | None, Faults]:
    if done.one("screen") and done.many("flags"):
        return None, {"screen": (CONTRADICTION,)}
    if not has_findings(done):
        return None, {}
    visit = visit_text(done)
    try:
        sheet = bench.sheet(visit.text, bool(done.one("large")), shortage)
    except InputFault as fault:
        return None, visit.faults(fault.problems)
    return sheet_page(sheet, bench.library, done.many("drop"), done.many("cover")), {}


def _last_time(bench: Bench, form: Form) -> LastTime | None:
    athlete = form.one("athlete_id")
    if not athlete:
        return None
    with bench.database.read() as connection:
        sheet = latest_sheet(connection, athlete) if find_athlete(connection, athlete) else None
    if sheet is None:
        return LastTime("", False)
    count = f"{sheet.drills} drill{'' if sheet.drills == 1 else 's'}"
    return LastTime(f"Last sheet {day_words(sheet.first_day, weekday=False)}: {count}.", form.one("last") == sheet.id)


def _markers_before(bench: Bench, form: Form) -> dict[str, str]:
    """Last time's values by marker and side (`knee_to_wall left`), in words."""
    plan = _last_plan(bench, form)
    found = {}
    for one in plan.markers if plan else ():
        values = [f"{value:g}" for value in (one.before, one.after) if value is not None]
        found[f"{one.test} {one.side}"] = " to ".join(values)
    return found


def _last_plan(bench: Bench, form: Form) -> LastPlan | None:
    if not form.one("last") or not form.rows("marker"):
        return None
    done, _ = ready(form)
    try:
        return last_plan(parse_visit(visit_text(done).text, "visit", bench.library), bench.plan_of)
    except InputFault:
        return None


def with_athlete(athlete: Athlete, form: Form) -> Form:
    """The form with an athlete who is there chosen for it."""
    age = {"age": (str(athlete.age),)} if athlete.age is not None and not form.one("age") else {}
    return form.with_values(athlete=(athlete.name,), athlete_id=(athlete.id,), **age)
