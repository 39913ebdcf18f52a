"""Where tissues lie on the body: each on the skin it belongs to, on its side, and in its order among its neighbours.

The anatomy asserted is that of Moore KL et al., Clinically Oriented Anatomy 8e (from memory).
"""

from __future__ import annotations

import numpy as np
import pytest

from homecare.figure.landmarks import centres, landmark, names
from homecare.figure.skeleton import INDEX, LENGTHS, Array, skeleton
from homecare.library.load import Library

OFF_SKIN = 0.02
"""Metres that a ball's edge may end short of the skin of landmarks, which is a coarser body than the one drawn."""
BODY = skeleton({})


def places(lib: Library, tissue: str) -> Array:
    """World places (k, 3) of a surface on the left side of a standing body, where outwards is y."""
    spots = []
    for frame, x, y, z, _ in lib.surfaces[tissue].points:
        spots.append(BODY.points(frame if frame in INDEX else f"left_{frame}", (x, y, z))[0])
    return np.array(spots)


TRUNK = ("pelvis", "lumbar", "thorax_low", "thorax", "neck", "head")
NEAR = {"elbow": ("elbow", "forearm"), "foot": ("foot", "toes", "shank"), "toes": ("foot", "toes")}
"""Segments whose flesh a point of a frame may lie on; else its own, or any of the trunk."""


def flesh(frames: tuple[str, ...]) -> Array:
    """Balls of flesh (k, 4) of segments of a standing body: the landmarks', and those between the trunk's pairs."""
    found = []
    limbs = ("thigh", "shank", "upper_arm", "forearm")
    for name in (*names(), *(f"left_{limb}_front@{share / 20}" for limb in limbs for share in range(21))):
        mark = landmark(name)
        side, _, rest = name.partition("_")
        if mark.frame.removeprefix("left_") not in frames:
            continue
        place = centres(BODY, name)[0]
        found.append((*place, mark.radius))
        if side == "left" and mark.frame in TRUNK:
            other = centres(BODY, f"right_{rest}")[0]
            found += [(*(place * share + other * (1 - share)), mark.radius) for share in (0.2, 0.4, 0.6, 0.8, 1.0)]
    return np.array(found)


def test_every_ball_reaches_the_skin_and_none_floats(lib: Library) -> None:
    off = {}
    for tissue, surface in lib.surfaces.items():
        for place, (frame, _, _, z, radius) in zip(places(lib, tissue), surface.points, strict=True):
            if frame == "hand" and z < -LENGTHS["palm"]:
                continue  # no landmark but one fingertip tells where the fingers are
            balls = flesh(TRUNK if frame in TRUNK else NEAR.get(frame, (frame,)))
            depth = float((np.linalg.norm(balls[:, :3] - place, axis=1) - balls[:, 3]).min())
            if not -radius - OFF_SKIN <= depth <= radius + OFF_SKIN:
                off[tissue, frame, tuple(np.round(place, 3).tolist())] = round(depth, 3)
    assert off == {}


def test_a_spindle_is_a_belly_and_not_half_a_limb(lib: Library) -> None:
    muscles = [one.id for one in lib.atlas.tissues.values() if one.kind == "muscle" and one.id in lib.surfaces]
    assert len(muscles) >= 40
    for tissue in muscles:
        radii = [point[4] for point in lib.surfaces[tissue].points]
        assert 0.015 <= max(radii) <= 0.045, tissue
        assert radii[-1] < max(radii), tissue
        assert len(radii) >= 3, tissue


