"""`homecare sheet`: from a visit file to the four files of a sheet."""

from __future__ import annotations

import argparse
import sys

from homecare import workflow
from homecare.cli.errors import USER_FAULT


def run(arguments: argparse.Namespace) -> int:
    """Make the sheet of one visit and write it into a folder: all four files or none."""
    files = workflow.make_sheet(
        arguments.visit,
        clinic=arguments.clinic,
        library=arguments.library,
        paper=arguments.paper,
        large=arguments.large,
    )
    try:
        workflow.write_sheet(files, arguments.out)
    except OSError as error:
        print(f"{arguments.out}: the sheet cannot be written there: {error.strerror}", file=sys.stderr)
        return USER_FAULT
    if arguments.library:
        try:
            workflow.keep_texts(files, arguments.library)
        except OSError as error:
            print(f"{arguments.library}: the texts of this sheet could not be kept: {error.strerror}", file=sys.stderr)
    if arguments.explain:
        print(workflow.explain(files.sheet))
    return 0
