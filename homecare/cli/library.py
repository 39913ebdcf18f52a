"""`homecare library`: every fault of it, or what is in it."""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Iterable, Mapping
from typing import Any

from homecare.cli.errors import USER_FAULT
from homecare.cli.ladder import ladder_text
from homecare.cli.tissue import tissue_text
from homecare.core.drill import Drill
from homecare.core.problems import InputFault, Problem, Source, did_you_mean
from homecare.library import lint
from homecare.library.archive import write_whole
from homecare.library.describe import as_json, known
from homecare.library.load import Library, load_library
from homecare.render.check_report import report_html, report_text


def run_check(arguments: argparse.Namespace) -> int:
    """Print each fault with its file and line, and a closing count; 1 when there is any."""
    report = lint.check(arguments.folder, _progress)
    for problem in report.problems:
        print(problem, file=sys.stderr)
    if arguments.report:
        try:
            write_whole(arguments.report, report_html(report).encode())
        except OSError as error:
            print(f"{arguments.report}: the page cannot be written there: {error.strerror}", file=sys.stderr)
            return USER_FAULT
    if report.problems:
        print(report_text(report), file=sys.stderr)
        return USER_FAULT
    print(report_text(report))
    return 0


def _progress(done: int, of: int) -> None:
    if sys.stderr.isatty():
        print(f"\r{done} of {of}", end="\r\033[K" if done == of else "", file=sys.stderr, flush=True)


def run_list(arguments: argparse.Namespace) -> int:
    """Print the drills that fit the filters as a table, a wanted tissue with all that is known of it; or as JSON."""
    library = load_library(arguments.library)
    drills = _wanted(library, arguments.tissue, arguments.ladder)
    asked = _asked_tissues(library, arguments.tissue)
    if arguments.json:
        print(json.dumps(_as_json(library, drills, asked), ensure_ascii=False, indent=2, sort_keys=True))
        return 0
    if arguments.ladder is not None:
        print(ladder_text(library.ladders[arguments.ladder]), end="\n\n")
    for one in asked:
        print(tissue_text(known(library, one), library), end="\n\n")
    rows = [("id", "kind", "tissues", "kit", "ladder", "revision")]
    rows += [
        (
            drill.id,
            drill.kind,
            " ".join(drill.tissues),
            " ".join(drill.kit),
            drill.ladder,
            library.drill_revision(key)[:12],
        )
        for key, drill in drills.items()
    ]
    widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
    for row in rows:
        print("  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip())
    return 0


def _asked_tissues(library: Library, tissue: str | None) -> tuple[str, ...]:
    """The tissues to tell of: the one asked for, or the members of a group."""
    return library.atlas.members(_tissue_id(library, tissue)) if tissue is not None else ()


def _wanted(library: Library, tissue: str | None, ladder: str | None) -> Mapping[str, Drill]:
    members = frozenset(library.atlas.members(_tissue_id(library, tissue))) if tissue is not None else None
    if ladder is not None and ladder not in library.ladders:
        raise _unknown("--ladder", ladder, tuple(library.ladders))
    return {
        key: drill
        for key, drill in sorted(library.drills.items())
        if drill.offered
        and (members is None or members & set(library.atlas.members(drill.tissues)))
        and (ladder is None or drill.ladder == ladder)
    }


def _tissue_id(library: Library, given: str) -> str:
    found = library.names.find("tissues", given)
    if found is None:
        raise _unknown("--tissue", given, library.names.known("tissues"))
    return found


def _unknown(option: str, given: str, known: tuple[str, ...]) -> InputFault:
    message = f"{given!r} is not in the library"
    return InputFault([Problem(Source(option), "unknown", message, did_you_mean(given, known))])


def _as_json(library: Library, drills: Mapping[str, Drill], asked: Iterable[str]) -> dict[str, Any]:
    everything = len(drills) == len(library.drills)
    named = {one for drill in drills.values() for one in library.atlas.members(drill.tissues)}
    tissues = library.atlas.tissues.keys() if everything else named | set(asked)
    return {
        "drills": [
            {
                "id": drill.id,
                "code": drill.code,
                "name": drill.name,
                "kind": drill.kind,
                "tissues": list(drill.tissues),
                "kit": list(drill.kit),
                "ladder": drill.ladder,
                "revision": library.drill_revision(key),
            }
            for key, drill in drills.items()
        ],
        "tissues": [as_json(known(library, key)) for key in sorted(tissues)],
    }
