"""What a clinic does with a drill beside writing it: out of use and back, the shipped text, a photograph."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import cast

from flask import Request

from homecare.core.problems import InputFault, Problem, Source
from homecare.desk.form import Form
from homecare.desk.shelf_keep import Keeper
from homecare.library import upkeep

_SAID = {
    "retired": "Retired: it goes on no new sheet. Sheets that were handed out keep it.",
    "hidden": "Hidden: it goes on a sheet only where you pick it by hand.",
    "in use": "In use again: the next sheet may have it.",
}
_STATES: Mapping[str, upkeep.State] = {"retire": "retired", "hide": "hidden", "use": "in use"}
_TEXTS: Mapping[str, tuple[Callable[[Path, str], object], str]] = {
    "restore": (upkeep.restore, "The shipped text is back."),
    "confirm": (upkeep.confirm, "Yours stays, as read against the shipped text of today."),
    "unphoto": (upkeep.remove_photo, "The photograph is taken away."),
}
STATE_BUTTONS = frozenset({*_STATES, *_TEXTS, "photo", "undo", "undraft"})
"""The buttons of a drill's page that change what the clinic keeps, besides saving the text."""


def do_state(keeper: Keeper, drill: str, button: str, form: Form, picture: bytes) -> str:
    """Do what a button says and tell it in a sentence. Raises InputFault and OSError; then nothing is changed."""
    if button in _STATES:
        state = _STATES[button]
        keeper.change(lambda own: upkeep.set_state(own, drill, state))
        return _SAID[state]
    if button in _TEXTS:
        edit, said = _TEXTS[button]
        keeper.change(lambda own: edit(own, drill))
        return said
    if button == "photo":
        return _add_photo(keeper, drill, form, picture)
    keeper.bring_back(drill, form.one("was"))
    return "The text before is back."


def _add_photo(keeper: Keeper, drill: str, form: Form, picture: bytes) -> str:
    words, side = form.one("photo-words"), form.one("photo-side") or "right"
    if not words:
        raise InputFault([Problem(Source("photo"), "words", "say what it shows, for whoever cannot see it")])
    if not picture:
        raise InputFault([Problem(Source("photo"), "photo", "choose a picture first: a JPEG or PNG file")])
    keeper.change(lambda own: upkeep.add_photo(own, drill, picture, words, side))
    return "The photograph is beside the figure, upright and without its metadata."


def photo_bytes(asked: Request) -> bytes:
    """The picture that was sent with a form, b'' where none was; its file is closed."""
    sent = asked.files.get("photo")
    if sent is None:
        return b""
    raw = cast(bytes, sent.read()) if sent.filename else b""
    sent.close()
    return raw
