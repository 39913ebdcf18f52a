"""A published site in its folder: changed as a whole, and nothing touched that an earlier publish did not make."""

from __future__ import annotations

import hashlib
import json
import os
import re
import shutil
import signal
import tempfile
import threading
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from homecare.core.problems import InputFault, Problem, Source
from homecare.library.archive import write_whole

LIST = ".published.json"
"""The site's own list of the files it made, each with the hash of what was written."""
_STAGE = ".publishing-"
_PATH = re.compile(r"(?:[A-Za-z0-9-]+/){0,4}[A-Za-z0-9][A-Za-z0-9.-]*")
_DAMAGED = (
    "this list of an earlier publish is damaged: take it away with the files of that site, or name another folder"
)


@dataclass(frozen=True)
class Written:
    """What a publish did, by path: written anew; removed; stale but changed by hand, so left; and what else is there.

    `others` are only the names at the top of the folder.
    """

    written: tuple[str, ...]
    removed: tuple[str, ...]
    left: tuple[str, ...]
    others: tuple[str, ...]


def check_folder(folder: Path) -> None:
    """Raise InputFault where no site can be published: before the long work, what can be known without it."""
    _made_before(folder)


def write_site(folder: Path, files: Mapping[str, bytes]) -> Written:
    """Bring the site in `folder` to `files`. Raises InputFault or OSError, and then the earlier site stands as it was.

    Everything is written aside first. The moving that follows takes a moment, and a signal to stop waits for it.
    """
    before = _made_before(folder)
    _refuse_foreign(folder, files, before)
    folder.mkdir(parents=True, exist_ok=True)
    for broken_off in folder.glob(f"{_STAGE}*"):
        shutil.rmtree(broken_off)
    fresh = {path: content for path, content in files.items() if not _holds(folder / path, content)}
    stage = Path(tempfile.mkdtemp(dir=folder, prefix=_STAGE))
    try:
        staged = {path: _put_aside(stage, number, content) for number, (path, content) in enumerate(fresh.items())}
        with _undisturbed():
            removed, left = _take_over(folder, staged, files, before)
    finally:
        shutil.rmtree(stage, ignore_errors=True)
    return Written(tuple(fresh), removed, left, _others(folder, {*files, *before}))


def _take_over(
    folder: Path, staged: Mapping[str, Path], files: Mapping[str, bytes], before: Mapping[str, str]
) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Move what was put aside into its place and remove what is stale; gives what was removed and what was left."""
    made = {path: _hash(content) for path, content in files.items()}
    stale = [path for path in before if path not in made]
    # If the power goes in between, the list names all that is ours, and the next publish mends the rest.
    _write_list(folder, {**before, **made})
    for path, aside in staged.items():
        (folder / path).parent.mkdir(parents=True, exist_ok=True)
        aside.replace(folder / path)
    there = _same_in_other_letters(folder, files)
    removed, left = [], []
    for path in stale:
        file = folder / path
        if not file.is_file() or any(file.samefile(other) for other in there.get(path.casefold(), ())):
            continue
        if _hash(file.read_bytes()) == before[path]:
            file.unlink()
            removed.append(path)
        else:
            left.append(path)
    _drop_empty_folders(folder, stale)
    _write_list(folder, made)
    return tuple(removed), tuple(left)


def _same_in_other_letters(folder: Path, files: Iterable[str]) -> Mapping[str, list[Path]]:
    """The site's files by path without regard to capitals: on some disks a stale one is a new one in other letters."""
    found: dict[str, list[Path]] = {}
    for path in files:
        found.setdefault(path.casefold(), []).append(folder / path)
    return found


def _made_before(folder: Path) -> Mapping[str, str]:
    """The files that an earlier publish made, with their hashes; raises InputFault where no site can be."""
    if folder.exists() and not folder.is_dir():
        raise InputFault([Problem(Source(str(folder)), "no-folder", "this is a file, not a folder")])
    path = folder / LIST
    try:
        made = json.loads(path.read_text(encoding="utf-8"))["files"]
        whole = all(_PATH.fullmatch(one) and isinstance(text, str) for one, text in made.items())
    except FileNotFoundError:
        return {}
    except (ValueError, KeyError, TypeError, AttributeError):
        whole = False
    if not whole:
        raise InputFault([Problem(Source(str(path)), "damaged", _DAMAGED)])
    return dict(made)


def _refuse_foreign(folder: Path, files: Iterable[str], before: Mapping[str, str]) -> None:
    """Raise InputFault with everything that stands where the site would have to go and is not the site's own."""
    problems = set()
    for path in files:
        file = folder / path
        if (path not in before and os.path.lexists(file)) or file.is_dir():
            message = "this stands where a file of the site would go, and no publish made it"
            problems.add(Problem(Source(str(file)), "foreign", message, "move it, or name another folder"))
        for parent in file.relative_to(folder).parents[:-1]:
            over = folder / parent
            if over.is_symlink() or (over.exists() and not over.is_dir()):
                message = "this is no plain folder, and a folder of the site would go there"
                problems.add(Problem(Source(str(over)), "foreign", message, "move it, or name another folder"))
    if problems:
        raise InputFault(problems)


def _holds(path: Path, content: bytes) -> bool:
    return path.is_file() and path.read_bytes() == content


def _put_aside(stage: Path, number: int, content: bytes) -> Path:
    # By number, not by name: on some disks two names that differ in capitals are one.
    path = stage / str(number)
    with path.open("wb") as stream:
        stream.write(content)
        stream.flush()
        os.fsync(stream.fileno())
    return path


def _drop_empty_folders(folder: Path, stale: Iterable[str]) -> None:
    for parent in {(folder / path).parent for path in stale} - {folder}:
        if parent.is_dir() and not any(parent.iterdir()):
            parent.rmdir()


def _others(folder: Path, ours: Iterable[str]) -> tuple[str, ...]:
    tops = {path.partition("/")[0].casefold() for path in (*ours, LIST)}
    return tuple(sorted(one.name for one in folder.iterdir() if one.name.casefold() not in tops))


def _write_list(folder: Path, made: Mapping[str, str]) -> None:
    text = json.dumps({"format": 1, "files": dict(sorted(made.items()))}, indent=1)
    write_whole(folder / LIST, f"{text}\n".encode())


def _hash(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()


@contextmanager
def _undisturbed() -> Iterator[None]:
    """Let no signal to stop break off what is inside; by then it is as good as done, so it is not heeded after."""
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    before = {number: signal.signal(number, signal.SIG_IGN) for number in (signal.SIGINT, signal.SIGTERM)}
    try:
        yield
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)
