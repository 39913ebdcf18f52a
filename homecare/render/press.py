"""HTML of our own templates to tagged PDF: Typst lays it out by the .typ files beside them, which are paper's style."""

from __future__ import annotations

import base64
import hashlib
import json
import re
from collections.abc import Mapping
from functools import lru_cache
from io import BytesIO
from threading import Lock
from typing import Any, Literal

import typst
from PIL import Image

from homecare.core.problems import InputFault, Problem, Source
from homecare.resources import resource_dir
from homecare.typeface import LETTERS_HINT, font_folder, printable, strangers

Paper = Literal["a4", "letter"]

_VOID = re.compile(r"<((?:br|img|link|meta|wbr)\b[^>]*?)/?>")
"""Elements that HTML leaves open; the templates escape every > in what they are given."""
_UNPRINTABLE = re.compile("[\0-\x08\x0b\x0c\x0e-\x1f\ufffe\uffff\ud800-\udfff]")
"""Characters that XML may not hold (XML 1.0, 2.2, from memory); none of them shows on paper."""
_PICTURE = re.compile(r'src="data:image/([a-z+]+);base64,([^"]+)"')
_WIDE = re.compile(rb'<svg[^>]* width="([\d.]+)mm"')
_ROW_HEAD = re.compile(rb"/S/TD(/P \d+ 0 R/A\[<</O/Table)(/Headers\[\(U\d+x0y0\)\])")
"""A cell of the first column in a tagged PDF as Typst writes it, with the name of its column's head."""

_COUNT = re.compile(rb"/Type/Pages/Count (\d+)")
_LEAF, _SIDE = ' class="leaf"', re.compile('<section class="(?:front|back|letter)[" ]')
"""How the templates mark a sheet that is meant for one leaf, and each part of it that is meant for a page."""

_FEW = 4
"""Of so many pages one less is worth less air."""

_GENERATIONS = 11
"""After so many other documents the compiler drops what it kept of one (measured: at ten it is still there)."""

_AGED = 5
"""Empty documents after each sheet: the next print of a draft still finds the last one, and no more is kept."""

_printing = Lock()
"""One print at a time: the compiler keeps what it drew before, and has one state."""


def printed(html: str, paper: Paper = "a4", large: bool = False) -> bytes:
    """A page of our own templates as PDF/UA-1: the same bytes for the same HTML, paper and size of print, on any day.

    Letters that the typeface has not give way to near ones; InputFault names those that have none, for an empty box
    would say nothing.
    """
    unknown = strangers(html)
    if unknown:
        raise InputFault([Problem(Source("the sheet"), "letters", f"no letters for {' '.join(unknown)}", LETTERS_HINT)])
    page, pictures = _apart(printable(html))
    files = {**styles(), **pictures, "page.xml": page}

    def laid_out(**how: bool) -> bytes:
        asked = json.dumps(
            {"paper": paper, "large": large, "sure": True, "close": False, "spread": False} | how
        ).encode()
        return compiled({**files, "how.json": asked}, "print/print.typ")

    sides = len(_SIDE.findall(html)) if _LEAF in html and not large else 0
    pdf = laid_out(sure=not sides)
    if sides and _pages(pdf) != sides:  # a side runs over: only now is it worth to measure each before it is set
        pdf = laid_out()
        if _pages(pdf) > sides:  # no leaf then: as much air as its pages have
            roomy = laid_out(spread=True)
            pdf = roomy if _pages(roomy) <= _pages(pdf) else pdf
    elif not sides and not large and 1 < _pages(pdf) <= _FEW:
        close = laid_out(close=True)
        pdf = close if _pages(close) < _pages(pdf) else pdf
    _forget(_GENERATIONS if _pages(pdf) > _FEW else _AGED)
    return _with_row_heads(pdf)


def _forget(generations: int) -> None:
    """Let the compiler see so many empty documents: it drops what it kept of a sheet, some 80 MB of a long one."""
    for _ in range(generations):
        compiled({"none.typ": b""}, "none.typ", tagged=False)


def _pages(pdf: bytes) -> int:
    found = _COUNT.search(pdf)
    return int(found[1]) if found else 0


def compiled(files: Mapping[str, bytes], main: str, tagged: bool = True) -> bytes:
    """A Typst document as PDF, to PDF/UA-1 where it is `tagged`, from its files by their paths; nothing else is read.

    RuntimeError tells of what Typst refuses or warns of: it would show on paper.
    """
    given: Any = {**files, "main.typ": f'#include "{main}"'.encode()}  # its types know of one file alone
    standards: list[Literal["ua-1"]] = ["ua-1"] if tagged else []
    with _printing:
        pdf, warnings = _compiler().compile_with_warnings(given, format="pdf", pdf_standards=[*standards], timestamp=0)
    if warnings:
        raise RuntimeError("; ".join(warning.message for warning in warnings))
    if not isinstance(pdf, bytes):
        raise TypeError("a PDF is one file")
    return pdf


@lru_cache(maxsize=1)
def _compiler() -> typst.Compiler:
    fonts = typst.Fonts(include_system_fonts=False, include_embedded_fonts=False, font_paths=[font_folder()])
    return typst.Compiler(font_paths=fonts)


@lru_cache(maxsize=1)
def styles() -> dict[str, bytes]:
    """Paper's style and the marks that it draws, by their paths."""
    top = resource_dir("templates")
    paths = [*top.glob("print/*.typ"), *top.glob("marks/*.svg")]
    return {path.relative_to(top).as_posix(): path.read_bytes() for path in paths}


def _apart(html: str) -> tuple[bytes, dict[str, bytes]]:
    """A page as XML, which our own sound HTML nearly is, and the pictures that stood in it, by their paths."""
    pictures: dict[str, bytes] = {}

    def keep(found: re.Match[str]) -> str:
        kind, packed = found.groups()
        content = base64.b64decode(packed)
        svg = content if kind == "svg+xml" else _framed(kind, packed, content)
        name = f"{hashlib.sha256(svg).hexdigest()[:20]}.svg"
        pictures[f"print/{name}"] = svg
        wide = _WIDE.match(svg)
        return f'src="{name}"' + (f' wide="{wide[1].decode()}"' if wide else "")

    sound = _VOID.sub(r"<\1/>", _UNPRINTABLE.sub("", html).partition("<!doctype html>")[2].strip())
    return _PICTURE.sub(keep, sound).encode(), pictures


def _framed(kind: str, packed: str, content: bytes) -> bytes:
    """A photograph or logo in the frame of an SVG of its size, since the compiler takes no file but text."""
    with Image.open(BytesIO(content)) as picture:
        wide, high = picture.size
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{wide}" height="{high}">'
        f'<image width="{wide}" height="{high}" href="data:image/{kind};base64,{packed}"/></svg>'
    ).encode()


def _with_row_heads(pdf: bytes) -> bytes:
    """The first cell of each row of a table as its head, for which Typst has no words yet; no byte moves by it."""
    return _ROW_HEAD.sub(lambda found: b"/S/TH" + found[1] + b"/Scope/Row".ljust(len(found[2])), pdf)
