"""Firing orders held to what is taught and to what was measured: people differ, so that one sign is not enough."""

from __future__ import annotations

import pytest

from homecare.core.sheet import Clinic
from homecare.library.load import Library
from homecare.workflow.judging import judge
from tests.helpers import visit_of

TAUGHT = (
    "Page P, Frank CC, Lardner R 2010, Assessment and Treatment of Muscle Imbalance: The Janda Approach (from memory)"
)
PAIRS = [
    # order, the muscle that should come first, the one that should follow, source
    ("prone_hip_extension", "gluteus_maximus", "erector_spinae", TAUGHT),
    ("prone_hip_extension", "hamstrings", "erector_spinae", TAUGHT),
    ("hip_abduction_side_lying", "gluteus_medius", "tensor_fasciae_latae", TAUGHT),
    ("hip_abduction_side_lying", "gluteus_medius", "quadratus_lumborum", TAUGHT),
    ("hip_abduction_side_lying", "tensor_fasciae_latae", "quadratus_lumborum", TAUGHT),
    ("shoulder_abduction", "supraspinatus", "upper_trapezius", TAUGHT),
    ("shoulder_abduction", "lower_trapezius", "levator_scapulae", TAUGHT),
    ("neck_flexion", "deep_neck_flexors", "sternocleidomastoid", TAUGHT),
]
MIXED = {
    # order: what its words must own up to, source
    "prone_hip_extension": ("healthy people vary", "Lehman GJ et al. 2004, BMC Musculoskelet Disord 5:3"),
    "hip_abduction_side_lying": ("little measured support", "no measurement of the whole order was found"),
    "shoulder_abduction": ("little measured support", "Wickham J et al. 2010, J Electromyogr Kinesiol (from memory)"),
    "neck_flexion": ("healthy people vary", "Falla D et al. 2004, Exp Brain Res 157:43-8"),
}


@pytest.mark.parametrize(("order", "first", "second", "source"), PAIRS)
def test_the_taught_order(lib: Library, order: str, first: str, second: str, source: str) -> None:
    expected = lib.firing_orders[order].expected
    assert expected.index(first) < expected.index(second), source


@pytest.mark.parametrize("order", MIXED)
def test_the_words_own_up_to_mixed_evidence(lib: Library, order: str) -> None:
    needed, source = MIXED[order]
    says = lib.firing_orders[order].says.lower()
    assert needed in says, source
    assert "second sign" in says


@pytest.mark.parametrize(("order", "first", "second", "source"), PAIRS)
def test_a_departure_asks_to_wake_the_late_one_and_for_a_second_sign(
    lib: Library, order: str, first: str, second: str, source: str
) -> None:
    turned = f"{{firing: {order}, side: right, order: [{second}, {first}]}}"
    alone = _wishes(lib, turned)
    assert set(alone) == {f"activate:{first}:right"}, source
    assert "second sign" in alone[f"activate:{first}:right"]
    confirmed = _wishes(lib, f"{turned}\n{{tissue: {first}, side: right, found: weak}}")
    assert "second sign" not in confirmed[f"activate:{first}:right"]
    assert f"release:{second}:right" in confirmed


def _wishes(lib: Library, findings: str) -> dict[str, str]:
    judged = judge(visit_of(lib, findings), lib, Clinic(), None)
    return {wish.id: wish.because for finding, wishes in judged.by_finding for wish in wishes if "then" in finding}
