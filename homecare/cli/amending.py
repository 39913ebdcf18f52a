"""`homecare amend`: from a visit file and what changes to the slip that goes with the sheet."""

from __future__ import annotations

import argparse
import re
import sys
from collections.abc import Callable
from typing import Any, get_args

from homecare import workflow
from homecare.cli.errors import USER_FAULT
from homecare.core.atlas import Side
from homecare.core.findings import Pick, SetDose
from homecare.core.problems import InputFault, Problem, Source, did_you_mean
from homecare.library.visit_findings import DOSE_BOUNDS

_VALUE = re.compile(r"(?:^|\s)([a-z_]+)=")


def run(arguments: argparse.Namespace) -> int:
    """Make the slip of one change and write it into a folder: all three files or none."""
    amendment, problems = read_options(arguments)
    try:
        files = workflow.make_slip(
            arguments.visit,
            amendment,
            out=arguments.out,
            after=arguments.after,
            clinic=arguments.clinic,
            library=arguments.library,
            paper=arguments.paper,
            large=arguments.large,
        )
    except InputFault as fault:
        raise InputFault([*problems, *fault.problems]) from None
    if problems:
        raise InputFault(problems)
    try:
        workflow.write_sheet(files, arguments.out)
    except OSError as error:
        print(f"{arguments.out}: the slip cannot be written there: {error.strerror}", file=sys.stderr)
        return USER_FAULT
    if arguments.library:
        try:
            workflow.keep_texts(files, arguments.library)
        except OSError as error:
            print(f"{arguments.library}: the texts of this slip could not be kept: {error.strerror}", file=sys.stderr)
    return 0


def read_options(arguments: argparse.Namespace) -> tuple[workflow.Amendment, list[Problem]]:
    """What the options ask for, as far as they can be read, and every fault in them."""
    problems: list[Problem] = []

    def fault(option: str, message: str, hint: str = "") -> None:
        problems.append(Problem(Source(option), "option", message, hint))

    if not (arguments.off or arguments.add or arguments.dose):
        fault("--off, --add, --dose", "nothing changes", "give one of them")
    if arguments.because and not arguments.add:
        fault("--because", "there is no drill added that it could be said of", "give --add too")
    on = tuple(_pick(text, arguments.because, fault) for text in arguments.add)
    doses = [_dose(text, fault) for text in arguments.dose]
    for key in sorted({key for key, _ in doses if [one for one, _ in doses].count(key) > 1}):
        fault("--dose", f"{key!r} is given two doses", "say one of them")
    off = tuple(dict.fromkeys(arguments.off))
    return workflow.Amendment(arguments.day, off, on, {key: dose for key, dose in doses if key}), problems


_Fault = Callable[..., None]


def _pick(text: str, because: str, fault: _Fault) -> Pick:
    drill, _, side = text.partition(":")
    sides = get_args(Side)
    if side and side not in sides:
        fault("--add", f"{text!r} has no side {side!r}", did_you_mean(side, sides))
    return Pick(drill, side if side in sides else None, because, Source(f"--add {text}"))  # type: ignore[arg-type]


def _dose(text: str, fault: _Fault) -> tuple[str, SetDose]:
    """`DRILL=sets=2 reps=8 load=6 kg`: the drill, and its dose as far as it can be read."""
    drill, _, rest = text.partition("=")
    names = list(_VALUE.finditer(rest))
    if not drill or not names or names[0].start() > 0:
        fault("--dose", f"{text!r} is not a drill and its dose", 'DRILL="sets=2 reps=8 hold_s=0 times=1 load=6 kg"')
        return drill, SetDose()
    ends = [*(name.start() for name in names[1:]), len(rest)]
    values: dict[str, Any] = {}
    for name, end in zip(names, ends, strict=True):
        key, value = name[1], rest[name.end() : end].strip()
        values |= _dose_value(drill, key, value, key in values, fault)
    return drill, SetDose(**values)


def _dose_value(drill: str, key: str, value: str, twice: bool, fault: _Fault) -> dict[str, Any]:
    if twice:
        fault("--dose", f"{drill!r} is given {key} twice", "say it once")
    elif key == "load":
        if value:
            return {"load": value}
        fault("--dose", f"the load of {drill!r} is empty", "load=6 kg")
    elif key not in DOSE_BOUNDS:
        fault("--dose", f"a dose has no {key!r}", did_you_mean(key, (*DOSE_BOUNDS, "load")))
    else:
        low, high = DOSE_BOUNDS[key]
        if value.isascii() and value.isdecimal() and low <= int(value) <= high:
            return {key: int(value)}
        fault("--dose", f"{key} of {drill!r} is {value!r}", f"a whole number from {low} to {high}")
    return {}
