"""A small change of what was found changes little of the sheet, and the order of writing changes nothing."""

from __future__ import annotations

import re
from random import Random

import pytest

from homecare.core.sheet import Clinic
from homecare.library.load import Library
from homecare.library.visit import parse_visit
from homecare.workflow.judging import judge
from tests.reasoning.choice_cases import visit_text

SEEDS = range(120)
ONE_MORE = "  - {tissue: tibialis_anterior, side: left, found: tight}"


def chosen(lib: Library, text: str) -> dict[str, str]:
    """The drills of a visit with their sides."""
    judged = judge(parse_visit(text, "visit", lib), lib, Clinic(), None)
    return {one.drill.id: one.side for one in judged.choice.chosen}


def halves(lib: Library, seed: int) -> tuple[str, list[str]]:
    """The head of a generated visit with room for its drills, and the lines of its findings."""
    head, _, rest = visit_text(lib, seed).partition("findings:\n")
    return re.sub(r"minutes: \d+", "minutes: 20", head) + "findings:\n", rest.rstrip("\n").split("\n")


def test_one_finding_more_takes_few_drills_off(lib: Library) -> None:
    """A full sheet gives up at most two drills for it, and most sheets none."""
    lost = []
    for seed in SEEDS:
        head, lines = halves(lib, seed)
        before = chosen(lib, head + "\n".join(lines) + "\n")
        after = chosen(lib, head + "\n".join([*lines, ONE_MORE]) + "\n")
        lost.append(len(before.keys() - after.keys()))
    assert max(lost) <= 2, lost
    assert sum(lost) / len(lost) < 0.5


@pytest.mark.parametrize("seed", range(40))
def test_the_order_of_findings_changes_nothing(lib: Library, seed: int) -> None:
    head, lines = halves(lib, seed)
    turned = Random(seed).sample(lines, len(lines))
    assert chosen(lib, head + "\n".join(turned) + "\n") == chosen(lib, head + "\n".join(lines) + "\n")
