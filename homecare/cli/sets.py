"""`homecare library export` and `import`: a set of records as one file, reviewed before it goes in."""

from __future__ import annotations

import argparse
import sys

from homecare.cli.errors import USER_FAULT
from homecare.core.problems import InputFault, Problem, Source
from homecare.library import sets
from homecare.library.archive import write_whole


def run_export(arguments: argparse.Namespace) -> int:
    """Write the set."""
    raw = sets.pack(arguments.library, arguments.drills)
    try:
        write_whole(arguments.out, raw)
    except OSError as error:
        print(f"{arguments.out}: the set cannot be written there: {error.strerror}", file=sys.stderr)
        return USER_FAULT
    print(f"{arguments.out}: {len(raw) / 1000:.0f} kB")
    return 0


def run_import(arguments: argparse.Namespace) -> int:
    """Print what the set would change and the faults it would bring; with --accept put it in when there are none."""
    arguments.library.mkdir(parents=True, exist_ok=True)
    found = sets.review(arguments.library, _bytes(arguments), str(arguments.file), arguments.leave)
    for one in found.incoming:
        print(f"{'/'.join(one.place)}: {one.news}" + (", with a photograph" if one.photo else ""))
        for change in one.changes:
            print(f"  {change}")
    for problem in found.faults:
        print(problem, file=sys.stderr)
    if found.faults:
        print("This set brings faults: nothing is put in. Leave a record out with --leave ID.", file=sys.stderr)
        return USER_FAULT
    if not found.files:
        print("All of it is in the library already.")
    elif arguments.accept:
        sets.accept(arguments.library, found)
        print(f"Put into {arguments.library}.")
    else:
        print("Nothing is written yet: run it again with --accept to put it in.")
    return 0


def _bytes(arguments: argparse.Namespace) -> bytes:
    try:
        with arguments.file.open("rb") as stream:
            raw: bytes = stream.read(sets.MOST_BYTES + 1)
    except OSError as error:
        raise InputFault([Problem(Source(str(arguments.file)), "unreadable", f"{error.strerror}")]) from None
    if len(raw) > sets.MOST_BYTES:
        raise InputFault([Problem(Source(str(arguments.file)), "too-large", "this set is too large")])
    return raw