SEEN_FROM = {
    "front": (
        "rectus_femoris",
        "vastus_intermedius",
        "iliopsoas",
        "tibialis_anterior",
        "biceps_brachii",
        "patellar_tendon",
        "pectineus",
        "sartorius",
        "quadriceps_tendon",
        "extensor_hallucis_longus",
        "rectus_abdominis",
        "transversus_abdominis",
        "diaphragm",
        "biceps_tendon",
    ),
    "back": (
        "gastrocnemius",
        "soleus",
        "achilles_tendon",
        "semitendinosus",
        "biceps_femoris_long_head",
        "gluteus_maximus",
        "gemelli",
        "popliteus",
        "plantaris",
        "multifidus",
        "thoracolumbar_fascia",
        "middle_trapezius",
        "splenius",
        "supraspinatus",
        "teres_minor",
        "teres_major",
    ),
    "outer": (
        "fibularis_longus",
        "vastus_lateralis",
        "iliotibial_band",
        "gluteus_medius",
        "extensor_digitorum",
        "gluteus_minimus",
        "fibularis_brevis",
        "fibular_tendons",
        "abductor_digiti_minimi_foot",
        "obliques",
        "deltoid",
        "supraspinatus_tendon",
        "brachioradialis",
        "anconeus",
        "extensor_carpi_radialis_longus",
        "extensor_carpi_ulnaris",
        "abductor_pollicis_longus",
        "extensor_pollicis_longus",
        "dorsal_interossei",
    ),
    "inner": (
        "adductor_magnus",
        "flexor_digitorum_superficialis",
        "tibialis_posterior",
        "adductor_brevis",
        "gracilis",
        "flexor_digitorum_longus",
        "tibialis_posterior_tendon",
        "abductor_hallucis",
        "coracobrachialis",
        "flexor_digitorum_profundus",
        "flexor_pollicis_longus",
        "palmaris_longus",
        "pronator_quadratus",
        "abductor_pollicis_brevis",
    ),
}
"""Compartments (Moore, from memory); the forearm hangs with its palm towards the body."""
WAYS = {"front": (1, 0), "back": (-1, 0), "outer": (0, 1), "inner": (0, -1)}


@pytest.mark.parametrize(("way", "tissue"), [(way, one) for way, found in SEEN_FROM.items() for one in found])
def test_the_belly_lies_and_faces_where_its_compartment_is(way: str, tissue: str, lib: Library) -> None:
    surface = lib.surfaces[tissue]
    frame, x, y, _, _ = max(surface.points, key=lambda point: point[4])
    out = np.array(WAYS[way], float)
    middle = 0.07 if frame == "pelvis" else 0.0
    assert np.array([x, y - middle]) @ out > 0
    assert np.array(surface.facing[1:3]) @ out > 0.5


def heights(lib: Library, tissue: str) -> Array:
    """World heights (k,) of a surface's points on a standing body."""
    found: Array = places(lib, tissue)[:, 2]
    return found


def test_origins_and_insertions_stand_above_and_below_their_joints(lib: Library) -> None:
    joint = {
        one: float(BODY.origins[0, INDEX[f"left_{one}"], 2]) for one in ("thigh", "shank", "foot", "elbow", "hand")
    }
    crosses = {
        "gastrocnemius": "shank",
        "rectus_femoris": "thigh",
        "biceps_femoris_long_head": "shank",
        "semitendinosus": "shank",
        "tibialis_anterior": "foot",
        "fibularis_longus": "foot",
        "iliopsoas": "thigh",
        "biceps_brachii": "elbow",
        "flexor_carpi_radialis": "hand",
        "extensor_carpi_radialis_brevis": "elbow",
        "gracilis": "shank",
        "sartorius": "shank",
        "plantaris": "shank",
        "popliteus": "shank",
        "fibularis_brevis": "foot",
        "extensor_digitorum_longus": "foot",
        "extensor_hallucis_longus": "foot",
        "flexor_digitorum_longus": "foot",
        "brachialis": "elbow",
        "brachioradialis": "elbow",
        "anconeus": "elbow",
        "extensor_carpi_radialis_longus": "elbow",
        "extensor_carpi_ulnaris": "hand",
        "palmaris_longus": "hand",
        "flexor_digitorum_profundus": "hand",
        "flexor_pollicis_longus": "hand",
        "abductor_pollicis_longus": "hand",
    }
    for tissue, one in crosses.items():
        assert heights(lib, tissue)[0] > joint[one] > heights(lib, tissue)[-1], tissue
    assert heights(lib, "soleus").max() < joint["shank"]
    assert heights(lib, "biceps_femoris_short_head").max() < joint["thigh"] - 0.1
    assert heights(lib, "flexor_digitorum_profundus").max() < joint["elbow"]
    assert heights(lib, "pronator_quadratus").min() > joint["hand"]
    for sole in ("quadratus_plantae", "flexor_digitorum_brevis", "abductor_hallucis", "flexor_hallucis_brevis"):
        assert heights(lib, sole).max() < joint["foot"], sole


