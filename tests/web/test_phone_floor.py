"""The oldest browsers that the phone pages are for: nothing there is newer, but where it may be missing."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
SOURCES = sorted([*(ROOT / "templates/phone").glob("*"), *(ROOT / "homecare/phone/static").glob("*")])
FLOOR = (15.0, 115, 100)
"""Safari of iPhones, Firefox, Chrome: of September 2021, July 2023 and March 2022."""
NEWEST: dict[str, tuple[str, float, float, float]] = {
    # What is used now, the newest of it.
    "inset:": (r"[ {;]inset:", 14.5, 66, 87),
    "gap in flex": (r"display: flex;[^}]*[ ;]gap:", 14.5, 63, 84),
    "AudioContext": (r"\bAudioContext\b", 14.5, 25, 35),
    "BigInt": (r"\bBigInt\(|\b\d+n\b", 14, 68, 67),
    "matchMedia's change": (r"calm\.addEventListener", 14, 55, 39),
    "replaceChildren": (r"\.replaceChildren\(", 14, 78, 86),
    ":is()": (r":is\(", 14, 78, 88),
    "matchAll": (r"\.matchAll\(", 13, 67, 73),
    "min(), max()": (r"\b(?:min|max)\(1?\d", 11.3, 75, 79),
    # Used, though newer: what FALLBACK says is there without it.
    ":focus-visible": (r":focus-visible", 15.4, 85, 86),
    "appearance": (r"(?<!-)appearance:", 15.4, 80, 84),
    "accent-color": (r"accent-color", 15.4, 92, 93),
    "hyphens": (r"(?<!-)hyphens:", 17, 43, 55),
    "wakeLock": (r"wakeLock", 16.4, 126, 84),
    # What comes to hand first when one writes more.
    "at()": (r"\.at\(", 15.4, 90, 92),
    "structuredClone": (r"structuredClone", 15.4, 94, 98),
    "Object.hasOwn": (r"Object\.hasOwn", 15.4, 92, 93),
    "findLast": (r"\.findLast", 15.4, 104, 97),
    "toSorted and its kin": (r"\.to(?:Sorted|Reversed|Spliced)\(|\]\.with\(", 16, 115, 110),
    "groupBy": (r"\.groupBy\(", 17.4, 119, 117),
    "withResolvers": (r"withResolvers", 17.4, 121, 119),
    "look-behind": (r"\(\?<[=!]", 16.4, 78, 62),
    "static blocks": (r"\bstatic \{", 16.4, 93, 94),
    "randomUUID": (r"randomUUID", 15.4, 95, 92),
    "AbortSignal.timeout": (r"AbortSignal\.timeout", 16, 100, 124),
    "dialog": (r"<dialog|showModal", 15.4, 98, 37),
    "inert": (r"\binert\b", 15.5, 112, 102),
    "popover": (r"popover", 18.3, 125, 114),
    ":has()": (r":has\(", 15.4, 121, 105),
    "nesting": (r"(?m)^\s*&|\{ &", 17.2, 117, 120),
    "color-mix()": (r"color-mix\(", 16.2, 113, 111),
    "light-dark()": (r"light-dark\(", 17.5, 120, 123),
    "@layer": (r"@layer", 15.4, 97, 99),
    "@container": (r"@container", 16, 110, 105),
    "dvh, svh, lvh": (r"\d[dsl]v[hw]\b", 15.4, 101, 108),
    "overflow: clip": (r"overflow(?:-[xy])?: clip", 16, 81, 90),
    "overflow-wrap: anywhere": (r"wrap: anywhere", 15.4, 65, 80),
    "text-wrap": (r"text-wrap", 17.4, 121, 114),
    "subgrid": (r"subgrid", 16, 71, 117),
    "ranges of media": (r"@media[^{]*[<>]=?", 16.4, 102, 104),
}
"""A name, what to look for, and the first Safari of iPhones, Firefox and Chrome that know it without a prefix and in
full: @mdn/browser-compat-data 8.1.9 of November 2026, read."""
FALLBACK = {
    ":focus-visible": "the browser's own ring",
    "appearance": "with its prefix beside it, and that is older",
    "accent-color": "the browser's own colour of a ticked box",
    "hyphens": "with its prefix beside it, and that is older",
    "wakeLock": "asked for only where it is, and without it the page says what happens",
}


@pytest.mark.parametrize("name", NEWEST)
def test_nothing_is_newer_than_the_oldest_browsers(name: str) -> None:
    looked_for, *versions = NEWEST[name]
    found = [path.name for path in SOURCES if re.search(looked_for, path.read_text())]
    newer = any(first > floor for first, floor in zip(versions, FLOOR, strict=True))
    if newer and name not in FALLBACK:
        assert found == [], f"{name} needs {versions}, and the floor is {FLOOR}"
    if name in FALLBACK:
        assert newer, "it is no longer newer than the floor"
        assert found, "it is no longer used"


def test_the_net_catches() -> None:
    """A line of each newer kind, as one would write it, is seen."""
    lines = (
        "list.at(-1)",
        "const b = structuredClone(a);",
        "list.toSorted()",
        "/(?<=a)b/",
        "li:has(b) { color: red; }",
        "p { & b { color: red; } }",
        "height: 100dvh;",
        "@media (width >= 40rem) {",
        "[1].with(0, 2)",
    )
    kinds = [looked_for for looked_for, *_ in NEWEST.values()]
    assert [line for line in lines if not any(re.search(one, line) for one in kinds)] == []


def test_styles_with_a_prefix_are_said_for_all() -> None:
    style = (ROOT / "templates/phone/phone.css").read_text()
    for name in ("hyphens", "appearance"):
        assert len(re.findall(rf"-webkit-{name}:", style)) == len(re.findall(rf"(?<!-){name}:", style)) > 0
