"""The clinic's photographs of drills: kept beside its records, shown beside the figure."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path, PurePosixPath
from typing import Literal, cast

from homecare.core.problems import Problem, Source
from homecare.library.nodes import Fields

FOLDER = "photos"
KEPT_BOX, KEPT_BYTES = (900, 900), 400_000
"""Pixels and bytes of a photograph as the clinic's folder keeps it: sharp at 60 mm on paper at 300 dpi."""
_JPEG = b"\xff\xd8\xff"


@dataclass(frozen=True)
class Photo:
    """A clinic's photograph of a drill: its file in the clinic's folder, what it shows in words, and its bytes.

    `side` is the side of the body that it shows; of a drill for either side, the other is shown by its mirror image.
    """

    drill: str
    file: str
    words: str
    where: Source
    side: Literal["left", "right"] = "right"
    jpeg: bytes = b""

    @property
    def hash(self) -> str:
        """SHA-256 of the picture."""
        return hashlib.sha256(self.jpeg).hexdigest()


def read_photo(fields: Fields, key: str) -> Photo:
    """The record of a photograph; its bytes are read once the folder is known (`with_pictures`)."""
    fields.names(key, "drills")
    side = cast(Literal["left", "right"], fields.choice("side", ("left", "right"), "right"))
    return Photo(key, fields.text("file"), fields.text("words"), fields.reader.place(fields.node), side)


def with_pictures(
    photos: Mapping[str, Photo], folder: Path, instead: Mapping[str, bytes | None]
) -> tuple[dict[str, Photo], list[Problem]]:
    """The photographs with their bytes, and a problem for each that is not there or was not made fit for use.

    `instead` has files of the folder as they are to be, None for one that will be gone.
    """
    found, problems = dict[str, Photo](), list[Problem]()
    for key, photo in photos.items():
        jpeg, because = _kept(photo.file, folder, instead)
        found[key] = replace(photo, jpeg=jpeg)
        if because:
            message = f"the photograph {photo.file!r} cannot be used: {because}"
            problems.append(Problem(photo.where, "photo", message, "bring it in with `homecare library photo`"))
    return found, problems


def _kept(name: str, folder: Path, instead: Mapping[str, bytes | None]) -> tuple[bytes, str]:
    """The bytes of a photograph that the clinic's folder keeps, or why they cannot be used."""
    relative = PurePosixPath(name)
    if relative.is_absolute() or ".." in relative.parts:
        return b"", "it is not in the clinic's folder"
    try:
        jpeg = instead[name] if name in instead else _start_of(folder / relative)
    except OSError:
        jpeg = None
    if jpeg is None:
        return b"", "there is no such file"
    if len(jpeg) > KEPT_BYTES or not jpeg.startswith(_JPEG):
        return b"", "it is too large, or no JPEG"
    return jpeg, ""


def _start_of(path: Path) -> bytes:
    """A file's bytes, of one that is too large enough to tell. Raises OSError."""
    with path.open("rb") as stream:
        return stream.read(KEPT_BYTES + 1)
