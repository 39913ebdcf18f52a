"""The use cases of the product: the one place that joins reading, reasoning, planning and printing."""

from homecare.workflow.amending import Amendment
from homecare.workflow.phone_codes import PhoneAnswer, last_lines, read_phone_code
from homecare.workflow.records import Issued, issue, issue_slip, stored_plans
from homecare.workflow.sheets import PlanOf, SheetFiles, explain, keep_texts, make_sheet, visit_sheet, write_sheet
from homecare.workflow.slips import SlipFiles, make_slip, visit_slip

__all__ = [
    "Amendment",
    "Issued",
    "PhoneAnswer",
    "PlanOf",
    "SheetFiles",
    "SlipFiles",
    "explain",
    "issue",
    "issue_slip",
    "keep_texts",
    "last_lines",
    "make_sheet",
    "make_slip",
    "read_phone_code",
    "stored_plans",
    "visit_sheet",
    "visit_slip",
    "write_sheet",
]
