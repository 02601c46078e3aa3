"""The acts of one day on one served farm come in their order: what a sheet ticks off is not there to tick."""

from __future__ import annotations

import pytest


@pytest.hookimpl(trylast=True)
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """As they stand in the file, though everything else is shuffled."""
    at = [i for i, item in enumerate(items) if item.path.name == "test_round_acts.py"]
    ordered = sorted((items[i] for i in at), key=lambda item: item.reportinfo()[1] or 0)
    for i, item in zip(at, ordered, strict=True):
        items[i] = item
