"""The use cases of the product: the one place that joins reading, reasoning, planning and printing."""

from homecare.workflow.sheets import SheetFiles, explain, make_sheet, visit_sheet, write_sheet

__all__ = ["SheetFiles", "explain", "make_sheet", "visit_sheet", "write_sheet"]
