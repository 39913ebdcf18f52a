"""The chart note: the whole visit's result in plain text, for the practitioner's own records."""

from __future__ import annotations

import re
import textwrap
from collections.abc import Iterable, Mapping, Sequence

from homecare.core.atlas import Side, Strength
from homecare.core.plain import listed, sentence
from homecare.core.sheet import Candidate, MarkerLine, Neighbour, Sheet, SheetDrill
from homecare.render.dose_words import day_words, dose_words, range_words

WIDTH = 80
SCOPE = (
    "This note supports the work of a licensed practitioner. It lists what was recorded and what could be behind "
    "it; it is not a diagnosis, and it does not replace judgement or referral."
)


def note_text(sheet: Sheet) -> str:
    """The note, lines of at most 80 columns, a newline at its end; a part with nothing to say is left off."""
    parts = [
        _head(sheet),
        _part("Screen", _screen(sheet)),
        _part("Refer", _refer(sheet)),
        _part("Found", sheet.findings),
        _part("What could be behind it (every plausible place, not a diagnosis)", _candidates(sheet)),
        _part("Neighbours worth checking", map(_neighbour, sheet.neighbours)),
        _part(
            "Since the last sheet",
            (
                f"{_name(one.drill, one.side, sheet)}: {one.response}, {_CHANGE[one.change]}. {one.because}"
                for one in sheet.check_in
            ),
        ),
        _part("Markers", map(_marker, sheet.markers)),
        _part(
            "Drills, in the order of doing",
            (_drill(number, drill, sheet) for number, drill in enumerate(sheet.drills, 1)),
        ),
        _part("Left out", (f"{_name(one.id, one.side, sheet)} ({one.rule}): {one.because}" for one in sheet.left_out)),
        _part("Not served", (f"{one.wish}: {one.because}" for one in sheet.unserved)),
        _part("To do", sheet.advice),
        _part("Day plan", _plan(sheet)),
        _part("Told to stop and call if", sheet.words.stop_if),
        _part("Scope", (SCOPE,)),
    ]
    return "\n\n".join(part for part in parts if part) + "\n"


_CHANGE = {"up": "one step up", "hold": "same step", "down": "one step down", "off": "off the sheet"}


def _head(sheet: Sheet) -> str:
    lines = [f"Home care for {sheet.athlete}"]
    by = f", by {sheet.prepared_by}" if sheet.prepared_by else ""
    at = f" at {sheet.clinic.name}" if sheet.clinic.name else ""
    lines.append(f"Visit of {day_words(sheet.start, year=True)}{by}{at}.")
    if sheet.days:
        lines.append(f"Sheet for {range_words(sheet.start, sheet.days[-1].date)}.")
    lines.append(f"Should be clearly better by {day_words(sheet.review_by, year=True)}.")
    if sheet.notes:
        lines.append(f"Printed note: {sheet.notes}")
    return "\n".join(_wrap(line) for line in lines)


def _part(title: str, lines: Iterable[str]) -> str:
    """A part of the note: its title, then an entry each, whose further lines (after a line break) stand below it."""
    body = [_entry(line) for line in lines]
    return "\n".join([_wrap(title.upper()), *body]) if body else ""


def _entry(text: str) -> str:
    first, *rest = text.split("\n")
    return "\n".join([_wrap(first, "- "), *(_wrap(line, "  ", "    ") for line in rest)])


def _wrap(line: str, first: str = "", rest: str | None = None) -> str:
    return textwrap.fill(
        " ".join(line.split()),
        WIDTH,
        initial_indent=first,
        subsequent_indent=" " * len(first) if rest is None else rest,
    )


def _name(drill: str, side: Side, sheet: Sheet) -> str:
    """A drill by its printed name where it is on the sheet, else by its id, with its side."""
    name = next((one.text.name for one in sheet.drills if one.id == drill), drill)
    return name if side == "none" else f"{name}, {'both sides' if side == 'both' else side}"


def _screen(sheet: Sheet) -> list[str]:
    screen = sheet.screen
    if not isinstance(screen, Mapping):
        return [str(screen), *([f"To ask, by what was found: {' '.join(sheet.ask)}"] if sheet.ask else [])]
    flags = screen.get("flags") or ()
    lines = [f"Flags: {listed([str(flag).replace('_', ' ') for flag in flags])}" if flags else "No flag."]
    if screen.get("decision"):
        lines.append(f"Decision: {screen['decision']}")
    if screen.get("because"):
        lines.append(f"Because: {screen['because']}")
    return lines


RESTS_ON: Mapping[Strength, str] = {
    "measured": "measured",
    "mixed": "measured, with mixed results",
    "anatomy": "seen in dissection",
    "opinion": "taught, not measured",
}
"""What a link between tissues rests on, as the practitioner reads it."""


