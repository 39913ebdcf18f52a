"""From the desk's form to the visit file, and from that file's faults back to the form's fields."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from homecare.core.problems import Problem
from homecare.desk.form import Form

WEEKDAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
_PLAIN = re.compile(r"-?\d+(\.\d+)?|\d{4}-\d\d-\d\d")
_MISSING = re.compile(r" has no '(\w+)'$")
_DEPTHS = ("not", "light", "firm", "deep")
DOSE_KEYS = ("sets", "reps", "hold_s", "tempo_s", "times", "load")
EVERYTHING_LEFT = "nothing"
"""What a clinic visit's `treated` says in the form when nothing is treated by hand at it."""


@dataclass
class _Writer:
    """Lines of the visit file, each with the form field that it came from."""

    lines: list[str] = field(default_factory=list)
    fields: list[str] = field(default_factory=list)

    def line(self, name: str, text: str) -> None:
        self.lines.append(text)
        self.fields.append(name)

    def pair(self, name: str, key: str, value: str, indent: str = "") -> None:
        """`key: value`, left out when the value is empty."""
        if value:
            self.line(name, f"{indent}{key}: {quoted(value)}")

    def items(self, key: str, values: Iterable[tuple[str, str]], indent: str = "") -> None:
        """A list under a key, each item a (field, value) on a line of its own; left out when empty."""
        kept = [(name, value) for name, value in values if value]
        if kept:
            self.line(kept[0][0], f"{indent}{key}:")
            for name, value in kept:
                self.line(name, f"{indent}  - {quoted(value)}")

    def record(self, row: str, pairs: Mapping[str, str], lists: Mapping[str, tuple[str, ...]]) -> None:
        """One item of a list of mappings, its fields named row-key; left out when every value is empty."""
        inner = _Writer()
        for key, value in pairs.items():
            inner.pair(f"{row}-{key}", key, value, "    ")
        for key, values in lists.items():
            inner.items(key, ((f"{row}-{key}", value) for value in values), "    ")
        for number, (name, text) in enumerate(zip(inner.fields, inner.lines, strict=True)):
            self.line(name, f"  - {text[4:]}" if number == 0 else text)


@dataclass(frozen=True)
class VisitText:
    """A visit file's text, and for each of its lines the form field that it came from."""

    text: str
    fields: tuple[str, ...]

    def faults(self, problems: Iterable[Problem]) -> Mapping[str, tuple[str, ...]]:
        """What is wrong by form field, in the order of the file; a missing key belongs to the field of that name."""
        found: dict[str, list[str]] = {}
        for problem in problems:
            line = min(max(problem.source.line, 1), len(self.fields))
            name = self.fields[line - 1]
            if problem.code == "missing" and (missing := _MISSING.search(problem.message)):
                row = "-".join(name.split("-")[:2]) + "-" if "-" in name else ""
                name = row + missing[1]
            said = problem.message + (f" ({problem.hint})" if problem.hint else "")
            if said not in found.setdefault(name, []):
                found[name].append(said)
        return {name: tuple(said) for name, said in found.items()}


def visit_text(form: Form) -> VisitText:
    """The visit file that the form says; empty fields and rows are left out."""
    out = _Writer()
    for key in ("athlete", "age", "prepared_by", "start", "days", "review_by"):
        out.pair(key, key, form.one(key))
    _days(form, out)
    _screen(form, out)
    _findings(form, out)
    _markers_and_words(form, out)
    _by_hand(form, out)
    _last(form, out)
    return VisitText("\n".join(out.lines) + "\n", tuple(out.fields))


