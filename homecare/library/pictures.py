"""Pictures that a clinic brings: turned upright, freed of all metadata, sized; refused when they are none."""

from __future__ import annotations

import io
import threading
from pathlib import Path
from typing import Literal

from PIL import Image, ImageOps

MOST_BYTES = 20_000_000
"""A photograph of a present telephone has up to about 12 MB (common practice)."""
TOO_LARGE = f"it has more than {MOST_BYTES // 1_000_000} MB"
MOST_PIXELS = 80_000_000
Image.MAX_IMAGE_PIXELS = None  # its warning would reach the screen; our own limit is held before anything is decoded

_decoding = threading.Lock()  # a small file may be a picture of hundreds of megabytes: one at a time


class NoPicture(ValueError):
    """Why a file cannot be used as a picture, in words that go on after "cannot be used: "."""


def plain_picture(source: Path | bytes, box: tuple[int, int], kind: Literal["JPEG", "PNG"], quality: int = 82) -> bytes:
    """A picture within a box of pixels, upright, on white, with nothing in it but its pixels.

    `source` is a file or a file's bytes. Raises NoPicture: no such file, too large, no picture.
    """
    raw = source if isinstance(source, bytes) else _bytes(source)
    if len(raw) > MOST_BYTES:
        raise NoPicture(TOO_LARGE)
    try:
        with _decoding, Image.open(io.BytesIO(raw), formats=("JPEG", "PNG", "WEBP", "GIF", "BMP")) as picture:
            if picture.width * picture.height > MOST_PIXELS:
                raise NoPicture(f"it has {picture.width} by {picture.height} pixels, which is too many")
            picture.draft("RGB", (box[0] * 2, box[1] * 2))  # a JPEG is read at a fraction of its size at once
            ImageOps.exif_transpose(picture, in_place=True)
            upright = picture.convert("RGBA")
            upright.thumbnail(box)
    except NoPicture:
        raise
    except Exception:  # a file made to break its reader breaks it in ways that nobody lists
        raise NoPicture("it is no picture that can be read") from None
    plain = Image.new("RGB", upright.size, "white")
    plain.paste(upright, mask=upright.getchannel("A"))
    stream = io.BytesIO()
    if kind == "PNG":
        plain.save(stream, format="PNG", optimize=True)
    else:
        plain.save(stream, format="JPEG", quality=quality, optimize=True)
    return stream.getvalue()


def _bytes(path: Path) -> bytes:
    try:
        if path.stat().st_size > MOST_BYTES:
            raise NoPicture(TOO_LARGE)
        with path.open("rb") as stream:
            raw = stream.read(MOST_BYTES + 1)
    except FileNotFoundError:
        raise NoPicture("there is no such file") from None
    except OSError as error:
        raise NoPicture(f"it cannot be read: {error.strerror}") from None
    return raw
