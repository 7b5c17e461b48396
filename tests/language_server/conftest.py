"""A copy of the samples for tests of the language server to write in."""

import shutil
from pathlib import Path

import pytest

SAMPLES = Path(__file__).resolve().parents[2] / "sample_rigs"


@pytest.fixture
def works(tmp_path: Path) -> Path:
    """The samples in a repository of their own."""
    (tmp_path / ".git").mkdir()
    shutil.copytree(SAMPLES, tmp_path / "works")
    return tmp_path / "works"
