"""The published site: whole, the same for the same library, at home under any address, and careful of its folder."""

from __future__ import annotations

import hashlib
import json
import os
import re
import signal
import subprocess
import sys
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from urllib.parse import urljoin, urlsplit

import pytest

from homecare.cli import publish
from homecare.cli.main import main
from homecare.core.problems import InputFault
from homecare.library.load import Library
from homecare.phone import create_app
from homecare.phone.publishing import site_files
from homecare.phone.site_folder import LIST, write_site
from homecare.render.phone_file import source_hash
from tests.web.sites import few

BASE = "https://host.example/care/"
DRILL_BYTES = 60_000
LISTS = {"index.html", "404.html", "S/index.html", "s/index.html", "unsaved/index.html"}
LINK = re.compile(r'(?:href|src)="([^"]*)"')


@pytest.fixture(scope="module")
def site(lib: Library) -> Mapping[str, bytes]:
    return site_files(few(lib))


def pages(site: Mapping[str, bytes]) -> dict[str, str]:
    return {path: content.decode() for path, content in site.items() if path.endswith(".html")}


def links(site: Mapping[str, bytes]) -> set[tuple[str, str]]:
    """Each page with every address in it but fragments of its own and data."""
    found = {(path, link) for path, html in pages(site).items() for link in LINK.findall(html)}
    return {(path, link) for path, link in found if not link.startswith(("#", "data:"))}


def test_every_link_leads_to_a_file_of_the_site_wherever_it_stands(site: Mapping[str, bytes]) -> None:
    found = links(site)
    assert len(found) > 20
    for path, link in found:
        assert link.startswith(("./", "../")), (path, link)
        target = urlsplit(urljoin(BASE + path.removesuffix("index.html"), link))
        assert target.geturl().startswith(BASE), (path, link)
        name = target.path.removeprefix("/care/")
        assert (f"{name}index.html" if name.endswith("/") or not name else name) in site, (path, link)


def test_the_manifest_opens_on_the_list_and_its_icons_are_as_large_as_they_say(site: Mapping[str, bytes]) -> None:
    manifest = json.loads(site["site.webmanifest"])
    assert urljoin(f"{BASE}site.webmanifest", manifest["start_url"]) == BASE
    for icon in manifest["icons"]:
        content = site[icon["src"]]
        # Width and height stand at byte 16 of a PNG (the PNG specification, from memory).
        wide, high = (int.from_bytes(content[at : at + 4]) for at in (16, 20))
        assert f"{wide}x{high}" == icon["sizes"]
        assert content.startswith(b"\x89PNG")


def test_a_drill_lies_under_its_code_in_both_letters_and_its_address(lib: Library, site: Mapping[str, bytes]) -> None:
    for drill in few(lib).drills.values():
        places = {site[f"{name}/index.html"] for name in (drill.code, drill.code.lower(), drill.address)}
        assert len(places) == 1
    assert site["S/index.html"] == site["s/index.html"]


def test_a_page_says_what_the_clinics_own_server_says(lib: Library, site: Mapping[str, bytes]) -> None:
    """Words, figure and steps are those of the one template: only head, foot and addresses differ."""
    own = create_app(few(lib)).test_client()
    for drill in few(lib).drills.values():
        served, published = own.get(f"/{drill.code}").text, site[f"{drill.code}/index.html"].decode()
        start, end = (served.index(mark) for mark in ("<body>", "</main>"))
        assert published[published.index("<body>") :].startswith(served[start:end].rstrip())


def test_a_retired_drill_keeps_its_page_and_is_on_no_list(lib: Library) -> None:
    gone = few(lib, retired="chair_squat")
    site = site_files(gone)
    listed = {
        key: [path for path, html in pages(site).items() if f'<li data-code="{drill.code}"' in html]
        for key, drill in gone.drills.items()
    }
    assert f"{gone.drills['chair_squat'].code}/index.html" in site
    assert listed.pop("chair_squat") == []
    assert all(set(paths) == LISTS for paths in listed.values())


def test_each_page_allows_its_own_files_and_nothing_else(site: Mapping[str, bytes]) -> None:
    for path, html in pages(site).items():
        (told,) = re.findall(r'http-equiv="Content-Security-Policy" content="([^"]*)"', html)
        rules = dict(rule.split(" ", 1) for rule in told.replace("&#39;", "'").split("; "))
        inside = {kind: re.findall(rf"<{kind}>(.*?)</{kind}>", html, re.DOTALL) for kind in ("script", "style")}
        assert rules["default-src"] == "'none'"
        assert "style=" not in html
        assert not re.search(r"https?://", html), path
        for kind, texts in inside.items():
            assert rules[f"{kind}-src"] == (" ".join(f"'{source_hash(text)}'" for text in texts) or "'self'")
            assert bool(texts) == (path == "404.html")


