"""Upkeep of a clinic's own folder: take a shipped drill and change it, retire it, hide it, bring it back."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from pathlib import Path
from typing import Literal

from homecare.core.problems import InputFault, Problem, Source, did_you_mean
from homecare.library import archive, lint
from homecare.library.load import Entry, Files, Library, Place, load_library, read_library
from homecare.library.nodes import compose, read_text
from homecare.library.photos import FOLDER, KEPT_BOX
from homecare.library.pictures import NoPicture, plain_picture
from homecare.library.written import record_text

State = Literal["retired", "hidden", "in use"]


def take(own: Path, drill: str) -> Path:
    """Copy a shipped drill into the clinic's folder, there to be changed; the shipped text is kept beside it.

    Gives the new file. Raises InputFault: no such drill, or the clinic has its own already.
    """
    library = _library(own)
    entry = drill_entry(library, drill)
    if entry.own:
        raise _fault(own, "own", f"{drill!r} is in the clinic's folder already: {entry.where}", "change it there")
    return put(own, "drills", drill, entry.content)


def put(own: Path, section: str, key: str, content: Mapping[str, object]) -> Path:
    """Write one record into the clinic's folder, once it brings no new fault; gives its file.

    What it replaces, and the shipped record that it is written over, are kept. Raises InputFault with every fault.
    """
    library, place = _library(own), (section, key)
    shipped = load_library().entries.get(place)
    frame = {"based_on": shipped.hash} if shipped else {}
    drill = library.drills.get(key) if section == "drills" else None
    frame |= {state: "true" for state in ("retired", "hidden") if drill and getattr(drill, state)}
    name = file_for(own, library, place)
    text = record_text(section, key, content, frame)
    write_files(own, library, {name: text.encode()}, [key] if section == "drills" else [])
    archive.keep(own, {place: shipped} if shipped else {})
    return own / name


def set_state(own: Path, drill: str, state: State) -> Path | None:
    """Retire a drill, hide it, or bring it back into use; gives the file that says so, None when none needs to."""
    library = _library(own)
    entry, place = drill_entry(library, drill), ("drills", drill)
    name = file_for(own, library, place)
    frame: dict[str, str] = {"based_on": entry.based_on} if entry.own and entry.based_on else {}
    frame |= {} if state == "in use" else {state: "true"}
    content = entry.content if entry.own else {}
    text = record_text("drills", drill, content, frame).encode() if content or frame else None
    if text is not None or place in library.framed:
        write_files(own, library, {name: text}, [])
    return own / name if text else None


def restore(own: Path, drill: str) -> None:
    """Take the clinic's own version of a drill away, so that the shipped one comes back; the clinic's text is kept."""
    library, place = _library(own), ("drills", drill)
    entry = drill_entry(library, drill)
    if not entry.own and place not in library.framed:
        raise _fault(own, "shipped", f"{drill!r} is as shipped already")
    if place not in load_library().entries:
        raise _fault(own, "own", f"{drill!r} is the clinic's own: no shipped text can come back", "retire or hide it")
    write_files(own, library, {file_for(own, library, place): None}, [drill])


def confirm(own: Path, drill: str) -> Path:
    """Say that the clinic's text of a drill was read against the shipped one of today and stays; gives its file."""
    entry = drill_entry(_library(own), drill)
    if not entry.own:
        raise _fault(own, "shipped", f"{drill!r} is as shipped: there is no text of the clinic's to confirm")
    return put(own, "drills", drill, entry.content)


def add_photo(own: Path, drill: str, picture: Path | bytes, words: str, side: str = "right") -> Path:
    """Put a photograph beside a drill's figure: upright, without metadata, sized; gives its file.

    `picture` is a file or a file's bytes; `words` say what it shows to whoever cannot see it; `side` is the side that
    it shows. Raises InputFault.
    """
    library = _library(own)
    drill_entry(library, drill)
    name = f"{FOLDER}/{drill}.jpg"
    try:
        jpeg = plain_picture(picture, KEPT_BOX, "JPEG")
    except NoPicture as fault:
        message = f"this photograph cannot be used: {fault}"
        where = "the photograph" if isinstance(picture, bytes) else str(picture)
        raise InputFault([Problem(Source(where), "photo", message, "a JPEG or PNG file")]) from None
    text = record_text("photos", drill, {"file": name, "words": words, "side": side}, {})
    write_files(own, library, {file_for(own, library, ("photos", drill)): text.encode(), name: jpeg}, [])
    return own / name


def remove_photo(own: Path, drill: str) -> None:
    """Take a drill's photograph away; InputFault when it has none."""
    library = _library(own)
    if drill not in library.photos:
        raise _fault(own, "photo", f"{drill!r} has no photograph", did_you_mean(drill, library.photos))
    record = file_for(own, library, ("photos", drill))
    write_files(own, library, {record: None, library.photos[drill].file: None}, [])


def write_files(own: Path, library: Library, files: Files, drills: Collection[str]) -> None:
    """Write some files once together they bring no new fault; the records that they replace are kept.

    `drills` are those whose figures are proved anew. Raises InputFault with every fault; nothing is written then.
    """
    faults = new_faults(own, library, files, drills)
    if faults:
        raise InputFault(faults)
    archive.keep(own, {place: one for place, one in library.entries.items() if one.own and one.where.file in files})
    for path, content in files.items():
        if content is None:
            (own / path).unlink(missing_ok=True)
        else:
            archive.write_whole(own / path, content)


def new_faults(own: Path, library: Library, files: Files, drills: Collection[str]) -> tuple[Problem, ...]:
    """The faults that some files would bring into a clinic's folder; the figures of `drills` are proved anew."""
    after, problems = read_library(own, files)
    if after is None or problems:
        return tuple(sorted(problems))
    return tuple(sorted({*lint.brought(library, after), *lint.figure_faults(after, drills)}))


def _library(own: Path) -> Library:
    own.mkdir(parents=True, exist_ok=True)
    return load_library(own)


def drill_entry(library: Library, drill: str) -> Entry:
    """A drill's record as it was read; InputFault when the library has none of that id."""
    entry = library.entries.get(("drills", drill))
    if entry is None:
        message = f"{drill!r} is no drill of the library"
        raise InputFault([Problem(Source("DRILL"), "unknown", message, did_you_mean(drill, library.drills))])
    return entry


def file_for(own: Path, library: Library, place: Place) -> str:
    """The path in the clinic's folder where a record of its own stands, or is to stand.

    A file with other records in it is left to the hand that wrote it: InputFault says where it is.
    """
    entry = library.entries.get(place)
    where = library.framed.get(place) or (entry.where if entry and entry.own else None)
    if where is None:
        return f"{place[0]}/{place[1]}.yaml"
    root = compose(read_text(own / where.file), where.file)
    records = [record for _, section in root.value for record in section.value] if root is not None else []
    if len(records) > 1:
        message = f"{place[1]!r} stands in a file with other records"
        hint = "change it there by hand, or give it a file of its own"
        raise InputFault([Problem(where, "shared-file", message, hint)])
    return where.file


def _fault(own: Path, code: str, message: str, hint: str = "") -> InputFault:
    return InputFault([Problem(Source(str(own)), code, message, hint)])
