"""What the desk works with: the database, the library, the clinic, and the sheets that it is making."""

from __future__ import annotations

import logging
import threading
from pathlib import Path

from homecare import workflow
from homecare.core.sheet import Clinic
from homecare.desk.store import Made, Store
from homecare.desk.vocabulary import vocabulary
from homecare.library.clinic import read_clinic
from homecare.library.load import load_library
from homecare.storage.database import open_database
from homecare.workflow import PlanOf, SheetFiles


class Bench:
    """One desk's database, library, vocabulary and sheets; makes one sheet at a time.

    `folder` is the clinic's own library folder: the one that was named, or `library` in the data folder.
    """

    def __init__(self, clinic: Path | None, library: Path | None, data: Path | None) -> None:
        self.database = open_database(data)
        self.data = self.database.path.parent
        self.clinic = read_clinic(clinic) if clinic else Clinic()
        self._making = threading.Lock()  # the print engine keeps parsed styles that threads may not share
        self.folder = library or self.data / "library"
        self.store = Store()
        self.reload_library()

    def reload_library(self) -> None:
        """Read the library anew: after an edit, the next sheet has it. Raises InputFault, and the old one stays."""
        self.library = load_library(self.folder if self.folder.is_dir() else None)
        self.vocabulary = vocabulary(self.library)

    def make(self, visit: str, large: bool = False) -> SheetFiles:
        """The sheet of a visit file's text; raises InputFault with every fault of it."""
        with self._making:
            return workflow.visit_sheet(visit, "visit", self.library, self.clinic, self.plan_of, large=large)

    @property
    def plan_of(self) -> PlanOf:
        """How `last.plan` of a visit is found: it is the id of an issued sheet."""
        return workflow.stored_plans(self.database)

    def hand_over(self, files: SheetFiles) -> SheetFiles:
        """A sheet that goes to an athlete: its texts are kept in the clinic's folder from now on."""
        try:
            workflow.keep_texts(files, self.folder)
        except OSError as error:
            logging.getLogger(__name__).warning("the texts of a sheet could not be kept: %s", error.strerror)
        return files

    def keep(self, visit: str, files: SheetFiles) -> str:
        """Keep a sheet and return the id of its address."""
        return self.store.keep(Made(visit, files))
