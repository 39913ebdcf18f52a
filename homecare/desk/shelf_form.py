"""A drill's record as a form, and back: what was not touched is written as it stood."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from homecare.core.drill import Drill
from homecare.desk.form import Form
from homecare.desk.shelf_pose import pose_fields, written_pose
from homecare.desk.shelf_scene import listed, scene_fields, written_scene
from homecare.library.load import Library
from homecare.library.names import fold

Content = Mapping[str, object]
ORDER = (
    *("code", "name", "clinical", "address", "kind", "tissues", "part", "paired", "region", "reach", "ladder"),
    *("claims", "kit", "traits", "not_with", "strains", "figure", "easier", "harder"),
    *("steps", "feel", "not_feel", "mistakes", "stop_if", "source"),
)
"""The keys of a record in the order in which they are written."""
FIGURE_ORDER = (
    *("from", "start", "end", "contacts", "start_contacts", "end_contacts", "held", "free", "surfaces"),
    *("arrows", "targets", "view", "crop", "show"),
)
TEXTS = (
    *("code", "name", "clinical", "address", "kind", "part", "region", "ladder", "claims"),
    *("feel", "not_feel", "stop_if"),
)
CHOSEN = ("kit", "traits", "not_with")
LINES = ("steps", "mistakes")
DEFAULTS = {"paired": "true", "reach": "full"}
FIGURE_DEFAULTS = {"show": "auto", "view": "side", "crop": ""}
COMMON = "common practice"


@dataclass(frozen=True)
class Names:
    """How a person names the records that a drill refers to, and how these names lead back to ids."""

    library: Library

    def tissue(self, key: str) -> str:
        """A tissue or group as one reads it, in words that stand in a list with commas."""
        tissue = self.library.atlas.tissues.get(key)
        return tissue.name if tissue and "," not in tissue.name else key.replace("_", " ")

    def tissue_id(self, name: str) -> str:
        """The id that a name leads to; the name itself where it leads nowhere."""
        return self.library.names.find("tissues", name) or name

    def drill(self, key: str) -> str:
        """A drill as it is printed."""
        drill = self.library.drills.get(key)
        return drill.name if drill else key

    def drill_id(self, name: str) -> str:
        """The id of the drill of that printed name or id."""
        wanted = fold(name)
        found = (one.id for one in self.library.drills.values() if wanted in (fold(one.name), one.id))
        return next(found, name)

    def site(self, key: str) -> str:
        """A site as one reads it, in words that stand in a list with commas."""
        site = self.library.atlas.sites.get(key)
        return site.name if site and "," not in site.name else key.replace("_", " ")

    def site_id(self, name: str) -> str:
        """The id of the site of that name or id."""
        wanted = fold(name)
        found = (one.id for one in self.library.atlas.sites.values() if wanted in (fold(one.name), one.id))
        return next(found, name)


def drill_form(content: Content, names: Names) -> Form:
    """A record as the form that would write it."""
    values: dict[str, tuple[str, ...]] = {key: (str(content.get(key, "")),) for key in TEXTS}
    values |= {key: (str(content.get(key, default)),) for key, default in DEFAULTS.items()}
    values |= {key: listed(content.get(key)) for key in CHOSEN}
    values |= {key: ("\n".join(listed(content.get(key))),) for key in LINES}
    values["tissues"] = (", ".join(map(names.tissue, listed(content.get("tissues")))),)
    values["strains"] = (", ".join(map(names.site, listed(content.get("strains")))),)
    values |= {key: (names.drill(str(content[key])) if content.get(key) else "",) for key in ("easier", "harder")}
    source = content.get("source", COMMON)
    mark, cite = (source.get("mark", ""), source.get("cite", "")) if isinstance(source, Mapping) else (source, "")
    values |= {"source-mark": (str(mark),), "source-cite": (str(cite),)}
    figure = content.get("figure")
    return Form(values | _figure_form(figure if isinstance(figure, Mapping) else {}, names))


def _figure_form(figure: Content, names: Names) -> dict[str, tuple[str, ...]]:
    values: dict[str, tuple[str, ...]] = {"from": (str(figure.get("from", "")),)}
    start, end = figure.get("start"), figure.get("end")
    values["moves"] = ("true",) if isinstance(start, Mapping) else ()
    fields = pose_fields("start", start if isinstance(start, Mapping) else {})
    fields |= pose_fields("end", end if isinstance(end, Mapping) else {})
    values |= fields
    values |= scene_fields(figure)
    values["targets"] = (", ".join(map(names.tissue, listed(figure.get("targets")))),)
    values |= {key: (str(figure.get(key, FIGURE_DEFAULTS[key])),) for key in ("show", "crop")}
    view = figure.get("view", FIGURE_DEFAULTS["view"])
    values["view"] = (", ".join(listed(view)),)
    return values


def drill_content(form: Form, base: Content, names: Names, clamped: bool = False) -> dict[str, object]:
    """The record that a form writes; each key that says what it said in `base` stays as it was written there.

    `clamped` brings the angles of its pose into their ranges, as for a figure that is drawn while one types.
    """
    found: dict[str, object] = {key: form.one(key) for key in TEXTS}
    found |= {key: form.one(key) if form.one(key) != default else "" for key, default in DEFAULTS.items()}
    found |= {key: list(form.many(key)) for key in CHOSEN}
    found |= {key: _lines(form.one(key)) for key in LINES}
    found["tissues"] = [names.tissue_id(one) for one in commas(form.one("tissues"))]
    found["strains"] = [names.site_id(one) for one in commas(form.one("strains"))]
    found |= {key: names.drill_id(form.one(key)) if form.one(key) else "" for key in ("easier", "harder")}
    mark, cite = form.one("source-mark"), form.one("source-cite")
    found["source"] = COMMON if mark == COMMON else {"mark": mark, "cite": cite} if mark or cite else ""
    before = drill_form(base, names)
    under = base.get("figure")
    found["figure"] = _figure(form, before, under if isinstance(under, Mapping) else {}, names, clamped)
    for key in DEFAULTS:
        if form.one(key) == before.one(key) and key in base:
            found[key] = base[key]
    return _in_order(found, base, ORDER)


def _figure(form: Form, before: Form, base: Content, names: Names, clamped: bool) -> dict[str, object]:
    found: dict[str, object] = {"from": form.one("from")}
    for phase in ("start", "end") if form.many("moves") else ("end",):
        same = not clamped and _pose(form, phase) == _pose(before, phase) and phase in base
        found[phase] = base[phase] if same else written_pose(form, phase, clamped)
    found |= written_scene(form, base)
    found["targets"] = [names.tissue_id(one) for one in commas(form.one("targets"))]
    view = commas(form.one("view"))
    found["view"] = view if len(view) > 1 else form.one("view")
    found |= {key: form.one(key) for key in ("crop", "show")}
    for key, default in FIGURE_DEFAULTS.items():
        if found[key] == default and key not in base:
            found[key] = ""
    # A drill that starts in its posture has a start without a word of its own.
    kept = ("start",) if form.many("moves") else ()
    return _in_order(found, base, FIGURE_ORDER, (*kept, "end"))


def _pose(form: Form, phase: str) -> dict[str, str]:
    return {name: form.one(name) for name in form.values if name.startswith(f"{phase}-") and form.one(name)}


def _in_order(found: Content, base: Content, order: Iterable[str], kept: Iterable[str] = ()) -> dict[str, object]:
    """What is said, in the order of the record it was; what says nothing is left out, but for the keys in `kept`."""
    rest = [key for key in order if key not in base]
    stays = frozenset(kept)
    return {key: found[key] for key in (*base, *rest) if key in found and (found[key] or key in stays)}


def free_code(library: Library, used: Iterable[str]) -> str:
    """A short code that no drill has or had: the first free pair or triple of letters."""
    taken = {drill.code for drill in library.drills.values()} | set(used)
    letters = "ABCDEFGHJKLMNPRSTUVWXYZ"  # without I, O and Q, which are misread
    triples = (f"{one}{two}{three}" for one in letters for two in letters for three in letters)
    return next(code for code in triples if code not in taken)


def copied(drill: Drill, content: Content, code: str) -> dict[str, object]:
    """A record to begin a new drill from: what tells one drill from another is left empty, the code is a free one."""
    blank = {"code": code, "name": "", "address": "", "clinical": f"{drill.clinical}, changed"}
    return {**{key: value for key, value in content.items() if key not in ("easier", "harder")}, **blank}


def plain_address(name: str) -> str:
    """The address of a name: small words joined by hyphens."""
    return fold(name).replace("_", "-")


def _lines(text: str) -> list[str]:
    return [line.strip() for line in text.split("\n") if line.strip()]


def commas(text: str) -> list[str]:
    """The parts of a list with commas."""
    return [part.strip() for part in re.split(r"[,;\n]", text) if part.strip()]
