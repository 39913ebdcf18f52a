"""What the tests of the desk share."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from homecare import passphrases


@pytest.fixture(scope="module")
def quick_hashes() -> Iterator[None]:
    """Hashes that cost little; that the real ones cost enough is tested where passphrases are."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(passphrases, "METHOD", "scrypt:1024:8:1")
        yield
