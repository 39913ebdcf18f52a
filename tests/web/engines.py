"""The two other engines that phones have, driven as their makers meant it: WebKit by WebDriver, Gecko by Marionette."""

from __future__ import annotations

import base64
import json
import os
import shutil
import signal
import socket
import subprocess
import urllib.request
from collections.abc import Iterator, Mapping
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Protocol

import pytest

from tests.helpers import PATIENCE_S, until
from tests.web.browser import free_port

ELEMENT = "element-6066-11e4-a52e-4f735466cecf"
"""The key of an element's reference (W3C WebDriver, section 12.2)."""
SEEN = """const found = [...document.querySelectorAll(arguments[0])].find(
  (one) => one.getClientRects().length && one.textContent.includes(arguments[1]));
if (found) { found.scrollIntoView({ block: "center" }); }
return found"""
"""The first element that is seen and holds a text, moved to where it can be pressed: WebKit does not always do it."""

TEXT = """const found = document.querySelector(arguments[0]);
return found && found.getClientRects().length && found.innerText.includes(arguments[1]) && found.innerText"""
"""What is seen of an element in which a text is."""


class Refused(Exception):
    """The browser did not do what it was told."""


class Talk(Protocol):
    """One command to a browser, and what it answers; raises Refused when it says no."""

    def __call__(self, method: str, path: str, **body: Any) -> Any: ...


@dataclass(frozen=True)
class Tab:
    """The one window of a browser."""

    talk: Talk

    def size(self, width: int, height: int) -> None:
        """Have the page so many CSS pixels wide and high, as far as the window goes so small."""
        self.talk("POST", "window/rect", x=0, y=0, width=width, height=height)

    def go(self, address: str) -> None:
        """Open an address anew, also one that differs behind the # alone."""
        self.talk("POST", "url", url="about:blank")
        self.talk("POST", "url", url=address)

    def run(self, script: str, *given: Any) -> Any:
        """What a function with this body returns."""
        return self.talk("POST", "execute/sync", script=script, args=list(given))

    def waits(self, script: str, *given: Any) -> Any:
        """What the function returns as soon as that is something."""
        return until(lambda: self.run(script, *given))

    def press(self, css: str, text: str = "") -> None:
        """A press, as by a finger, on the first element that is seen and holds the text."""
        found = self.waits(SEEN, css, text)
        self.talk("POST", f"element/{found[ELEMENT]}/click")

    def text(self, css: str, words: str = "") -> str:
        """What is seen of an element, as soon as those words are in it."""
        return str(self.waits(TEXT, css, words))

    def picture(self) -> bytes:
        """What the window shows, as PNG."""
        return base64.b64decode(self.talk("GET", "screenshot"))


@contextmanager
def running(command: list[str], more: Mapping[str, str]) -> Iterator[subprocess.Popen[bytes]]:
    """A program in a process group of its own, ended with all its children."""
    quiet = subprocess.DEVNULL
    process = subprocess.Popen(
        command, env={**os.environ, **more}, stdout=quiet, stderr=quiet, stdin=quiet, start_new_session=True
    )
    try:
        yield process
    finally:
        for end in (signal.SIGTERM, signal.SIGKILL):
            with suppress(ProcessLookupError, subprocess.TimeoutExpired):
                os.killpg(process.pid, end)
                process.wait(5)


def connected(port: int) -> socket.socket:
    """A connection to a program that is just starting."""

    def tried() -> socket.socket | None:
        with suppress(OSError):
            return socket.create_connection(("127.0.0.1", port), timeout=PATIENCE_S)
        return None

    found = until(tried)
    assert found
    return found


@contextmanager
def screen(folder: Path) -> Iterator[Mapping[str, str]]:
    """A screen that nobody sees, and a home of its own: what a program must be told to use them."""
    said, saying = os.pipe()
    command = [program("Xvfb"), "-displayfd", str(saying), "-screen", "0", "1400x1100x24", "-nolisten", "tcp"]
    with subprocess.Popen(command, pass_fds=[saying], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL) as process:
        os.close(saying)
        try:
            with os.fdopen(said) as line:
                number = line.readline().strip()
            yield {
                "DISPLAY": f":{number}",
                "HOME": str(folder),
                "XDG_CONFIG_HOME": str(folder / "config"),
                "XDG_DATA_HOME": str(folder / "data"),
                "XDG_CACHE_HOME": str(folder / "cache"),
                "GDK_BACKEND": "x11",
            }
        finally:
            process.terminate()


