"""Short visits for tests: the least that is needed, and what each test adds."""

from __future__ import annotations

from homecare.core.findings import Visit
from homecare.library.load import Library
from homecare.library.visit import parse_visit


def visit_of(lib: Library, findings: str, more: str = "") -> Visit:
    """A visit with the findings (YAML list lines) and further top-level lines."""
    lines = "".join(f"  - {line.strip()}\n" for line in findings.strip().splitlines())
    return parse_visit(f"athlete: Mara T.\nstart: 2026-09-07\nfindings:\n{lines}{more}", "visit.yaml", lib)
