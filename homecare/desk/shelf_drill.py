"""The page of one drill: its words, its pose and its figure while they are written, and what is done with it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from flask import Blueprint, Response, abort, jsonify, make_response, redirect, render_template, request, url_for
from flask.sansio.blueprints import BlueprintSetupState

from homecare.core.problems import InputFault
from homecare.desk.form import Form, read_form, whole
from homecare.desk.shelf_cures import CURE, cured
from homecare.desk.shelf_entries import KIND_WORDS, KINDS, shown_rows, with_row
from homecare.desk.shelf_faults import NEEDED, Faults, saving_faults
from homecare.desk.shelf_form import Names, copied, drill_content, drill_form, free_code, plain_address
from homecare.desk.shelf_keep import Keeper
from homecare.desk.shelf_points import OFFERED
from homecare.desk.shelf_pose import move_of, moves_in, number
from homecare.desk.shelf_rows import STATES, state_of
from homecare.desk.shelf_states import STATE_BUTTONS, do_state, photo_bytes
from homecare.desk.shelf_trial import Judged, drawn, judged, reading
from homecare.desk.shelf_words import choices
from homecare.library.changes import Change, change_of
from homecare.library.names import fold

NEW = "new_drill"
"""The id of a drill that has no name yet."""
MOST_UPLOAD = 40_000_000
"""Bytes of a form with a photograph: more than a photograph may have, so that one too large is refused in the form."""
RESERVED = frozenset({"new", "check", "set", "tissue", NEW})
"""Words of addresses below /library that no drill may have as its id."""
CHANGED = (
    "Somebody changed this drill since you opened it. Nothing you typed is lost: look at “Earlier texts”, "
    "then save again."
)
NOT_KEPT = "It could not be written into the clinic's folder: {}. Nothing you typed is lost."

FOLDS: Mapping[str, frozenset[str]] = {
    "names": frozenset({"clinical", "code", "address", "easier", "harder"}),
    "cautions": frozenset({"kit", "traits", "not_with", "strains"}),
    "touches": frozenset({*KINDS, "targets", "view", "crop", "show"}),
}
"""The folded parts of the page, with their fields and kinds of rows; one that is at fault, or gone on with, is open."""


@dataclass(frozen=True)
class Shown:
    """A page of a drill: its id ('' for a new one), the form, its faults (None: as the rules find), what was done.

    `was` is the hash of the text before, to go back to; `focus` the field to go on with.
    """

    key: str
    form: Form
    faults: Faults | None = None
    said: str = ""
    was: str = ""
    of_draft: bool = False
    focus: str = ""


def drill_routes(topic: Blueprint, keeper: Keeper) -> None:
    """The routes of a drill's page, an existing one's and a new one's."""

    @topic.get("/library/new")
    def new() -> Response:
        draft = keeper.draft(request.args.get("draft", NEW)) if "draft" in request.args else None
        return _page(keeper, Shown("", draft or _new_form(keeper, request.args.get("from", "")), {}))

    @topic.post("/library/new")
    def write_new() -> Response:
        return _pressed(keeper, "")

    @topic.get("/library/<drill>")
    def drill(drill: str) -> Response:
        _known(keeper, drill)
        draft = keeper.draft(drill) if "draft" in request.args else None
        form = draft or drill_form(keeper.library.entries["drills", drill].content, Names(keeper.library))
        return _page(keeper, Shown(drill, form, was=request.args.get("was", ""), of_draft=draft is not None))

    @topic.post("/library/<drill>")
    def write(drill: str) -> Response:
        _known(keeper, drill)
        return _pressed(keeper, drill)

    @topic.post("/library/live/figure", defaults={"drill": ""})
    @topic.post("/library/<drill>/figure")
    def figure(drill: str) -> Response:
        return make_response(render_template("shelf_figure.html", **_figure(keeper, drill, _sent())))

    @topic.post("/library/live/check", defaults={"drill": ""})
    @topic.post("/library/<drill>/check")
    def weighed(drill: str) -> Response:
        form = _sent()
        found = _judged(keeper, drill, form)
        context = {"proofs": found.proofs, "faults": found.faults, "labels": _labels(form), "needed_words": NEEDED}
        cures = {name: [{"words": one.words, "do": one.do} for one in told] for name, told in found.cures.items()}
        return jsonify(
            faults={name: "; ".join(told) for name, told in found.faults.items() if told != (NEEDED,)},
            ready=not found.faults,
            proofs=render_template("shelf_proofs.html", **context),
            reading=reading(form).said,
            cures=cures,
        )

    @topic.record_once
    def _settings(state: BlueprintSetupState) -> None:
        for name in ("shelf.write", "shelf.write_new"):
            state.app.config["UPLOADS"][name] = MOST_UPLOAD


