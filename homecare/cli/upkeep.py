"""`homecare library`, the verbs of upkeep: a clinic's own folder over the shipped library."""

from __future__ import annotations

import argparse

from homecare.core.problems import InputFault, Problem, Source
from homecare.library import archive, upkeep
from homecare.library.changes import STANDINGS, Change, changes
from homecare.library.written import record_text


def run_take(arguments: argparse.Namespace) -> int:
    """Copy a shipped drill into the clinic's folder and say where."""
    path = upkeep.take(arguments.library, arguments.drill)
    print(f"{path}: change it there, then run `homecare library check {arguments.library}`")
    return 0


def run_retire(arguments: argparse.Namespace) -> int:
    """Retire a drill."""
    upkeep.set_state(arguments.library, arguments.drill, "retired")
    print(f"{arguments.drill} goes on no new sheet; sheets that have it keep it, and its page stays")
    return 0


def run_hide(arguments: argparse.Namespace) -> int:
    """Hide a drill."""
    upkeep.set_state(arguments.library, arguments.drill, "hidden")
    print(f"{arguments.drill} is used only where it is picked by hand")
    return 0


def run_use(arguments: argparse.Namespace) -> int:
    """Bring a retired or hidden drill back into use."""
    upkeep.set_state(arguments.library, arguments.drill, "in use")
    print(f"{arguments.drill} is in use")
    return 0


def run_restore(arguments: argparse.Namespace) -> int:
    """Let the shipped text of a drill come back."""
    upkeep.restore(arguments.library, arguments.drill)
    print(f"{arguments.drill} is as shipped; the clinic's text is kept (`homecare library kept`)")
    return 0


def run_confirm(arguments: argparse.Namespace) -> int:
    """Settle the clinic's text over today's shipped one."""
    upkeep.confirm(arguments.library, arguments.drill)
    print(f"{arguments.drill}: the clinic's text stays over the shipped one of today")
    return 0


def run_photo(arguments: argparse.Namespace) -> int:
    """Put a photograph beside a figure, or take it away."""
    if arguments.remove:
        upkeep.remove_photo(arguments.library, arguments.drill)
        print(f"{arguments.drill} has no photograph now")
        return 0
    if arguments.picture is None or not (arguments.words or "").strip():
        message = "a photograph needs its file, and words for whoever cannot see it"
        raise InputFault([Problem(Source("photo"), "missing", message, 'PICTURE --words "A rower, heel on a step"')])
    path = upkeep.add_photo(arguments.library, arguments.drill, arguments.picture, arguments.words, arguments.side)
    print(f"{path}: upright, without metadata, {path.stat().st_size / 1000:.0f} kB")
    return 0


def run_changes(arguments: argparse.Namespace) -> int:
    """Print every own record with how it stands to the shipped library of today."""
    found = changes(arguments.library)
    if not found:
        print("The clinic's folder has no records of its own.")
    for change in found:
        print("\n".join(_change_lines(change)))
    return 0


def _change_lines(change: Change) -> list[str]:
    section, key = change.place
    lines = [f"{section}/{key} ({change.where}): {STANDINGS[change.standing]}"]
    lines += [f"  the clinic: {one}" for one in change.edits]
    if change.update is None:
        lines.append("  the text that it was written over was not kept: compare the two by eye")
    else:
        lines += [f"  the update: {one}" for one in change.update]
    lines += [f"  both changed {field}: choose" for field in change.both]
    if change.standing == "update":
        lines.append("  then: `library confirm` keeps the clinic's text, `library restore` the shipped one")
    return lines


def run_kept(arguments: argparse.Namespace) -> int:
    """List the kept revisions, or print the text of one as YAML."""
    if arguments.revision is None:
        for revision in archive.all_kept(arguments.library):
            place, _ = archive.kept(arguments.library, revision) or (("damaged", "cannot be read"), {})
            print(f"{revision[:16]}  {'/'.join(place)}")
        return 0
    revision = archive.find(arguments.library, arguments.revision)
    found = archive.kept(arguments.library, revision)
    if found is None:
        path = arguments.library / archive.FOLDER / f"{revision}.json"
        raise InputFault([Problem(Source(str(path)), "damaged", "this revision was changed by hand, or is damaged")])
    print(record_text(*found[0], found[1], {}), end="")
    return 0
