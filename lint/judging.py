"""One file to its sheet: load, solve, run the rules. The same for every way in which files are spread over workers."""

from dataclasses import dataclass, field
from pathlib import Path

from lineshaft.judge.finding import Finding
from lineshaft.judge.inspection import inspect_rig
from lineshaft.judge.rulebook import Rulebook
from lineshaft.schema.faults import Fault
from lineshaft.schema.loading import FileKind, Loaded, Loader
from lineshaft.schema.policy import HOUSE_DEFAULTS, Policy
from lineshaft.schema.repository import MAX_BYTES, Repository, root_of
from lineshaft.schema.yaml_pass import Bounds
from lineshaft.solve.solved_rig import SolvedRig, solve_loaded
from lineshaft.write.summary import Sheet


@dataclass(frozen=True, slots=True)
class Bench:
    """What judging needs beside the file: working folder, bounds, rules, and loaders kept by root."""

    working: Path
    book: Rulebook
    max_bytes: int = MAX_BYTES
    bounds: Bounds = field(default_factory=Bounds)
    _loaders: dict[Path, Loader] = field(default_factory=dict)

    def loader(self, path: Path) -> Loader:
        """The loader of the repository that a file lies in."""
        root = root_of(path.parent)
        if not (root / ".git").exists():
            root = self.working if path.is_relative_to(self.working) else path.parent
        found = self._loaders.get(root)
        if found is None:
            found = self._loaders[root] = Loader(Repository(root, self.working, self.max_bytes), self.bounds)
        return found

    def solved(self, path: Path, policy: Policy = HOUSE_DEFAULTS) -> SolvedRig:
        """The solved rig at a path, with its faults."""
        return solve_loaded(self.loader(path).rig(path), policy)

    def sheet(self, path: Path, kind: FileKind) -> Sheet:
        """The sheet of one file."""
        if kind == "rig":
            rig = self.solved(path)
            return Sheet(rig.file, rig.rig.name, rig.written_parts, rig.unsolved, self.findings(rig))
        faults = self._faults(path, kind)
        shown = self.loader(path).repository.shown(path)
        loaded = Loaded(path, shown, None, faults, 0, False)
        return Sheet(shown, "", 0, 0, self.findings(solve_loaded(loaded)) if faults else ())

    def findings(self, rig: SolvedRig) -> tuple[Finding, ...]:
        """All findings on one solved rig."""
        return inspect_rig(rig, self.book)

    def _faults(self, path: Path, kind: FileKind) -> tuple[Fault, ...]:
        loader = self.loader(path)
        if kind == "catalogue":
            return loader.catalogue(path.resolve())[1]
        tree = loader.tree(path, kind)
        return tree if isinstance(tree, tuple) else ()


