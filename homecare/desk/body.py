"""The pictures of the builder: the body with its places, and the small figures of drills."""

from __future__ import annotations

from functools import lru_cache
from typing import cast, get_args

from flask import Blueprint, Response, abort

from homecare.core.atlas import Side
from homecare.desk.bench import Bench, Shelf
from homecare.figure.body_map import BodyMap, Place
from homecare.figure.body_regions import View
from homecare.render.figures import Model, picture

SMALL_MM = (30.0, 24.0)
"""The box of a drill's small figure."""
_SVG = "image/svg+xml"
_KEPT = {"Cache-Control": "private, max-age=3600"}


def blueprint(bench: Bench) -> Blueprint:
    """The routes of the pictures over one bench."""
    topic = Blueprint("body", __name__)

    @topic.get("/body/<view>.svg")
    def picture(view: str) -> Response:
        found = bench.shelf.body.pictures.get(cast(View, view))
        if found is None:
            abort(404)
        return Response(found, mimetype=_SVG, headers=_KEPT)

    @topic.get("/body/places.css")
    def map() -> Response:
        return Response(places_css(bench.shelf.body), mimetype="text/css", headers=_KEPT)

    @topic.get("/figure/<drill>/<side>.svg")
    def figure(drill: str, side: str) -> Response:
        if side not in get_args(Side):
            abort(404)
        drawn = _small(bench.shelf, drill, cast(Side, side))
        if not drawn:
            abort(404)
        return Response(drawn, mimetype=_SVG, headers=_KEPT)

    return topic


def places_css(body: BodyMap) -> str:
    """Where the places lie on the pictures: the policy allows no style in the page itself."""
    ratios = [f".view.{view} {{ aspect-ratio: {ratio:.4f}; }}" for view, ratio in body.ratio.items()]
    places = [
        f".at-{one.key} {{ left: {100 * one.x:.2f}%; top: {100 * one.y:.2f}%; justify-items: {_outwards(one)}; }}"
        for one in body.places
    ]
    return "\n".join([*ratios, *places]) + "\n"


def _outwards(place: Place) -> str:
    """To which side the numbers at a place grow: away from the middle of the body."""
    return "center" if place.side == "none" else "end" if place.x < 0.5 else "start"


@lru_cache(maxsize=512)
def _small(shelf: Shelf, drill: str, side: Side) -> str:
    library = shelf.library
    if drill not in library.drills:
        return ""
    return picture(library.drills[drill], Model(library.atlas, library.surfaces, library.postures), side, SMALL_MM)
