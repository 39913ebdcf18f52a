"""`homecare sheets`: the sheets of many visits at once, each in a folder of its own."""

from __future__ import annotations

import argparse
import sys
from collections import Counter
from collections.abc import Iterable, Iterator
from contextlib import closing
from pathlib import Path

from homecare.cli.errors import OUR_FAULT, USER_FAULT, report_bug
from homecare.workflow.batch import Outcome, Settings, find_visits, make_batch


def run(arguments: argparse.Namespace) -> int:
    """Make them all; a visit at fault is told and stops no other."""
    out: Path = arguments.out
    visits = find_visits(arguments.visits, arguments.clinic)
    settings = Settings(out, arguments.clinic, arguments.library, arguments.paper, arguments.large)
    states: Counter[str] = Counter()
    ours = False
    try:
        with closing(make_batch(visits, settings)) as outcomes:
            for outcome in _shown(outcomes, len(visits)):
                states[outcome.state] += 1
                ours = ours or outcome.error is not None
    except OSError as error:
        print(f"{out}: the sheets cannot be written there: {error.strerror}", file=sys.stderr)
        return USER_FAULT
    except KeyboardInterrupt:
        done = states.total()
        print(f"Stopped after {done} of {len(visits)} visits; every folder in {out} is whole.", file=sys.stderr)
        raise
    print(f"{out}: {_summary(states)}")
    return OUR_FAULT if ours else USER_FAULT if states["failed"] else 0


def _summary(states: Counter[str]) -> str:
    said = [f"{states['made']} made"]
    said += [f"{states['unchanged']} as they were before"] if states["unchanged"] else []
    said += [f"{states['failed']} failed"] if states["failed"] else []
    return f"of {states.total()} sheets {', '.join(said)}."


def _shown(outcomes: Iterable[Outcome], of: int) -> Iterator[Outcome]:
    """The outcomes as they come, with what is to be told of each and, on a terminal, how many of all are done."""
    live = sys.stderr.isatty()
    failed = 0
    if live:
        _line(f"0 of {of}")
    try:
        for number, outcome in enumerate(outcomes, 1):
            failed += outcome.state == "failed"
            for words in _told(outcome):
                if live:
                    _line("")
                print(words, file=sys.stderr)
            if live:
                _line(f"{number} of {of}" + (f", {failed} failed" if failed else ""))
            yield outcome
    finally:
        if live:
            print(file=sys.stderr)


def _told(outcome: Outcome) -> tuple[str, ...]:
    if outcome.error is not None:
        return (f"{outcome.visit}: {report_bug(outcome.error)}",)
    return outcome.told


def _line(words: str) -> None:
    """Words in the place of the terminal's last line."""
    print(f"\r\x1b[K{words}", end="", file=sys.stderr, flush=True)
