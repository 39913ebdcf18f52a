"""A browser's part before the desk: its name, its origin, the token of the page it loaded, and a clock to move."""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import UTC, datetime, timedelta
from pathlib import Path

from flask.testing import FlaskClient
from werkzeug.test import TestResponse

from homecare.desk import create_app
from homecare.desk.door import Door, Rooms

HERE = "127.0.0.1:8020"
PASSPHRASE = "heron lantern gravel oboe"
OTHER = "saddle quince ferry thimble"
TOKEN = re.compile(r'<meta name="token" content="([^"]+)">')


class Visitor:
    """One browser at one desk. `clock` moves the desk's time, of which nothing else is faked."""

    def __init__(self, app_or_data: Path | FlaskClient, rooms: Rooms | None = None) -> None:
        given = app_or_data
        self.client = create_app(data=given, rooms=rooms).test_client() if isinstance(given, Path) else given
        self.scheme = "https" if rooms else "http"
        self.token = ""

    @property
    def door(self) -> Door:
        """The desk's door."""
        door = self.client.application.extensions["door"]
        assert isinstance(door, Door)
        return door

    def beside(self) -> Visitor:
        """Another browser at the same desk."""
        other = Visitor(self.client.application.test_client())
        other.scheme = self.scheme
        return other

    def get(self, path: str, **headers: str) -> TestResponse:
        """Load a page, and keep its token."""
        answer = self.client.get(path, base_url=f"{self.scheme}://{HERE}", headers=headers, buffered=True)
        found = TOKEN.search(answer.text) if answer.mimetype == "text/html" else None
        self.token = found[1] if found else self.token
        return answer

    def post(self, path: str, form: Mapping[str, object] | None = None, **headers: str) -> TestResponse:
        """Send a form of the page that was loaded last."""
        if not self.token:
            self.get("/sign-in")
        ours = {"Origin": f"{self.scheme}://{HERE}", "Sec-Fetch-Site": "same-origin"}
        answer = self.client.post(
            path,
            data={"token": self.token, **(form or {})},
            base_url=f"{self.scheme}://{HERE}",
            headers={**ours, **headers},
            buffered=True,
        )
        found = TOKEN.search(answer.text) if answer.mimetype == "text/html" else None
        self.token = found[1] if found else self.token
        return answer

    def set_up(self, name: str = "Imke Sandoval", passphrase: str = PASSPHRASE) -> TestResponse:
        """Set up the first person by the desk's own page; this browser is signed in then."""
        self.get("/clinic/people")
        answer = self.post("/clinic/people", {"name": name, "passphrase": passphrase, "again": passphrase})
        self.get("/clinic/people")
        return answer

    def sign_in(self, name: str = "Imke Sandoval", passphrase: str = PASSPHRASE, **more: str) -> TestResponse:
        """Sign in by the page that asks for it."""
        self.get("/sign-in")
        answer = self.post("/sign-in", {"name": name, "passphrase": passphrase, **more})
        if answer.status_code == 303:
            self.get("/clinic/people")
        return answer

    def later(self, time: timedelta) -> None:
        """Let the desk's clock stand so much later than it is."""
        now = self.door.now() + time
        self.door.now = lambda: now  # type: ignore[method-assign]


def moment() -> datetime:
    """A moment to begin at, for parts that are given the time."""
    return datetime(2026, 5, 4, 9, 0, tzinfo=UTC)
