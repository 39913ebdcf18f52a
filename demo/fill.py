"""Puts the demo's invented athletes into a data folder, with the sheets of their visits, for a desk to try.

python -m demo.fill FOLDER      does nothing where the folder has records already
"""

from __future__ import annotations

import re
import sys
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

from homecare import workflow
from homecare.library.clinic import read_clinic
from homecare.library.load import load_library
from homecare.storage import athletes
from homecare.storage.database import open_database
from homecare.storage.listing import list_athletes

HERE = Path(__file__).resolve().parent
CLINIC = HERE / "clinic.yaml"


def fill(folder: Path, today: date) -> dict[str, workflow.Issued]:
    """File a sheet an athlete, the first begun a week before `today`, the others earlier; gives them by their file.

    {} where there are athletes already: nothing is put beside records that somebody made.
    """
    database = open_database(folder)
    with database.read() as connection:
        if list_athletes(connection, today).rows:
            return {}
    library, clinic, plans = load_library(), read_clinic(CLINIC), workflow.stored_plans(database)
    filed = {}
    for number, path in enumerate(sorted((HERE / "visits").glob("*.yaml"))):
        text = moved(path.read_text(encoding="utf-8"), today - timedelta(days=7 + 12 * number))
        files = workflow.visit_sheet(text, path.name, library, clinic, plans)
        now = datetime.now(UTC)
        with database.write() as connection:
            athlete = athletes.add_athlete(connection, files.sheet.athlete, now)
        filed[path.stem] = workflow.issue(database, athlete.id, text, files, now)
    return filed


def moved(text: str, start: date) -> str:
    """A visit's text with all its dates moved by whole weeks, so that it starts on `start` or up to six days before."""
    first = date.fromisoformat(re.findall(r"^start: (\S+)", text, re.MULTILINE)[0])
    by = timedelta(days=(start - first).days // 7 * 7)
    return re.sub(r"\d{4}-\d\d-\d\d", lambda found: str(date.fromisoformat(found[0]) + by), text)


if __name__ == "__main__":
    fill(Path(sys.argv[1]), datetime.now().astimezone().date())
