"""The clinic's library on the desk: the list of drills, earlier texts side by side, tissues, the printed block."""

from __future__ import annotations

from datetime import datetime

from flask import Blueprint, Response, abort, make_response, redirect, render_template, request, url_for

from homecare.core.drill import KINDS
from homecare.core.problems import InputFault
from homecare.desk.bench import Bench
from homecare.desk.shelf_check import check_routes
from homecare.desk.shelf_drill import drill_routes
from homecare.desk.shelf_keep import Keeper
from homecare.desk.shelf_rows import STATES, Wanted, groups
from homecare.desk.shelf_sets import set_routes
from homecare.library.describe import known
from homecare.library.differences import differences
from homecare.render.pdf_pages import page_png
from homecare.render.print_view import sheet_pdf
from homecare.workflow.specimen import specimen


def blueprint(bench: Bench) -> Blueprint:
    """The routes of the library over one bench."""
    topic = Blueprint("shelf", __name__)
    keeper = Keeper(bench)
    _list_routes(topic, keeper)
    _tissue_routes(topic, keeper)
    check_routes(topic, keeper)
    set_routes(topic, keeper)
    drill_routes(topic, keeper)
    _text_routes(topic, keeper)
    _print_routes(topic, keeper)
    return topic


def _list_routes(topic: Blueprint, keeper: Keeper) -> None:
    @topic.get("/library")
    def listed() -> Response:
        asked = request.args
        wanted = Wanted(
            words=asked.get("words", "").strip()[:80],
            kind=asked.get("kind", "") if asked.get("kind") in KINDS else "",
            state=asked.get("state", "") if asked.get("state") in STATES else "",
            by="kind" if asked.get("by") == "kind" else "region",
        )
        found = groups(keeper.library, keeper.shipped, wanted)
        tissue = keeper.library.names.find("tissues", wanted.words) if wanted.words else None
        html = render_template(
            "shelf_found.html" if "part" in asked else "shelf.html",
            wanted=wanted,
            groups=found,
            count=sum(len(group.rows) for group in found),
            of=len(keeper.library.drills),
            kinds=KINDS,
            states=STATES,
            drafts=keeper.drafts(),
            drills=keeper.library.drills,
            tissues=keeper.library.atlas.members((tissue,)) if tissue else (),
            plain=keeper.library.atlas.plain,
            said=asked.get("said", ""),
        )
        return make_response(html)


def _tissue_routes(topic: Blueprint, keeper: Keeper) -> None:
    @topic.get("/library/tissue/<tissue>")
    def tissue(tissue: str) -> Response:
        return _tissue_page(keeper, tissue)

    @topic.post("/library/tissue/<tissue>")
    def call_tissue(tissue: str) -> Response:
        entry = keeper.library.entries.get(("tissues", tissue))
        if entry is None:
            abort(404, "The library has no such tissue.")
        typed = request.form.get("also", "")
        names = [one for line in typed.splitlines() if (one := " ".join(line.split()))]
        content = {
            **{key: part for key, part in entry.content.items() if key != "also"},
            **({"also": names} if names else {}),
        }
        faults = () if content == entry.content else keeper.put(tissue, content, "tissues")
        if faults:
            return _tissue_page(keeper, tissue, typed, tuple(one.message for one in faults))
        return make_response(redirect(url_for("shelf.tissue", tissue=tissue), 303))


def _tissue_page(keeper: Keeper, tissue: str, typed: str = "", faults: tuple[str, ...] = ()) -> Response:
    library = keeper.library
    if tissue not in library.atlas.tissues:
        abort(404, "The library has no such tissue.")
    html = render_template(
        "shelf_tissue.html",
        one=known(library, tissue),
        library=library,
        own=library.entries["tissues", tissue].own,
        plain=library.atlas.plain,
        also=typed or "\n".join(library.atlas.tissues[tissue].also),
        faults=faults,
    )
    return make_response(html, 422 if faults else 200)


def _text_routes(topic: Blueprint, keeper: Keeper) -> None:
    @topic.get("/library/<drill>/texts")
    def versions(drill: str) -> Response:
        found = keeper.versions(drill)
        if not found:
            abort(404, "The library has no such drill.")
        by = {one.revision: one for one in found}
        new = by.get(request.args.get("new", ""), found[0])
        old = by.get(request.args.get("old", ""), found[1] if len(found) > 1 else found[0])
        html = render_template(
            "shelf_texts.html",
            key=drill,
            drill=keeper.library.drills.get(drill),
            versions=found,
            old=old,
            new=new,
            differences=differences(old.content, new.content),
            told=request.args.get("told", ""),
        )
        return make_response(html)

    @topic.post("/library/<drill>/texts")
    def bring_back(drill: str) -> Response:
        entry = keeper.library.entries.get(("drills", drill))
        revision = request.form.get("revision", "")
        if entry is None or revision not in {one.revision for one in keeper.versions(drill)}:
            abort(404, "This text is not kept.")
        try:
            keeper.bring_back(drill, revision)
        except InputFault as fault:
            words = "; ".join(dict.fromkeys(one.message for one in fault.problems))
            abort(409, f"That text cannot come back as it is: {words}.")
        except OSError as error:
            abort(409, f"It could not be written into the clinic's folder: {error.strerror}.")
        return make_response(redirect(url_for("shelf.drill", drill=drill, was=entry.hash), 303))


def _print_routes(topic: Blueprint, keeper: Keeper) -> None:
    @topic.get("/library/<drill>/printed")
    def printed(drill: str) -> Response:
        if drill not in keeper.library.drills:
            abort(404, "The library has no such drill.")
        return make_response(render_template("shelf_printed.html", key=drill, drill=keeper.library.drills[drill]))

    @topic.get("/library/<drill>/block.png")
    def block(drill: str) -> Response:
        if drill not in keeper.library.drills:
            abort(404, "The library has no such drill.")
        clinic = keeper.bench.clinic
        sheet = specimen(keeper.library.drills[drill], keeper.library, clinic, datetime.now().astimezone().date())
        back = page_png(sheet_pdf(sheet, clinic.paper), 2, whole=False)
        return Response(back, mimetype="image/png")

    @topic.get("/library/<drill>/photo.jpg")
    def photo(drill: str) -> Response:
        found = keeper.library.photos.get(drill)
        if found is None:
            abort(404, "This drill has no photograph.")
        return Response(found.jpeg, mimetype="image/jpeg")
