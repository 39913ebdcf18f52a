"""The parts of a visit that name records of the library: findings, markers, picks and doses."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import Any, cast, get_args

import yaml

from homecare.core.atlas import FOUND_BY_KIND, Found, Side
from homecare.core.drill import DOSE_LIMITS, Irritability
from homecare.core.findings import (
    DEFAULTS,
    Change,
    FiringFinding,
    Marker,
    Pick,
    Result,
    SetDose,
    Symptom,
    SymptomFinding,
    TestFinding,
    TissueFinding,
)
from homecare.core.problems import did_you_mean
from homecare.library.load import Library
from homecare.library.nodes import Fields, Reader

SIDES = ("left", "right", "both", "none")
DOSE_BOUNDS = {key: DOSE_LIMITS[key] for key in ("sets", "reps", "hold_s", "tempo_s", "times")}
MIDLINE_ZONES = {"neck", "saddle"}


class VisitReader:
    """Reads the fields of one visit against a library; collects the defaults that were used."""

    def __init__(self, reader: Reader, fields: Fields, library: Library) -> None:
        self.reader, self.fields, self.library = reader, fields, library
        self.defaults: dict[str, object] = {}

    def default(self, key: str) -> object:
        """The default of a key, noted as used."""
        self.defaults[key] = DEFAULTS[key]
        return DEFAULTS[key]

    def none(self, key: str) -> tuple[str, ...]:
        """An empty list for a key whose default is none."""
        self.default(key)
        return ()

    def short(self, key: str, letters: int, needed: bool = False) -> str:
        """A text of at most so many letters."""
        text = self.fields.text(key, None if needed else "")
        node = self.fields.node_of(key)
        if node is not None and len(text) > letters:
            self.reader.fault(node, "long", f"{key!r} has {len(text)} letters; at most {letters} fit the paper")
        return text

    def nodes(self, key: str, fields: Fields | None = None) -> list[yaml.Node]:
        """The items of a list under a key; one value alone counts as a list of one."""
        node = (fields or self.fields).node_of(key)
        return [] if node is None else self.reader.sequence(node)

    def day(self, key: str, needed: bool = False) -> date | None:
        """A date."""
        node = self.fields.need(key) if needed else self.fields.node_of(key)
        return None if node is None else self.reader.day(node, f"{key!r}")

    def days(self, key: str) -> tuple[date, ...]:
        """A date or a list of dates, in order."""
        found = [self.reader.day(node, f"{key!r}") for node in self.nodes(key)]
        return tuple(sorted({day for day in found if day}))

    def ids(self, key: str, records: Mapping[str, object], fields: Fields | None = None) -> tuple[str, ...]:
        """Ids of records; a word that a record lists as `also` becomes the hint."""
        found = []
        for node in self.nodes(key, fields):
            text = self.reader.scalar(node, f"an entry of {key!r}")
            if text in records:
                found.append(text)
            elif text is not None:
                other = next((one for one, record in records.items() if text in getattr(record, "also", ())), None)
                hint = f"did you mean {other}?" if other else did_you_mean(text, records, listed=20)
                self.reader.fault(node, "choice", f"{key!r} has no {text!r}", hint)
        return tuple(dict.fromkeys(cast(list[str], found)))

    def name(self, vocabulary: str, text: str, node: yaml.Node, what: str) -> str | None:
        """The id a plain name or synonym leads to."""
        found = self.library.names.find(vocabulary, text)
        if found is None:
            hint = did_you_mean(text, self.library.names.known(vocabulary))
            self.reader.fault(node, "choice", f"no {what} is called {text!r}", hint)
        return found

    def known(self, key: str, vocabulary: str, fields: Fields | None = None) -> tuple[str, ...]:
        """A list of words of a vocabulary, synonyms understood."""
        what = {"worse_with": "position or act", "zones": "zone", "kit": "kit"}[vocabulary]
        found = []
        for node in self.nodes(key, fields):
            text = self.reader.scalar(node, f"an entry of {key!r}")
            if text is not None:
                found.append(self.name(vocabulary, text, node, what))
        return tuple(dict.fromkeys(one for one in found if one))

    def tissue(self, text: str, node: yaml.Node) -> str | None:
        """The tissue or group a name leads to."""
        return self.name("tissues", text, node, "tissue")

    def side(self, fields: Fields, paired: bool, default: Side | None = None) -> Side:
        """A side; a paired thing without one has `default`, the midline has none."""
        node = fields.node_of("side")
        if node is None and default is None and paired:
            fields.need("side")
            return "both"
        word = None if node is None else self.reader.choice(node, "'side'", SIDES)
        if not paired:
            return "none"
        if word == "none" and node is not None:
            self.reader.fault(node, "choice", "this stands on both sides of the body", "left, right or both")
        return cast(Side, word if word in ("left", "right", "both") else default or "both")

    def findings(self) -> dict[str, Any]:
        """The findings by sort, keyed as the fields of Visit."""
        found: dict[str, list[Any]] = {"tissues": [], "symptoms": [], "tests": [], "firing": []}
        node = self.fields.need("findings")
        items = [] if node is None else self.reader.sequence(node)
        if node is not None and not items:
            self.reader.fault(node, "missing", "'findings' is empty", "a visit needs one finding")
        for item in items:
            fields = Fields(self.reader, item, "the finding")
            sorts = {"tissue": self._tissue, "symptom": self._symptom, "test": self._test, "firing": self._firing}
            keys = [key for key in sorts if fields.given(key)]
            if len(keys) != 1:
                if isinstance(item, yaml.MappingNode):
                    self.reader.fault(item, "finding", "a finding says one of tissue, symptom, test or firing")
                continue
            finding = sorts[keys[0]](fields)
            if fields.finish() and finding is not None:
                kind = {"tissue": "tissues", "symptom": "symptoms", "test": "tests", "firing": "firing"}[keys[0]]
                found[kind].append(finding)
        return {key: tuple(dict.fromkeys(values)) for key, values in found.items()}

    def _tissue(self, fields: Fields) -> TissueFinding | None:
        node = fields.need("tissue")
        text = self.reader.scalar(node, "'tissue'") if node else None
        tissue = self.tissue(text, node) if text and node else None
        found_node = fields.need("found")
        found = self.reader.choice(found_node, "'found'", get_args(Found)) if found_node else None
        if tissue is None:
            self.side(fields, paired=True, default="both")
            return None
        side = self.side(fields, self.library.atlas.is_paired(tissue), default="both")
        kinds = {self.library.atlas.tissues[member].kind for member in self.library.atlas.members(tissue)}
        accepted = [word for kind in sorted(kinds) for word in FOUND_BY_KIND[kind]]
        if found and found_node and found not in accepted:
            message = f"a {' or '.join(sorted(kinds))} cannot be {found}"
            self.reader.fault(found_node, "pair", message, "one of " + ", ".join(dict.fromkeys(accepted)))
        return TissueFinding(tissue, side, cast(Found, found)) if found else None

    def _symptom(self, fields: Fields) -> SymptomFinding | None:
        symptom = fields.choice("symptom", get_args(Symptom))
        zones = self.known("zones", "zones", fields)
        if not fields.given("zones"):
            fields.need("zones")
        if not fields.given("irritability"):
            self.default("irritability")
        now_node = fields.node_of("now")
        return SymptomFinding(
            symptom=cast(Symptom, symptom),
            zones=zones,
            side=self.side(fields, paired=not zones or not set(zones) <= MIDLINE_ZONES),
            worse_with=self.known("worse_with", "worse_with", fields),
            irritability=cast(
                Irritability, fields.choice("irritability", get_args(Irritability), cast(str, DEFAULTS["irritability"]))
            ),
            since=fields.text("since", ""),
            now=None if now_node is None else self.reader.number(now_node, "'now'", 0, 10),
        )

    def _test(self, fields: Fields) -> TestFinding | None:
        test = self.ids("test", self.library.tests, fields)
        side = self.side(fields, paired=True, default="both")
        result = fields.choice("result", get_args(Result))
        return TestFinding(test[0], side, cast(Result, result)) if test else None

    def _firing(self, fields: Fields) -> FiringFinding | None:
        firing = self.ids("firing", self.library.firing_orders, fields)
        side = self.side(fields, paired=True)
        order = []
        for node in self.nodes("order", fields) or [fields.node]:
            text = self.reader.scalar(node, "an entry of 'order'") if node is not fields.node else None
            muscle = self.tissue(text, node) if text else None
            if muscle and muscle in order:
                self.reader.fault(node, "twice", f"{text!r} stands twice in 'order'")
            elif muscle:
                order.append(muscle)
        if not fields.given("order"):
            fields.need("order")
        return FiringFinding(firing[0], side, tuple(order)) if firing else None

    def markers(self) -> tuple[Marker, ...]:
        """The markers of the visit."""
        found = []
        for node in self.nodes("markers"):
            fields = Fields(self.reader, node, "the marker")
            test = self.ids("test", self.library.markers, fields)
            if not fields.given("test"):
                fields.need("test")
            values = []
            for key in ("before", "after"):
                value = fields.node_of(key)
                values.append(None if value is None else self.reader.number(value, f"{key!r}", -1000, 1000))
            side = self.side(fields, paired=True, default="both")
            if fields.finish() and test:
                found.append(Marker(test[0], side, values[0], values[1]))
        return tuple(found)

    def changed(self) -> tuple[Change, ...]:
        """What changed lately: texts, or mappings of what, how and when."""
        found = []
        for node in self.nodes("changed"):
            if isinstance(node, yaml.MappingNode):
                fields = Fields(self.reader, node, "the change")
                found.append(Change(fields.text("what"), fields.text("how", ""), fields.text("when", "")))
                fields.finish()
            elif text := self.reader.scalar(node, "an entry of 'changed'"):
                found.append(Change(text))
        return tuple(found)

    def _in_use(self, drill: str, node: yaml.Node) -> None:
        if self.library.drills[drill].retired:
            self.reader.fault(node, "retired", f"{drill!r} was retired by the clinic", "pick another, or put it in use")

    def picks(self) -> tuple[Pick, ...]:
        """Drills added by hand."""
        found = []
        for node in self.nodes("pick"):
            if not isinstance(node, yaml.MappingNode):
                text = self.reader.scalar(node, "an entry of 'pick'")
                if text is not None and text not in self.library.drills:
                    hint = did_you_mean(text, self.library.drills)
                    self.reader.fault(node, "choice", f"'pick' has no {text!r}", hint)
                elif text is not None:
                    self._in_use(text, node)
                    found.append(Pick(text, None, "", self.reader.place(node)))
                continue
            fields = Fields(self.reader, node, "the pick")
            drill = self.ids("drill", self.library.drills, fields)
            if not fields.given("drill"):
                fields.need("drill")
            side = fields.choice("side", SIDES, "") or None
            because = fields.text("because", "")
            if fields.finish() and drill:
                self._in_use(drill[0], node)
                found.append(Pick(drill[0], cast(Side | None, side), because, self.reader.place(node)))
        return tuple(found)

    def doses(self) -> Mapping[str, SetDose]:
        """Doses set by hand, by drill."""
        node = self.fields.node_of("doses")
        found = {}
        for drill, drill_node, value in self.reader.pairs(node, "'doses'") if node else ():
            if drill not in self.library.drills:
                hint = did_you_mean(drill, self.library.drills)
                self.reader.fault(drill_node, "choice", f"'doses' has no drill {drill!r}", hint)
                continue
            fields = Fields(self.reader, value, f"the dose of {drill}")
            values = {key: fields.whole(key, *DOSE_BOUNDS[key]) for key in DOSE_BOUNDS if fields.given(key)}
            load = fields.text("load", "") or None
            if fields.finish():
                found[drill] = SetDose(**values, load=load)
        return found