def _neighbour(one: Neighbour) -> str:
    side = "" if one.side == "none" else f", {'both sides' if one.side == 'both' else one.side}"
    return f"{one.name}{side}, for {one.finding}\n{sentence(one.says)} {sentence(RESTS_ON[one.strength])}"


def _refer(sheet: Sheet) -> list[str]:
    if sheet.refer is None:
        return []
    return [
        f"Urgency: {sheet.refer.urgency}",
        *sheet.refer.because,
        *(f"Told the athlete: {line}" for line in sheet.refer.athlete),
    ]


def _candidates(sheet: Sheet) -> Iterable[str]:
    """An entry for each nerve and side: what speaks for all its places, then its places, those far off named only."""
    bar = sheet.planner.cover_bar
    near = [one for one in sheet.candidates if one.score >= bar or one.covered_by]
    for nerve, side in dict.fromkeys((one.nerve, one.side) for one in near):
        yield _nerve([one for one in near if (one.nerve, one.side) == (nerve, side)], sheet)
    others = [one for one in sheet.candidates if one not in near]
    if others:
        yield "Also weighed, below the bar and not covered:\n" + "; ".join(map(_site, others))


def _nerve(places: Sequence[Candidate], sheet: Sheet) -> str:
    shared = [line for line in places[0].because if all(line in one.because for one in places)]
    side = "" if places[0].side == "none" else f", {places[0].side}"
    said = [f"{_called(places[0].nerve)}{side}"]
    tests = dict.fromkeys(line.split(". ")[0].rstrip(".") for one in places for line in one.not_tested)
    against = dict.fromkeys(line for one in places for line in one.against)
    for label, lines in (("For", shared), ("Against", against)):
        if lines:
            said.append(f"{label}: {' '.join(lines)}")
    if tests:
        said.append(f"Not tested: {'; '.join(tests)}")
    for one in places:
        own = [line for line in one.because if line not in shared]
        evidence = [f"Evidence: {one.evidence}"] if one.evidence else []
        said.append(" ".join([f"{_called(one.site)}:", *own, f"{_cover(one, sheet)}.", *evidence]))
    return "\n".join(said)


def _cover(one: Candidate, sheet: Sheet) -> str:
    covered = [
        f"the habit {name.removeprefix('habit:').replace('_', ' ')}"
        if name.startswith("habit:")
        else _name(name, "none", sheet)
        for name in one.covered_by
    ]
    return f"Covered by {listed(covered)}" if covered else "Not covered by this sheet"


def _site(one: Candidate) -> str:
    side = "" if one.side == "none" else f", {one.side}"
    return f"{_called(one.nerve)}, {_called(one.site)}{side}"


def _called(key: str) -> str:
    """A nerve or site by its id in words: roots are written with a capital, as in the trade."""
    return re.sub(r"\b[clst]\d+\b", lambda root: root[0].upper(), key.replace("_", " "))


def _marker(one: MarkerLine) -> str:
    values = [
        f"{label} {value:g} {one.unit}".strip()
        for label, value in (("before", one.before), ("after", one.after), ("last visit", one.last))
        if value is not None
    ]
    side = "" if one.side == "none" else f", {one.side}"
    return f"{one.name}{side}: {', '.join(values) or 'not measured'}. {one.says}"


def _drill(number: int, drill: SheetDrill, sheet: Sheet) -> str:
    dose = dose_words(drill.rungs[drill.start_rung])
    said = [
        f"{number} {_name(drill.id, drill.side, sheet)} ({drill.kind}, {drill.id})",
        f"Starts at step 1 of {len(drill.rungs) - drill.start_rung}: {dose}; "
        f"{drill.days_planned} of {drill.days_wanted} wanted days planned",
    ]
    if drill.carried:
        said.append("Carried on from the last sheet")
    if drill.halved:
        said.append("Half as often, after it made things worse")
    if drill.because:
        said.append(f"Why: {' '.join(drill.because)}")
    said.append(f"Dose by: {drill.ladder.replace('_', ' ')}, {drill.ladder_source}")
    return "\n".join(said)


def _plan(sheet: Sheet) -> list[str]:
    if not sheet.days:
        return ["No day is planned."]
    used = sum(bool(day.items) for day in sheet.days)
    lines = [f"Drills on {used} of {len(sheet.days)} days."]
    if not sheet.planner.proven:
        lines.append("The search for the best day plan was cut short: it keeps every rule, but a better one may exist.")
    short = [drill for drill in sheet.drills if drill.days_planned < drill.days_wanted]
    for drill in short:
        reasons = [
            note.because
            for day in sheet.days
            for note in day.notes
            if (note.drill, note.side) == (drill.id, drill.side)
        ]
        if reasons:
            often = max(sorted(set(reasons)), key=reasons.count)
            name = _name(drill.id, drill.side, sheet)
            lines.append(f"{name}, off on {len(reasons)} days, most often because: {often}")
    return lines
