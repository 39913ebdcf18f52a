"""Square codes read off a photograph or a camera's frame, on this machine."""

from __future__ import annotations

import io

import zxingcpp
from PIL import Image

from homecare.library.pictures import plain_picture

LARGEST = (2400, 2400)
"""Pixels that a code is looked for in: a telephone's photograph made smaller reads as well, and faster."""


def read_codes(raw: bytes) -> tuple[str, ...]:
    """The texts of the square codes in a picture's bytes; NoPicture when they are no picture."""
    with Image.open(io.BytesIO(plain_picture(raw, LARGEST, "JPEG", quality=90))) as picture:
        found = zxingcpp.read_barcodes(picture.convert("L"))
    return tuple(one.text for one in found if one.format == zxingcpp.BarcodeFormat.QRCode)
