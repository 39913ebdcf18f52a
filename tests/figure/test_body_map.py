"""The body that is pressed: every tissue and zone is somewhere on it, on the right side, and no two places overlap."""

from __future__ import annotations

from itertools import combinations

import pytest

from homecare.figure.body_map import BodyMap, body_map
from homecare.figure.body_regions import REGIONS
from homecare.library.load import Library, load_library

NARROW_PX, TARGET_PX = 168, 24
"""A view on a screen of 390 px, and the least target (WCAG 2.2, 2.5.8, from memory)."""


@pytest.fixture(scope="module")
def library() -> Library:
    return load_library()


@pytest.fixture(scope="module")
def body(library: Library) -> BodyMap:
    return body_map(library.surfaces)


def test_every_tissue_that_lies_on_the_body_can_be_pressed(body: BodyMap, library: Library) -> None:
    assert {key for keys in body.tissues.values() for key in keys} == set(library.surfaces)


def test_every_zone_can_be_pressed(library: Library) -> None:
    assert {zone for region in REGIONS for zone in region.zones} == set(library.atlas.zones)


@pytest.mark.parametrize(
    ("tissue", "region"),
    [
        ("soleus", "calf"),
        ("tibialis_anterior", "shin"),
        ("biceps_brachii", "upper_arm_front"),
        ("triceps_brachii", "upper_arm_back"),
        ("flexor_carpi_ulnaris", "forearm_front"),
        ("extensor_digitorum", "forearm_back"),
        ("gluteus_maximus", "buttock"),
        ("rectus_femoris", "thigh_front"),
        ("infraspinatus", "shoulder_blade"),
        ("erector_spinae", "low_back"),
        ("scalenes", "neck_front"),
        ("achilles_tendon", "heel"),
    ],
)
def test_a_tissue_lies_where_anatomy_has_it(body: BodyMap, tissue: str, region: str) -> None:
    """Surface anatomy (Moore KL et al., Clinically Oriented Anatomy 8e, from memory)."""
    assert tissue in body.tissues[region]


def test_the_athletes_right_is_at_the_left_of_the_front_view_and_at_the_right_of_the_back(body: BodyMap) -> None:
    for place in body.places:
        if place.side != "none":
            left_half = place.x < 0.5
            assert left_half == ((place.side == "right") == (place.region.view == "front")), place.key


def test_no_two_places_overlap_on_a_narrow_screen(body: BodyMap) -> None:
    for one, other in combinations(body.places, 2):
        if one.region.view == other.region.view:
            wide, high = NARROW_PX, NARROW_PX / body.ratio[one.region.view]
            apart = max(abs(one.x - other.x) * wide, abs(one.y - other.y) * high)
            assert apart >= TARGET_PX, (one.key, other.key)


def test_a_finding_is_marked_on_its_own_side(body: BodyMap) -> None:
    marked = body.places_of("left", frozenset({"soleus"}), frozenset())
    assert [place.key for place in marked] == ["calf-left"]
    both = body.places_of("both", frozenset(), frozenset({"heel"}))
    assert {place.key for place in both} == {"heel-left", "heel-right"}
