"""The verbs of `homecare people` and their options."""

from __future__ import annotations

from pathlib import Path
from typing import Any


def add_people(commands: Any) -> None:
    """Add the command and its verbs to the parser's commands."""
    everyone = commands.add_parser("people", help="who signs in at the desk", allow_abbrev=False)
    verbs = everyone.add_subparsers(title="verbs", metavar="VERB", required=True)
    for verb, says in (
        ("add", "let somebody sign in; asks for their passphrase, or reads it from a line of standard input"),
        ("passphrase", "set another passphrase, for whoever forgot theirs"),
        ("end", "somebody signs in no more"),
        ("list", "who signs in"),
    ):
        one = verbs.add_parser(verb, help=says, allow_abbrev=False)
        if verb != "list":
            one.add_argument("name", metavar="NAME", help="the name to sign in with")
        if verb == "add":
            one.add_argument("--owner", action="store_true", help="may do everything; the first person is one anyway")
        one.add_argument("--data", type=Path, metavar="DIR", help="the folder of the records; not said: the user's own")
        one.set_defaults(module="people", verb=f"run_{verb}")
