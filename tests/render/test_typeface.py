"""Letters that the typeface has not: a near one on paper, or a fault told, never an empty box."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from homecare.core.problems import InputFault
from homecare.library.clinic import read_clinic
from homecare.library.load import Library
from homecare.library.visit import parse_visit
from homecare.render.print_view import sheet_pdf
from homecare.typeface import WEIGHTS, font_file, printable, strangers
from tests.render.pages import page_texts
from tests.render.sheets import make_sheet

VISIT = "athlete: {}\nstart: 2026-09-07\nfindings:\n  - {{tissue: soleus, found: tight}}\nnotes: {}\n"


def test_the_typeface_comes_with_the_install() -> None:
    assert all(font_file(weight).is_file() for weight in WEIGHTS)


@pytest.mark.parametrize(
    ("given", "shown"),
    [
        ("Łukasz Þórunn Ölçer", "Łukasz Þórunn Ölçer"),
        ("Ольга Щербакова, Ελευθερία", "Ольга Щербакова, Ελευθερία"),
        ("e\u0301", "é"),  # an accent of its own joins its letter
        ("Ȟiłe ḱ", "Hiłe k"),  # an accent that no letter of the face bears is left off
        ("Ǆuro \uff46\uff55ll", "DŽuro full"),
        ("ice\u2011cold\u200d", "ice-cold"),
    ],
)
def test_a_letter_gives_way_to_the_nearest(given: str, shown: str) -> None:
    assert printable(given) == shown
    assert strangers(given) == ()


def test_letters_without_a_near_one_are_named_once_each_in_order() -> None:
    assert strangers("王小王 and 😀") == ("王", "小", "😀")


def test_a_visit_and_a_clinic_are_told_of_letters_that_cannot_be_printed(lib: Library, tmp_path: Path) -> None:
    with pytest.raises(InputFault) as caught:
        parse_visit(VISIT.format("王小明", "warm up 😀"), "visit.yaml", lib)
    assert [(one.source.line, one.message) for one in caught.value.problems] == [
        (1, "the printed sheet has no letters for 王 小 明"),
        (5, "the printed sheet has no letters for 😀"),
    ]
    house = tmp_path / "clinic.yaml"
    house.write_text("name: Lowgate\naddress: ถนน 14\n", encoding="utf-8")
    with pytest.raises(InputFault) as caught:
        read_clinic(house)
    assert [one.source.line for one in caught.value.problems] == [2]


def test_paper_shows_the_near_letter_and_refuses_an_empty_box() -> None:
    sheet = make_sheet(1, 1)
    assert "HomecareforHanaDŽuro" in page_texts(sheet_pdf(replace(sheet, athlete="Ȟana Ǆuro")))[0]
    with pytest.raises(InputFault, match="no letters for 王"):
        sheet_pdf(replace(sheet, athlete="王"))
