"""The command line: which command was meant, and the exit status it returns."""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Sequence
from importlib import import_module
from pathlib import Path

from homecare.cli.amend import add_parser as add_amend
from homecare.cli.backup_options import add_parsers as add_backup
from homecare.cli.errors import OUR_FAULT, USER_FAULT, WRONG_USAGE, report_bug
from homecare.cli.library_verbs import add_library
from homecare.cli.people_verbs import add_people
from homecare.cli.sheets import add_parser as add_sheets
from homecare.core.problems import InputFault


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command: 0 done, 1 the input is at fault, 2 wrong usage (argparse exits), 3 a fault of ours."""
    parser = _parser()
    arguments = parser.parse_args(argv)
    if "module" not in arguments:
        parser.print_help(sys.stderr)
        parser.exit(WRONG_USAGE)
    try:
        # Only now: a command loads what it needs, and a damaged installation is told as any other fault of ours.
        command = getattr(import_module(f"homecare.cli.{arguments.module}"), arguments.verb)
        status: int = command(arguments)
        sys.stdout.flush()  # here, where it can still be told that nobody reads it
    except InputFault as fault:
        for problem in fault.problems:
            print(problem, file=sys.stderr)
        return USER_FAULT
    except KeyboardInterrupt:
        return 130
    except BrokenPipeError:  # the reader of our output went away (`| head`): nobody is left to tell
        # What is left to be written at the end goes nowhere (Python's documentation, the note on SIGPIPE, from memory).
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return USER_FAULT
    except Exception as error:  # the one place that may catch everything: no traceback reaches the screen
        print(report_bug(error), file=sys.stderr)
        return OUR_FAULT
    return status


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="homecare", description="From a visit's findings to a printed home-care sheet.", allow_abbrev=False
    )
    commands = parser.add_subparsers(title="commands", metavar="COMMAND")

    one = commands.add_parser("sheet", help="make a sheet from a visit file", allow_abbrev=False)
    one.add_argument("visit", type=Path, metavar="VISIT.yaml")
    one.add_argument("--out", type=Path, required=True, metavar="DIR", help="folder for the four files")
    one.add_argument("--paper", choices=["a4", "letter"], help="not said: the clinic's, or a4")
    one.add_argument("--large", action="store_true", help="large print")
    one.add_argument("--clinic", type=Path, metavar="FILE", help="the clinic's own YAML")
    one.add_argument("--library", type=Path, metavar="DIR", help="a folder laid over the shipped library")
    one.add_argument("--explain", action="store_true", help="also print why each drill was chosen or left out")
    one.set_defaults(module="sheet", verb="run")

    two = commands.add_parser("serve", help="the practitioner's desk", allow_abbrev=False)
    two.add_argument("--port", type=_port, default=8020, metavar="N", help="not said: 8020; 0 takes a free one")
    two.add_argument("--clinic", type=Path, metavar="FILE", help="the clinic's own YAML")
    two.add_argument("--library", type=Path, metavar="DIR", help="a folder laid over the shipped library")
    two.add_argument(
        "--share", action="store_true", help="the phone pages, on the next port, to the clinic's network too"
    )
    two.add_argument("--rooms", action="store_true", help="the desk to the clinic's network too, with a passphrase")
    two.add_argument("--certificate", type=Path, metavar="FILE", help="the clinic's own; not said: one is made")
    two.add_argument("--key", type=Path, metavar="FILE", help="the key of that certificate")
    two.add_argument("--data", type=Path, metavar="DIR", help="the folder of the records; not said: the user's own")
    two.set_defaults(module="serve", verb="run")

    add_sheets(commands)
    add_amend(commands)
    add_library(commands)
    add_backup(commands)
    add_people(commands)

    three = commands.add_parser("draw", help="a drill's figure, or those of the whole library", allow_abbrev=False)
    three.add_argument("drill", nargs="?", metavar="DRILL", help="a drill's id")
    three.add_argument("--out", type=Path, required=True, metavar="FILE", help="FILE.svg, FILE.pdf or FILE.png")
    three.add_argument("--side", choices=["right", "left"], default="right", help="not said: right")
    three.add_argument("--views", action="store_true", help="from all round, to choose the view by eye (PDF or PNG)")
    three.add_argument("--sheet", action="store_true", help="every figure of the library (PDF or PNG)")
    three.add_argument("--library", type=Path, metavar="DIR", help="a folder laid over the shipped library")
    three.set_defaults(module="draw", verb="run")

    four = commands.add_parser("publish", help="the phone pages as a static site for any web host", allow_abbrev=False)
    four.add_argument("folder", type=Path, metavar="DIR", help="the site's folder; what else is in it stays")
    four.add_argument("--library", type=Path, metavar="DIR", help="a folder laid over the shipped library")
    four.set_defaults(module="publish", verb="run")
    return parser


def _port(text: str) -> int:
    if not (text.isascii() and text.isdecimal() and int(text) <= 65535):
        raise argparse.ArgumentTypeError(f"{text!r} is not a port: a number from 0 to 65535")
    return int(text)
