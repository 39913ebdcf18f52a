"""The options of `homecare amend`."""

from __future__ import annotations

import argparse
from datetime import date
from pathlib import Path
from typing import Any


def add_parser(commands: Any) -> None:
    """Register the command with the subparsers of the command line."""
    parser = commands.add_parser("amend", help="a slip that changes an issued sheet", allow_abbrev=False)
    parser.add_argument("visit", type=Path, metavar="VISIT.yaml", help="the visit file of the sheet")
    parser.add_argument("--from", type=_day, required=True, metavar="DATE", dest="day", help="the first changed day")
    parser.add_argument("--off", action="append", default=[], metavar="DRILL", help="a drill that comes off")
    parser.add_argument("--add", action="append", default=[], metavar="DRILL[:SIDE]", help="a drill that is added")
    parser.add_argument("--because", default="", metavar="TEXT", help="why it is added; needed where a caution bars it")
    parser.add_argument(
        "--dose", action="append", default=[], metavar='DRILL="sets=2 reps=8"', help="another dose, as in a visit file"
    )
    parser.add_argument(
        "--after",
        action="append",
        type=Path,
        default=[],
        metavar="amendment.json",
        help="of a slip that the sheet has already; more than one in their order",
    )
    parser.add_argument("--out", type=Path, required=True, metavar="DIR", help="folder for the three files")
    parser.add_argument("--paper", choices=["a4", "letter"], help="not said: the clinic's, or a4")
    parser.add_argument("--large", action="store_true", help="large print, on half a page")
    parser.add_argument("--clinic", type=Path, metavar="FILE", help="the clinic's own YAML")
    parser.add_argument("--library", type=Path, metavar="DIR", help="a folder laid over the shipped library")
    parser.set_defaults(module="amending", verb="run")


def _day(text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise argparse.ArgumentTypeError(f"{text!r} is not a date such as 2026-03-08") from None
