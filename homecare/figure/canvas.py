"""Collects the parts of a picture: neighbouring fills of one colour and the strokes of the body become few paths."""

from __future__ import annotations

from homecare.figure import palette
from homecare.figure.svg import width

_THINGS = f'<g stroke="{palette.PROP_INK}" stroke-width="{width(palette.PROP_MM)}">'


class Canvas:
    """SVG in the making. Strokes wait and lie over all fills: where a later fill hides one it is never given."""

    def __init__(self) -> None:
        self._parts: list[str] = []
        self._tint = ""
        self._fills: list[str] = []
        self._strokes: list[str] = []

    def fill(self, tint: str, shape: str) -> None:
        """Add a filled shape without a stroke."""
        if tint != self._tint:
            self._close_fill()
            self._tint = tint
        self._fills.append(shape)

    def both(self, tint: str, shape: str) -> None:
        """Add a filled shape that nothing covers, with its whole stroke."""
        self._close_fill()
        self._parts.append(f'<path fill="{tint}" d="{shape}"/>')

    def stroke(self, shape: str) -> None:
        """Add a stroke in the colour and width of the group."""
        if shape:
            self._strokes.append(shape)

    def raw(self, text: str) -> None:
        """Add SVG as it stands, above the fills so far."""
        if text:
            self._close_fill()
            self._parts.append(text)

    def prop(self, text: str) -> None:
        """Add SVG of a thing, in the thinner stroke of things."""
        if text:
            self._close_fill()
            closing = "</g>"
            if self._parts and self._parts[-1].startswith(_THINGS):
                self._parts[-1] = self._parts[-1].removesuffix(closing) + text + closing
            else:
                self._parts.append(_THINGS + text + closing)

    def flush(self) -> None:
        """Write the strokes that wait, so that what follows lies over them."""
        self._close_fill()
        if self._strokes:
            self._parts.append(f'<path d="{"".join(self._strokes)}"/>')
            self._strokes = []

    def text(self) -> str:
        """All of it as SVG."""
        self.flush()
        return "".join(self._parts)

    def _close_fill(self) -> None:
        if self._fills:
            self._parts.append(f'<path fill="{self._tint}" stroke="none" d="{"".join(self._fills)}"/>')
            self._fills = []
