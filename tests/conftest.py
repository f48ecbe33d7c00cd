"""The folder of a test is its marker; generated cases are the same on every run in CI."""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from hypothesis import settings

HERE = Path(__file__).parent
MARKERS = ("unit", "published", "property", "regression", "browser", "spark", "bench")
ONLY_WHEN_ASKED = ("browser", "spark", "bench")

settings.register_profile("person", deadline=None)
settings.register_profile("ci", deadline=None, derandomize=True)
settings.load_profile("ci" if os.environ.get("CI") else "person")


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Mark each test by its folder; leave out the slow kinds unless -m names them."""
    asked = str(config.getoption("markexpr"))
    for item in items:
        folder = item.path.relative_to(HERE).parts[0] if item.path.is_relative_to(HERE) else item.path.parent.name
        if folder not in MARKERS:
            raise pytest.UsageError(f"{item.path} must lie in one of the folders {', '.join(MARKERS)}.")
        item.add_marker(folder)
        if folder in ONLY_WHEN_ASKED and folder not in asked:
            item.add_marker(pytest.mark.skip(reason=f"run with -m {folder}"))