def test_the_worker_knows_every_page_by_the_hash_of_its_bytes(lib: Library, site: Mapping[str, bytes]) -> None:
    line = site["worker.js"].decode().partition(";\n")[0]
    told = json.loads(line.removeprefix("const SITE = "))
    for path, hashed in told["files"].items():
        content = site[path if path and not path.endswith("/") else f"{path}index.html"]
        assert hashlib.sha256(content).hexdigest()[:32] == hashed, path
    copies = {f"{name}/index.html" for name in told["names"] if f"{name}/" not in told["names"].values()}
    assert {path.removesuffix("index.html") for path in set(site) - copies} == {*told["files"], "worker.js"}
    for drill in few(lib).drills.values():
        assert told["names"][drill.code.lower()] == told["names"][drill.address] == f"{drill.code}/"
    assert set(told["first"]) < set(told["files"])


def test_another_word_or_script_is_another_version(lib: Library, site: Mapping[str, bytes]) -> None:
    version = re.compile(rb'"version":"(\w+)"')
    other = site_files(few(lib, renamed="chair_squat"))
    (one,), (two,) = (version.findall(some["worker.js"]) for some in (site, other))
    assert one != two
    drill = few(lib).drills["chair_squat"]
    changed = {path for path in site if site[path] != other[path]}
    assert changed == {f"{name}/index.html" for name in (drill.code, drill.code.lower(), drill.address)} | {"worker.js"}


PRINT_HASH = """
import hashlib
from homecare.library.load import load_library
from homecare.phone.publishing import site_files
from tests.web.sites import few
print(hashlib.sha256(repr(list(site_files(few(load_library())).items())).encode()).hexdigest())
"""


def test_the_same_library_gives_the_same_bytes_in_another_process(site: Mapping[str, bytes]) -> None:
    top = Path(__file__).resolve().parents[2]
    environment = os.environ | {"PYTHONHASHSEED": "7", "PYTHONPATH": str(top)}
    made = subprocess.run(
        [sys.executable, "-c", PRINT_HASH], cwd=top, env=environment, capture_output=True, text=True, check=True
    )
    assert made.stdout.strip() == hashlib.sha256(repr(list(site.items())).encode()).hexdigest()


def test_a_drills_page_is_small_with_all_it_loads(site: Mapping[str, bytes], lib: Library) -> None:
    page = f"{lib.drills['ulnar_slider'].code}/index.html"
    loads = re.findall(r'(?:stylesheet" href|script src)="\.\./([^"?]*)', site[page].decode())
    assert len(loads) == 4
    assert len(site[page]) + sum(len(site[name]) for name in loads) <= DRILL_BYTES


def test_two_drills_that_want_one_folder_are_refused(lib: Library) -> None:
    """On a host that does not tell capitals apart, AB and ab are one folder."""
    small = few(lib)
    drills = dict(small.drills)
    drills["chair_squat"] = replace(drills["chair_squat"], address=drills["ulnar_slider"].code.lower())
    drills["soleus_wall_stretch"] = replace(drills["soleus_wall_stretch"], address="assets")
    with pytest.raises(InputFault) as fault:
        site_files(replace(small, drills=drills))
    assert len(fault.value.problems) == 2


# The folder


def content_of(folder: Path) -> dict[str, bytes]:
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in folder.rglob("*") if path.is_file()}


def test_a_first_publish_writes_the_site_and_its_list(site: Mapping[str, bytes], tmp_path: Path) -> None:
    done = write_site(tmp_path / "a/site", site)
    there = content_of(tmp_path / "a/site")
    there.pop(LIST)
    assert there == site
    assert (set(done.written), done.removed, done.left, done.others) == (set(site), (), (), ())
    assert all(path.stat().st_mode & 0o044 == 0o044 for path in (tmp_path / "a/site").rglob("*.html"))


def test_a_later_one_writes_what_changed_removes_what_is_stale_and_keeps_what_is_not_its_own(
    lib: Library, site: Mapping[str, bytes], tmp_path: Path
) -> None:
    write_site(tmp_path, site)
    gone, stays = lib.drills["ulnar_slider"], lib.drills["chair_squat"]
    (tmp_path / "CNAME").write_text("care.example")
    (tmp_path / gone.code / "mine.txt").write_text("mine")
    (tmp_path / gone.address / "index.html").write_text("changed by hand")
    untouched = (tmp_path / stays.code / "index.html").stat()
    done = write_site(tmp_path, site_files(few(lib, "ulnar_slider")))
    there = content_of(tmp_path)
    assert {"CNAME", f"{gone.code}/mine.txt"} <= set(there)
    assert there[f"{gone.address}/index.html"] == b"changed by hand"
    assert set(done.removed) == {f"{gone.code}/index.html", f"{gone.code.lower()}/index.html"}
    assert done.left == (f"{gone.address}/index.html",)
    assert done.others == ("CNAME",)
    assert not (tmp_path / gone.code.lower()).exists()
    assert set(done.written) == {*LISTS, "worker.js"}
    now = (tmp_path / stays.code / "index.html").stat()
    assert (now.st_ino, now.st_mtime_ns) == (untouched.st_ino, untouched.st_mtime_ns)


