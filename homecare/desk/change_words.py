"""What a change did to the form, in a few words: what stands beside Undo."""

from __future__ import annotations

from homecare.desk.form import Form
from homecare.library.load import Library

_ROWS = {
    "finding": ("tissue", "A tissue"),
    "symptom": ("symptom", "A symptom"),
    "test": ("test", "A test"),
    "firing": ("firing", "A firing order"),
    "marker": ("test", "A marker"),
    "event": ("date", "An event"),
    "clinic_visits": ("date", "A clinic visit"),
    "changed": ("what", "What changed"),
}
_FIELDS = {
    "kit": "Kit", "cautions": "Cautions", "flags": "The screen", "screen": "The screen", "decision": "The decision",
    "because": "The reason", "notes": "Notes", "changed": "What changed lately", "athlete": "The athlete's name",
    "athlete_id": "The athlete", "start": "First day", "days": "Days", "age": "Age", "prepared_by": "Prepared by",
    "review_by": "Better by", "large": "Size of print", "paper": "Paper", "last": "Started from last time",
}  # fmt: skip


def change_words(before: Form, after: Form, library: Library) -> str:
    """The first thing that differs, in words; '' when nothing does."""
    for name, on, off in (("drop", "off", "back on"), ("cover", "to be covered", "not asked for any more")):
        more, less = set(after.many(name)) - set(before.many(name)), set(before.many(name)) - set(after.many(name))
        for key in sorted(more | less):
            return f"{_name(library, key)} {on if key in more else off}"
    both = dict.fromkeys(name for name in (*before.values, *after.values) if not name.startswith("why-"))
    names = [name for name in both if _told(before, name) != _told(after, name)]
    if "last" in names:
        return _FIELDS["last"]
    for name in names:
        kind, _, rest = name.partition("-")
        index = rest.partition("-")[0]
        if kind == "pick":
            return f"{_name(library, after.one(f'pick-{index}-drill') or before.one(f'pick-{index}-drill'))} by hand"
        if kind == "dose":
            return f"Dose of {_name(library, index)}"
        if kind in ("done", "response", "rating"):
            return "What came back"
        if kind in _ROWS and rest:
            return _row(kind, index, before, after, library)
        if name.startswith("minutes_"):
            return "Minutes"
        if name.startswith("week_"):
            return "Training week"
        if name in _FIELDS:
            return _FIELDS[name]
    return "The visit" if names else ""


def _told(form: Form, name: str) -> tuple[str, ...]:
    """What a field says; how a tissue was treated says firm where nothing is told."""
    return form.many(name) or (("firm",) if name.endswith("-treated") else ())


def _row(kind: str, index: str, before: Form, after: Form, library: Library) -> str:
    key, plain = _ROWS[kind]
    field = f"{kind}-{index}-{key}"
    words = _name(library, after.one(field) or before.one(field)) or plain
    there = [int(index) in form.rows(kind) for form in (before, after)]
    return words if all(there) else f"{words} {'added' if there[1] else 'taken out'}"


def _name(library: Library, key: str) -> str:
    for records in (
        library.drills,
        library.atlas.sites,
        library.atlas.tissues,
        library.tests,
        library.markers,
        library.firing_orders,
    ):
        if key in records:
            return str(records[key].name)
    return key.replace("_", " ").capitalize()
