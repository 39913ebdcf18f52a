"""The phone pages as a static site: every file of it by its path, for any web host and under any address.

A drill's page lies in a folder by its code, by its code in small letters and by its plain address, the same bytes in
each, since a host that does not tell capitals apart has but one folder for the first two. All links are relative, and
scripts and styles carry their hash in their address, so that a page never meets those of another version.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Mapping
from pathlib import Path

from homecare.core.drill import Drill
from homecare.core.problems import InputFault, Problem
from homecare.guard import policy
from homecare.library.load import Library
from homecare.phone.pages import drill_page
from homecare.render.assets import read_asset
from homecare.render.icon import icon_png, icon_svg
from homecare.render.links import SHEET_PATH
from homecare.render.phone_file import inline_text, source_hash
from homecare.render.phone_page import Shows, Site, list_page_html

ASSETS, UNSAVED, WORKER = "assets", "unsaved", "worker.js"
MANIFEST, PAGE_MANIFEST = "site.webmanifest", "page.webmanifest"
ICON_SIZES = (192, 512)
"""Pixels of the icons that a browser asks for before it offers to install a site (common practice)."""
TOUCH_SIZE = 180
"""Pixels of the icon of phones that read no manifest (common practice)."""
POLICY = policy(
    in_page=True,
    script_src="'self'",
    style_src="'self'",
    img_src="'self' data:",
    manifest_src="'self'",
    worker_src="'self'",
)
Told = Callable[[int, int], None]
"""Is told how many drills of how many are done."""


def site_files(library: Library, told: Told = lambda done, of: None) -> Mapping[str, bytes]:
    """Every file of the site by its path, the worker last; the same library gives the same bytes.

    Raises InputFault when two drills would have to share a folder.
    """
    drills = tuple(sorted(library.drills.values(), key=lambda drill: drill.code))
    names = _names(drills)
    assets = _assets()
    files = dict(assets)
    for number, drill in enumerate(drills, 1):
        page = drill_page(
            drill,
            library,
            scripts=_addresses(assets, "../", "dose.js", "figure.js", "saving.js"),
            style=_address(assets, "../", "phone.css"),
            site=_site(assets, "../"),
        ).encode()
        files |= {f"{name}/index.html": page for name in (drill.code, drill.code.lower(), drill.address)}
        told(number, len(drills))
    files |= _lists(tuple(drill for drill in drills if drill.offered), assets)
    files[MANIFEST] = _manifest({"id": "./", "start_url": "./"})
    files[PAGE_MANIFEST] = _manifest({})
    files[WORKER] = _worker(files, names)
    return files


def _names(drills: tuple[Drill, ...]) -> Mapping[str, str]:
    """Each name by which a page may be asked for, in small letters, with the folder that it stands for."""
    taken = {SHEET_PATH.lower(): "the page of the sheet", ASSETS: "the scripts", UNSAVED: "a page of the site"}
    names, problems = {SHEET_PATH.lower(): f"{SHEET_PATH}/"}, []
    for drill in drills:
        for name in dict.fromkeys((drill.code.lower(), drill.address)):
            if name in taken:
                message = f"{drill.id}: {name!r} as a web address is that of {taken[name]} already"
                problems.append(Problem(drill.where, "name", message, "give it another code or address"))
            taken[name] = repr(drill.id)
            names[name] = f"{drill.code}/"
    if problems:
        raise InputFault(problems)
    return names


def _assets() -> dict[str, bytes]:
    """Scripts, the style and the icons."""
    own = Path(__file__).parent / "static"
    found = {name: (own / name).read_bytes() for name in ("dose.js", "days.js")}
    found |= {name: read_asset(f"phone/{name}")[0] for name in ("figure.js", "saving.js")}
    found["phone.css"] = b"".join(read_asset(f"phone/{name}")[0] for name in ("phone.css", "site.css"))
    found |= {f"icon-{size}.png": icon_png(size) for size in (*ICON_SIZES, TOUCH_SIZE)}
    found["icon.svg"] = icon_svg()
    return {f"{ASSETS}/{name}": content for name, content in found.items()}


def _address(assets: Mapping[str, bytes], root: str, name: str) -> str:
    """The address of a script or style from a page to which `root` is the way down."""
    return f"{root}{ASSETS}/{name}?v={_hash(assets[f'{ASSETS}/{name}'])[:8]}"


def _addresses(assets: Mapping[str, bytes], root: str, *names: str) -> tuple[str, ...]:
    return tuple(_address(assets, root, name) for name in names)


def _site(assets: Mapping[str, bytes], root: str) -> Site:
    return Site(
        policy=POLICY,
        root=root,
        manifest=f"{root}{MANIFEST}",
        page_manifest=f"{root}{PAGE_MANIFEST}",
        icon=_address(assets, root, "icon.svg"),
        touch_icon=_address(assets, root, f"icon-{TOUCH_SIZE}.png"),
    )


def _lists(drills: tuple[Drill, ...], assets: Mapping[str, bytes]) -> Mapping[str, bytes]:
    """The list of every drill in use, as start page, as page of the sheet, and where a page is not to be had."""

    def made(shows: Shows, root: str, *scripts: str) -> bytes:
        page = list_page_html(
            drills,
            shows,
            scripts=_addresses(assets, root, *scripts, "saving.js"),
            style=_address(assets, root, "phone.css"),
            root=root,
            end="/",
            site=_site(assets, root),
        )
        return page.encode()

    sheet = made("sheet", "../", "dose.js", "days.js")
    return {
        f"{SHEET_PATH}/index.html": sheet,
        f"{SHEET_PATH.lower()}/index.html": sheet,
        f"{UNSAVED}/index.html": made("unsaved", "../"),
        "404.html": _lost(drills),
        "index.html": made("list", "./", "dose.js", "days.js"),
    }


def _lost(drills: tuple[Drill, ...]) -> bytes:
    """The page that a host shows for whatever is not there, at any depth: so its style and script stand within it."""
    style, script = inline_text("phone/phone.css"), inline_text("phone/lost.js")
    allowed = policy(
        in_page=True,
        script_src=f"'{source_hash(script)}'",
        style_src=f"'{source_hash(style)}'",
        img_src="data:",
    )
    site = Site(policy=allowed, root="./", style=style, script=script)
    return list_page_html(drills, "missing", scripts=(), style="", root="./", end="/", site=site).encode()


def _manifest(opens: Mapping[str, str]) -> bytes:
    """What makes a phone offer to put the site on its screen.

    `opens` says that it opens on the list. Without, it opens on the page from which it was put there, with the dose
    behind the # (WebKit's ApplicationManifestParser, read): on an iPhone such an icon has a store of its own, and so
    would not know the sheet.
    """
    icons = [
        {"src": f"{ASSETS}/icon-{size}.png", "sizes": f"{size}x{size}", "type": "image/png", "purpose": purpose}
        for size in ICON_SIZES
        for purpose in ("any", "maskable")
    ]
    manifest = {
        "name": "Home-care drills",
        "short_name": "Drills",
        "lang": "en",
        **opens,
        "scope": "./",
        "display": "standalone",
        "background_color": "#f7f3ea",
        "theme_color": "#f7f3ea",
        "icons": icons,
    }
    return (json.dumps(manifest, indent=1) + "\n").encode()


def _worker(files: Mapping[str, bytes], names: Mapping[str, str]) -> bytes:
    """The worker with what it has to know of the site; of a page's copies only the one that its names stand for."""
    folders = set(names.values())
    alias = {f"{name}/index.html" for name in names if f"{name}/" not in folders}
    kept = {path.removesuffix("index.html"): _hash(files[path])[:32] for path in sorted(files) if path not in alias}
    first = [path for path in kept if path not in folders or path == f"{SHEET_PATH}/"]
    body = read_asset("phone/worker.js")[0].decode()
    version = _hash((json.dumps(kept, sort_keys=True) + body).encode())[:16]
    site = {"version": version, "files": kept, "names": dict(sorted(names.items())), "first": first}
    return f"const SITE = {json.dumps(site, separators=(',', ':'))};\n{body}".encode()


def _hash(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()