def test_what_stands_in_the_way_is_told_and_nothing_is_written(site: Mapping[str, bytes], tmp_path: Path) -> None:
    (tmp_path / "elsewhere").mkdir()
    folder = tmp_path / "site"
    folder.mkdir()
    (folder / "index.html").write_text("another site")
    (folder / "S").symlink_to(tmp_path / "elsewhere")
    (folder / "assets").write_text("a file")
    before = content_of(tmp_path)
    with pytest.raises(InputFault) as fault:
        write_site(folder, site)
    told = {Path(problem.source.file).name for problem in fault.value.problems}
    assert told == {"index.html", "S", "assets"}
    assert content_of(tmp_path) == before


@pytest.mark.parametrize(
    "damage", ["", "[]", '{"files": 3}', '{"files": {"../outside.html": "0"}}', '{"files": {"a/../../b": "0"}}']
)
def test_a_damaged_list_is_told_and_leads_nowhere(site: Mapping[str, bytes], tmp_path: Path, damage: str) -> None:
    (tmp_path / "outside.html").write_text("not of the site")
    folder = tmp_path / "site"
    folder.mkdir()
    (folder / LIST).write_text(damage)
    with pytest.raises(InputFault):
        write_site(folder, site)
    assert [path.name for path in folder.iterdir()] == [LIST]
    assert (tmp_path / "outside.html").exists()


@pytest.mark.parametrize("fault", [KeyboardInterrupt, OSError("no room on the disk")])
def test_broken_off_while_writing_the_old_site_stands(
    lib: Library, site: Mapping[str, bytes], tmp_path: Path, monkeypatch: pytest.MonkeyPatch, fault: BaseException
) -> None:
    write_site(tmp_path, site)
    before, calls = content_of(tmp_path), []

    def broken(descriptor: int) -> None:
        calls.append(descriptor)
        if len(calls) == 3:
            raise fault

    monkeypatch.setattr(os, "fsync", broken)
    with pytest.raises((KeyboardInterrupt, OSError)):
        write_site(tmp_path, site_files(few(lib, "ulnar_slider", renamed="chair_squat")))
    assert len(calls) == 3
    assert content_of(tmp_path) == before
    assert not list(tmp_path.glob(".publishing-*"))


def test_a_signal_to_stop_while_files_are_moved_waits_for_the_whole(
    lib: Library, site: Mapping[str, bytes], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    write_site(tmp_path, site)
    move = Path.replace

    def told(self: Path, target: Path) -> Path:
        os.kill(os.getpid(), signal.SIGINT)
        return move(self, target)

    monkeypatch.setattr(Path, "replace", told)
    later = site_files(few(lib, "ulnar_slider"))
    write_site(tmp_path, later)
    there = content_of(tmp_path)
    there.pop(LIST)
    assert there == later
    assert signal.getsignal(signal.SIGINT) is signal.default_int_handler


# The command


@pytest.fixture
def small(monkeypatch: pytest.MonkeyPatch, lib: Library) -> None:
    monkeypatch.setattr(publish, "load_library", lambda _own: few(lib))


@pytest.mark.usefixtures("small")
def test_the_command_tells_what_it_did(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "CNAME").write_text("care.example")
    assert main(["publish", str(tmp_path)]) == 0
    said = capsys.readouterr()
    assert "3 drills" in said.out
    assert "left as it was: CNAME" in said.out
    assert said.err == ""
    assert main(["publish", str(tmp_path)]) == 0
    assert "Nothing has changed" in capsys.readouterr().out


@pytest.mark.usefixtures("small")
def test_the_command_ends_with_one_where_no_site_can_be(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "file").write_text("a file")
    for folder in (tmp_path / "file", tmp_path / "file/below"):
        assert main(["publish", str(folder)]) == 1
        assert len(capsys.readouterr().err.splitlines()) == 1
    assert [path.name for path in tmp_path.iterdir()] == ["file"]


def test_stopped_while_drawing_nothing_is_written(
    tmp_path: Path, lib: Library, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def stopped(_done: int, _of: int) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(publish, "load_library", lambda _own: few(lib))
    monkeypatch.setattr(publish, "_silent", stopped)
    assert main(["publish", str(tmp_path / "site")]) == 130
    assert not (tmp_path / "site").exists()
    assert "Traceback" not in capsys.readouterr().err


def test_the_commands_library_is_laid_over(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["publish", str(tmp_path / "site"), "--library", str(tmp_path / "none")]) == 1
    assert "no such folder" in capsys.readouterr().err
