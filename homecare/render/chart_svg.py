"""Small charts as SVG in ink alone, each with a sentence that says the same and a table that holds it all."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from markupsafe import Markup, escape

from homecare.core.charting import Chart, Trace
from homecare.core.history import Step
from homecare.core.plain import listed, sentence
from homecare.render.dose_words import MONTHS, day_words, dose_words

WIDTH, LEFT, RIGHT, TOP, BOTTOM = 360, 34, 14, 10, 24
"""The drawing's own units: at 360 pixels wide its letters are 13 pixels high."""
HEIGHT, LOW_HEIGHT, ROW = 132, 70, 16
INSET = 7
"""Between the scale and the first date, so that no mark lies on a number."""
LETTERS = 13
DOT, SMALL_DOT, CROWD = 4.5, 2.6, 16
"""Radius of a mark, and where more of them than this crowd each other."""
MOST_SAID = 5
"""Values that a chart's words name one by one: more are in its table (common practice)."""


@dataclass(frozen=True)
class ChartView:
    """A chart as it is shown: drawing, its words, what its marks mean, and its table."""

    title: str
    svg: Markup
    says: str
    key: tuple[tuple[Markup, str], ...]
    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


def chart_view(chart: Chart) -> ChartView:
    """The chart of a page; all of it also stands in `says`, `heads` and `rows`."""
    side = "" if chart.side == "none" else "both sides" if chart.side == "both" else chart.side
    title = ", ".join(filter(None, (chart.title, side)))
    says = _says(chart)
    marked = [trace for trace in chart.traces if trace.mark != "none"]
    key = tuple((_sample(trace), trace.name) for trace in marked) if chart.kind != "dose" else ()
    heads, rows = _table(chart)
    return ChartView(title, _svg(chart, f"{title}. {says}"), says, key, heads, rows)


class _Scale:
    """Where a date and a value lie in the drawing."""

    def __init__(self, chart: Chart) -> None:
        self.first, self.last = chart.span
        self.low, self.high = chart.ticks[0], chart.ticks[-1]
        steps = len(chart.ticks) - 1
        self.height = HEIGHT if chart.kind != "dose" else max(LOW_HEIGHT, TOP + BOTTOM + ROW * steps + ROW)

    def x(self, day: date) -> float:
        days = (self.last - self.first).days
        room = WIDTH - LEFT - RIGHT - 2 * INSET
        return round(LEFT + INSET + (room * (day - self.first).days / days if days else room / 2), 1)

    def y(self, value: float) -> float:
        room = self.height - TOP - BOTTOM
        share = (value - self.low) / (self.high - self.low) if self.high > self.low else 0.5
        return round(TOP + room * (1 - share), 1)


def _svg(chart: Chart, says: str) -> Markup:
    at = _Scale(chart)
    parts = [
        f'<svg class="chart" viewBox="0 0 {WIDTH} {at.height}" role="img" aria-label="{escape(says)}" '
        f'font-size="{LETTERS}" fill="currentColor">'
    ]
    for tick in chart.ticks:
        y = at.y(tick)
        parts.append(f'<path class="grid" d="M{LEFT} {y}H{WIDTH - RIGHT}" stroke="currentColor" stroke-width=".5"/>')
        parts.append(f'<text x="{LEFT - 6}" y="{y + 4.5}" text-anchor="end">{tick:g}</text>')
    bottom = at.height - BOTTOM
    for day in chart.visits:
        x = at.x(day)
        parts.append(f'<path d="M{x} {bottom}v5" stroke="currentColor" stroke-width="2"/>')
    parts += _dates(at)
    for day, before, after in chart.bars:
        parts.append(f'<path d="M{at.x(day)} {at.y(before)}V{at.y(after)}" stroke="currentColor" stroke-width="1.5"/>')
    for trace in chart.traces:
        parts += _trace(trace, at)
    return Markup("".join(parts) + "</svg>")


def _dates(at: _Scale) -> list[str]:
    """The first and the last date below the drawing; one alone in the middle."""
    y, years = at.height - 4, at.first.year != at.last.year
    if at.first == at.last:
        return [f'<text x="{at.x(at.first)}" y="{y}" text-anchor="middle">{_short(at.first, True)}</text>']
    return [
        f'<text x="{LEFT}" y="{y}">{_short(at.first, years)}</text>',
        f'<text x="{WIDTH - RIGHT}" y="{y}" text-anchor="end">{_short(at.last, years)}</text>',
    ]


def _trace(trace: Trace, at: _Scale) -> list[str]:
    places = [(at.x(day), at.y(value)) for day, value in trace.points]
    parts = []
    if trace.joined != "no" and len(places) > 1:
        (x, y), *rest = places
        path = f"M{x} {y}" + "".join(f"H{x}V{y}" if trace.joined == "stairs" else f"L{x} {y}" for x, y in rest)
        width = 3 if trace.joined == "stairs" else 1.5
        parts.append(
            f'<path d="{path}" fill="none" stroke="currentColor" stroke-width="{width}" stroke-linejoin="round"/>'
        )
    size = DOT if len(places) <= CROWD else SMALL_DOT
    parts += [_mark(trace.mark, x, y, size) for x, y in places if trace.mark != "none"]
    return parts


