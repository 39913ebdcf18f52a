"""A server of the machine's own, and the machine's own browser, for the tests that look at pages."""

from __future__ import annotations

import os
import random
import shutil
import socket
import threading
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager, suppress

import pytest
from cheroot import wsgi
from flask import Flask
from playwright.sync_api import Browser, Page, expect, sync_playwright

expect.set_options(timeout=30_000)
"""As long as Playwright waits before it presses: a machine that does much else is slow, not wrong."""
START_MS = 120_000
BROWSERS = ("chromium", "chromium-browser", "google-chrome")
FLAGS = [
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]


@contextmanager
def served(app: Flask) -> Iterator[str]:
    """The address of `app` while it is served on a free port of the loopback."""
    server = wsgi.Server(("127.0.0.1", 0), app)
    server.prepare()
    thread = threading.Thread(target=server.serve)
    thread.start()
    try:
        yield f"http://127.0.0.1:{server.bind_addr[1]}"
    finally:
        server.stop()
        thread.join()


def free_port(count: int = 1) -> int:
    """A port of the loopback that is free, and the next ones too; none of those that the system gives by itself.

    Below the range of RFC 6335 for that and of Linux (32768 to 60999, from memory), so that nobody takes it meanwhile.
    """
    while True:
        port = random.randrange(20_000, 32_000)
        with suppress(OSError), ExitStack() as stack:
            for number in range(port, port + count):
                stack.enter_context(socket.create_server(("127.0.0.1", number)))
            return port


ANSWERED = ("status of 422", "status of 409", "Autofocus processing was blocked")
"""No complaints: how a faulty form is answered, and one that somebody else saved meanwhile; and that a page left the
focus to whoever was in a field before it had come whole."""


class Watched:
    """A page, and what its console, its scripts and its policy complained of."""

    def __init__(self, running: Browser, width: int, script: bool = True) -> None:
        self.complaints: list[str] = []
        self.page = running.new_page(viewport={"width": width, "height": 844}, java_script_enabled=script)
        self.page.on("console", lambda message: self._note(f"{message.text} {message.location}"))
        self.page.on("pageerror", lambda error: self._note(str(error)))

    def _note(self, complaint: str) -> None:
        if not any(words in complaint for words in ANSWERED):
            self.complaints.append(complaint)


class Opener:
    """Opens pages of a desk; whatever they complain of is kept."""

    def __init__(self, running: Browser, address: str) -> None:
        self._running, self._address = running, address
        self.opened: list[Watched] = []

    def __call__(self, path: str = "", width: int = 1280, script: bool = True) -> Page:
        self.opened.append(Watched(self._running, width, script))
        self.opened[-1].page.goto(self._address + path)
        return self.opened[-1].page


@contextmanager
def browser() -> Iterator[Browser]:
    """The machine's browser; without one the test is skipped, but for the integration machine, where it fails."""
    path = next(filter(None, map(shutil.which, BROWSERS)), None)
    if path is None:
        (pytest.fail if os.environ.get("CI") == "true" else pytest.skip)("no browser on this machine")
    with sync_playwright() as playwright:
        running = playwright.chromium.launch(executable_path=path, args=FLAGS, timeout=START_MS)
        try:
            yield running
        finally:
            running.close()
