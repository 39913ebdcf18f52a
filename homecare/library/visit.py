"""Reads a visit file into a Visit, with every fault at its line and the nearest right word."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from pathlib import Path
from typing import Literal, cast, get_args

import yaml

from homecare.core.drill import AgeGroup
from homecare.core.findings import (
    DEFAULTS,
    MAX_DAYS,
    ClinicVisit,
    Depth,
    LastSheet,
    Response,
    Screen,
    Visit,
)
from homecare.core.problems import InputFault, Problem, Source, did_you_mean
from homecare.core.sheet import Training
from homecare.library.letters import refuse_unprinted
from homecare.library.load import Library
from homecare.library.nodes import Fields, Reader, compose, read_text
from homecare.library.visit_findings import VisitReader

WEEKDAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
MAX_MINUTES = 240
NAME_LETTERS, NOTE_LETTERS = 80, 1000


def read_visit(path: Path, library: Library) -> Visit:
    """The visit in a file; raises InputFault with every fault."""
    return parse_visit(read_text(path), str(path), library)


def parse_visit(text: str, name: str, library: Library) -> Visit:
    """The visit in a text; `name` stands in for the file in the faults."""
    root = compose(text, name)
    if root is None:
        raise InputFault(
            [Problem(Source(name), "empty", "this file is empty", "a visit needs athlete, start, findings")]
        )
    reader = Reader(name)
    visit = _visit(VisitReader(reader, Fields(reader, root, "the visit"), library))
    refuse_unprinted(reader, root)
    if reader.problems:
        raise InputFault(reader.problems)
    return visit


def _visit(read: VisitReader) -> Visit:
    fields = read.fields
    start = read.day("start", needed=True) or date.min
    visit = Visit(
        athlete=read.short("athlete", NAME_LETTERS, needed=True),
        start=start,
        age_group=_age_group(read),
        prepared_by=read.short("prepared_by", NAME_LETTERS),
        days=fields.whole("days", 1, MAX_DAYS) if fields.given("days") else cast(int, read.default("days")),
        minutes=_minutes(read),
        week=_week(read),
        events=read.days("event"),
        treated=_treated(read, fields, "treated"),
        clinic_visits=_clinic_visits(read),
        review_by=_review_by(read, start),
        kit=read.known("kit", "kit") if fields.given("kit") else read.none("kit"),
        cautions=read.ids("cautions", read.library.cautions),
        screen=_screen(read),
        **read.findings(),
        markers=read.markers(),
        changed=read.changed(),
        picks=read.picks(),
        drops=read.ids("drop", read.library.drills),
        cover=read.ids("cover", read.library.atlas.sites),
        doses=read.doses(),
        notes=read.short("notes", NOTE_LETTERS),
        last=_last(read),
        defaults=read.defaults,
    )
    fields.finish()
    return visit


def _age_group(read: VisitReader) -> AgeGroup:
    if not read.fields.given("age"):
        read.default("age")
        return "adult"
    age = read.fields.number("age", 0, 120)
    return "under_16" if age < 16 else "older" if age >= 65 else "adult"


def _minutes(read: VisitReader) -> tuple[float, ...]:
    node = read.fields.node_of("minutes")
    if node is None:
        return (float(cast(int, read.default("minutes"))),) * 7
    if not isinstance(node, yaml.MappingNode):
        return (read.reader.number(node, "'minutes'", 0, MAX_MINUTES) or 0.0,) * 7
    named = read.fields.numbers("minutes", ("weekday", "weekend", *WEEKDAYS), 0, MAX_MINUTES) or {}
    spans = [named.get("weekend" if day in ("sat", "sun") else "weekday", 0.0) for day in WEEKDAYS]
    return tuple(named.get(day, span) for day, span in zip(WEEKDAYS, spans, strict=True))


def _week(read: VisitReader) -> tuple[Training, ...]:
    node = read.fields.node_of("week")
    week: dict[str, Training] = dict.fromkeys(WEEKDAYS, cast(Training, DEFAULTS["week"]))
    if node is None:
        read.default("week")
        return tuple(week.values())
    for day, day_node, value in read.reader.pairs(node, "'week'"):
        if day not in WEEKDAYS:
            read.reader.fault(day_node, "choice", f"'week' has no day {day!r}", did_you_mean(day, WEEKDAYS))
        elif training := read.reader.choice(value, f"the training of {day}", get_args(Training)):
            week[day] = cast(Training, training)
    return tuple(week.values())


def _treated(read: VisitReader, fields: Fields, key: str) -> Mapping[str, Depth] | None:
    node = fields.node_of(key)
    if node is None:
        return None
    found: dict[str, Depth] = {}
    if isinstance(node, yaml.MappingNode):
        for name, name_node, value in read.reader.pairs(node, f"{key!r}"):
            tissue = read.tissue(name, name_node)
            depth = read.reader.choice(value, f"how {name} was treated", get_args(Depth))
            if tissue and depth:
                found[tissue] = cast(Depth, depth)
        return found
    for item in read.reader.sequence(node):
        name_text = read.reader.scalar(item, f"an entry of {key!r}")
        if name_text and (tissue := read.tissue(name_text, item)):
            found[tissue] = "firm"
    return found


def _clinic_visits(read: VisitReader) -> tuple[ClinicVisit, ...]:
    found = []
    for node in read.nodes("clinic_visits"):
        if isinstance(node, yaml.MappingNode):
            inner = Fields(read.reader, node, "the clinic visit")
            day_node = inner.need("date")
            day = read.reader.day(day_node, "'date'") if day_node else None
            treated = _treated(read, inner, "treated")
            inner.finish()
        else:
            day, treated = read.reader.day(node, "a clinic visit"), None
        if day:
            found.append(ClinicVisit(day, treated))
    return tuple(sorted(found, key=lambda visit: visit.day))


def _review_by(read: VisitReader, start: date) -> date | None:
    day = read.day("review_by")
    node = read.fields.node_of("review_by")
    if day and node and day < start:
        read.reader.fault(node, "date", f"'review_by' {day} lies before the start {start}")
    return day


def _screen(read: VisitReader) -> Screen:
    node = read.fields.node_of("screen")
    if node is None:
        return Screen(recorded=False)
    if isinstance(node, yaml.ScalarNode):
        read.reader.choice(node, "'screen'", ("clear",))
        return Screen(recorded=True)
    inner = Fields(read.reader, node, "'screen'")
    flags = read.ids("flags", read.library.flags, inner)
    decision = inner.choice("decision", ("refer", "continue"), "") or None
    because = inner.text("because", "")
    if decision == "continue" and not because:
        message = "to continue in spite of a flag needs a reason"
        read.reader.fault(node, "missing", message, "add because: and say why")
    inner.finish()
    return Screen(True, flags, cast(Literal["refer", "continue"] | None, decision), because)


def _last(read: VisitReader) -> LastSheet | None:
    node = read.fields.node_of("last")
    if node is None:
        return None
    inner = Fields(read.reader, node, "'last'")
    plan, slips = inner.text("plan"), inner.texts("amendments")
    done: dict[str, int] = {}
    done_node = inner.node_of("done")
    for drill, _, value in read.reader.pairs(done_node, "'done'") if done_node else ():
        count = read.reader.whole(value, f"the boxes ticked of {drill}", 0, 1000)
        if count is not None:
            done[drill] = count
    response: dict[str, Response] = {}
    response_node = inner.node_of("response")
    for drill, _, value in read.reader.pairs(response_node, "'response'") if response_node else ():
        word = read.reader.choice(value, f"the response to {drill}", get_args(Response))
        if word:
            response[drill] = cast(Response, word)
    ratings = []
    ratings_node = inner.node_of("ratings")
    for item in read.reader.sequence(ratings_node) if ratings_node else ():
        pair = read.reader.sequence(item)
        if len(pair) != 2:
            read.reader.fault(item, "rating", "a rating is a date and a number from 0 to 10", "[2026-03-03, 4]")
            continue
        day, number = read.reader.day(pair[0], "a rating's date"), read.reader.number(pair[1], "a rating", 0, 10)
        if day and number is not None:
            ratings.append((day, number))
    inner.finish()
    return LastSheet(plan, done, response, tuple(sorted(ratings)), slips)
