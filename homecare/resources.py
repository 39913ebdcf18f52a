"""Where the shipped folders lie, in an installed wheel as in a checkout."""

from __future__ import annotations

from pathlib import Path
from typing import Literal

_PACKAGE = Path(__file__).resolve().parent


def resource_dir(name: Literal["exercise_library", "templates"]) -> Path:
    """The folder `name`: inside the installed package, or else beside pyproject.toml; FileNotFoundError if neither."""
    for place in (_PACKAGE / "_data" / name, _PACKAGE.parent / name):
        if place.is_dir():
            return place
    raise FileNotFoundError(f"the folder {name} is neither in the package nor beside it: the installation is damaged")