def test_neighbours_lie_in_their_order(lib: Library) -> None:
    def outwards(tissue: str) -> float:
        return float(places(lib, tissue)[:, 1].mean())

    def forward(tissue: str) -> float:
        return float(places(lib, tissue)[:, 0].mean())

    def height(tissue: str) -> float:
        return float(heights(lib, tissue).mean())

    assert outwards("biceps_femoris_long_head") > outwards("semitendinosus") > outwards("semimembranosus") - 0.02
    assert outwards("vastus_lateralis") > outwards("rectus_femoris") > outwards("vastus_medialis")
    assert height("piriformis") > height("obturator_internus") > height("quadratus_femoris")
    assert height("gastrocnemius") > height("soleus") > height("achilles_tendon")
    assert height("upper_trapezius") > height("rhomboids") > height("lower_trapezius")
    assert height("upper_trapezius") > height("middle_trapezius") > height("lower_trapezius")
    assert height("supraspinatus") > height("infraspinatus") > height("teres_minor") > height("teres_major")
    assert height("piriformis") > height("gemelli") > height("quadratus_femoris")
    assert height("fibularis_longus") > height("fibularis_brevis") > height("fibular_tendons")
    assert height("pectineus") > height("adductor_brevis") > height("adductor_magnus")
    assert outwards("sartorius") > outwards("gracilis")
    assert at(lib, "adductor_longus", "thigh", -0.13, -0.08)[0, 1] > at(lib, "gracilis", "thigh", -0.13, -0.08)[0, 1]
    assert outwards("obliques") > outwards("transversus_abdominis") > outwards("rectus_abdominis")
    assert outwards("erector_spinae") > outwards("multifidus")
    assert outwards("extensor_digitorum_longus") > outwards("extensor_hallucis_longus")
    assert outwards("abductor_digiti_minimi_foot") > outwards("flexor_digitorum_brevis") > outwards("abductor_hallucis")
    assert forward("gluteus_minimus") > forward("gluteus_medius")
    along = [forward(f"extensor_{one}") for one in ("carpi_radialis_longus", "carpi_radialis_brevis", "digitorum")]
    assert along == sorted(along, reverse=True)
    assert along[-1] > forward("extensor_carpi_ulnaris")
    assert forward("flexor_pollicis_longus") > forward("flexor_digitorum_profundus")
    assert forward("abductor_pollicis_brevis") > forward("dorsal_interossei") > forward("abductor_digiti_minimi")
    thumb = {one: lib.surfaces[one].points[-1][1] for one in ("flexor_carpi_radialis", "flexor_carpi_ulnaris")}
    assert thumb["flexor_carpi_radialis"] > 0 > thumb["flexor_carpi_ulnaris"]


def at(lib: Library, nerve: str, frame: str, low: float, high: float) -> Array:
    """Local points (k, 3) of a nerve on a frame between two heights."""
    found = np.array(
        [(x, y, z) for name, x, y, z, _ in lib.surfaces[nerve].points if name == frame and low <= z <= high]
    )
    assert len(found), (nerve, frame)
    return found


