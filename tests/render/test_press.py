"""What is printed depends on the page alone, is read from nowhere else, and says when something cannot be printed."""

from __future__ import annotations

import hashlib
import subprocess
import sys
from base64 import b64encode
from collections.abc import Mapping
from io import BytesIO
from pathlib import Path

import pytest
from PIL import Image

from homecare.core.problems import InputFault
from homecare.render import press
from homecare.render.press import compiled, printed
from homecare.render.print_view import sheet_html, sheet_pdf
from tests.render.pages import page_count, page_texts, pictures, size_of
from tests.render.sheets import fixtures, make_sheet

MARK = "<p>Ease it, then rest.</p>"


def _page(body: str, kind: str = "letter") -> str:
    return (
        '<!doctype html>\n<html lang="en"><head><title>x</title><meta name="author" content="x">'
        '<meta name="dcterms.created" content="2026-03-02"></head>'
        f'<body><section class="front now"><h1>x</h1></section><section class="{kind}">{body}</section></body></html>'
    )


def test_what_was_printed_before_does_not_show() -> None:
    """The compiler keeps what it drew: the same bytes after other sheets, and in another order."""
    first = sheet_pdf(fixtures()["five"])
    sheet_pdf(fixtures()["six"])
    sheet_pdf(make_sheet(5, 14, athlete="Someone Else"))
    assert hashlib.sha256(sheet_pdf(fixtures()["five"])).digest() == hashlib.sha256(first).digest()


ELSEWHERE = (
    "import hashlib; from tests.render.sheets import fixtures; from homecare.render.print_view import sheet_pdf;"
    "print(hashlib.sha256(sheet_pdf(fixtures()['refer_soon'])).hexdigest())"
)


def test_another_place_prints_the_same_bytes(tmp_path: Path) -> None:
    """A process of its own in another folder, time zone and home, with other chance and tongue."""
    there = {"TZ": "Pacific/Chatham", "HOME": str(tmp_path), "PYTHONHASHSEED": "7", "LANG": "tr_TR.UTF-8"}
    there |= {"PYTHONPATH": str(Path(__file__).parents[2]), "XDG_CACHE_HOME": str(tmp_path), "SOURCE_DATE_EPOCH": "1"}
    done = subprocess.run(
        [sys.executable, "-c", ELSEWHERE], cwd=tmp_path, env=there, capture_output=True, text=True, check=True
    )
    assert done.stdout.strip() == hashlib.sha256(sheet_pdf(fixtures()["refer_soon"])).hexdigest()


LONG_ONES = (
    "import re; from pathlib import Path; from tests.render.sheets import make_sheet;"
    "from homecare.render.print_view import sheet_pdf\n"
    "for turn in range(5):\n"
    "    sheet_pdf(make_sheet(14, 42, athlete=f'Rower {turn}'), 'a4', True)\n"
    "    print(re.search(r'VmRSS:\\s+(\\d+)', Path('/proc/self/status').read_text())[1])"
)


@pytest.mark.slow
def test_long_sheets_do_not_fill_the_memory() -> None:
    """Five that differ, in large print, in a process of their own: the last three take no more than the first two."""
    done = subprocess.run([sys.executable, "-c", LONG_ONES], capture_output=True, text=True, check=True)
    kilobytes = [int(line) for line in done.stdout.split()]
    assert kilobytes[-1] - kilobytes[1] < 40_000


def test_characters_that_no_page_can_show_are_left_out() -> None:
    assert page_texts(printed(_page("<p>Ro\x07wan &amp; co</p>")))[1] == "Rowan&co"


def test_letters_without_a_near_one_are_named() -> None:
    with pytest.raises(InputFault, match="no letters for 王"):
        printed(_page("<p>王</p>"))


def test_words_of_the_printer_s_own_language_stay_words() -> None:
    words = '#panic("x") $ *b* _e_ @ref <label> `raw` = head // none \\ #import "kit.typ"'
    told = words.replace("<", "&lt;").replace(">", "&gt;")
    assert page_texts(printed(_page(f"<p>{told}</p>")))[1] == "".join(words.split()).replace("-", "")


def test_a_photograph_keeps_its_colour_and_shape() -> None:
    stream = BytesIO()
    Image.new("RGB", (40, 20), (200, 30, 30)).save(stream, "PNG")
    data = b64encode(stream.getvalue()).decode()
    page = _page(f'<p class="logo"><img src="data:image/png;base64,{data}" alt="Red."></p>')
    shown = pictures(printed(page), 96)[1].convert("RGB")
    red = [(x, y) for x in range(shown.width) for y in range(shown.height) if shown.getpixel((x, y)) == (200, 30, 30)]
    wide, high = (max(place[side] for place in red) - min(place[side] for place in red) + 1 for side in (0, 1))
    assert wide / high == pytest.approx(2, abs=0.2)
    assert wide == pytest.approx(40, abs=2)


def test_a_file_that_is_not_given_is_not_read() -> None:
    with pytest.raises(RuntimeError, match=r"not found|access denied|failed to load"):
        compiled({"page.typ": b'#read("/etc/hostname")'}, "page.typ", tagged=False)


def test_a_page_that_is_not_sound_is_refused() -> None:
    with pytest.raises(RuntimeError):
        printed(_page(f"<p>{MARK}"))


def test_a_leaf_that_fits_at_once_is_as_it_is_when_each_side_is_measured_first(monkeypatch: pytest.MonkeyPatch) -> None:
    at_once = sheet_pdf(fixtures()["five"])
    monkeypatch.setattr(press, "_pages", lambda pdf: 0)
    assert sheet_pdf(fixtures()["five"]) == at_once


def test_a_side_that_runs_over_is_set_closer(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where the guess at a front's look is wrong by far: two pages all the same, where that look would take more."""
    files = dict(press.styles())
    front = files["print/front.typ"].decode()
    assert "- 3.05, -1, 1)" in front
    files["print/front.typ"] = front.replace("- 3.05, -1, 1)", "- 9, -1, 1)").encode()
    monkeypatch.setattr(press, "styles", lambda: files)
    sheet = make_sheet(4, 14, notes="Take it easy. " * 80)
    assert page_count(sheet_pdf(sheet)) == 2
    monkeypatch.setattr(press, "_pages", lambda pdf: 2)
    assert page_count(sheet_pdf(sheet)) > 2


@pytest.mark.parametrize("name", ["five", "six", "rich", "midweek", "many_steps"])
def test_a_leaf_of_plain_words_is_laid_out_once(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """The guess at its look holds, so that no side need be measured, though its drills stand as roomy as they may."""
    turns = []

    def noted(files: Mapping[str, bytes], main: str, tagged: bool = True) -> bytes:
        turns.append(main)
        return compiled(files, main, tagged)

    monkeypatch.setattr(press, "compiled", noted)
    assert page_count(sheet_pdf(fixtures()[name])) == 2
    assert turns.count("print/print.typ") == 1


def test_a_sheet_that_is_no_leaf_has_the_air_of_its_pages() -> None:
    """Its name in 26 points; the leaf's closest look has 24.5."""
    pdf = sheet_pdf(make_sheet(4, 14, notes="Take it easy. " * 200))
    assert page_count(pdf) == 3
    assert size_of(pdf, "Home care for Rowan K.") == pytest.approx(26)


def test_html_is_the_same_for_either_paper() -> None:
    sheet = fixtures()["five"]
    html = sheet_html(sheet)
    assert printed(html, "a4") == sheet_pdf(sheet)
    assert printed(html, "letter") == sheet_pdf(sheet, "letter") != sheet_pdf(sheet)
