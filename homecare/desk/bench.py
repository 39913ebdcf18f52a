"""What the desk works with: the database, the library, the clinic, and the sheets that it is making."""

from __future__ import annotations

import logging
import threading
from collections import OrderedDict
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from pathlib import Path
from typing import TypeVar

from homecare import workflow
from homecare.core.findings import Visit
from homecare.core.last import LastPlan
from homecare.core.sheet import Clinic, Sheet
from homecare.core.slip import Amendment
from homecare.desk.drafts import Past
from homecare.desk.offering import Offers
from homecare.desk.vocabulary import Vocabulary, vocabulary
from homecare.figure.body_map import BodyMap, body_map
from homecare.library.clinic import clinic_of_text, logo_address, read_clinic
from homecare.library.load import Library, load_library
from homecare.library.visit import parse_visit
from homecare.render.press import Paper
from homecare.storage.clinic import read_logo, read_settings
from homecare.storage.database import open_database
from homecare.workflow import PlanOf, SheetFiles, SlipFiles
from homecare.workflow.assembling import laid_sheet
from homecare.workflow.judging import Judged, judge
from homecare.workflow.laying import Laid, lay_out
from homecare.workflow.sheets import Named, last_plan, sheet_files
from homecare.workflow.shortage import shortage_words

_Files = TypeVar("_Files", SheetFiles, SlipFiles)

KEPT = 48
"""What so many sheets came to is kept: a step back, or a change of words alone, is made at once."""


@dataclass
class Thought:
    """What a visit leads to: the choice, the days, and (None: not asked yet) what is said of its minutes."""

    clinic: Clinic  # kept, since it is known by its id
    last: LastPlan | None
    judged: Judged
    laid: Laid
    short: tuple[str, ...] | None = None


class Shelf:
    """A library with what the desk makes of it once: the form's words, the search, the map of the body."""

    def __init__(self, library: Library) -> None:
        self.library = library

    @cached_property
    def vocabulary(self) -> Vocabulary:
        """The words that the form offers."""
        return vocabulary(self.library)

    @cached_property
    def offers(self) -> Offers:
        """The search over everything that can be found."""
        return Offers(self.library)

    @cached_property
    def body(self) -> BodyMap:
        """The body with the places on it."""
        return body_map(self.library.surfaces)


