"""The way from each finding to the drills: what it asks for, what serves that, and what was passed over and why."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from homecare.core.choosing import Choice
from homecare.core.sheet import Asked, Chain
from homecare.core.wishes import Wish


def chains(by_finding: Iterable[tuple[str, Sequence[Wish]]], choice: Choice) -> tuple[Chain, ...]:
    """One chain a finding, with its wishes by weight."""
    serving: dict[str, list[str]] = {}
    for one in choice.chosen:
        for wish in one.wishes:
            serving.setdefault(wish.id, []).append(one.drill.id)
    return tuple(
        Chain(
            finding,
            tuple(
                Asked(
                    says=wish.says,
                    because=wish.because,
                    weight=wish.weight,
                    served_by=tuple(serving.get(wish.id, ())),
                    passed=choice.passed.get(wish.id, ()),
                )
                for wish in sorted(wishes, key=lambda wish: (-wish.weight, wish.id))
            ),
        )
        for finding, wishes in by_finding
    )