def test_nerves_pass_where_they_are_touched(lib: Library) -> None:
    behind = at(lib, "ulnar", "elbow", -0.02, 0.02)
    assert (behind[:, 0] < 0).all()
    assert (behind[:, 1] < 0).all()
    assert (at(lib, "median", "elbow", -0.02, 0.02)[:, 0] > 0).all()
    assert (at(lib, "median", "hand", -0.1, 0)[:, 1] < 0).all()
    assert (at(lib, "ulnar", "hand", -0.2, 0)[:, 0] < 0).all()
    groove = at(lib, "radial", "upper_arm", -0.17, -0.09)
    assert (groove[:, 0] < 0).all()
    assert groove[0, 1] < 0 < groove[-1, 1]
    assert (at(lib, "radial", "elbow", -0.03, 0.03)[:, 1] > 0).all()
    assert (at(lib, "sciatic", "thigh", -0.4, 0)[:, 0] < 0).all()
    assert (at(lib, "tibial", "foot", -0.02, 0.0)[:, 1] < 0).all()
    assert (at(lib, "sural", "foot", -0.06, 0.0)[:, 1] > 0).all()
    assert (at(lib, "common_fibular", "shank", -0.05, -0.03)[:, 1] > 0.03).all()
    assert (at(lib, "deep_fibular", "shank", -0.4, -0.3)[:, 0] > 0).all()
    assert (at(lib, "femoral", "thigh", -0.4, 0)[:, 0] > 0).all()
    assert (at(lib, "saphenous", "shank", -0.4, 0)[:, 1] < 0).all()
    assert (at(lib, "lateral_femoral_cutaneous", "thigh", -0.4, 0)[:, 1] > 0).all()
    assert (at(lib, "obturator", "thigh", -0.4, 0)[:, 1] < 0).all()
    assert (at(lib, "posterior_femoral_cutaneous", "thigh", -0.4, 0)[:, 0] < 0).all()
    assert (at(lib, "medial_plantar", "foot", -0.08, -0.05)[:, 1] < 0).all()
    assert at(lib, "lateral_plantar", "foot", -0.08, -0.05)[-1, 1] > 0


def test_nerves_of_the_arm_pass_between_their_muscles(lib: Library) -> None:
    assert (at(lib, "posterior_interosseous", "forearm", -0.25, 0)[:, 1] > 0).all()
    assert (at(lib, "anterior_interosseous", "forearm", -0.25, 0)[:, 1] < 0).all()
    thenar = at(lib, "palmar_branch_median", "hand", -0.1, 0)
    assert (thenar[:, 1] < 0).all()
    assert (thenar[:, 0] > 0).all()
    back = at(lib, "dorsal_branch_ulnar", "hand", -0.2, 0)
    assert (back[:, 1] > 0).all()
    assert (back[:, 0] < 0).all()
    assert (at(lib, "medial_cutaneous_forearm", "forearm", -0.25, 0)[:, 1] < 0).all()
    assert (at(lib, "musculocutaneous", "upper_arm", -0.28, -0.1)[:, 0] > 0).all()
    round_the_neck = at(lib, "axillary", "upper_arm", -0.08, 0)
    assert round_the_neck[0, 0] < 0
    assert round_the_neck[-1, 1] > 0
    assert (at(lib, "suprascapular", "thorax", 0, 0.15)[:, 0] < 0).all()
    assert (at(lib, "long_thoracic", "thorax_low", 0, 0.13)[:, 1] > 0.13).all()


def test_a_branch_runs_on_its_nerve_until_it_leaves(lib: Library) -> None:
    for branch in ("tibial", "sural", "common_fibular", "superficial_fibular", "deep_fibular"):
        assert lib.surfaces[branch].points[:5] == lib.surfaces["sciatic"].points[:5], branch
    assert lib.surfaces["saphenous"].points[:3] == lib.surfaces["femoral"].points[:3]
    assert lib.surfaces["posterior_interosseous"].points[:10] == lib.surfaces["radial"].points[:10]
    assert lib.surfaces["anterior_interosseous"].points[:4] == lib.surfaces["median"].points[4:8]
    assert lib.surfaces["medial_plantar"].points[:3] == lib.surfaces["tibial"].points[11:14]
    assert lib.surfaces["lateral_plantar"].points[:2] == lib.surfaces["tibial"].points[11:13]