def _mark(mark: str, x: float, y: float, size: float = DOT) -> str:
    line = f'fill="none" stroke="currentColor" stroke-width="{2 if size == DOT else 1.2}"'
    if mark == "square":
        side = 2 * size - 1
        corner = f'x="{x - side / 2:g}" y="{y - side / 2:g}"'
        return f'<rect class="hole" {corner} width="{side:g}" height="{side:g}" {line}/>'
    if mark == "ring":
        return f'<circle class="hole" cx="{x}" cy="{y}" r="{size - 1:g}" {line}/>'
    return f'<circle cx="{x}" cy="{y}" r="{size - 0.5:g}"/>'


def _sample(trace: Trace) -> Markup:
    drawn = _mark(trace.mark, 7, 7)
    return Markup(f'<svg class="sample" viewBox="0 0 14 14" aria-hidden="true" fill="currentColor">{drawn}</svg>')


def _short(day: date, year: bool) -> str:
    return f"{day.day} {MONTHS[day.month - 1][:3]}" + (f" {day.year}" if year else "")


def _day(day: date, span: tuple[date, date]) -> str:
    return day_words(day, weekday=False, year=span[0].year != span[1].year)


def _says(chart: Chart) -> str:
    """The whole chart in sentences, as it is read out."""
    if chart.kind == "dose":
        return _doses(chart)
    if chart.kind == "marker":
        days = _by_day(chart)
        shown = days if len(days) <= MOST_SAID else [days[0], days[-1]]
        said = [sentence(f"{_day(day, chart.span)}: {words}") for day, words in shown]
        return " ".join([*said, *([f"{len(days)} dates in all."] if len(shown) < len(days) else [])])
    said = []
    for trace in chart.traces:
        values = [f"{value:g} on {_day(day, chart.span)}" for day, value in _ends(trace.points)]
        between = f" ({len(trace.points)} in all)" if len(trace.points) > len(values) else ""
        said.append(sentence(f"{trace.name}: {listed(values, joint='then')}{between}"))
    return " ".join(said)


def _ends(points: Sequence[tuple[date, float]]) -> list[tuple[date, float]]:
    """The first, the highest and the last of many points."""
    if len(points) <= 3:
        return list(points)
    high = max(points, key=lambda one: one[1])
    return sorted({points[0], high, points[-1]})


def _doses(chart: Chart) -> str:
    """Each step by its first day; of many steps the first, the highest and the last."""
    if sum(map(len, chart.stretches)) <= MOST_SAID:
        return sentence("; ".join(_stretch(steps, chart.span) for steps in chart.stretches))
    steps = [one for steps in chart.stretches for one in steps]
    high = max(one.rung for one in steps)
    return (
        f"Step {steps[0].rung} from {_day(steps[0].first, chart.span)}, at most step {high}, "
        f"step {steps[-1].rung} last, from {_day(steps[-1].first, chart.span)}; "
        f"last planned on {_day(steps[-1].last, chart.span)}."
    )


def _stretch(steps: Sequence[Step], span: tuple[date, date]) -> str:
    words = [f"step {step.rung} from {_day(step.first, span)}" for step in steps]
    return f"{listed(words, joint='then')}, last planned on {_day(steps[-1].last, span)}"


def _by_day(chart: Chart) -> list[tuple[date, str]]:
    found: dict[date, list[str]] = {}
    for trace in chart.traces:
        for day, value in trace.points:
            found.setdefault(day, []).append(f"{trace.name.split()[0]} {value:g} {chart.unit}")
    return [(day, ", ".join(words)) for day, words in sorted(found.items())]


def _table(chart: Chart) -> tuple[tuple[str, ...], tuple[tuple[str, ...], ...]]:
    """Heads and rows: a date a row and a trace a column; for a dose a step a row."""
    if chart.kind == "dose":
        steps = (
            (f"{one.rung}", dose_words(one.dose), _day(one.first, chart.span), _day(one.last, chart.span))
            for steps in chart.stretches
            for one in steps
        )
        return ("step", "dose", "from", "last planned"), tuple(steps)
    days = sorted({day for trace in chart.traces for day, _ in trace.points})
    columns = [dict(trace.points) for trace in chart.traces]
    unit = f" ({chart.unit})" if chart.unit else ""
    heads = ("date", *(f"{trace.name}{unit}" for trace in chart.traces))
    cells = tuple(
        (_day(day, chart.span), *(f"{column[day]:g}" if day in column else "–" for column in columns)) for day in days
    )
    return heads, cells
