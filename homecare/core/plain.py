"""Words put together as a person writes them: lists, sentences, minutes."""

from __future__ import annotations

from collections.abc import Iterable


def listed(words: Iterable[str], joint: str = "and") -> str:
    """Words as a list in a sentence, each once: "morning, after training and evening"."""
    once = list(dict.fromkeys(words))
    if len(once) < 2:
        return "".join(once)
    return f"{', '.join(once[:-1])} {joint} {once[-1]}"


def sentence(text: str) -> str:
    """A text with a capital first letter and a full stop."""
    return text[:1].upper() + text[1:] + ("" if text.endswith(".") else ".")


def minutes_words(seconds: Iterable[int]) -> str:
    """The spread of several days' seconds in whole minutes, rounded up: "5 to 10 minutes"; empty for no day."""
    whole = [-(-one // 60) for one in seconds if one > 0]
    if not whole:
        return ""
    low, high = min(whole), max(whole)
    unit = "minute" if high == 1 else "minutes"
    return f"{high} {unit}" if low == high else f"{low} to {high} {unit}"
