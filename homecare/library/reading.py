"""Readers that several sections share: the mark of a source, and the drill."""

from __future__ import annotations

import re
from typing import Literal, cast, get_args

import yaml

from homecare.core.atlas import REGIONS, Mark, MarkKind
from homecare.core.drill import Drill, Kind
from homecare.library.figures import read_figure
from homecare.library.nodes import Fields

CODE = re.compile(r"[A-Z]{2,3}")
ADDRESS = re.compile(r"[a-z0-9]+(-[a-z0-9]+)*")
MARKS = get_args(MarkKind)


def read_mark(fields: Fields, key: str = "source") -> Mark:
    """The source of a value: the words `common practice`, or a mapping of mark and cite."""
    node = fields.need(key)
    if node is None:
        return Mark("common practice")
    if isinstance(node, yaml.ScalarNode):
        if node.value != "common practice":
            message = f"{key!r} should say where it is from"
            fields.reader.fault(node, "source", message, "common practice, or mark and cite")
        return Mark("common practice")
    inner = Fields(fields.reader, node, "the source")
    mark = cast(MarkKind, inner.choice("mark", MARKS) or "common practice")
    cite = inner.text("cite", None if mark != "common practice" else "")
    inner.finish()
    return Mark(mark, cite)


def read_drill(fields: Fields, key: str) -> Drill:
    """A drill; words and references are checked by lint rules once everything is read."""
    code, address = fields.text("code"), fields.text("address")
    if code and not CODE.fullmatch(code):
        fields.reader.fault(fields.node, "code", f"the code {code!r} should be two or three capital letters")
    if address and not ADDRESS.fullmatch(address):
        fields.reader.fault(fields.node, "address", f"the address {address!r} should be small words with hyphens")
    claims = fields.choice("claims", ("slider", "tensioner"), "") or None
    return Drill(
        id=key,
        code=code,
        name=fields.text("name"),
        clinical=fields.text("clinical"),
        address=address,
        kind=cast(Kind, fields.choice("kind", get_args(Kind))),
        tissues=fields.refs("tissues", "tissues", "groups", least=1),
        part=fields.text("part"),
        paired=fields.flag("paired", True),
        region=fields.choice("region", REGIONS),
        ladder=fields.ref("ladder", "ladders", needed=True) or "",
        steps=fields.texts("steps", least=1),
        feel=fields.text("feel"),
        not_feel=fields.text("not_feel"),
        mistakes=fields.texts("mistakes"),
        stop_if=fields.text("stop_if"),
        source=read_mark(fields),
        where=fields.reader.place(fields.node),
        reach=cast(Literal["gentle", "full"], fields.choice("reach", ("gentle", "full"), "full")),
        kit=fields.refs("kit", "kit"),
        traits=fields.refs("traits", "traits"),
        not_with=fields.refs("not_with", "cautions"),
        strains=fields.refs("strains", "sites"),
        claims=cast(Literal["slider", "tensioner"] | None, claims),
        easier=fields.ref("easier", "drills"),
        harder=fields.ref("harder", "drills"),
        figure=read_figure(fields),
    )
