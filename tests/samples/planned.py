"""What the program finds and plans for the samples as they stand, worked out once a run of the tests."""

import json
import shutil
from pathlib import Path
from subprocess import CompletedProcess
from typing import Any, NamedTuple

from command_runner import run

SAMPLES = Path(__file__).resolve().parents[2] / "sample_rigs"


class Mended(NamedTuple):
    """One run of `repair --apply best`, and the rig's bytes after it."""

    ran: CompletedProcess[str]
    content: bytes


class PlannedSamples:
    """A copy of the samples in a repository of its own, planned for; nobody but this class writes there."""

    def __init__(self, repository: Path) -> None:
        self.folder = repository / "works"
        shutil.copytree(SAMPLES, self.folder)
        (repository / ".git").mkdir()
        self._checked: dict[str, str] = {}
        self._listed: dict[str, CompletedProcess[str]] = {}
        self._mended: dict[str, Mended] = {}

    def findings(self, rig: str) -> list[dict[str, Any]]:
        """What `check` of a sample finds, with its repairs; each time anew, for the asker to change."""
        if rig not in self._checked:
            ran = run(self.folder, "check", "--no-cache", "--write", "json=-", rig)
            assert ran.returncode in (0, 1), ran.stderr
            self._checked[rig] = ran.stdout
        found: list[dict[str, Any]] = json.loads(self._checked[rig])["findings"]
        return found

    def listed(self, rig: str) -> CompletedProcess[str]:
        """`repair` of a sample: its list."""
        if rig not in self._listed:
            self._listed[rig] = run(self.folder, "repair", rig)
        return self._listed[rig]

    def mended(self, rig: str) -> Mended:
        """`repair --apply best` of a sample."""
        if rig not in self._mended:
            path = self.folder / rig
            was = path.read_bytes()
            ran = run(self.folder, "repair", "--apply", "best", rig)
            self._mended[rig] = Mended(ran, path.read_bytes())
            path.write_bytes(was)
        return self._mended[rig]
