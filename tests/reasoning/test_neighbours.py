"""Neighbours of what was found: tied by the atlas, not looked at yet, the best grounded first, each once."""

from __future__ import annotations

from homecare.core.neighbours import MOST, MOST_A_FINDING, STRENGTHS, neighbours
from homecare.library.load import Library
from tests.helpers import visit_of

CALF = "{tissue: gastrocnemius, side: left, found: tight}"


def test_a_tight_calf_leads_up_and_down_the_back_of_the_leg(lib: Library) -> None:
    """Measured ties come before those that are only seen or taught."""
    found = neighbours(visit_of(lib, CALF), lib.atlas)
    assert 0 < len(found) <= MOST_A_FINDING
    places = [STRENGTHS.index(one.strength) for one in found]
    assert places == sorted(places)
    assert all(one.side == "left" and one.finding == "left upper calf muscle found tight" for one in found)


def test_what_was_looked_at_is_no_neighbour(lib: Library) -> None:
    first = neighbours(visit_of(lib, CALF), lib.atlas)[0].tissue
    seen = f"{CALF}\n{{tissue: {first}, side: left, found: tight}}"
    assert first not in {one.tissue for one in neighbours(visit_of(lib, seen), lib.atlas)}


def test_each_neighbour_is_named_once_and_few_in_all(lib: Library) -> None:
    """Every muscle in turn beside another finding: no name comes twice, and never more than can be looked at."""
    keys = [one.id for one in lib.atlas.tissues.values() if one.kind == "muscle" and one.paired]
    for key in keys:
        found = neighbours(visit_of(lib, f"{{tissue: {key}, side: right, found: tight}}\n{CALF}"), lib.atlas)
        names = [(one.tissue, one.side) for one in found]
        assert len(names) == len(set(names)) <= MOST, key


def test_a_muscle_that_stands_in_is_found_from_the_late_one(lib: Library) -> None:
    """The link is written with the helper and read from both ends; its sentence names the helper."""
    found = neighbours(visit_of(lib, "{tissue: gluteus_medius, side: right, found: late}"), lib.atlas)
    helpers = {key for key, one in lib.atlas.tissues.items() for link in one.links if link.to == "gluteus_medius"}
    assert {one.tissue for one in found} & helpers
    assert all(one.says.split(":")[0] in {tissue.plain for tissue in lib.atlas.tissues.values()} for one in found)