def _known(keeper: Keeper, drill: str) -> None:
    if drill not in keeper.library.drills:
        abort(404, "The library has no such drill.")


def _sent() -> Form:
    return read_form((name, values) for name, values in request.form.lists() if name not in ("token", "do"))


def _base(keeper: Keeper, drill: str) -> Mapping[str, object]:
    entry = keeper.library.entries.get(("drills", drill))
    return entry.content if entry else {}


def _judged(keeper: Keeper, drill: str, form: Form, key: str = "") -> Judged:
    """A form held to every rule; a new drill's plain address is that of its name where none is said."""
    if not drill and not form.one("address"):
        form = form.with_values(address=(plain_address(form.one("name")),))
    return judged(form, _base(keeper, drill), keeper.library, drill or key or NEW)


def _new_form(keeper: Keeper, like: str) -> Form:
    code = free_code(keeper.library, keeper.codes())
    if like in keeper.library.drills:
        content = copied(keeper.library.drills[like], keeper.library.entries["drills", like].content, code)
        return drill_form(content, Names(keeper.library))
    return drill_form({"code": code}, Names(keeper.library))


def _pressed(keeper: Keeper, drill: str) -> Response:
    """What a button of the form does; the form comes back with all that was typed wherever it does not go through."""
    form, button, picture = _sent(), request.form.get("do", "look"), photo_bytes(request)
    if button == "save":
        return _save(keeper, drill, form)
    if button == "draft":
        return _draft(keeper, drill, form)
    if drill and button in STATE_BUTTONS:
        return _state(keeper, drill, form, button, picture)
    changed, focus = _rows(form, button)
    return _page(keeper, Shown(drill, changed, focus=focus))


def _rows(form: Form, button: str) -> tuple[Form, str]:
    """The form as a button wants it, and the field to go on with."""
    verb, _, key = button.partition(":")
    if verb == "joint" and (move := move_of(form.one("joint"))) is not None:
        names = _fields(move.key)
        return form.with_values(**{name: form.values.get(name, ("",)) for name in names}), names[1]
    if verb == "drop" and move_of(key) is not None:
        return form.without(*_fields(key)), ""
    if verb == "copy":
        ends = {f"end-{move.key}": (form.one(f"start-{move.key}"),) for move in moves_in(form)}
        return form.with_values(**ends), ""
    if verb == "whole" and key in KINDS:
        return form.with_values(whole=("true",)), key
    if verb == "more" and key in KINDS:
        return with_row(form, key)
    kind, _, row = key.partition(":")
    if verb == "less" and kind in KINDS and (number := whole(row)) is not None:
        return form.without_row(kind, number), kind
    return cured(form, key) if verb == CURE else (form, "")


def _fields(move: str) -> tuple[str, str]:
    return f"start-{move}", f"end-{move}"


def _save(keeper: Keeper, drill: str, form: Form) -> Response:
    library, key = keeper.library, drill or _new_id(keeper, form)
    entry = library.entries.get(("drills", drill))
    now = entry.hash if entry else ""
    if drill and form.one("revision") != now:
        return _page(keeper, Shown(drill, form.with_values(revision=(now,)), {"": (CHANGED,)}))
    found = _judged(keeper, drill, form, key)
    if found.faults:
        return _page(keeper, Shown(drill, form, found.faults))
    if entry is not None and found.content == entry.content:
        keeper.drop_draft(drill)
        return _page(keeper, Shown(drill, form, {}, "Nothing was changed, so nothing was saved."))
    faults = keeper.put(key, found.content)
    if faults:
        return _page(keeper, Shown(drill, form, saving_faults(faults, form, key)))
    keeper.drop_draft(drill or NEW)
    return make_response(redirect(url_for("shelf.drill", drill=key, was=now or "new"), 303))


def _new_id(keeper: Keeper, form: Form) -> str:
    """An id for a new drill after its name, that nothing else has: /library/new and the like stay free."""
    stem = fold(form.one("name"))[:50] or NEW
    stem = stem if stem[0].isalpha() else f"drill_{stem}"
    taken = {key for _, key in keeper.library.entries} | RESERVED - ({NEW} if stem == NEW else set())
    return next(key for number in range(1, 1000) if (key := stem if number == 1 else f"{stem}_{number}") not in taken)


