"""A new database for every test that asks for one."""

from __future__ import annotations

from pathlib import Path

import pytest

from homecare.storage.database import Database, open_database


@pytest.fixture
def database(tmp_path: Path) -> Database:
    """An empty database in a folder of its own."""
    return open_database(tmp_path / "data")
