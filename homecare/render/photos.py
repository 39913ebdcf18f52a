"""A clinic's photograph made ready for paper or phone: sized, turned to the side that is worked, as a data address."""

from __future__ import annotations

import base64
import io
from functools import lru_cache

from PIL import Image, ImageOps

from homecare.core.sheet import Photograph

PAPER, PHONE = ((640, 480), 80), ((320, 240), 55)
"""Pixels and JPEG quality: 27 mm on paper at 600 dpi or 62 mm at 260; a phone's page that stays under its size."""


def paper_uri(photo: Photograph) -> str:
    """The photograph for paper."""
    return _uri(photo.jpeg, photo.mirrored, *PAPER)


def phone_uri(photo: Photograph) -> str:
    """The photograph for a phone's page."""
    return _uri(photo.jpeg, photo.mirrored, *PHONE)


@lru_cache(maxsize=256)
def _uri(jpeg: bytes, mirrored: bool, box: tuple[int, int], quality: int) -> str:
    with Image.open(io.BytesIO(jpeg), formats=("JPEG",)) as picture:
        shown = ImageOps.mirror(picture.convert("RGB")) if mirrored else picture.convert("RGB")
    shown.thumbnail(box)
    stream = io.BytesIO()
    shown.save(stream, format="JPEG", quality=quality, optimize=True)
    return "data:image/jpeg;base64," + base64.b64encode(stream.getvalue()).decode()