def _draft(keeper: Keeper, drill: str, form: Form) -> Response:
    try:
        keeper.keep_draft(drill or NEW, form)
    except OSError as error:
        return _page(keeper, Shown(drill, form, {"": (NOT_KEPT.format(error.strerror),)}))
    return _page(keeper, Shown(drill, form, said="Kept as a draft. No sheet has it until it is saved.", of_draft=True))


def _state(keeper: Keeper, drill: str, form: Form, button: str, picture: bytes) -> Response:
    """Retire, hide and the like: what was typed stays in the form, or in a draft where the text itself changes."""
    if button == "undraft":
        keeper.drop_draft(drill)
        return make_response(redirect(url_for("shelf.drill", drill=drill), 303))
    before = keeper.library.entries["drills", drill]
    try:
        done = do_state(keeper, drill, button, form, picture)
    except InputFault as fault:
        name = "photo-words" if "photo" in button else ""
        return _page(keeper, Shown(drill, form, {name: tuple(dict.fromkeys(one.message for one in fault.problems))}))
    except OSError as error:
        return _page(keeper, Shown(drill, form, {"": (NOT_KEPT.format(error.strerror),)}))
    after = keeper.library.entries["drills", drill]
    if after.hash != before.hash:
        if drill_content(form, before.content, Names(keeper.library)) != before.content:
            keeper.keep_draft(drill, form)
        return make_response(redirect(url_for("shelf.drill", drill=drill, was=before.hash), 303))
    return _page(keeper, Shown(drill, form.with_values(revision=(after.hash,)), said=done))


def _figure(keeper: Keeper, drill: str, form: Form) -> dict[str, object]:
    turn, moving = number(form.one("turn")) or 0.0, form.one("look") == "moving"
    return {"drawn": drawn(form, _base(keeper, drill), keeper.library, drill or NEW, turn, moving)}


def _page(keeper: Keeper, shown: Shown) -> Response:
    library, form, key = keeper.library, shown.form, shown.key
    entry = library.entries.get(("drills", key))
    found = _judged(keeper, key, form)
    faults = found.faults if shown.faults is None else shown.faults
    looked_at = {name.partition("-")[0] for name in (*faults, shown.focus)}
    standing = state_of(library, keeper.shipped, key) if entry else ""
    html = render_template(
        "shelf_drill.html",
        key=key,
        drill=library.drills.get(key),
        form=form,
        faults=faults,
        cures=found.cures,
        scene={kind: shown_rows(form, kind) for kind in KINDS},
        offered=OFFERED,
        labels=_labels(form),
        needed_words=NEEDED,
        typed=found.content != _base(keeper, key),
        open=[name for name, fields in FOLDS.items() if fields & looked_at or (name == "names" and not key)],
        proofs=found.proofs,
        reading=reading(form),
        rows=moves_in(form),
        choices=choices(library),
        revision=form.one("revision") or (entry.hash if entry else ""),
        standing=standing,
        state=STATES.get(standing, "a new drill of the clinic's own"),
        change=_change(keeper, key) if standing != "shipped" else None,
        photo=library.photos.get(key),
        in_hand=keeper.athletes_with(key) if key else 0,
        said=shown.said,
        was=shown.was,
        of_draft=shown.of_draft,
        focus=shown.focus,
        has_draft=bool(key) and keeper.draft(key) is not None,
        **_figure(keeper, key, form),
    )
    return make_response(html, 422 if shown.faults else 200)


def _change(keeper: Keeper, key: str) -> Change | None:
    entry = keeper.library.entries.get(("drills", key))
    if entry is None or not entry.own:
        return None
    place = ("drills", key)
    return change_of(keeper.bench.folder, place, entry, keeper.shipped.entries.get(place))


def _labels(form: Form) -> dict[str, str]:
    """What the fields of a fault are called in a list of them."""
    names = {"not_feel": "Should not feel", "feel": "Should feel", "part": "Part of the body", "from": "Posture"}
    names |= {"clinical": "In the trade's words", "address": "Plain address", "code": "Short code"}
    names |= {"not_with": "Not with", "source-mark": "Source", "source-cite": "Source", "claims": "Claims"}
    for move in moves_in(form):
        names |= {f"{phase}-{move.key}": f"{move.words}, {phase}" for phase in ("start", "end")}
    for kind, said in KIND_WORDS.items():
        rows = shown_rows(form, kind)
        names |= {kind: said} | {row.name(part): f"{said}, row {row.place}" for row in rows for part in row.parts}
    return names
