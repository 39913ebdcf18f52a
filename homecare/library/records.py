"""One reader a section: a YAML mapping becomes a typed record, faults noted at their line."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Literal, cast, get_args

from homecare.core.atlas import (
    REGIONS,
    BedMotion,
    ClinicTest,
    FiringOrder,
    Group,
    Link,
    LinkKind,
    MarkerTest,
    Site,
    Strength,
    Tissue,
    TissueKind,
    Word,
    Zone,
)
from homecare.core.drill import KINDS, MOTIONS, Caution, Flag, Habit, Kind, Outlook, Stops, Weight
from homecare.core.findings import Symptom
from homecare.library.figures import read_posture
from homecare.library.ladders import read_ladder
from homecare.library.lengths import read_length
from homecare.library.nodes import Fields
from homecare.library.photos import read_photo
from homecare.library.reading import read_drill, read_mark
from homecare.library.surfaces import read_surface


def _links(fields: Fields) -> tuple[Link, ...]:
    node = fields.node_of("links")
    found = []
    for item in fields.reader.sequence(node) if node else ():
        inner = Fields(fields.reader, item, "the link")
        kinds = [kind for kind in get_args(LinkKind) if inner.given(kind)]
        if len(kinds) != 1:
            fields.reader.fault(item, "link", "a link needs one kind", "one of " + ", ".join(get_args(LinkKind)))
        for kind in kinds[:1]:
            to = inner.ref(kind, "tissues", "groups") or ""
            strength = cast(Strength, inner.choice("strength", get_args(Strength)))
            mark = read_mark(inner, "evidence")
            found.append(Link(cast(LinkKind, kind), to, inner.text("says"), strength, mark))
        inner.finish()
    return tuple(found)


def _bed(fields: Fields) -> Mapping[str, BedMotion] | None:
    node = fields.node_of("bed")
    if node is None:
        return None
    found = {}
    for motion, motion_node, value in fields.reader.pairs(node, "'bed'"):
        if fields.reader.choice(motion_node, "a motion", MOTIONS) is None:
            continue
        inner = Fields(fields.reader, value, f"'bed' of {motion}")
        found[motion] = BedMotion(inner.number("full", 1, 180), inner.number("share", -1, 1))
        inner.finish()
    return found


def _not_at_home(fields: Fields) -> Mapping[str, str]:
    node = fields.node_of("not_at_home")
    if node is None:
        return {}
    inner = Fields(fields.reader, node, "'not_at_home'")
    found = {kind: inner.text(kind, "") for kind in KINDS}
    inner.finish()
    return {kind: because for kind, because in found.items() if because}


def read_tissue(fields: Fields, key: str) -> Tissue:
    """A tissue of any kind; zones, bed and roots are for nerves and roots, joints and actions for muscles."""
    return Tissue(
        id=key,
        kind=cast(TissueKind, fields.choice("kind", get_args(TissueKind))),
        name=fields.text("name"),
        plain=fields.text("plain"),
        region=fields.choice("region", REGIONS),
        source=read_mark(fields),
        where=fields.reader.place(fields.node),
        paired=fields.flag("paired", True),
        also=fields.texts("also"),
        crosses=fields.refs("crosses", "tissues"),
        actions=fields.choices("actions", MOTIONS),
        nerves=fields.refs("nerves", "tissues"),
        roots=fields.refs("roots", "tissues"),
        links=_links(fields),
        core=fields.refs("core", "zones"),
        outer=fields.refs("outer", "zones"),
        follows=fields.ref("follows", "tissues"),
        leaves_after=fields.ref("leaves_after", "sites"),
        bed=_bed(fields),
        key_point=fields.text("key_point", ""),
        key_muscle=fields.text("key_muscle", ""),
        note=fields.text("note", ""),
        clash=fields.text("clash", ""),
        refer=fields.text("refer", ""),
        not_at_home=_not_at_home(fields),
    )


def read_site(fields: Fields, key: str) -> Site:
    """A site on the path of a nerve or at a root's opening."""
    return Site(
        id=key,
        of=fields.ref("of", "tissues", needed=True) or "",
        name=fields.text("name"),
        plain=fields.text("plain"),
        order=fields.whole("order", 1, 50),
        region=fields.choice("region", REGIONS),
        formed_by=fields.refs("formed_by", "tissues", "groups"),
        worse_with=fields.refs("worse_with", "worse_with"),
        tests=fields.refs("tests", "tests"),
        source=read_mark(fields),
        where=fields.reader.place(fields.node),
        evidence=fields.text("evidence", ""),
        tests_against=fields.refs("tests_against", "tests"),
        ache=fields.refs("ache", "zones"),
    )


def read_zone(fields: Fields, key: str) -> Zone:
    """A patch of skin."""
    place = fields.reader.place(fields.node)
    return Zone(key, fields.text("plain"), fields.choice("region", REGIONS), place, fields.texts("also"))


