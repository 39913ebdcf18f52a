"""What WeasyPrint leaves open in a tagged PDF, mended before the file is written."""

from __future__ import annotations

from typing import Any

import pydyf

TICK_WORDS = "box to tick"
"""What is read out for an empty box, which is drawn by its border alone."""

_POINTS_PER_PIXEL = 0.75


def mend_tags(document: Any, pdf: pydyf.PDF) -> None:
    """Give header cells their scope, figures a box in the page's own units, and tick boxes words to be read out; set
    the pages' numbers apart."""
    _number_pages_apart(pdf)
    for element in pdf.objects:
        if not isinstance(element, pydyf.Dictionary) or element.get("Type") != "/StructElem":
            continue
        if element["S"] == "/TH":
            head = _target(pdf, _target(pdf, element["P"])["P"])["S"] == "/THead"
            element["A"]["Scope"] = "/Column" if head else "/Row"
        elif element["S"] == "/Figure":
            element["A"]["BBox"] = _page_box(element["A"]["BBox"], _target(pdf, element["Pg"])["MediaBox"])
        elif element["S"] == "/Span" and not element["K"]:
            element["ActualText"] = pydyf.String(TICK_WORDS)


def _number_pages_apart(pdf: pydyf.PDF) -> None:
    """Make of the pages' numbers what they are, decoration: WeasyPrint tags them, but leaves them out of the tree."""
    root = _target(pdf, pdf.catalog["StructTreeRoot"])
    document = _target(pdf, root["K"][0])
    held, numbers = set(document["K"]), _target(pdf, root["ParentTree"])["Nums"]
    apart = {
        element.reference
        for element in pdf.objects
        if isinstance(element, pydyf.Dictionary)
        and element.get("Type") == "/StructElem"
        and element.get("P") == document.reference
        and element.reference not in held
    }
    for parents, page in zip(numbers[1::2], pdf.pages["Kids"][::3], strict=True):
        stream = _target(pdf, pdf.objects[page]["Contents"]).stream
        for number, reference in enumerate(parents):
            if _target(pdf, reference)["P"] in apart:
                parents[number] = "null"
                at = stream.index({"MCID": number})
                stream[at - 1 : at + 1] = ["/Artifact", pydyf.Dictionary({"Type": "/Pagination"})]


def _target(pdf: pydyf.PDF, reference: bytes) -> Any:
    return pdf.objects[int(reference.split()[0])]


def _page_box(box: list[float], media: list[float]) -> pydyf.Array:
    """From CSS pixels below the top edge to points above the bottom edge."""
    left, top, right, bottom = (value * _POINTS_PER_PIXEL for value in box)
    return pydyf.Array((left, media[3] - bottom, right, media[3] - top))
