"""How long the desk's questions take in a full clinic and in an empty one: python -m tests.bench.bench_storage.

Full are 5,000 athletes with six sheets each. Each figure is the least of its rounds, in milliseconds, and as a ratio to
the same question in a database of a single athlete in the same run.
"""

from __future__ import annotations

import argparse
import random
import sys
import tempfile
import time
import timeit
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path

from homecare import workflow
from homecare.storage import filing, listing
from homecare.storage.athletes import Athlete, add_athlete, search_athletes
from homecare.storage.database import Database, open_database
from homecare.storage.drafts import add_draft, save_draft
from homecare.storage.erasing import erase_athlete
from homecare.storage.exporting import export_athlete
from homecare.storage.sheets import latest_sheet, read_sheet, sheets_of_athlete
from homecare.storage.visits import list_visits
from tests.storage.made import AT, FIRST, athlete_in, file, sheet_record

FIRST_NAMES = ("Åse", "Bo", "Camille", "Dagny", "Ebbe", "Frøya", "Goran", "Hedda", "Ilse", "Jonas", "Kaja", "Ludvig")
LAST_NAMES = ("Lind", "Holm", "Sand", "Brandt", "Ekberg", "Fjell", "Grønn", "Haug", "Iversen", "Kvist", "Moe", "Nygård")
SIZE = 4_000
"""Bytes of each of a sheet's four files: less than real ones, so that the disk is not what is measured."""
TODAY = FIRST + timedelta(days=80)


def fill(database: Database, athletes: int) -> None:
    """A clinic after some years, in transactions of a hundred athletes."""
    chance = random.Random(1)
    for start in range(0, athletes, 100):
        with database.write() as connection:
            for number in range(start, min(start + 100, athletes)):
                name = f"{chance.choice(FIRST_NAMES)} {chance.choice(LAST_NAMES)} {number}"
                athlete = add_athlete(connection, name, AT)
                begun = chance.randrange(80)
                for visit in range(6):
                    first = FIRST + timedelta(days=begun - 14 * (5 - visit))
                    filing.file_sheet(connection, sheet_record(athlete, first, size=SIZE))


def questions(database: Database, athlete: Athlete) -> dict[str, Callable[[], object]]:
    """What the desk asks, by the words that tell of it."""

    def read(ask: Callable[..., object], *what: object, **more: object) -> Callable[[], object]:
        def asked() -> object:
            with database.read() as connection:
                return ask(connection, *what, **more)

        return asked

    def one() -> object:
        with database.read() as connection:
            sheet = latest_sheet(connection, athlete.id)
            files = read_sheet(connection, sheet.id) if sheet else None
            return files, list_visits(connection, athlete.id), sheets_of_athlete(connection, athlete.id)

    def typed() -> object:
        with database.write() as connection:
            draft = add_draft(connection, "typed", AT, athlete.id)
        with database.write() as connection:
            return save_draft(connection, draft.id, "typed more", 1, AT, athlete.id)

    return {
        "list, first page": read(listing.list_athletes, TODAY),
        "list, last page": read(listing.list_athletes, TODAY, group="earlier", start=2_400),
        "list by name": read(listing.list_athletes, TODAY, typed="as li"),
        "where one stands": read(listing.stands_today, athlete.id, TODAY),
        "search of two beginnings": read(search_athletes, "fr gr"),
        "search of one letter": read(search_athletes, "b"),
        "one athlete with the last sheet": one,
        "one athlete, exported": read(export_athlete, athlete.id),
        "a draft begun and saved": typed,
        "a sheet issued": lambda: file(database, sheet_record(athlete, size=SIZE)),
    }


def timed(folder: Path, athletes: int, rounds: int) -> dict[str, float]:
    """The seconds of each question in a database of so many athletes."""
    database = open_database(folder)
    begun = time.perf_counter()
    fill(database, athletes)
    size, taken = database.path.stat().st_size / 1e6, time.perf_counter() - begun
    print(f"{athletes} athletes filled in {taken:.0f} s, {size:.0f} MB")
    asked = questions(database, athlete_in(database, "Ylva Brandt"))
    asked["a sheet issued"]()
    found = {name: min(timeit.repeat(ask, number=1, repeat=rounds)) for name, ask in asked.items()}
    at = AT + timedelta(days=400)
    found["an athlete erased, the file wiped"] = timeit.timeit(
        lambda: erase_athlete(database, athlete_in(database).id, at), number=1
    )
    target = folder / "clinic.backup"
    found["a backup, checked"] = timeit.timeit(lambda: workflow.back_up(database, folder / "library", target), number=1)
    found["that backup, put in place"] = timeit.timeit(
        lambda: workflow.restore(target, folder, folder / "library"), number=1
    )
    return found


def main() -> int:
    """Print each question in milliseconds, and beside those of an empty database."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rounds", type=int, default=7)
    parser.add_argument("--athletes", type=int, default=5_000)
    arguments = parser.parse_args()
    with tempfile.TemporaryDirectory() as empty, tempfile.TemporaryDirectory() as full:
        few = timed(Path(empty), 0, arguments.rounds)
        many = timed(Path(full), arguments.athletes, arguments.rounds)
    for name, taken in many.items():
        print(f"{name:<36}{taken * 1000:9.1f} ms{taken / few[name]:9.1f} times an empty one's")
    return 0


if __name__ == "__main__":
    sys.exit(main())
