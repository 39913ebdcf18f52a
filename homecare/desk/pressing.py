"""What each button of the builder does to the form."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from homecare.desk.form import Form, whole

ROWS = ("finding", "symptom", "test", "firing", "marker", "changed", "clinic_visits", "event")
"""The kinds of rows that a button may add or remove."""


def press(form: Form, button: str) -> Form:
    """The form after a button; one that is not known (make) leaves it as it is.

    add:KIND  remove:KIND:ROW  put:WHAT:ID:SIDE:MORE (a finding from the search or the figure)  care:CAUTION
    order:ROW:MUSCLE  day:DATE  drop:ID  undrop:ID  cover:SITE  uncover:SITE  pick:DRILL:SIDE  unpick:ROW
    swap:DRILL:OTHER:SIDE  ladder:DRILL (the dose set by hand is taken back)
    """
    verb, *what = button.split(":")
    act = _ACTS.get((verb, len(what)))
    return act(form, *what) if act else form


def _add(form: Form, kind: str) -> Form:
    return form.with_row(kind) if kind in ROWS else form


def _remove(form: Form, kind: str, index: str) -> Form:
    row = whole(index)
    return form.without_row(kind, row) if kind in ROWS and row is not None else form


def _put(form: Form, what: str, key: str, side: str, more: str) -> Form:
    """One more finding. `more` is what was found, a symptom's zone or @ and the place near it, or a test's result."""
    if what == "tissue":
        return form.with_row("finding", tissue=key, side=side, found=more)
    if what == "symptom":
        where = {"near": more[1:]} if more.startswith("@") else {"zones": more}
        return form.with_row("symptom", symptom=key, side=side, **where)
    if what in ("test", "firing", "marker"):
        fields = {"test" if what == "marker" else what: key, "side": side}
        return form.with_row(what, **fields, **({"result": more} if what == "test" else {}))
    return form


def _care(form: Form, caution: str) -> Form:
    return form.with_values(cautions=tuple(dict.fromkeys([*form.many("cautions"), caution])))


def _order(form: Form, index: str, muscle: str) -> Form:
    """A muscle joins the end of a firing order; one that is in it is taken out."""
    if whole(index) not in form.rows("firing"):
        return form
    name = f"firing-{index}-order"
    order = form.many(name)
    kept = tuple(one for one in order if one != muscle)
    return form.with_values(**{name: kept if muscle in order else (*order, muscle)})


def _day(form: Form, day: str) -> Form:
    """A day goes round: nothing, a clinic visit, an event."""
    for kind, then in (("clinic_visits", "event"), ("event", "")):
        for index in form.rows(kind):
            if form.one(f"{kind}-{index}-date") == day:
                bare = form.without_row(kind, index)
                return bare.with_row(then, date=day) if then else bare
    return form.with_row("clinic_visits", date=day)


def _more(name: str) -> Callable[[Form, str], Form]:
    return lambda form, one: form.with_values(**{name: tuple(dict.fromkeys([*form.many(name), one]))})


def _less(name: str) -> Callable[[Form, str], Form]:
    return lambda form, one: form.with_values(**{name: tuple(value for value in form.many(name) if value != one)})


def _pick(form: Form, drill: str, side: str) -> Form:
    return form.with_row("pick", drill=drill, side=side, because=form.one(f"why-{drill}-{side}"))


def _unpick(form: Form, index: str) -> Form:
    row = whole(index)
    return form.without_row("pick", row) if row is not None else form


def _swap(form: Form, drill: str, other: str, side: str) -> Form:
    """Another drill for the same: one picked by hand goes, one the tool chose is taken off; and the way back."""
    picked = [index for index in form.rows("pick") if form.one(f"pick-{index}-drill") == drill]
    for index in picked:
        form = form.without_row("pick", index)
    form = form if picked else _more("drop")(form, drill)
    return _less("drop")(form, other) if other in form.many("drop") else _pick(form, other, side)


def _ladder(form: Form, drill: str) -> Form:
    return form.without(*(name for name in form.values if name.startswith(f"dose-{drill}-")))


_ACTS: Mapping[tuple[str, int], Callable[..., Form]] = {
    ("add", 1): _add,
    ("remove", 2): _remove,
    ("put", 4): _put,
    ("care", 1): _care,
    ("order", 2): _order,
    ("day", 1): _day,
    ("drop", 1): _more("drop"),
    ("undrop", 1): _less("drop"),
    ("cover", 1): _more("cover"),
    ("uncover", 1): _less("cover"),
    ("pick", 2): _pick,
    ("unpick", 1): _unpick,
    ("swap", 3): _swap,
    ("ladder", 1): _ladder,
}
"""By verb and how many words follow it."""
