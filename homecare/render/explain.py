"""The way from each finding to each drill, and to what was not chosen, in plain text."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Iterator, Sequence

from homecare.core.plain import listed
from homecare.core.sheet import Asked, Candidate, Chain, Passed, Sheet

WIDTH = 100
STEP = 2
"""Columns by which each deeper line stands in."""


def explain_text(sheet: Sheet) -> str:
    """Findings, places and wishes with their weights, drills chosen and passed over; lines of at most 100 columns."""
    lines = ["From finding to drill", ""]
    for chain in sheet.chains:
        lines += [*_chain(chain, sheet), ""]
    lines += ["Places weighed on the nerves, best first", ""]
    lines += [line for one in sheet.candidates for line in _place(one, sheet)] or ["None: no symptom of a nerve."]
    lines += ["", "Drills by priority", ""]
    lines += [line for line in _drills(sheet)] or ["None."]
    return "\n".join(lines) + "\n"


def _line(depth: int, text: str) -> str:
    lead = " " * (STEP * depth)
    return textwrap.fill(" ".join(text.split()), WIDTH, initial_indent=lead, subsequent_indent=lead + " " * STEP)


def _chain(chain: Chain, sheet: Sheet) -> Iterator[str]:
    yield _line(0, f"Found: {chain.finding}")
    if not chain.asked:
        yield _line(1, "asks for no drill")
    for asked in chain.asked:
        yield _line(1, f"asks to {asked.says} (weight {asked.weight:.2f})")
        yield _line(
            2,
            f"chosen: {listed([_drill(one, sheet) for one in asked.served_by])}"
            if asked.served_by
            else _why_not(asked, sheet),
        )
        for because, drills in _grouped(asked.passed):
            yield _line(2, f"not chosen, {because}: {', '.join(drills)}")


def _why_not(asked: Asked, sheet: Sheet) -> str:
    because = [one.because for one in sheet.unserved if one.wish == asked.says]
    return f"not served: {because[0]}" if because else "not served"


def _grouped(passed: Sequence[Passed]) -> Iterator[tuple[str, list[str]]]:
    """Drills passed over, those with one reason together."""
    by_reason: dict[str, list[str]] = {}
    for one in passed:
        rule = f"{one.rule}: " if one.rule else ""
        by_reason.setdefault(f"{rule}{one.because.rstrip('.')}", []).append(f"{one.name} ({one.id})")
    yield from by_reason.items()


def _drill(key: str, sheet: Sheet) -> str:
    name = next((one.text.name for one in sheet.drills if one.id == key), key)
    return f"{name} ({key})"


def _place(one: Candidate, sheet: Sheet) -> Iterator[str]:
    side = "" if one.side == "none" else f", {one.side}"
    yield _line(0, f"{one.score:.2f} {one.site.replace('_', ' ')}{side} ({one.nerve.replace('_', ' ')})")
    for label, said in (("for", one.because), ("against", one.against)):
        if said:
            yield _line(1, f"{label}: {' '.join(said)}")
    if one.not_tested:
        yield _line(1, f"not tested: {'; '.join(_names(one.not_tested))}")
    if one.covered_by:
        covered = [key.replace("habit:", "habit ") if ":" in key else _drill(key, sheet) for key in one.covered_by]
        yield _line(1, f"covered by: {listed(covered)}")
    else:
        below = one.score < sheet.planner.cover_bar
        yield _line(1, f"not covered{f': below {sheet.planner.cover_bar:g}' if below else ''}")


def _names(not_tested: Iterable[str]) -> Iterator[str]:
    return (one.partition(". ")[0] for one in not_tested)


def _drills(sheet: Sheet) -> Iterator[str]:
    for drill in sorted(sheet.drills, key=lambda one: one.priority):
        yield _line(0, f"{drill.priority} {_drill(drill.id, sheet)}, {drill.side}: {' '.join(drill.because)}")
