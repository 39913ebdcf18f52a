"""The check of a library as one page: what is at fault first, then what is in it and which rules hold."""

from __future__ import annotations

from homecare.core.drill import KINDS
from homecare.core.library_report import LibraryReport
from homecare.render.assets import environment


def report_html(report: LibraryReport) -> str:
    """The page, complete in one file, without script."""
    return environment().get_template("library/report.html").render(report=report, kinds=KINDS)


def report_text(report: LibraryReport) -> str:
    """The same in a few lines; the faults themselves are told one by one."""
    rules = len(report.checked)
    if report.problems:
        count = len(report.problems)
        broken = sum(bool(one.problems) for one in report.checked)
        return f"{count} fault{'s' if count > 1 else ''} in the library, by {broken} of {rules} rules"
    own = f", {report.own} records the clinic's own" if report.own else ""
    return f"The library has no faults: {report.total} drills for {report.tissues} tissues{own}, {rules} rules."
