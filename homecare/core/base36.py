"""Numbers in figures and capitals, and the check that ends every code of ours."""

from __future__ import annotations

FIGURES = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ"
CHECK_FIGURES = 4
_PRIME = 1679609  # the largest prime below 36 ** 4
_BASE = 131


def base36(number: int, width: int = 1) -> str:
    """A whole number from 0 in figures and capitals, filled up to a width with noughts."""
    text = ""
    while number:
        number, rest = divmod(number, 36)
        text = FIGURES[rest] + text
    return text.rjust(width, "0")


def from_base36(text: str) -> int | None:
    """The number that stands in figures and capitals, None where another sign is among them, or none at all."""
    if not text or any(letter not in FIGURES for letter in text):
        return None
    return int(text, 36)


def check_figures(text: str) -> str:
    """Four figures of a polynomial over the text, modulo a prime.

    Any one wrong letter and any two neighbours swapped change it for certain, anything else but once in 1.7 million.
    """
    value = 0
    for letter in text:
        value = (value * _BASE + ord(letter)) % _PRIME
    return base36(value, CHECK_FIGURES)