def read_word(fields: Fields, key: str) -> Word:
    """A word of a small vocabulary."""
    return Word(key, fields.text("plain"), fields.texts("also"))


def read_group(fields: Fields, key: str) -> Group:
    """A group of tissues."""
    members = fields.refs("members", "tissues", least=1)
    return Group(key, fields.text("plain"), members, fields.texts("also"))


def read_test(fields: Fields, key: str) -> ClinicTest:
    """A test that a visit may record."""
    nerves, roots = fields.refs("nerves", "tissues"), fields.refs("roots", "tissues")
    return ClinicTest(
        id=key,
        name=fields.text("name"),
        nerves=nerves,
        roots=roots,
        how=fields.text("how"),
        source=read_mark(fields),
        if_positive=fields.number("if_positive", 0, 2, 1.0),
        if_negative=fields.number("if_negative", 0, 2, 1.0),
    )


def read_firing(fields: Fields, key: str) -> FiringOrder:
    """An expected firing order."""
    expected = fields.refs("expected", "tissues", "groups", least=1)
    return FiringOrder(key, fields.text("name"), expected, fields.text("says"), read_mark(fields))


def read_marker(fields: Fields, key: str) -> MarkerTest:
    """A marker's unit, sense and smallest change."""
    better = cast(Literal["higher", "lower"], fields.choice("better", ("higher", "lower")))
    smallest = fields.number("smallest_change", 0, 1000)
    tissues = fields.refs("tissues", "tissues", "groups")
    name, unit, how = fields.text("name"), fields.text("unit"), fields.text("how")
    return MarkerTest(key, name, unit, better, smallest, tissues, how, read_mark(fields))


def _stops(fields: Fields) -> tuple[Stops, ...]:
    node = fields.need("stops")
    found = []
    for item in fields.reader.sequence(node) if node else ():
        inner = Fields(fields.reader, item, "an entry of 'stops'")
        kinds = cast(tuple[Kind, ...], inner.choices("kinds", get_args(Kind)))
        found.append(Stops(kinds, inner.choices("regions", REGIONS | {"found"}), inner.refs("traits", "traits")))
        inner.finish()
    return tuple(found)


def read_caution(fields: Fields, key: str) -> Caution:
    """A caution with what it stops."""
    return Caution(
        id=key,
        name=fields.text("name"),
        athlete=fields.text("athlete"),
        stops=_stops(fields),
        because=fields.text("because"),
        source=read_mark(fields),
        raises=fields.ref("raises", "flags"),
        not_today=fields.flag("not_today", False),
        also=fields.texts("also"),
    )


def read_flag(fields: Fields, key: str) -> Flag:
    """A flag with its urgency and what it stops."""
    return Flag(
        id=key,
        ask=fields.text("ask"),
        urgency=cast(Literal["now", "soon"], fields.choice("urgency", ("now", "soon"))),
        stops=_stops(fields),
        because=fields.text("because"),
        athlete=fields.text("athlete"),
        source=read_mark(fields),
        zones=fields.refs("zones", "zones"),
        symptoms=fields.choices("symptoms", get_args(Symptom)),
        both_sides=fields.flag("both_sides", False),
        asked_for=fields.choices("asked_for", REGIONS),
        also=fields.texts("also"),
    )


def read_habit(fields: Fields, key: str) -> Habit:
    """A habit to ease off."""
    sites, tissues = fields.refs("sites", "sites"), fields.refs("tissues", "tissues", "groups")
    worse_with = fields.refs("worse_with", "worse_with")
    return Habit(key, fields.text("words"), sites, tissues, worse_with, fields.texts("changed"), read_mark(fields))


def read_outlook(fields: Fields, key: str) -> Outlook:
    """The outlook of a kind of finding."""
    return Outlook(key, fields.whole("days", 1, 84), read_mark(fields))


def read_weight(fields: Fields, key: str) -> Weight:
    """The weight of one kind of evidence."""
    return Weight(key, fields.number("weight", -1, 1), fields.text("says"), read_mark(fields))


SECTIONS: Mapping[str, Callable[[Fields, str], object]] = {
    "tissues": read_tissue,
    "sites": read_site,
    "drills": read_drill,
    "ladders": read_ladder,
    "zones": read_zone,
    "worse_with": read_word,
    "kit": read_word,
    "traits": read_word,
    "glossary": read_word,
    "tests": read_test,
    "groups": read_group,
    "firing_orders": read_firing,
    "markers": read_marker,
    "cautions": read_caution,
    "flags": read_flag,
    "habits": read_habit,
    "outlook": read_outlook,
    "evidence": read_weight,
    "postures": read_posture,
    "surfaces": read_surface,
    "lengths": read_length,
    "photos": read_photo,
}
"""Every section a library file may hold, with its reader."""
