"""What the tests of the pages share: a browser a module, a served desk, a desk asked without a browser, a fencer."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser

from homecare import passphrases
from homecare.desk import create_app
from tests.web.browser import Opener, browser, served
from tests.web.fencer import Fencer, file_fencer
from tests.web.visitor import Visitor


@pytest.fixture(scope="module")
def quick_hashes() -> Iterator[None]:
    """Hashes that cost little; that the real ones cost enough is tested where passphrases are."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(passphrases, "METHOD", "scrypt:1024:8:1")
        yield


@pytest.fixture(scope="module")
def chromium() -> Iterator[Browser]:
    """The machine's browser."""
    with browser() as running:
        yield running


@pytest.fixture(scope="module")
def home(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """The address of a served desk with nothing in it."""
    with served(create_app(data=tmp_path_factory.mktemp("home"))) as address:
        yield address


@pytest.fixture
def opened(chromium: Browser, home: str) -> Iterator[Opener]:
    """Opens pages of that desk; whatever they complain of fails the test."""
    opener = Opener(chromium, home)
    yield opener
    for watched in opener.opened:
        watched.page.close()
        assert watched.complaints == []


@pytest.fixture(scope="module")
def desk(tmp_path_factory: pytest.TempPathFactory) -> Visitor:
    """A desk that is asked without a browser."""
    return Visitor(tmp_path_factory.mktemp("desk"))


@pytest.fixture
def fencer(desk: Visitor) -> Fencer:
    """One more fencer with a filed sheet at that desk."""
    return file_fencer(desk.door.bench.database)