def program(*names: str) -> str:
    """The path of a program by any of its names; without one the test is skipped, but in integration it fails."""
    path = next(filter(None, map(shutil.which, names)), None)
    if path is None:
        (pytest.fail if os.environ.get("CI") == "true" else pytest.skip)(f"no {names[0]} on this machine")
    return path


@contextmanager
def webkit(folder: Path, *options: str) -> Iterator[Tab]:
    """WebKit's own small browser; `options` are words of its command line."""
    port = free_port()
    own = next(Path("/usr/lib").glob("*/webkit2gtk-4.*/MiniBrowser"), None)
    driver = program("WebKitWebDriver")
    assert own, "the driver came without its browser"
    with screen(folder) as place, running([driver, f"--port={port}"], place):
        connected(port).close()

        def ask(method: str, path: str, body: object) -> Any:
            data = json.dumps(body).encode() if method == "POST" else None
            request = urllib.request.Request(f"http://127.0.0.1:{port}/{path}", data, method=method)
            try:
                with urllib.request.urlopen(request, timeout=PATIENCE_S) as answer:
                    return json.load(answer)["value"]
            except urllib.error.HTTPError as fault:
                raise Refused(fault.read().decode()) from fault

        # Full screen, and so without its own buttons, which no window of a phone's width would have room for.
        wanted = {"binary": str(own), "args": ["--automation", "--full-screen", *options]}
        made = ask("POST", "session", {"capabilities": {"alwaysMatch": {"webkitgtk:browserOptions": wanted}}})
        yield Tab(lambda method, path, **body: ask(method, f"session/{made['sessionId']}/{path}", body))
        ask("DELETE", f"session/{made['sessionId']}", None)


MARIONETTE = {
    "url": "WebDriver:Navigate",
    "execute/sync": "WebDriver:ExecuteScript",
    "screenshot": "WebDriver:TakeScreenshot",
    "window/rect": "WebDriver:SetWindowRect",
}
"""The commands of Firefox's own protocol by WebDriver's paths (from memory of Firefox's `remote/marionette`)."""
NARROW = ":root { min-width: 0 !important } #navigator-toolbox { display: none !important }"
"""Firefox's window without its own buttons, which no window of a phone's width would have room for."""


@contextmanager
def firefox(folder: Path, **settings: str | int | bool) -> Iterator[Tab]:
    """Firefox without a window; `settings` are its own, with `__` for the dots."""
    port = free_port()
    told = {"marionette__port": port, "toolkit__legacyUserProfileCustomizations__stylesheets": True, **settings}
    lines = [f'user_pref("{name.replace("__", ".")}", {json.dumps(value)});' for name, value in told.items()]
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "user.js").write_text("\n".join(lines))
    (folder / "chrome").mkdir()
    (folder / "chrome/userChrome.css").write_text(NARROW)
    command = [program("firefox-esr", "firefox"), "--headless", "--marionette", "--no-remote", "--profile", str(folder)]
    with running(command, {"HOME": str(folder)}), connected(port) as line:
        stream = line.makefile("rb")

        def heard() -> Any:
            size = b""
            while (one := stream.read(1)) not in (b":", b""):
                size += one
            return json.loads(stream.read(int(size)))

        def ask(name: str, given: object) -> Any:
            text = json.dumps([0, 1, name, given]).encode()
            line.sendall(str(len(text)).encode() + b":" + text)
            _, _, fault, answer = heard()
            if fault:
                raise Refused(f"{fault['error']}: {fault['message']}")
            return answer["value"] if set(answer) == {"value"} else answer

        def talk(method: str, path: str, **body: Any) -> Any:
            if path.startswith("element/"):
                return ask("WebDriver:ElementClick", {"id": path.split("/")[1]})
            return ask(MARIONETTE[path], {**body, **({"full": False} if path == "screenshot" else {})})

        heard()
        ask("WebDriver:NewSession", {})
        yield Tab(talk)
