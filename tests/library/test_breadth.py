"""The library's breadth: enough of each kind, for all that is loaded or moved, without kit, floor or gym too."""

from __future__ import annotations

import pytest

from homecare.core.drill import KINDS, Drill
from homecare.library.load import Library


def drills_for(lib: Library, kind: str, tissue: str) -> list[Drill]:
    return [
        one
        for one in lib.drills.values()
        if one.kind == kind and tissue in (*one.tissues, *lib.atlas.members(one.tissues))
    ]


def test_at_least_160_drills_over_six_kinds(lib: Library) -> None:
    assert len(lib.drills) >= 160
    for kind in KINDS:
        assert sum(one.kind == kind for one in lib.drills.values()) >= 25, kind


@pytest.mark.parametrize(
    "tissue",
    """gastrocnemius soleus semitendinosus biceps_femoris_long_head vastus_lateralis rectus_femoris gluteus_medius
    iliopsoas flexor_carpi_ulnaris extensor_carpi_radialis_brevis deep_neck_flexors""".split(),
)
def test_what_takes_load(lib: Library, tissue: str) -> None:
    assert drills_for(lib, "load", tissue)


@pytest.mark.parametrize("joint", ["ankle", "big_toe", "hip", "thoracic_spine", "neck", "shoulder_blade", "wrist"])
def test_what_is_to_be_moved(lib: Library, joint: str) -> None:
    assert len(drills_for(lib, "mobilise", joint)) >= 2


@pytest.mark.parametrize(
    "region", ["neck", "shoulder", "arm", "forearm", "hand", "upper_back", "low_back", "hip", "thigh", "leg", "foot"]
)
def test_each_region_can_be_helped_without_kit_or_floor(lib: Library, region: str) -> None:
    plain = [one for one in lib.drills.values() if one.region == region and not one.kit]
    assert len({one.kind for one in plain if not {"floor", "kneeling", "prone"} & set(one.traits)}) >= 3


@pytest.mark.parametrize(
    ("posture", "least"), [("chair_sitting", 20), ("table_sitting", 10), ("hook_lying", 15), ("standing", 15)]
)
def test_where_it_can_be_done(lib: Library, posture: str, least: int) -> None:
    found = [one for one in lib.drills.values() if one.figure and one.figure.posture == posture and not one.kit]
    assert len(found) >= least


def test_some_can_be_done_in_bed(lib: Library) -> None:
    bed = [one for one in lib.drills.values() if " bed" in " ".join(one.steps)]
    assert len({one.kind for one in bed}) >= 4
    assert {one.region for one in bed} >= {"neck", "low_back", "hip", "foot"}
    assert len({one.region for one in bed}) >= 6


def test_a_nerve_s_pull_waits_behind_its_slides(lib: Library) -> None:
    """A tensioner is reached from a wide slide, and that from a small one, by harder."""
    for drill in lib.drills.values():
        if drill.claims == "tensioner":
            wide = lib.drills[drill.easier or ""]
            small = lib.drills[wide.easier or ""]
            assert (wide.ladder, small.ladder) == ("nerve_slide_wide", "nerve_slide"), drill.id
            assert (small.harder, wide.harder) == (wide.id, drill.id)
