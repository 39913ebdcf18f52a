"""The options of `homecare sheets`."""

from __future__ import annotations

from pathlib import Path
from typing import Any


def add_parser(commands: Any) -> None:
    """Register the command with the subparsers of the command line."""
    parser = commands.add_parser("sheets", help="make the sheets of many visits at once", allow_abbrev=False)
    parser.add_argument("visits", nargs="+", type=Path, metavar="FOLDER|VISIT.yaml", help="a folder: every visit in it")
    parser.add_argument("--out", type=Path, required=True, metavar="DIR", help="folder for a folder of each visit")
    parser.add_argument("--paper", choices=["a4", "letter"], help="not said: the clinic's, or a4")
    parser.add_argument("--large", action="store_true", help="large print")
    parser.add_argument("--clinic", type=Path, metavar="FILE", help="the clinic's own YAML")
    parser.add_argument("--library", type=Path, metavar="DIR", help="a folder laid over the shipped library")
    parser.set_defaults(module="batch", verb="run")
