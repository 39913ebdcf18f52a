"""One search leads to everything that can be found, in the words that a practitioner types."""

from __future__ import annotations

import pytest

from homecare.desk.offering import MOST, Offers
from homecare.library.load import Library, load_library


@pytest.fixture(scope="module")
def library() -> Library:
    return load_library()


@pytest.fixture(scope="module")
def offers(library: Library) -> Offers:
    return Offers(library)


@pytest.mark.parametrize(
    ("typed", "button"),
    [
        ("sol", "put:tissue:soleus::"),
        ("soleus r t", "put:tissue:soleus:right:tight"),
        ("Soleus left we", "put:tissue:soleus:left:weak"),
        ("it band b", "put:tissue:iliotibial_band:both:"),
        ("calf", "put:tissue:calf::"),
        ("ting thumb r", "put:symptom:tingling:right:digit_1"),
        ("numb little", "put:symptom:numbness::digit_5"),
        ("ulnt3 l neg", "put:test:ulnt3:left:negative"),
        ("knee to w", "put:marker:knee_to_wall::"),
        ("prone hip", "put:firing:prone_hip_extension::"),
        ("anticoag", "care:anticoagulant"),
        ("thoracic spine stiff", "put:tissue:thoracic_spine::stiff"),
        ("thoracic spine r", "put:tissue:thoracic_spine::"),  # the midline has no side
        ("c8 weak", "put:tissue:c8::"),  # a root is not found to be weak here
    ],
)
def test_the_first_offer_is_what_was_meant(offers: Offers, typed: str, button: str) -> None:
    assert offers.find(typed)[0].do == button


@pytest.mark.parametrize("typed", ["", "  ", "zzz", "l", "!?"])
def test_what_is_nothing_offers_nothing_wrong(offers: Offers, typed: str) -> None:
    assert len(offers.find(typed)) <= MOST
    if typed != "l":
        assert offers.find(typed) == ()


def test_every_tissue_is_found_by_its_own_name(offers: Offers, library: Library) -> None:
    for key, tissue in library.atlas.tissues.items():
        assert any(offer.do.startswith(f"put:tissue:{key}:") for offer in offers.find(tissue.name)), key


def test_every_other_name_of_a_tissue_leads_to_it(offers: Offers, library: Library) -> None:
    missing = [
        (key, name)
        for key, tissue in library.atlas.tissues.items()
        for name in tissue.also
        if not any(offer.do.startswith(f"put:tissue:{key}:") for offer in offers.find(name))
    ]
    assert missing == []


def test_a_whole_word_comes_before_a_longer_one(offers: Offers) -> None:
    assert offers.find("plantar")[0].name == "Plantar fascia"
    assert offers.find("plant")[0].name == "Plantaris"
