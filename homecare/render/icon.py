"""The icon of the phone pages on a phone's screen: a ball at the top of the stairs, in the manner of our marks."""

from __future__ import annotations

import io
from itertools import pairwise

from PIL import Image, ImageDraw

GROUND, LINE = "#23566b", "#f7f3ea"
STAIRS = ((23.0, 71.0), (41.0, 71.0), (41.0, 57.0), (59.0, 57.0), (59.0, 43.0), (77.0, 43.0))
"""Corners of the stairs in hundredths of the icon; all of it lies within the middle 80 %, which every phone shows."""
WIDTH = 7.0
BALL = (68.0, 28.0, 9.0)
"""Centre and radius of the ball, which has come to the top, with a little air below it."""
FINER = 4
"""How many times finer it is drawn than it is kept, so that its edges are smooth."""


def icon_svg() -> bytes:
    """The icon as SVG, its corners rounded."""
    way = " ".join(f"{x:g},{y:g}" for x, y in STAIRS)
    x, y, radius = BALL
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 100 100"><rect width="100" height="100" rx="18" '
        f'fill="{GROUND}"/><polyline points="{way}" fill="none" stroke="{LINE}" stroke-width="{WIDTH:g}" '
        f'stroke-linecap="round" stroke-linejoin="round"/><circle cx="{x:g}" cy="{y:g}" r="{radius:g}" '
        f'fill="{LINE}"/></svg>\n'
    ).encode()


def icon_png(size: int) -> bytes:
    """The icon as a square PNG of so many pixels, filled to its edges: each phone cuts its own shape out of it."""
    scale = size * FINER / 100
    picture = Image.new("RGB", (size * FINER, size * FINER), GROUND)
    pen = ImageDraw.Draw(picture)
    for (x0, y0), (x1, y1) in pairwise(STAIRS):
        pen.line((x0 * scale, y0 * scale, x1 * scale, y1 * scale), LINE, round(WIDTH * scale))
    for x, y, radius in (*((x, y, WIDTH / 2) for x, y in STAIRS), BALL):
        pen.ellipse([(part + way * radius) * scale for way in (-1, 1) for part in (x, y)], LINE)
    stream = io.BytesIO()
    picture.resize((size, size), Image.Resampling.LANCZOS).save(stream, "PNG", optimize=True)
    return stream.getvalue()
