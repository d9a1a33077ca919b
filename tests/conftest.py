"""What all tests share: tests of one casebook case, and those of one file, run in one process, so that it is worked out once."""

import gc
import os

gc.set_threshold(50_000, 20, 20)  # what tests share is much, and is looked through at every collection
for _threads in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS"):
    os.environ.setdefault(_threads, "1")  # before numpy: several processes with several threads each wait for one another
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)  # processes that tests start need not compile everything anew

import pytest  # noqa: E402
from browser_fixture import browser, visit  # noqa: E402, F401 - fixtures, one browser for all tests
from casebook_results import CASES, LIKE_LESSONS, LONG  # noqa: E402
from xdist.scheduler import LoadScopeScheduling  # noqa: E402

LONGEST_FIRST = sorted(CASES, key=len, reverse=True)  # one name may begin another


class Together(LoadScopeScheduling):
    """Tests of one casebook case go to one process, and of the others those of one file."""

    def _split_scope(self, nodeid):
        path, _, given = nodeid.partition("::")
        _, _, values = given.partition("[")
        return next((name for name in LONGEST_FIRST if f"-{name}-" in f"-{values[:-1]}-"), path)


def pytest_xdist_make_scheduler(config, log):
    return Together(config, log)


def pytest_ignore_collect(collection_path, config):
    """What is left out anyhow is not even imported: that takes as long as many tests."""
    return True if collection_path.name == "benchmarks" and "not benchmarks" in config.option.markexpr else None


def pytest_collection_modifyitems(items):
    for item in items:
        name = item.callspec.params.get("name") if hasattr(item, "callspec") else None
        if "benchmarks" in item.path.parts:
            item.add_marker(pytest.mark.benchmarks)
        elif item.get_closest_marker("browser"):
            continue
        elif name in LONG or "teaching" in item.path.parts and name in LIKE_LESSONS:
            item.add_marker(pytest.mark.thorough)


@pytest.fixture
def figures_unwritten():
    """What is checked are words and pages: figures are drawn, and stand there empty, as writing them takes most of the time of a report."""
    from drawn import unwritten

    with unwritten():
        yield
