"""`homecare publish`: the phone pages as a static site, to be put on any web host."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from homecare.cli.errors import USER_FAULT
from homecare.library.load import load_library
from homecare.phone.publishing import site_files
from homecare.phone.site_folder import Written, check_folder, write_site

_SHOWN = 8
"""Names told of a longer list."""


def run(arguments: argparse.Namespace) -> int:
    """Make every file first, then bring the folder to them; a stop before that leaves the site as it was."""
    folder: Path = arguments.folder
    try:
        check_folder(folder)
        library = load_library(arguments.library)
        try:
            files = site_files(library, _progress if sys.stderr.isatty() else _silent)
        finally:
            if sys.stderr.isatty():
                print(file=sys.stderr)
        done = write_site(folder, files)
    except OSError as error:
        print(f"{folder}: the site cannot be written there: {error.strerror}", file=sys.stderr)
        return USER_FAULT
    size = sum(map(len, files.values())) / 1e6
    print(f"{folder}: {len(library.drills)} drills, {len(files)} files, {size:.1f} MB. {_changes(done)}")
    if done.left:
        print(f"No longer of the site, but changed by hand, so left there: {_some(done.left)}.")
    if done.others:
        print(f"The folder also holds what no publish made, left as it was: {_some(done.others)}.")
    print("Put all of it on a web host under an https address, and that address into the clinic's file as 'web'.")
    return 0


def _changes(done: Written) -> str:
    if not done.written and not done.removed:
        return "Nothing has changed since it was last published."
    return f"{len(done.written)} written, {len(done.removed)} removed, the rest unchanged."


def _some(names: tuple[str, ...]) -> str:
    more = len(names) - _SHOWN
    return ", ".join(names[:_SHOWN]) + (f" and {more} more" if more > 0 else "")


def _progress(done: int, of: int) -> None:
    print(f"\r{done} of {of} drills", end="", file=sys.stderr, flush=True)


def _silent(_done: int, _of: int) -> None:
    pass
