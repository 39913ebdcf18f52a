"""The use cases of the product: the one place that joins reading, reasoning, planning and printing."""

from homecare.core.slip import Amendment
from homecare.storage.backups import BackedUp
from homecare.storage.restoring import Restored
from homecare.workflow.phone_codes import PhoneAnswer, last_lines, read_phone_code
from homecare.workflow.records import (
    Filed,
    Issued,
    Overtaken,
    came_back_json,
    file_the_unfiled,
    issue,
    issue_slip,
    stored_plans,
    unfiled_sheet,
)
from homecare.workflow.safekeeping import back_up, last_backup, restore, settle
from homecare.workflow.sheets import PlanOf, SheetFiles, explain, keep_texts, make_sheet, visit_sheet, write_sheet
from homecare.workflow.slips import SlipFiles, make_slip, visit_slip

__all__ = [
    "Amendment",
    "BackedUp",
    "Filed",
    "Issued",
    "Overtaken",
    "PhoneAnswer",
    "PlanOf",
    "Restored",
    "SheetFiles",
    "SlipFiles",
    "back_up",
    "came_back_json",
    "explain",
    "file_the_unfiled",
    "issue",
    "issue_slip",
    "keep_texts",
    "last_backup",
    "last_lines",
    "make_sheet",
    "make_slip",
    "read_phone_code",
    "restore",
    "settle",
    "stored_plans",
    "unfiled_sheet",
    "visit_sheet",
    "visit_slip",
    "write_sheet",
]
