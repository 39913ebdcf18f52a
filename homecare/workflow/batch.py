"""The sheets of many visits at once, in worker processes: each in a folder of its own, whole or not there."""

from __future__ import annotations

import os
import signal
import tempfile
from collections.abc import Generator, Iterable, Iterator, Sequence
from concurrent.futures import Future, ProcessPoolExecutor, as_completed
from contextlib import contextmanager
from dataclasses import dataclass
from functools import lru_cache
from multiprocessing import get_context
from pathlib import Path
from typing import Literal, TypeAlias

from homecare.core.problems import InputFault, Problem, Source
from homecare.core.sheet import Clinic
from homecare.library.clinic import read_clinic
from homecare.library.load import Library, load_library
from homecare.library.nodes import read_text
from homecare.workflow.sheets import SheetFiles, keep_texts, plans_in, visit_sheet, write_sheet

SHEETS_A_WORKER = 50
"""What a process prints before a new one takes its place, since memory creeps up over many prints (measured)."""

Batch: TypeAlias = Generator["Outcome", None, None]
_ENDINGS = (".yaml", ".yml")


@dataclass(frozen=True)
class Settings:
    """What holds for every sheet of a batch: the folder for all, and what `make_sheet` takes."""

    out: Path
    clinic: Path | None = None
    library: Path | None = None
    paper: str | None = None
    large: bool = False


@dataclass(frozen=True)
class Outcome:
    """What became of one visit; of a faulty one every fault, of a fault of ours the exception."""

    visit: Path
    state: Literal["made", "unchanged", "failed"]
    told: tuple[str, ...] = ()
    error: BaseException | None = None


def find_visits(given: Iterable[Path], clinic: Path | None = None) -> tuple[Path, ...]:
    """The visit files that some paths name: each file as it is, of a folder its YAML files by name.

    The clinic's own file is none of them. Raises InputFault for a path that is not there, a folder without a visit,
    and two visits of one name, whose sheets would need the same folder.
    """
    visits: dict[Path, None] = {}
    problems = []
    for path in given:
        found = sorted(_within(path, clinic)) if path.is_dir() else [path]
        if not path.exists():
            problems.append(Problem(Source(str(path)), "missing", "there is no such file or folder"))
        elif not found:
            problems.append(Problem(Source(str(path)), "no-visit", "there is no visit in this folder", "a .yaml file"))
        visits.update(dict.fromkeys(found))
    first: dict[str, Path] = {}
    for visit in visits:
        other = first.setdefault(visit.stem.casefold(), visit)
        if other != visit:
            message = f"this visit has the same name as {other}, and their sheets would need the same folder"
            problems.append(Problem(Source(str(visit)), "same-name", message, "rename one"))
    if problems:
        raise InputFault(problems)
    return tuple(visits)


def _within(folder: Path, clinic: Path | None) -> list[Path]:
    names = [path for path in folder.iterdir() if path.suffix in _ENDINGS and not path.name.startswith(".")]
    return [path for path in names if path.is_file() and not (clinic and clinic.exists() and path.samefile(clinic))]


def make_batch(visits: Sequence[Path], settings: Settings, workers: int | None = None) -> Batch:
    """Make the sheet of each visit in `out/NAME-OF-THE-VISIT-FILE`, and tell what became of it as soon as it is known.

    Raises InputFault at once when the clinic's file or the library is at fault, OSError when `out` cannot be made. Each
    visit is made anew, since nothing short of that tells whether its sheet is still the same; files that come out the
    same are left untouched. Stopped halfway, it waits for the sheets under way, and every folder is whole.
    """
    _shared(settings)
    settings.out.mkdir(parents=True, exist_ok=True)
    count = min(workers or os.cpu_count() or 1, len(visits))
    a_round = count * SHEETS_A_WORKER
    for at in range(0, len(visits), max(a_round, 1)):
        yield from _round(visits[at : at + a_round], settings, count)


def _round(visits: Sequence[Path], settings: Settings, workers: int) -> Iterator[Outcome]:
    """Some visits by processes of their own, which end with the last of them."""
    pool = ProcessPoolExecutor(workers, mp_context=get_context("spawn"))
    try:
        with _unheard_interrupts():
            waiting = {pool.submit(make_one, visit, settings): visit for visit in visits}
        for done in as_completed(waiting):
            yield _outcome(done, waiting[done])
    finally:
        pool.shutdown(cancel_futures=True)


@contextmanager
def _unheard_interrupts() -> Iterator[None]:
    """Processes started in here never hear Ctrl-C: they finish the sheet in hand, and this process ends them."""
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


def _outcome(done: Future[Outcome], visit: Path) -> Outcome:
    error = done.exception()
    return Outcome(visit, "failed", (), error) if error else done.result()


def make_one(visit: Path, settings: Settings) -> Outcome:
    """Make the sheet of one visit of a batch and write its folder."""
    library, clinic = _shared(settings)
    try:
        files = visit_sheet(
            read_text(visit),
            str(visit),
            library,
            clinic,
            plans_in(visit.parent),
            paper=settings.paper,
            large=settings.large,
        )
    except InputFault as fault:
        return Outcome(visit, "failed", tuple(map(str, fault.problems)))
    folder = settings.out / visit.stem
    try:
        changed = _write(files, folder)
    except OSError as error:
        return Outcome(visit, "failed", (f"{folder}: the sheet cannot be written there: {error.strerror}",))
    told: tuple[str, ...] = ()
    if settings.library:
        try:
            keep_texts(files, settings.library)
        except OSError as error:
            told = (f"{settings.library}: the texts of {visit} could not be kept: {error.strerror}",)
    return Outcome(visit, "made" if changed else "unchanged", told)


@lru_cache(maxsize=1)
def _shared(settings: Settings) -> tuple[Library, Clinic]:
    """What every sheet of a batch needs, read once a process."""
    return load_library(settings.library), read_clinic(settings.clinic) if settings.clinic else Clinic()


def _write(files: SheetFiles, folder: Path) -> bool:
    """Write a sheet's folder, which is there whole or not at all; whether anything in it changed."""
    if folder.exists():
        new = {name: content for name, content in files.by_name().items() if _read(folder / name) != content}
        if new:
            write_sheet(files, folder)
        return bool(new)
    with tempfile.TemporaryDirectory(dir=folder.parent, prefix=".new-") as place:
        whole = Path(place) / folder.name
        write_sheet(files, whole)
        whole.rename(folder)
    return True


def _read(path: Path) -> bytes | None:
    return path.read_bytes() if path.is_file() else None
