"""One tissue on the terminal: all that the library knows of it, its links, its sites and its drills."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Iterator, Mapping

from homecare.core.atlas import LinkKind, Site
from homecare.core.plain import listed, sentence
from homecare.library.describe import Known, Tie
from homecare.library.load import Library

WIDTH = 100

LINK_WORDS: Mapping[LinkKind, tuple[str, str]] = {
    "does_work_of": ("does the work of", "its work is done by"),
    "shares_fascia_with": ("shares fascia with", "shares fascia with"),
    "opposes": ("opposes", "is opposed by"),
    "crossed_by_nerve": ("is crossed by", "crosses"),
    "follows": ("follows in the chain", "is followed in the chain by"),
}
"""How a link reads from the tissue it is written with, and from its other end."""


def tissue_text(one: Known, library: Library) -> str:
    """What is known of a tissue as text of at most 100 columns; parts with nothing to say are left off."""
    tissue, atlas = one.tissue, library.atlas
    also = f" Also: {', '.join(tissue.also)}." if tissue.also else ""
    lines = [f"{tissue.name} ({tissue.id}), {tissue.kind}", *_fact("", f"{sentence(tissue.plain)}{also}")]
    for label, ids in (
        ("Group", one.groups),
        ("Crosses", tissue.crosses),
        ("Moves", tissue.actions),
        ("Served by", tissue.nerves),
        ("Roots", tissue.roots),
        ("Continues from", (tissue.follows,) if tissue.follows else ()),
        ("Continued by", one.branches),
        ("Serves", one.muscles),
        ("Forms the sites", tuple(site.id for site in one.passed_by)),
    ):
        lines += _fact(label, ", ".join(map(_words, ids)))
    for label, zones in (("Skin, core", tissue.core), ("Skin, edge", tissue.outer)):
        lines += _fact(label, ", ".join(atlas.zones[zone].plain for zone in zones))
    bed = sorted((tissue.bed or {}).items(), key=lambda part: -part[1].share)
    lines += _fact("Lengthened by", ", ".join(f"{_words(key)} {part.share:.2f}" for key, part in bed if part.share > 0))
    lines += _fact("Slackened by", ", ".join(f"{_words(key)} {part.share:.2f}" for key, part in bed if part.share < 0))
    lines += _fact("Key point", tissue.key_point) + _fact("Key muscle", tissue.key_muscle)
    lines += _fact("Tables differ", tissue.clash) + _fact("Refer", tissue.refer)
    for kind, because in tissue.not_at_home.items():
        lines += _fact(f"No {kind} at home", because)
    lines += _fact("Note", tissue.note) + _fact("Source", str(tissue.source))
    lines += _part("Links", (_tie(tie) for tie in one.ties))
    lines += _part("Sites, from the spine outward", (_site(site, library) for site in one.sites))
    lines += _part("Tests", ([library.tests[key].name, library.tests[key].how] for key in one.tests))
    lines += _part("Markers", ([library.markers[key].name, library.markers[key].how] for key in one.markers))
    lines += _part("Habits", ([library.habits[key].words] for key in one.habits))
    return "\n".join(lines)


def _words(key: str) -> str:
    return key.replace("_", " ")


def _fact(label: str, text: str) -> list[str]:
    if not text:
        return []
    lead = f"  {label}: " if label else "  "
    return [textwrap.fill(" ".join(text.split()), WIDTH, initial_indent=lead, subsequent_indent="    ")]


def _part(title: str, entries: Iterable[list[str]]) -> Iterator[str]:
    lines = []
    for first, *rest in entries:
        lines += [textwrap.fill(first, WIDTH, initial_indent="- ", subsequent_indent="  ")]
        lines += [line for one in rest for line in _fact("", one)]
    if lines:
        yield ""
        yield title
        yield from lines


def _tie(tie: Tie) -> list[str]:
    link = tie.link
    says = LINK_WORDS[link.kind][1 if tie.from_other else 0]
    return [f"{says} {_words(tie.other)}: {link.says} ({link.strength}; {link.evidence})"]


def _site(site: Site, library: Library) -> list[str]:
    worse = listed([library.worse_with[one].plain for one in site.worse_with])
    tests = "; ".join(library.tests[one].name for one in site.tests)
    against = "; ".join(library.tests[one].name for one in site.tests_against)
    ache = listed([library.atlas.zones[one].plain for one in site.ache])
    return [
        f"{site.name} ({site.id}): {site.plain}",
        *([f"Formed by {listed([_words(one) for one in site.formed_by])}."] if site.formed_by else []),
        *([f"Worse with {worse}."] if worse else []),
        *([f"Tests for it: {tests}."] if tests else []),
        *([f"Tests against it: {against}."] if against else []),
        *([f"An ache is felt in the {ache}."] if ache else []),
        *([site.evidence] if site.evidence else []),
        f"Source: {site.source}",
    ]
