"""The use cases of the product: the one place that joins reading, reasoning, planning and printing."""

from homecare.workflow.sheets import SheetFiles, explain, keep_texts, make_sheet, visit_sheet, write_sheet

__all__ = ["SheetFiles", "explain", "keep_texts", "make_sheet", "visit_sheet", "write_sheet"]
