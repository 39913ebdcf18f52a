"""`homecare backup` and `homecare restore`: all that the clinic keeps in one file, and that file put back."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from homecare import workflow
from homecare.cli.errors import USER_FAULT
from homecare.storage import place
from homecare.storage.database import open_database


def run_backup(arguments: argparse.Namespace) -> int:
    """Back up, also while the desk runs."""
    data, library = _folders(arguments)
    if not (data / place.FILE).exists():
        print(f"{data}: there are no records here to back up (name their folder with --data)", file=sys.stderr)
        return USER_FAULT
    made = workflow.back_up(open_database(data), library, arguments.file)
    print(f"{arguments.file}: {_words(made)}, checked.")
    return 0


def run_restore(arguments: argparse.Namespace) -> int:
    """Put a backup in place, also while the desk runs."""
    data, library = _folders(arguments)
    done = workflow.restore(arguments.file, data, library)
    print(f"{data}: restored to {done.backup.at.astimezone():%d %B %Y, %H:%M}: {_words(done.backup)}.")
    if done.erased_again:
        print(f"{_count(done.erased_again, 'athlete')} erased since then: erased again.")
    for path in done.kept:
        print(f"What it replaced is kept as {path}")
    print("If the desk is running, stop it and start it again.")
    return 0


def _folders(arguments: argparse.Namespace) -> tuple[Path, Path]:
    data: Path = arguments.data or place.data_folder()
    return data, arguments.library or data / place.LIBRARY


def _words(made: workflow.BackedUp) -> str:
    counts = (
        _count(made.athletes, "athlete"),
        _count(made.sheets, "sheet"),
        _count(made.library_files, "file", " of your own library"),
    )
    return f"{', '.join(counts)}, {made.size / 1e6:,.1f} MB"


def _count(number: int, noun: str, of: str = "") -> str:
    return f"{number:,} {noun}{'' if number == 1 else 's'}{of}"
