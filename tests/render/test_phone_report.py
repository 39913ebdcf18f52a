"""The code that a phone shows at the clinic: it says what was done, refuses what was changed, and fits a small code."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from homecare.core.base36 import base36, check_figures, from_base36
from homecare.core.phone_report import (
    RESPONSES,
    DrillReport,
    PhoneReport,
    ReportRefusal,
    read_report,
    report_code,
    sheet_mark,
)

START = date(2026, 3, 2)
DRILLS = [("median_slider", "right"), ("soleus_wall_stretch", "both"), ("glute_bridge", "none")]
MARK = sheet_mark(START, DRILLS)
REPORT = PhoneReport(
    (DrillReport(9, "settled"), DrillReport(0, None), DrillReport(26, "worse")),
    ((date(2026, 3, 3), 4), (date(2026, 3, 9), 0), (date(2026, 3, 15), 10)),
)
CODE = report_code(MARK, START, REPORT)


def test_a_code_reads_back_as_it_is_typed() -> None:
    assert read_report(CODE, START, DRILLS) == REPORT
    typed = " ".join(CODE[at : at + 4] for at in range(0, len(CODE), 4)).lower()
    assert read_report(typed, START, DRILLS) == REPORT
    assert len(CODE) <= 35
    assert set(CODE) <= set("0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ.")  # what a code packs tightly (ISO/IEC 18004)


@given(
    st.lists(
        st.tuples(st.integers(0, 1295), st.sampled_from(sorted(RESPONSES.values(), key=str))), min_size=1, max_size=14
    ),
    st.dictionaries(st.integers(0, 83), st.integers(0, 10), max_size=60),
)
def test_every_report_reads_back(done: list[tuple[int, object]], notes: dict[int, int]) -> None:
    drills = [(f"drill_{number}", "left") for number in range(len(done))]
    report = PhoneReport(
        tuple(DrillReport(count, response) for count, response in done),  # type: ignore[arg-type]
        tuple((START + timedelta(days=day), note) for day, note in sorted(notes.items())),
    )
    assert read_report(report_code(sheet_mark(START, drills), START, report), START, drills) == report


def test_any_one_wrong_letter_and_any_swap_is_refused() -> None:
    """What the check finds for certain: 131 and its differences from 1 have no factor in common with the prime."""
    letters = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ."
    for at, right in enumerate(CODE):
        for wrong in letters:
            if wrong != right:
                assert isinstance(read_report(CODE[:at] + wrong + CODE[at + 1 :], START, DRILLS), ReportRefusal)
        if at and CODE[at - 1] != right:
            swapped = CODE[: at - 1] + right + CODE[at - 1] + CODE[at + 1 :]
            assert isinstance(read_report(swapped, START, DRILLS), ReportRefusal)


@pytest.mark.parametrize(
    ("code", "words"),
    [
        ("", "no code of a phone page"),
        ("HTTPS://HOMECARE.EXAMPLE/AG#1R0.P8T4.ABCD", "no code of a phone page"),
        ("R2" + CODE[2:-5] + "." + check_figures("R2" + CODE[2:-5]), "another version"),
        (report_code(sheet_mark(START, DRILLS[:2]), START, REPORT), "another sheet"),
        (report_code(sheet_mark(START + timedelta(days=1), DRILLS), START, REPORT), "another sheet"),
        (report_code(MARK, START, PhoneReport(REPORT.drills[:2], ())), "no code of a phone page"),
        ("<script>alert(1)</script>", "no code of a phone page"),
        ("Ω" * 4000, "no code of a phone page"),
    ],
)
def test_what_is_no_code_of_this_sheet_is_refused_in_words(code: str, words: str) -> None:
    refused = read_report(code, START, DRILLS)
    assert isinstance(refused, ReportRefusal)
    assert words in refused.because


def test_figures() -> None:
    assert [base36(0, 2), base36(35), base36(36**4 - 1, 4)] == ["00", "Z", "ZZZZ"]
    assert [from_base36("ZZ"), from_base36("0a"), from_base36(""), from_base36("٣")] == [1295, None, None, None]
