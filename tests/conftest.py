"""What all tests share: tests of one casebook case run in one process, so that it is worked out once."""

import pytest
from casebook_results import CASES


def pytest_collection_modifyitems(items):
    for item in items:
        name = item.callspec.params.get("name") if hasattr(item, "callspec") else None
        if name in CASES:
            item.add_marker(pytest.mark.xdist_group(name))
        if "benchmarks" in item.path.parts:
            item.add_marker(pytest.mark.benchmarks)
