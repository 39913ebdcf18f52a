"""The shipped library, read once for every test that asks it."""

from __future__ import annotations

import os
import tempfile

import pytest
from hypothesis import HealthCheck, settings

from homecare.library.load import Library, load_library

# No test may touch the records or logs of whoever runs it: a desk that is told nothing keeps its own in here.
os.environ["XDG_DATA_HOME"] = tempfile.mkdtemp(prefix="homecare-tests-")
os.environ["XDG_STATE_HOME"] = tempfile.mkdtemp(prefix="homecare-tests-")

# A machine that does much else takes its time over an example, and is not wrong.
settings.register_profile("patient", settings(), deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.load_profile("patient")


@pytest.fixture(scope="session")
def lib() -> Library:
    """The library as it ships, with nothing laid over it."""
    return load_library()


def pytest_addoption(parser: pytest.Parser) -> None:
    """`--renew-pictures` writes the pictures that drawings are held to, to be looked at before they are kept."""
    parser.addoption("--renew-pictures", action="store_true", help="write tests/figure/golden/*.svg anew")
