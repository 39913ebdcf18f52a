"""A set of records as one file to share between clinics: packed, unpacked, and reviewed before it goes in."""

from __future__ import annotations

import io
import lzma
import re
import zipfile
import zlib
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from homecare.core.problems import InputFault, Problem, Source, did_you_mean
from homecare.library import upkeep
from homecare.library.differences import Difference, differences
from homecare.library.load import FRAME, Entry, Files, Library, Place, load_library
from homecare.library.nodes import Reader, canonical, compose
from homecare.library.photos import FOLDER, KEPT_BOX
from homecare.library.pictures import NoPicture, plain_picture
from homecare.library.records import SECTIONS
from homecare.library.written import record_text, records_text

RECORDS = "set.yaml"
MOST_BYTES, MOST_FILES = 40_000_000, 400
"""What a set may unpack to: four hundred drills with a photograph each (common practice)."""
MOST_TEXT_BYTES, MOST_RECORDS = 2_000_000, 1_000
"""What of it may be records: more than twice the shipped library, and read in a moment."""
_PHOTO = re.compile(rf"{FOLDER}/([a-z0-9_]+)\.jpg")
_DAY_ONE = (1980, 1, 1, 0, 0, 0)
"""The one date in every set, so that the same records make the same bytes."""

News = Literal["new", "same", "changed"]


@dataclass(frozen=True)
class Incoming:
    """One record of a set beside what the clinic has under its id: new, the same, or changed and how."""

    place: Place
    news: News
    changes: tuple[Difference, ...]
    content: Mapping[str, object]
    photo: bytes = b""


@dataclass(frozen=True)
class Review:
    """What a set would bring into a clinic's folder, record by record, and the faults that this would make."""

    incoming: tuple[Incoming, ...]
    faults: tuple[Problem, ...]
    files: Files
    drills: frozenset[str]


def pack(own: Path, drills: Iterable[str] = ()) -> bytes:
    """A set of some drills, or of all the clinic's own records, with every own record that these name.

    Raises InputFault: an unknown drill, or nothing to share.
    """
    library = load_library(own)
    wanted = {("drills", drill): upkeep.drill_entry(library, drill) for drill in drills}
    if not wanted:
        wanted = {place: entry for place, entry in library.entries.items() if entry.own}
    if not wanted:
        raise InputFault([Problem(Source(str(own)), "empty", "the clinic has no records of its own to share")])
    wanted = _with_named(wanted, library)
    sections: dict[str, dict[str, Mapping[str, object]]] = {}
    for section, key in sorted(wanted):
        sections.setdefault(section, {})[key] = wanted[section, key].content
    files = {RECORDS: records_text(sections).encode()}
    files |= {photo.file: photo.jpeg for key, photo in library.photos.items() if ("photos", key) in wanted}
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as folder:
        for name, content in sorted(files.items()):
            folder.writestr(zipfile.ZipInfo(name, _DAY_ONE), content, zipfile.ZIP_DEFLATED)
    return stream.getvalue()


def review(own: Path, raw: bytes, name: str, leave: Iterable[str] = ()) -> Review:
    """What a set would change in a clinic's folder; nothing is written. `leave` are ids that stay out.

    Raises InputFault when the file is no set, or a record in it cannot be read.
    """
    library = load_library(own)
    incoming = tuple(_incoming(raw, name, library, frozenset(leave)))
    files, shipped = dict[str, bytes | None](), load_library().entries
    for one in incoming:
        if one.news != "same":
            files |= _files(own, library, one, shipped, name)
    drills = frozenset(key for section, key in (one.place for one in incoming) if section == "drills")
    return Review(incoming, upkeep.new_faults(own, library, files, drills), files, drills)


def accept(own: Path, found: Review) -> None:
    """Put a reviewed set into the clinic's folder: all of it or, with a fault, none (InputFault)."""
    upkeep.write_files(own, load_library(own), found.files, found.drills)


def _with_named(wanted: Mapping[Place, Entry], library: Library) -> dict[Place, Entry]:
    """The records, and all of the clinic's own that they name in turn."""
    own = {place: entry for place, entry in library.entries.items() if entry.own}
    found, fresh = dict(wanted), dict(wanted)
    while fresh:
        words = {word for entry in fresh.values() for word in _words(entry.content)} | {key for _, key in fresh}
        fresh = {
            place: entry
            for place, entry in own.items()
            if place not in found and place[1] in words and (place[0] != "photos" or ("drills", place[1]) in found)
        }
        found |= fresh
    return found


