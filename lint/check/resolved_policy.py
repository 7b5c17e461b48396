"""The site that a file belongs to: its policy, the loader that reads by it, and the rules that are on."""

from fnmatch import fnmatchcase
from pathlib import Path
from typing import NamedTuple

from lineshaft.check.registry import registry
from lineshaft.check.rulebook import NEVER_OFF, Rulebook, open_rulebook
from lineshaft.exits import CannotDoError
from lineshaft.schema.loading import Loader
from lineshaft.schema.model.policy import HOUSE_DEFAULTS, Policy
from lineshaft.schema.read.policy_reader import read_policy
from lineshaft.schema.text.faults import Fault, at_key, at_value
from lineshaft.schema.text.repository import Refusal
from lineshaft.schema.text.tree import Tree


class ResolvedPolicy(NamedTuple):
    """What holds for the files of one root under one policy; ``folder`` is the policy's."""

    policy: Policy
    folder: Path | None
    loader: Loader
    book: Rulebook

    def excludes(self, path: Path) -> bool:
        """Whether the policy leaves a file out; its patterns are relative to its own folder."""
        if self.folder is None or not path.is_relative_to(self.folder):
            return False
        name = path.relative_to(self.folder).as_posix()
        return any(fnmatchcase(name, pattern) for pattern in self.policy.exclude)


def resolved_policy_of(loader: Loader, file: Path | None, book: Rulebook) -> ResolvedPolicy:
    """The site of a policy file; without one the program's own defaults.

    Raises CannotDoError where the policy, or the catalogue it names, cannot be used: no verdict would be the site's.
    """
    if file is None:
        return ResolvedPolicy(HOUSE_DEFAULTS, None, loader, book)
    tree = loader.tree(file, "policy")
    if isinstance(tree, tuple):
        raise CannotDoError(_words(tree[0]))
    policy, faults = read_policy(tree)
    faults = faults or _no_rules(tree, policy)
    if faults:
        raise CannotDoError(_words(faults[0]))
    if policy.catalogue is not None:
        found = loader.repository.include(file, policy.catalogue)
        if isinstance(found, Refusal):
            shown = loader.repository.shown(file)
            raise CannotDoError(f"{shown}: the catalogue {policy.catalogue[:80]} {found.message}")
        loader = loader.with_catalogue(found)
    levels = policy.levels
    return ResolvedPolicy(policy, file.parent, loader, open_rulebook(levels) if levels and book.rules else book)


def _no_rules(tree: Tree, policy: Policy) -> tuple[Fault, ...]:
    """What `levels` cannot say: names of no rule, for which the level would hold for nothing, and `off` for some."""
    if not policy.levels:
        return ()
    known = registry().ids
    faults = []
    for name, level in policy.levels.items():
        if name in NEVER_OFF and level == "off":
            message = f"`{name}` cannot be turned off: what is not judged never passes in silence"
            faults.append(at_value("not-schema", tree, ("levels", name), message))
        elif name not in known:
            from lineshaft.schema.text.nearest import nearest

            near = nearest(name, known)
            hint = f"did you mean {near[0]}?" if near else "`lineshaft rules` lists them all"
            message = f"there is no rule `{name[:60]}`; {hint}"
            faults.append(at_key("not-schema", tree, ("levels", name), message))
    return tuple(faults)


def _words(fault: Fault) -> str:
    start = fault.span.start
    return f"{fault.file} line {start.line}, column {start.column}: {fault.message}"
