"""A small site to publish, and a plain static host for it, for the tests of publishing."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from functools import partial
from http.server import SimpleHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path

from homecare.library.load import Library

FEW = ("ulnar_slider", "soleus_wall_stretch", "chair_squat")
"""A moving figure and still ones."""


def few(lib: Library, *without: str, retired: str = "", renamed: str = "") -> Library:
    """The library with a few drills only: `retired` out of use, the text of `renamed` changed."""
    drills = {key: lib.drills[key] for key in FEW if key not in without}
    if retired:
        drills[retired] = replace(drills[retired], retired=True)
    if renamed:
        drills[renamed] = replace(drills[renamed], feel="A pull that the old page does not tell of.")
    return replace(lib, drills=drills)


class _Handler(SimpleHTTPRequestHandler):
    def do_GET(self) -> None:
        """As ever, but what the host holds back is never answered, and "not changed" is never said.

        The library's own handler compares whole seconds: a site written twice within one would never seem new.
        """
        server = self.server
        assert isinstance(server, _Server)
        if server.host.held and self.path.endswith(server.host.held):
            server.host.gone.wait(60)
            return
        del self.headers["If-Modified-Since"]
        super().do_GET()

    def send_error(self, code: int, message: str | None = None, explain: str | None = None) -> None:
        """The site's own 404.html for whatever is not there, as static hosts do; a site is a folder at the top."""
        page = Path(self.directory) / self.path.split("/")[1] / "404.html"
        if code != 404 or not page.is_file():
            super().send_error(code, message, explain)
            return
        self.send_response(404)
        self.send_header("Content-Type", "text/html; charset=utf-8")
        self.end_headers()
        self.wfile.write(page.read_bytes())

    def log_message(self, format: str, *args: object) -> None:
        server = self.server
        assert isinstance(server, _Server)
        server.host.asked.append(self.path)


class _Server(ThreadingHTTPServer):
    daemon_threads = True

    def __init__(self, host: Host) -> None:
        self.host = host
        super().__init__(("127.0.0.1", host.port), partial(_Handler, directory=str(host.folder)))


@dataclass
class Host:
    """A static host on the loopback that can be taken away and brought back under the same address.

    `asked` are the paths it was asked for; those that end as in `held` it holds back until it is `gone`.
    """

    folder: Path
    port: int = 0
    asked: list[str] = field(default_factory=list)
    held: tuple[str, ...] = ()
    gone: threading.Event = field(default_factory=threading.Event)
    _server: _Server | None = None

    @property
    def address(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    def start(self) -> None:
        """Serve, under the port of last time when there was one."""
        self.gone.clear()
        self._server = _Server(self)
        self.port = self._server.server_address[1]
        threading.Thread(target=self._server.serve_forever).start()

    def stop(self) -> None:
        """Be gone: whoever asks is refused."""
        self.gone.set()
        if self._server is not None:
            self._server.shutdown()
            self._server.server_close()
            self._server = None


@contextmanager
def hosted(folder: Path) -> Iterator[Host]:
    """A host of `folder`, running, until the block ends."""
    host = Host(folder)
    host.start()
    try:
        yield host
    finally:
        host.stop()