def _days(form: Form, out: _Writer) -> None:
    spans = {key: form.one(f"minutes_{key}") for key in ("weekday", "weekend")}
    days = {day: form.one(f"minutes_{day}") for day in WEEKDAYS}
    if any([*spans.values(), *days.values()]):
        out.line("minutes_weekday", "minutes:")
        for key, value in spans.items():
            # An empty box beside a filled one means the same minutes, not none.
            out.pair(f"minutes_{key}", key, value or next(filter(None, spans.values()), ""), "  ")
        for key, value in days.items():
            out.pair(f"minutes_{key}", key, value, "  ")
    if any(form.one(f"week_{day}") for day in WEEKDAYS):
        out.line("week_mon", "week:")
        for day in WEEKDAYS:
            out.pair(f"week_{day}", day, form.one(f"week_{day}"), "  ")
    out.items("event", ((f"event-{index}-date", form.one(f"event-{index}-date")) for index in form.rows("event")))
    _clinic_visits(form, out)
    for key in ("kit", "cautions"):
        out.items(key, ((key, value) for value in form.many(key)))
    if form.one("no_kit") and not form.many("kit"):
        out.line("kit", "kit: []")


def _clinic_visits(form: Form, out: _Writer) -> None:
    rows = [f"clinic_visits-{index}" for index in form.rows("clinic_visits")]
    rows = [row for row in rows if form.one(f"{row}-date")]
    if rows:
        out.line(f"{rows[0]}-date", "clinic_visits:")
    for row in rows:
        treated = form.many(f"{row}-treated")
        if not treated:
            out.line(f"{row}-date", f"  - {quoted(form.one(f'{row}-date'))}")
            continue
        out.line(f"{row}-date", f"  - date: {quoted(form.one(f'{row}-date'))}")
        named = [one.partition(" ") for one in treated if one != EVERYTHING_LEFT]
        out.line(f"{row}-treated", "    treated:" if named else "    treated: []")
        for depth, _, tissue in named:
            out.line(f"{row}-treated", f"      {quoted(tissue)}: {quoted(depth)}")


def _screen(form: Form, out: _Writer) -> None:
    flags, decided = form.many("flags"), {key: form.one(key) for key in ("decision", "because")}
    if not flags and not any(decided.values()):
        out.pair("screen", "screen", form.one("screen"))
        return
    out.line("flags", "screen:")
    out.items("flags", (("flags", flag) for flag in flags), "  ")
    for key, value in decided.items():
        out.pair(key, key, value, "  ")


def _findings(form: Form, out: _Writer) -> None:
    rows = {kind: form.rows(kind) for kind in ("finding", "symptom", "test", "firing")}
    start = len(out.lines)
    out.line("findings", "findings:")
    for index in rows["finding"]:
        row = f"finding-{index}"
        keys = ("tissue", "found", "side") if form.one(f"{row}-tissue") or form.one(f"{row}-found") else ()
        out.record(row, {key: form.one(f"{row}-{key}") for key in keys}, {})
    for index in rows["symptom"]:
        row = f"symptom-{index}"
        if form.one(f"{row}-symptom") or form.many(f"{row}-zones"):
            pairs = {key: form.one(f"{row}-{key}") for key in ("symptom", "side", "irritability", "since", "now")}
            out.record(row, pairs, {key: form.many(f"{row}-{key}") for key in ("zones", "worse_with")})
    for index in rows["test"]:
        row = f"test-{index}"
        keys = ("test", "side", "result") if form.one(f"{row}-test") else ()
        out.record(row, {key: form.one(f"{row}-{key}") for key in keys}, {})
    for index in rows["firing"]:
        row = f"firing-{index}"
        if form.one(f"{row}-firing"):
            pairs = {key: form.one(f"{row}-{key}") for key in ("firing", "side")}
            out.record(row, pairs, {"order": form.many(f"{row}-order")})
    if len(out.lines) == start + 1:
        out.lines[start] = "findings: []"
    _treated(form, rows["finding"], out)


def _treated(form: Form, rows: Iterable[int], out: _Writer) -> None:
    """Depth by tissue, the deepest where a tissue stands in two rows; nothing when all is the default, firm."""
    depths: dict[str, str] = {}
    told = [(form.one(f"finding-{index}-tissue"), form.one(f"finding-{index}-treated") or "firm") for index in rows]
    others = form.rows("treated")
    told += [(form.one(f"treated-{index}-tissue"), form.one(f"treated-{index}-depth")) for index in others]
    for tissue, depth in told:
        if tissue and depth in _DEPTHS:
            depths[tissue] = max(depths.get(tissue, "not"), depth, key=_DEPTHS.index)
    if all(depth == "firm" for depth in depths.values()) and not form.one("treated_said") and not others:
        return
    done = {tissue: depth for tissue, depth in depths.items() if depth != "not"}
    out.line("findings", "treated:" if done else "treated: []")
    for tissue, depth in done.items():
        out.line("findings", f"  {quoted(tissue)}: {depth}")


