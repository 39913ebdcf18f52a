"""The verbs of `homecare library` and their options."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import Any


def add_library(commands: Any) -> None:
    """Add the command and its verbs to the parser's commands."""
    library = commands.add_parser("library", help="check, list and keep the drills and tissues", allow_abbrev=False)
    verbs = library.add_subparsers(title="verbs", metavar="VERB", required=True)

    one = _verb(verbs, "check", "every fault of the library, with file and line", "library", "run_check")
    one.add_argument("folder", type=Path, nargs="?", metavar="FOLDER", help="a folder laid over the shipped library")
    one.add_argument("--report", type=Path, metavar="FILE.html", help="also write the check as one page")

    one = _verb(verbs, "list", "what is in the library", "library", "run_list")
    one.add_argument("--tissue", metavar="T", help="only drills that name this tissue")
    one.add_argument("--ladder", metavar="L", help="only drills on this ladder")
    one.add_argument("--json", action="store_true", help="as JSON")
    one.add_argument("--library", type=Path, metavar="DIR", help="a folder laid over the shipped library")

    for verb, says in (
        ("take", "copy a shipped drill into the clinic's folder, to change it there"),
        ("retire", "a drill goes on no new sheet"),
        ("hide", "a drill is only used where it is picked by hand"),
        ("use", "a retired or hidden drill is in use again"),
        ("restore", "the shipped text of a drill comes back"),
        ("confirm", "the clinic's text was read against today's shipped one and stays"),
    ):
        one = _verb(verbs, verb, says, "upkeep", f"run_{verb}")
        one.add_argument("drill", metavar="DRILL", help="a drill's id")
        _own(one)

    one = _verb(verbs, "photo", "a photograph beside a drill's figure", "upkeep", "run_photo")
    one.add_argument("drill", metavar="DRILL", help="a drill's id")
    one.add_argument("picture", type=Path, nargs="?", metavar="PICTURE", help="a JPEG or PNG file")
    one.add_argument("--words", metavar="TEXT", help="what it shows, for whoever cannot see it")
    one.add_argument("--side", choices=["right", "left"], default="right", help="the side it shows; not said: right")
    one.add_argument("--remove", action="store_true", help="take the photograph away")
    _own(one)

    _own(
        _verb(verbs, "changes", "what the shipped library changed under the clinic's records", "upkeep", "run_changes")
    )

    one = _verb(verbs, "kept", "the revisions that sheets used or edits replaced", "upkeep", "run_kept")
    one.add_argument("revision", nargs="?", metavar="HASH", help="show this one (its first letters will do)")
    _own(one)

    one = _verb(verbs, "export", "the clinic's records as one file to share", "sets", "run_export")
    one.add_argument("drills", nargs="*", metavar="DRILL", help="only these; not said: all of the clinic's own")
    one.add_argument("--out", type=Path, required=True, metavar="FILE", help="the file to write")
    _own(one)

    one = _verb(verbs, "import", "read a shared file: first what it would change", "sets", "run_import")
    one.add_argument("file", type=Path, metavar="FILE")
    one.add_argument(
        "--leave", action="append", default=[], metavar="ID", help="leave this record out (more than once)"
    )
    one.add_argument("--accept", action="store_true", help="put it into the clinic's folder")
    _own(one)


def _verb(verbs: Any, name: str, says: str, module: str, run: str) -> argparse.ArgumentParser:
    parser: argparse.ArgumentParser = verbs.add_parser(name, help=says, description=says, allow_abbrev=False)
    parser.set_defaults(module=module, verb=run)
    return parser


def _own(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--library", type=Path, required=True, metavar="DIR", help="the clinic's own folder")
