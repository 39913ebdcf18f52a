"""Markers: what one measure says from visit to visit, and when its drills have done their work."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from homecare.core.atlas import Atlas, MarkerTest
from homecare.core.findings import Marker
from homecare.core.last import LastDrill, LastMarker, LastPlan
from homecare.core.sheet import MarkerLine


def _held(test: MarkerTest, before: float | None, earlier: float | None) -> bool | None:
    """Whether a measure has not fallen back by the smallest change that means something; None when not known."""
    if before is None or earlier is None:
        return None
    lost = earlier - before if test.better == "higher" else before - earlier
    return lost < test.smallest_change if test.smallest_change else lost <= 0


def _earlier(marker: Marker, last: LastPlan | None) -> LastMarker | None:
    lines = last.markers if last else ()
    return next((line for line in lines if line.test == marker.test and line.side == marker.side), None)


def marker_lines(
    markers: Sequence[Marker], last: LastPlan | None, tests: Mapping[str, MarkerTest]
) -> tuple[MarkerLine, ...]:
    """Each marker of the visit beside its value after treatment last time, with a sentence."""
    lines = []
    for marker in markers:
        test, earlier = tests[marker.test], _earlier(marker, last)
        then = earlier.after if earlier else None
        lines.append(
            MarkerLine(
                test=marker.test,
                name=test.name,
                unit=test.unit,
                side=marker.side,
                before=marker.before,
                after=marker.after,
                last=then,
                says=_says(marker, then, test),
            )
        )
    return tuple(lines)


def _says(marker: Marker, last: float | None, test: MarkerTest) -> str:
    words = []
    if marker.before is not None and marker.after is not None:
        change = marker.after - marker.before if test.better == "higher" else marker.before - marker.after
        enough = abs(change) >= test.smallest_change and change != 0
        sense = "better" if change > 0 else "worse"
        words.append(
            f"{sense} by {abs(change):g} {test.unit} after treatment"
            if enough
            else "no change that counts after treatment"
        )
    held = _held(test, marker.before, last)
    if held is not None:
        words.append(f"{'held' if held else 'fell back'} since last time ({last:g} {test.unit} then)")
    return "; ".join(words) or "measured once so far"


def retired_by_markers(
    markers: Sequence[Marker], last: LastPlan | None, tests: Mapping[str, MarkerTest], atlas: Atlas
) -> dict[str, str]:
    """Drills of the last sheet whose marker held at this visit and the one before: id to the reason."""
    retired = {}
    for marker in markers:
        test, earlier = tests[marker.test], _earlier(marker, last)
        if last is None or earlier is None:
            continue
        if not (_held(test, marker.before, earlier.after) and _held(test, earlier.before, earlier.last)):
            continue
        for drill in last.drills:
            if _judges(test, marker, drill, atlas):
                retired[drill.id] = f"{test.name} held over two visits: it has done its work"
    return retired


def _judges(test: MarkerTest, marker: Marker, drill: LastDrill, atlas: Atlas) -> bool:
    sides = {marker.side, drill.side}
    same = "none" in sides or "both" in sides or len(sides) == 1
    return same and bool(set(atlas.members(test.tissues)) & set(atlas.members(drill.tissues)))