class Bench:
    """One desk's database, library, vocabulary and sheets; makes one sheet at a time.

    `folder` is the clinic's own library folder: the one that was named, or `library` in the data folder. `shared` says
    that the phone pages open on the clinic's network by the name that stands for no address of their own.
    """

    def __init__(self, clinic: Path | None, library: Path | None, data: Path | None, shared: bool = False) -> None:
        self.database = open_database(data)
        workflow.settle(self.database)
        self.data = self.database.path.parent
        self.clinic_file, self.shared = clinic, shared
        self._making = threading.Lock()  # the print engine keeps parsed styles that threads may not share
        self._keeping = threading.Lock()
        self.folder = library or self.data / "library"
        self.past = Past()
        self._thoughts: OrderedDict[tuple[str, Shelf, int], Thought] = OrderedDict()
        self.reload_library()
        self.reload_clinic()

    def reload_library(self) -> None:
        """Read the library anew: after an edit, the next sheet has it. Raises InputFault, and the old one stays."""
        self.shelf = Shelf(load_library(self.folder if self.folder.is_dir() else None))

    @property
    def library(self) -> Library:
        """The shipped library with the clinic's own over it."""
        return self.shelf.library

    def reload_clinic(self) -> None:
        """Read the clinic anew: its own file where the desk was started with one, else as it was saved here.

        Raises InputFault, and the old one stays.
        """
        if self.clinic_file:
            self.clinic = self._with_web(read_clinic(self.clinic_file))
            return
        with self.database.read() as connection:
            text, logo = read_settings(connection), read_logo(connection)
        saved = clinic_of_text(text or "", "the clinic's settings")
        self.clinic = self._with_web(replace(saved, logo=logo_address(logo)) if logo else saved)

    def _with_web(self, clinic: Clinic) -> Clinic:
        """A clinic whose codes open what is there: where its pages have no address, and are not shared, none."""
        return clinic if self.shared or not clinic.web_in_clinic else replace(clinic, web="")

    def make(self, visit: str, large: bool = False, paper: Paper | None = None) -> SheetFiles:
        """The sheet of a visit file's text, printed; raises InputFault with every fault of it.

        What was reasoned when it was looked at is not reasoned again.
        """
        with self._making:
            found, sheet, shelf = self._sheet(visit, large, True, paper)
            return sheet_files(found, sheet, shelf.library, large)

    def slip(self, visit: str, change: Amendment, issued: Named, after: Sequence[Named], large: bool) -> SlipFiles:
        """The slip of a change to an issued sheet with some slips; raises InputFault with every fault of it."""
        with self._making:
            shelf, clinic = self.shelf, self.clinic

            def found(of: Visit, last: LastPlan | None) -> tuple[Judged, Laid]:
                thought = self._thought_of(of, last, shelf, clinic)
                return thought.judged, thought.laid

            where = (shelf.library, clinic, self.plan_of)
            return workflow.visit_slip(visit, "visit", *where, change, issued, after, large=large, found=found)

    def sheet(self, text: str, large: bool = False, shortage: bool = True) -> Sheet:
        """What a visit file's text comes to, to be looked at: nothing is printed. Raises InputFault with every fault.

        Without `shortage` nothing is said of minutes that do not reach, where that was not found before: it takes as
        long as all the rest. Safe to call from several threads at once; the same is not reasoned about twice.
        """
        return self._sheet(text, large, shortage)[1]

    def _sheet(self, text: str, large: bool, shortage: bool, paper: Paper | None = None) -> tuple[Visit, Sheet, Shelf]:
        """A visit file's text as a visit, the sheet it comes to, and what that was made from."""
        shelf, clinic = self.shelf, self.clinic
        visit = parse_visit(text, "visit", shelf.library)
        last = last_plan(visit, self.plan_of)
        thought = self._thought_of(visit, last, shelf, clinic)
        if shortage and thought.short is None:
            thought.short = shortage_words(thought.laid, visit, shelf.library, clinic, last)
        judged, laid, short = thought.judged, thought.laid, thought.short or ()
        printed = replace(clinic, paper=paper) if paper else clinic
        return visit, laid_sheet(judged, laid, visit, shelf.library, printed, last, large, short), shelf

    def _thought_of(self, visit: Visit, last: LastPlan | None, shelf: Shelf, clinic: Clinic) -> Thought:
        """What the visit leads to, kept: names, notes and a second look change nothing of it."""
        nameless = replace(visit, athlete="", prepared_by="", notes="")
        key = (repr(nameless), shelf, id(clinic))
        with self._keeping:
            kept = self._thoughts.get(key)
        if kept is None or kept.last != last:
            judged = judge(visit, shelf.library, clinic, last)
            kept = Thought(clinic, last, judged, lay_out(judged, visit, shelf.library, clinic, last))
        with self._keeping:
            self._thoughts[key] = kept
            self._thoughts.move_to_end(key)
            while len(self._thoughts) > KEPT:
                self._thoughts.popitem(last=False)
        return kept

    @property
    def plan_of(self) -> PlanOf:
        """How `last.plan` of a visit is found: it is the id of an issued sheet."""
        return workflow.stored_plans(self.database)

    def hand_over(self, files: _Files) -> _Files:
        """A sheet or slip that goes to an athlete: its texts are kept in the clinic's folder from now on."""
        try:
            workflow.keep_texts(files, self.folder)
        except OSError as error:
            logging.getLogger(__name__).warning("the texts of a sheet could not be kept: %s", error.strerror)
        return files
