"""Settings of all tests, and what is worked out once for all of them."""

import gc
import os
import shutil
import tempfile

import pytest
from hypothesis import settings
from samples.planned import PlannedSamples

collect_ignore = ["plugin_sample"]  # a distribution of its own, with tests that want it installed

# A loaded machine may take a second for what takes a millisecond: a property fails on what it finds, never on time.
settings.register_profile("untimed", deadline=None)
settings.load_profile("untimed")


def pytest_configure(config: pytest.Config) -> None:
    """Where nothing may be compiled beside the sources, processes compile what they load once for all, somewhere else.

    Else each of some hundreds that tests start would compile the whole package again, which takes as long as to run it.
    The workers of a run inherit what is set here.
    """
    if os.environ.pop("PYTHONDONTWRITEBYTECODE", None):
        compiled = tempfile.mkdtemp(prefix="compiled-for-tests-")
        os.environ["PYTHONPYCACHEPREFIX"] = compiled
        config.add_cleanup(lambda: shutil.rmtree(compiled, ignore_errors=True))
    # Nor are verdicts taken that somebody left behind, or left for others: each run keeps its own.
    if "XDG_CACHE_HOME" not in os.environ:
        kept = os.environ["XDG_CACHE_HOME"] = tempfile.mkdtemp(prefix="kept-for-tests-")
        config.add_cleanup(lambda: shutil.rmtree(kept, ignore_errors=True))
        config.add_cleanup(lambda: os.environ.pop("XDG_CACHE_HOME", None))


def pytest_xdist_auto_num_workers(config: pytest.Config) -> int:
    """One a core; of tests asked for by name one more, since some wait: for a cluster, a browser, a process."""
    waits = config.args_source is not pytest.Config.ArgsSource.TESTPATHS
    return (os.cpu_count() or 1) + waits


def pytest_collection_finish() -> None:
    """What thousands of collected tests hold stays to the end: no later search for garbage looks through it again."""
    gc.collect()
    gc.freeze()


@pytest.fixture(scope="session")
def planned(tmp_path_factory: pytest.TempPathFactory) -> PlannedSamples:
    """The samples, planned for once a run."""
    return PlannedSamples(tmp_path_factory.mktemp("planned"))


@pytest.fixture
def wide_page(monkeypatch: pytest.MonkeyPatch) -> None:
    """A terminal on which every row and sentence fits into a line, for tests of what is said and not of its layout."""
    monkeypatch.setenv("COLUMNS", "240")
