"""Short visits for tests: the least that is needed, and what each test adds; and how to wait for what others do."""

from __future__ import annotations

import time
from collections.abc import Callable
from typing import TypeVar

from homecare.core.findings import Visit
from homecare.library.load import Library
from homecare.library.visit import parse_visit


def visit_of(lib: Library, findings: str, more: str = "") -> Visit:
    """A visit with the findings (YAML list lines) and further top-level lines."""
    lines = "".join(f"  - {line.strip()}\n" for line in findings.strip().splitlines())
    return parse_visit(f"athlete: Mara T.\nstart: 2026-09-07\nfindings:\n{lines}{more}", "visit.yaml", lib)


Found = TypeVar("Found")
PATIENCE_S = 60.0
"""So long does a machine that does much else have for anything."""


def until(asked: Callable[[], Found]) -> Found:
    """What `asked` returns as soon as that is something. Raises AssertionError when it never is."""
    end = time.monotonic() + PATIENCE_S
    while not (found := asked()):
        assert time.monotonic() < end, "it never came true"
        time.sleep(0.02)
    return found
