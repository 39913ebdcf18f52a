"""Reads how muscles change in length with the joints."""

from __future__ import annotations

from homecare.core.drill import MOTIONS
from homecare.figure.lengths import AXES, MuscleLength, Term
from homecare.library.nodes import Fields
from homecare.library.reading import read_mark

TERMS: tuple[str, ...] = (*AXES, *(f"{one}*{two}" for one in AXES for two in AXES))
MOST_MM = 500.0


def read_length(fields: Fields, key: str) -> MuscleLength:
    """The length of one part of a muscle: sizes in `mm`, or signs in `shortened_by`."""
    muscle = fields.ref("muscle", "tissues", needed=True) or ""
    sizes = fields.numbers("mm", TERMS, -MOST_MM, MOST_MM) or {}
    shortened_by = fields.choices("shortened_by", MOTIONS)
    if bool(sizes) == bool(shortened_by):
        fields.reader.fault(fields.node, "length", f"{key!r} needs either sizes or signs", "mm, or shortened_by")
    terms: dict[Term, float] = {tuple(term.split("*")): size for term, size in sizes.items()}
    return MuscleLength(key, muscle, terms, shortened_by, read_mark(fields), fields.reader.place(fields.node))
