"""The shipped library, read once for every test that asks it."""

from __future__ import annotations

import pytest

from homecare.library.load import Library, load_library


@pytest.fixture(scope="session")
def lib() -> Library:
    """The library as it ships, with nothing laid over it."""
    return load_library()