def _markers_and_words(form: Form, out: _Writer) -> None:
    markers = [f"marker-{index}" for index in form.rows("marker") if form.one(f"marker-{index}-test")]
    if markers:
        out.line(markers[0], "markers:")
    for row in markers:
        out.record(row, {key: form.one(f"{row}-{key}") for key in ("test", "side", "before", "after")}, {})
    rows = [f"changed-{index}" for index in form.rows("changed") if form.one(f"changed-{index}-what")]
    lines = [line.strip() for line in form.one("changed").split("\n") if line.strip()]
    if rows or lines:
        out.line("changed", "changed:")
    for row in rows:
        out.record(row, {key: form.one(f"{row}-{key}") for key in ("what", "how", "when")}, {})
    for line in lines:
        out.line("changed", f"  - {quoted(line)}")
    out.pair("notes", "notes", form.one("notes"))


def _by_hand(form: Form, out: _Writer) -> None:
    rows = [f"pick-{index}" for index in form.rows("pick")]
    rows = [row for row in rows if form.one(f"{row}-drill")]
    if rows:
        out.line(rows[0], "pick:")
    for row in rows:
        out.record(row, {key: form.one(f"{row}-{key}") for key in ("drill", "side", "because")}, {})
    for key in ("drop", "cover"):
        out.items(key, ((key, value) for value in form.many(key)))
    drills = dosed(form)
    if drills:
        out.line("doses", "doses:")
    for drill, given in drills.items():
        out.line(f"dose-{drill}-", f"  {quoted(drill)}:{'' if given else ' {}'}")
        for key, value in given.items():
            out.pair(f"dose-{drill}-{key}", key, value, "    ")


def dosed(form: Form) -> dict[str, dict[str, str]]:
    """The doses set by hand: by drill, the keys that have a value; a drill whose fields are all empty is not there,
    unless the bare field `dose-DRILL-` says that it is."""
    found: dict[str, dict[str, str]] = {}
    for name, values in form.values.items():
        head, _, rest = name.partition("-")
        drill, _, key = rest.rpartition("-")
        if head == "dose" and drill and (not key or (key in DOSE_KEYS and any(values))):
            found.setdefault(drill, {}).update({key: values[0]} if key else {})
    return found


def _last(form: Form, out: _Writer) -> None:
    """What came back of the last sheet: `last` its id, then boxes done and responses by drill, ratings by row."""
    if not form.one("last"):
        return
    out.line("last", "last:")
    out.pair("last", "plan", form.one("last"), "  ")
    out.items("amendments", (("last", slip) for slip in form.many("amendments")), "  ")
    for key in ("done", "response"):
        told = {name: form.one(name) for name in form.values if name.startswith(f"{key}-") and form.one(name)}
        if told:
            out.line(next(iter(told)), f"  {key}:")
        for name, value in told.items():
            out.line(name, f"    {quoted(name.removeprefix(f'{key}-'))}: {quoted(value)}")
    rows = [f"rating-{index}" for index in form.rows("rating")]
    rows = [row for row in rows if form.one(f"{row}-date") or form.one(f"{row}-value")]
    if rows:
        out.line(f"{rows[0]}-date", "  ratings:")
    for row in rows:
        pair = ", ".join(quoted(form.one(f"{row}-{key}")) for key in ("date", "value"))
        out.line(f"{row}-value", f"    - [{pair}]")


def quoted(value: str) -> str:
    """A YAML scalar on one line: numbers and dates as they are, all else in double quotes."""
    if _PLAIN.fullmatch(value):
        return value
    inside = "".join(
        letter if letter.isprintable() and letter not in '"\\' else f"\\U{ord(letter):08x}" for letter in value
    )
    return f'"{inside}"'
