"""`homecare draw`: a drill's figure, the same from all round, or the figures of the whole library."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path

from homecare.cli.errors import USER_FAULT
from homecare.core.drill import Drill
from homecare.core.problems import InputFault, Problem, Source, did_you_mean
from homecare.library import lint
from homecare.library.load import Library, load_library
from homecare.render import contact, figures

KINDS = (".svg", ".pdf", ".png")
PICTURE_BOX = (120.0, 90.0)


def run(arguments: argparse.Namespace) -> int:
    """Write the picture in the format of the file's ending; 1 where a figure has faults (they are told)."""
    out: Path = arguments.out
    library = load_library(arguments.library)
    if arguments.sheet:
        drills = [one for _, one in sorted(library.drills.items()) if one.figure and not one.retired]
    else:
        drills = [_drill(library, arguments.drill)]
    if out.suffix not in (KINDS if not (arguments.sheet or arguments.views) else KINDS[1:]):
        wanted = "PDF or PNG" if arguments.sheet or arguments.views else "SVG, PDF or PNG"
        raise InputFault([Problem(Source("--out"), "format", f"{out.name!r} is no {wanted} file")])
    problems = _problems(library, {one.id for one in drills})
    _write(out, _pictures(arguments, library, drills, problems))
    told = [problem for found in problems.values() for problem in found]
    for problem in told:
        print(problem, file=sys.stderr)
    return USER_FAULT if told else 0


def _drill(library: Library, given: str | None) -> Drill:
    if given is None:
        raise InputFault([Problem(Source("DRILL"), "missing", "which drill?", "its id, or --sheet for all of them")])
    drill = library.drills.get(given)
    if drill is None:
        message = f"{given!r} is not in the library"
        raise InputFault([Problem(Source("DRILL"), "unknown", message, did_you_mean(given, library.drills))])
    if drill.figure is None:
        raise InputFault([Problem(drill.where, "no-figure", f"{given!r} has no figure", "give it one")])
    return drill


def _model(library: Library) -> figures.Model:
    return figures.Model(library.atlas, library.surfaces, library.postures)


def _problems(library: Library, wanted: set[str]) -> Mapping[str, list[Problem]]:
    found: dict[str, list[Problem]] = {}
    for problem in lint.figure_faults(library, wanted):
        found.setdefault(problem.message.partition(":")[0], []).append(problem)
    return found


def _pictures(
    arguments: argparse.Namespace, library: Library, drills: Sequence[Drill], problems: Mapping[str, list[Problem]]
) -> Sequence[bytes]:
    """The pages as bytes of the file's kind; one page for SVG and PDF."""
    suffix = arguments.out.suffix
    if arguments.sheet or arguments.views:
        cells = tuple(_cells(arguments, library, drills, problems))
        title = f"{len(drills)} figures" if arguments.sheet else drills[0].id
        pdf = contact.contact_pdf(title, cells)
        return contact.pdf_pngs(pdf) if suffix == ".png" else [pdf]
    svg = figures.picture(drills[0], _model(library), arguments.side, PICTURE_BOX)
    if suffix == ".svg":
        return [svg.encode()]
    pdf = contact.contact_pdf(drills[0].id, [contact.Cell(drills[0].name, svg)], PICTURE_BOX)
    return contact.pdf_pngs(pdf) if suffix == ".png" else [pdf]


def _cells(
    arguments: argparse.Namespace, library: Library, drills: Sequence[Drill], problems: Mapping[str, list[Problem]]
) -> Iterator[contact.Cell]:
    for number, drill in enumerate(drills, 1):
        if arguments.sheet and sys.stderr.isatty():
            print(f"\r{number} of {len(drills)}", end="", file=sys.stderr, flush=True)
        set_up = figures.staged(drill, _model(library))
        if set_up is None:
            continue
        if arguments.views:
            yield from contact.sweep(drill, set_up)
        else:
            yield contact.cell(drill, set_up, problems.get(drill.id, ()))
    if arguments.sheet and sys.stderr.isatty():
        print(file=sys.stderr)


def _write(out: Path, pages: Sequence[bytes]) -> None:
    """One file, or with more pages than one as PNG a number before its ending."""
    out.parent.mkdir(parents=True, exist_ok=True)
    for number, page in enumerate(pages, 1):
        path = out if len(pages) == 1 else out.with_name(f"{out.stem}-{number}{out.suffix}")
        path.write_bytes(page)
        print(path)
