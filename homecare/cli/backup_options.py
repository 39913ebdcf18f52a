"""The options of `homecare backup` and `homecare restore`."""

from __future__ import annotations

from pathlib import Path
from typing import Any


def add_parsers(commands: Any) -> None:
    """Register both commands with the subparsers of the command line."""
    one = commands.add_parser(
        "backup", help="athletes, sheets and your library as one checked file", allow_abbrev=False
    )
    one.add_argument(
        "file", type=Path, metavar="FILE", help="what stands there is replaced once the new one is checked"
    )
    one.set_defaults(module="backup", verb="run_backup")
    two = commands.add_parser("restore", help="put a backup in place; what it replaces is kept", allow_abbrev=False)
    two.add_argument("file", type=Path, metavar="FILE", help="a file that `homecare backup` wrote")
    two.set_defaults(module="backup", verb="run_restore")
    for command in (one, two):
        command.add_argument("--data", type=Path, metavar="DIR", help="the data folder; not said: the user's own")
        command.add_argument("--library", type=Path, metavar="DIR", help="your library; not said: `library` in there")
