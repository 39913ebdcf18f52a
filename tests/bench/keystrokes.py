"""The keystroke-level model: what a run in a browser was made of, and how long a practised hand needs for it.

Operators and their times: Card, Moran and Newell, "The keystroke-level model for user performance time with interactive
systems", Communications of the ACM 23(7), 1980, and the same authors' book of 1983, as a lecture of the University of
Hamburg tables them (read); the two worked examples that the test holds this to are from memory.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import groupby
from typing import Literal

from playwright.sync_api import Page

SECONDS = {"K": 0.28, "B": 0.2, "P": 1.1, "H": 0.4, "M": 1.35}
"""K a key (an average typist who is no secretary, 40 words a minute), B a button of the mouse, P pointing, H a hand
from mouse to keyboard or back, M making up one's mind. A tap counts as P and B with no homing, since the finger points
and presses in one and the keys are on the same glass: our own reading, for the model is older than such screens."""

Device = Literal["keys", "mouse", "touch"]

RECORDER = """(() => {
  const kept = () => JSON.parse(sessionStorage.getItem("taken") || "[]");
  const take = (one) => sessionStorage.setItem("taken", JSON.stringify([...kept(), one]));
  addEventListener("keydown", (event) => {
    if (!["Shift", "Control", "Alt", "Meta"].includes(event.key)) take(["keys", event.key]);
  }, true);
  addEventListener("pointerdown", (event) => {
    take([event.pointerType === "touch" ? "touch" : "mouse", event.target.tagName.toLowerCase()]);
  }, true);
})()"""
"""Takes down each key, press of the mouse and tap, over every page of one tab, before any of the page's own code."""


@dataclass(frozen=True)
class Act:
    """One thing that a hand did: a key by its name, a press of the mouse, or a tap."""

    device: Device
    what: str

    @property
    def typed(self) -> bool:
        """Whether it is a sign of a text, not a command."""
        return self.device == "keys" and (len(self.what) == 1 or self.what == "Backspace")


def record(page: Page) -> None:
    """Take down what happens in a tab from its next page on."""
    page.add_init_script(RECORDER)


def acts(page: Page) -> list[Act]:
    """What was taken down so far, in order."""
    taken = page.evaluate("JSON.parse(sessionStorage.getItem('taken') || '[]')")
    return [Act(device, what) for device, what in taken]


def operators(done: Iterable[Act], hand: Device = "mouse") -> str:
    """The run as a string of operators; `hand` is where the hand is at first.

    Stricter than the paper's rules, which take away more of them: M before every text that is typed, every press of
    the mouse, and every command key or row of the same one.
    """
    found = ""
    for _, group in groupby(done, key=lambda act: "text" if act.typed else act):
        members = list(group)
        device = members[0].device
        if device != hand:
            found, hand = found + ("" if "touch" in (device, hand) else "H"), device
        if device == "keys":
            found += "M" + "K" * len(members)
        else:
            found += "MPB" * len(members)
    return found


def seconds(run: str, waited: float = 0.0) -> float:
    """How long a string of operators takes, with what was `waited` for the machine."""
    return sum(SECONDS[one] for one in run) + waited
