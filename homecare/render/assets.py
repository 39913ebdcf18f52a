"""Style sheets, marks and fonts by one address each, and the templates' environment; nothing outside is ever read."""

from __future__ import annotations

import re
from functools import lru_cache

from jinja2 import Environment, FileSystemLoader, StrictUndefined

from homecare.resources import resource_dir
from homecare.typeface import WEIGHTS, font_file

_KINDS = {"css": "text/css", "js": "text/javascript", "svg": "image/svg+xml", "ttf": "font/ttf"}
_ADDRESS = re.compile(
    r"(marks|phone)/[a-z_]+\.(css|svg|js)|print/fonts/SourceSansPro-(" + "|".join(WEIGHTS) + r")\.ttf"
)


@lru_cache(maxsize=64)
def read_asset(address: str) -> tuple[bytes, str]:
    """Bytes and media type of `phone/phone.css`, `marks/glide.svg`, `print/fonts/SourceSansPro-Bold.ttf` and the like.

    FileNotFoundError for every other address.
    """
    if not _ADDRESS.fullmatch(address):
        raise FileNotFoundError(address)
    name = address.rpartition("/")[2]
    if name.endswith(".ttf"):
        file = font_file(next(weight for weight in WEIGHTS if name.endswith(f"-{weight}.ttf")))
    else:
        file = resource_dir("templates") / address
    return file.read_bytes(), _KINDS[name.rpartition(".")[2]]


@lru_cache(maxsize=1)
def environment() -> Environment:
    """The templates: everything escaped, and a name that is not given is a fault."""
    return Environment(
        loader=FileSystemLoader(resource_dir("templates")),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
