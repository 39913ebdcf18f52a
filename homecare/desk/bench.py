"""What the desk works with: the library, the clinic, and the sheets it has made."""

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
from homecare.workflow import SheetFiles


class Bench:
    """One desk's library, vocabulary and sheets; makes one sheet at a time."""

    def __init__(self, clinic: Path | None, library: Path | None) -> None:
        self.clinic = read_clinic(clinic) if clinic else Clinic()
        self._making = threading.Lock()  # the print engine keeps parsed styles that threads may not share
        self.folder = library
        self.library = load_library(library)
        self.vocabulary = vocabulary(self.library)
        self.store = Store()

    def make(self, visit: str, large: bool = False) -> SheetFiles:
        """The sheet of a visit file's text; raises InputFault with every fault of it."""
        with self._making:
            return workflow.visit_sheet(visit, "visit", self.library, self.clinic, large=large)

    def hand_over(self, files: SheetFiles) -> SheetFiles:
        """A sheet that goes to an athlete: its texts are kept in the clinic's folder from now on."""
        if self.folder is not None:
            try:
                workflow.keep_texts(files, self.folder)
            except OSError as error:
                logging.getLogger(__name__).warning("the texts of a sheet could not be kept: %s", error.strerror)
        return files

    def keep(self, visit: str, files: SheetFiles) -> str:
        """Keep a sheet and return the id of its address."""
        return self.store.keep(Made(visit, files))