def _words(value: object) -> Iterator[str]:
    if isinstance(value, Mapping):
        for key, part in value.items():
            yield str(key)
            yield from _words(part)
    elif isinstance(value, list):
        for part in value:
            yield from _words(part)
    else:
        yield str(value)


def _incoming(raw: bytes, name: str, library: Library, leave: frozenset[str]) -> Iterator[Incoming]:
    files = _unpacked(raw, name)
    for place, content in _records(files[RECORDS], f"{name}/{RECORDS}"):
        if place[1] in leave:
            continue
        photo = _photo(files, place[1], content, name) if place[0] == "photos" else b""
        before, shown = library.entries.get(place), library.photos.get(place[1])
        changes = differences(before.content, content) if before else ()
        same_photo = not photo or (shown is not None and shown.jpeg == photo)
        news: News = "new" if before is None else "same" if not changes and same_photo else "changed"
        yield Incoming(place, news, changes, content, photo)


def _files(own: Path, library: Library, one: Incoming, shipped: Mapping[Place, Entry], name: str) -> Files:
    """The files that a record becomes; a photograph is made anew, so that nothing but its pixels comes in."""
    section, key = one.place
    frame = {"based_on": shipped[one.place].hash} if one.place in shipped else {}
    files = {upkeep.file_for(own, library, one.place): record_text(section, key, one.content, frame).encode()}
    if one.photo:
        path = f"{FOLDER}/{key}.jpg"
        try:
            files[path] = plain_picture(one.photo, KEPT_BOX, "JPEG")
        except NoPicture as fault:
            raise _fault(name, f"the photograph {path!r} cannot be used: {fault}") from None
    return files


def _photo(files: Mapping[str, bytes], key: str, content: Mapping[str, object], name: str) -> bytes:
    path = f"{FOLDER}/{key}.jpg"
    if content.get("file") != path or path not in files:
        raise _fault(name, f"the set holds no photograph {path!r}")
    return files[path]


def _unpacked(raw: bytes, name: str) -> Mapping[str, bytes]:
    """The files of a set; what is no set, or would unpack to too much, is refused before it is unpacked."""
    try:
        with zipfile.ZipFile(io.BytesIO(raw)) as folder:
            listed = folder.infolist()
            if len(listed) > MOST_FILES or sum(one.file_size for one in listed) > MOST_BYTES:
                raise _fault(name, "this set is too large")
            if any(one.filename == RECORDS and one.file_size > MOST_TEXT_BYTES for one in listed):
                raise _fault(name, "this set has too many records")
            strange = [one.filename for one in listed if one.filename != RECORDS and not _PHOTO.fullmatch(one.filename)]
            if strange or RECORDS not in folder.namelist():
                raise _fault(name, f"this is no set of drills: {strange[0] if strange else 'set.yaml is not in it'!r}")
            return {one.filename: folder.open(one).read(one.file_size) for one in listed}
    except (zipfile.BadZipFile, zlib.error, lzma.LZMAError, EOFError, RuntimeError, ValueError, OSError):
        raise _fault(name, "this is no set of drills, or it is damaged") from None


def _records(raw: bytes, name: str) -> Iterator[tuple[Place, Mapping[str, object]]]:
    try:
        root = compose(raw.decode("utf-8"), name)
    except UnicodeDecodeError:
        raise _fault(name, "this is not a text file in UTF-8") from None
    reader = Reader(name)
    found = list[tuple[Place, Mapping[str, object]]]()
    for section, section_node, node in reader.pairs(root, "the set") if root is not None else ():
        if section not in SECTIONS:
            reader.fault(section_node, "section", f"{section!r} is no section", did_you_mean(section, SECTIONS))
            continue
        records = list(reader.pairs(node, f"{section!r}"))
        if len(records) > MOST_RECORDS - len(found):
            raise _fault(name, "this set has too many records")
        for key, key_node, value in records:
            content = canonical(value)
            if not re.fullmatch(r"[a-z0-9_]+", key) or not isinstance(content, dict):
                reader.fault(key_node, "id", f"{key!r} is no record with an id of small letters, digits and _")
                continue
            found.append(((section, key), {part: text for part, text in content.items() if part not in FRAME}))
    if reader.problems:
        raise InputFault(reader.problems)
    yield from found


def _fault(name: str, message: str) -> InputFault:
    return InputFault([Problem(Source(name), "set", message)])
